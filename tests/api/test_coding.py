"""Compressed answers: chosen by weight, told apart by their validators, never where they do not pay."""

import gzip
from typing import Any

import pytest
from backports import zstd
from fastapi.testclient import TestClient

from service.api.coding import chosen
from tests.api.test_plans import DEMO


# RFC 9110 section 12.5.3: weights, the star, and that a coding with weight 0 is refused.
@pytest.mark.parametrize(
    ("accepted", "coding"),
    [
        ("", "identity"),
        ("gzip", "gzip"),
        ("gzip, deflate, br", "gzip"),
        ("gzip, zstd", "zstd"),
        ("gzip;q=1, zstd;q=0.5", "gzip"),
        ("*", "zstd"),
        ("zstd;q=0, *;q=0.3", "gzip"),
        ("gzip;q=0", "identity"),
        ("identity, gzip;q=0.5", "identity"),
        ("gzip;q=nonsense", "identity"),
        ("br", "identity"),
    ],
)
def test_the_coding_is_chosen_by_weight(accepted: str, coding: str) -> None:
    """Of equal weights the better coding."""
    assert chosen(accepted) == coding


@pytest.mark.parametrize(("coding", "decode"), [("gzip", gzip.decompress), ("zstd", zstd.decompress)])
def test_a_coded_plan_is_the_plan(client: TestClient, coding: str, decode: Any) -> None:
    """The same bytes after decoding, another validator, and caches are told what it depends on."""
    plain = client.post("/v1/plans", json=DEMO)
    with client.stream("POST", "/v1/plans", json=DEMO, headers={"accept-encoding": coding}) as coded:
        raw = b"".join(coded.iter_raw())
        assert coded.headers["content-encoding"] == coding
        assert int(coded.headers["content-length"]) == len(raw) < len(plain.content) / 5
        assert coded.headers["etag"] == plain.headers["etag"][:-1] + f'-{coding}"'
        assert "Accept-Encoding" in coded.headers["vary"]
    assert decode(raw) == plain.content
    assert "Accept-Encoding" in plain.headers["vary"]
    assert "content-encoding" not in plain.headers


def test_short_answers_are_left_as_they_are(client: TestClient) -> None:
    """Below a kilobyte the head is longer than what could be saved."""
    answer = client.get("/livez", headers={"accept-encoding": "gzip"})
    assert "content-encoding" not in answer.headers


def test_a_coded_copy_in_hand_is_not_sent_again(client: TestClient) -> None:
    """304 for the copy in the coding asked for; the plain copy's validator is not the coded one's. GETs only."""
    coded = {"accept-encoding": "gzip"}
    etag = client.get("/v1/catalogs/demo", headers=coded).headers["etag"]
    assert etag.endswith('-gzip"')
    again = client.get("/v1/catalogs/demo", headers=coded | {"if-none-match": etag})
    assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", etag)
    assert client.get("/v1/catalogs/demo", headers={"if-none-match": etag}).status_code == 200
    plan = client.post("/v1/plans", json=DEMO)
    repeated = client.post("/v1/plans", json=DEMO, headers={"if-none-match": plan.headers["etag"]})
    assert repeated.status_code == 200


def test_a_revision_is_replaced_by_the_validator_of_any_coding(shop: TestClient) -> None:
    """Whoever read a catalog compressed has seen the revision all the same."""
    read = shop.get("/v1/catalogs/demo", headers={"accept-encoding": "zstd"})
    put = shop.put("/v1/catalogs/demo", json=read.json(), headers={"if-match": read.headers["etag"]})
    assert put.status_code == 200, put.text


def test_refusals_are_coded_too(client: TestClient) -> None:
    """A problem with many fields is as long as a plan."""
    body = {**DEMO, **{f"unknown_{number}": 1 for number in range(60)}}
    answer = client.post("/v1/plans", json=body, headers={"accept-encoding": "gzip"})
    assert (answer.status_code, answer.headers["content-encoding"]) == (422, "gzip")
    assert answer.json()["type"] == "/problems/invalid-fields"
