"""Bodies that no model should see, and what models say about the others."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

URL = "/v1/cut-lists"
JSON = {"content-type": "application/json"}
GOOD = b'{"stock": [{"length_mm": 3000}], "demand": [{"length_mm": 735, "count": 12}]}'

# Raw bytes that break a naive service, each with the status that it must get.
RAW = [
    ("empty", b"", 400),
    ("not JSON", b"{", 400),
    ("two values", b"{} {}", 400),
    ("single quotes", b"{'stock': []}", 400),
    ("byte order mark", b"\xef\xbb\xbf" + GOOD, 400),
    ("invalid UTF-8", b'{"stock": "\xff\xfe"}', 400),
    ("UTF-16", GOOD.decode().encode("utf-16"), 400),
    ("raw control character", b'{"stock": "\x01"}', 400),
    ("NaN", GOOD.replace(b"3000", b"NaN"), 400),
    ("Infinity", GOOD.replace(b"3000", b"-Infinity"), 400),
    ("duplicate member", GOOD.replace(b'"count": 12', b'"count": 12, "count": 13'), 400),
    ("integer of 5000 digits", GOOD.replace(b"3000", b"9" * 5000), 400),
    ("100 000 open lists", b"[" * 100_000, 400),
    ("lists 100 deep", b"[" * 100 + b"]" * 100, 413),
    ("objects 30 deep", b'{"a":' * 30 + b"1" + b"}" * 30, 413),
    ("number beyond a double", GOOD.replace(b"3000", b"1e400"), 422),
    ("negative number beyond a double", GOOD.replace(b"3000", b"-1e400"), 422),
    ("huge number", GOOD.replace(b"3000", b"1.8e308"), 422),
    ("lone surrogate", rb'{"stock": "\ud800"}', 422),
    ("lone surrogate in a name", rb'{"\udfff": 1}', 422),
    ("NUL in a text", rb'{"stock": "\u0000"}', 422),
    ("new line in a text", rb'{"stock": "a\nb"}', 422),
    ("a list", b"[]", 422),
    ("a number", b"1", 422),
    ("null", b"null", 422),
    ("true for a count", GOOD.replace(b"12", b"true"), 422),
    ("text for a count", GOOD.replace(b"12", b'"12"'), 422),
    ("half a piece", GOOD.replace(b"12", b"12.5"), 422),
    ("unknown field", GOOD.replace(b'"count"', b'"conut": 1, "count"'), 422),
    ("exponent in money", GOOD.replace(b"3000", b'3000, "price": "1e1000000"'), 422),
    ("whole number written as a float", GOOD.replace(b"12", b"12.0"), 200),
    ("white space", b" \r\n\t" + GOOD + b"\n", 200),
    ("brackets in a text", GOOD.replace(b"3000", b'3000, "price": "' + b"[" * 50 + b'"'), 422),
]  # fmt: skip


@pytest.mark.parametrize(("body", "status"), [row[1:] for row in RAW], ids=[row[0] for row in RAW])
def test_raw_bodies_get_their_status(client: TestClient, body: bytes, status: int) -> None:
    """Never a 5xx, always a problem document, and no echo of what was sent."""
    answer = client.post(URL, content=body, headers=JSON)
    assert answer.status_code == status, answer.text
    if status >= 400:
        assert answer.headers["content-type"] == "application/problem+json"
        assert answer.json()["status"] == status
        assert "NaN" not in answer.text.replace("NaN and Infinity are not JSON", "")


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 415),
        ({"content-type": "text/plain"}, 415),
        ({"content-type": "application/x-www-form-urlencoded"}, 415),
        ({"content-type": "application/json; charset=utf-16"}, 415),
        ({"content-type": "application/json", "content-encoding": "gzip"}, 415),
        ({"content-type": "application/json; charset=UTF-8"}, 200),
        ({"content-type": "APPLICATION/JSON"}, 200),
        ({"content-type": "application/vnd.example+json"}, 200),
        ({"content-type": "application/json", "content-encoding": "identity"}, 200),
    ],
)
def test_media_type_and_coding_decide_first(client: TestClient, headers: dict[str, str], status: int) -> None:
    """RFC 9110 section 15.5.16; a page cannot send JSON without a preflight (OWASP API8)."""
    answer = client.post(URL, content=GOOD, headers=headers)
    assert answer.status_code == status
    if status == 415:
        assert answer.headers.get("accept-post", answer.headers.get("accept-encoding"))


def test_a_body_beyond_the_limit_is_413(client: TestClient) -> None:
    """By its declared length, and while it streams in without one (OWASP API4)."""
    most = 256 * 1024
    declared = client.post(URL, content=b" " * (most + 1), headers=JSON)
    streamed = client.post(URL, content=iter([b" " * 1024] * 300), headers=JSON)
    assert [declared.status_code, streamed.status_code] == [413, 413]
    assert declared.json()["detail"] == f"The body may have {most} bytes at most."
    assert client.post(URL, content=GOOD + b" " * (most - len(GOOD)), headers=JSON).status_code == 200


def _errors(client: TestClient, body: object, url: str = URL) -> dict[str, dict[str, Any]]:
    answer = client.post(url, json=body)
    assert answer.status_code == 422, answer.text
    return {error["pointer"]: error for error in answer.json()["errors"]}


def test_every_wrong_field_is_named_with_its_pointer(client: TestClient) -> None:
    """RFC 6901 pointers into the body that was sent, all at once."""
    errors = _errors(client, {"stock": [{"length_mm": 0}, {"length_mm": "3000"}], "demand": [{"count": 1}]})
    assert set(errors) == {"/stock/0/length_mm", "/stock/1/length_mm", "/demand/0/length_mm"}
    assert errors["/demand/0/length_mm"]["detail"] == "is required"


def test_an_unknown_field_suggests_the_nearest_known_one(client: TestClient) -> None:
    """A typing error is told with the name that was meant."""
    errors = _errors(client, {"stock": [{"lenght_mm": 3000}], "demnad": []})
    assert errors["/stock/0/lenght_mm"]["suggestion"] == "length_mm"
    assert errors["/demnad"]["suggestion"] == "demand"


def test_a_name_far_from_every_other_gets_no_suggestion(client: TestClient) -> None:
    """No suggestion is better than a wrong one."""
    assert "suggestion" not in _errors(client, {"stock": [], "demand": [], "zzzzzz": 1})["/zzzzzz"]


def test_slash_and_tilde_are_escaped_in_pointers(client: TestClient) -> None:
    """RFC 6901 section 3."""
    assert "/a~1b~0c" in _errors(client, {"a/b~c": 1})


def test_a_list_of_wrong_entries_is_not_called_too_short(client: TestClient) -> None:
    """The validator counts only right entries; the caller need not know."""
    assert set(_errors(client, {"stock": [{"length_mm": 0}], "demand": [{"length_mm": 5, "count": 1}]})) == {
        "/stock/0/length_mm"
    }


def test_at_most_fifty_fields_are_named(client: TestClient) -> None:
    """A hostile body does not get a longer answer (OWASP API4)."""
    answer = client.post(URL, json={f"field{number}": number for number in range(1500)})
    problem = answer.json()
    assert len(problem["errors"]) == 50
    assert problem["code"] == "problem.fields_more"
    assert sum("suggestion" in error for error in problem["errors"]) <= 5


@pytest.mark.parametrize(
    "query", ["?colour=red", "?role=sheet&role=screw", "?role=sheet&Role=sheet", "?revision=latest", "?role="]
)
def test_a_parameter_that_means_nothing_is_refused(client: TestClient, query: str) -> None:
    """Unknown, doubled or malformed: 422 with the parameter's name."""
    answer = client.get(f"/v1/catalogs/demo/items{query}")
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid-parameters")
    assert answer.json()["errors"][0]["parameter"]
