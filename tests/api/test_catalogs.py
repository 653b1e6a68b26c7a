"""Catalogs over HTTP: read, publish, activate, roll back, never lose another's change."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.app import create_app
from service.settings import Settings
from tests.api.conftest import LOOPBACK, PLAINLY

URL = "/v1/catalogs/demo"


def _document(client: TestClient, title: str | None = None) -> dict[str, Any]:
    document: dict[str, Any] = client.get(URL).json()
    return document | ({"title": title} if title else {})


def _etag(client: TestClient) -> str:
    return str(client.get(URL).headers["etag"])


def test_the_etag_of_a_catalog_is_its_revision(shop: TestClient) -> None:
    """So that If-Match says which revision a writer has seen."""
    active = [row for row in shop.get(f"{URL}/revisions").json()["revisions"] if row["active"]]
    assert _etag(shop) == f'"{active[0]["revision"]}"'


def test_reading_is_cached_by_validator(shop: TestClient) -> None:
    """RFC 9111: the active catalog is asked for again, a revision holds for ever; keyed answers stay private."""
    read = shop.get(URL)
    assert read.headers["cache-control"] == "private, no-cache"
    assert "Authorization" in read.headers["vary"]
    again = shop.get(URL, headers={"if-none-match": read.headers["etag"]})
    assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", read.headers["etag"])
    pinned = shop.get(URL, params={"revision": read.headers["etag"].strip('"')})
    assert pinned.headers["cache-control"] == "private, max-age=31536000, immutable"
    assert pinned.content == read.content


def test_items_can_be_asked_for_by_role(shop: TestClient) -> None:
    """The stock list holds each item once, under its own role."""
    everything = shop.get(f"{URL}/items").json()["items"]
    sheets = shop.get(f"{URL}/items", params={"role": "sheet"}).json()
    assert sheets["items"] == [item for item in everything if item["part"]["role"] == "sheet"] != []
    assert sheets["catalog"]["revision"] == _etag(shop).strip('"')
    assert shop.get(f"{URL}/items", params={"role": "hull"}).status_code == 422


def test_publishing_replaces_the_revision_that_was_seen(shop: TestClient) -> None:
    """The new revision is active at once, the old one can still be read."""
    before = _etag(shop)
    answer = shop.put(URL, json=_document(shop, "Spring"), headers={"if-match": before})
    assert answer.status_code == 200
    outcome = answer.json()
    assert (outcome["created"], outcome["activated"]) == (True, True)
    assert outcome["previous"] == before.strip('"')
    assert answer.headers["etag"] == _etag(shop) == f'"{outcome["revision"]}"'
    assert shop.get(answer.headers["content-location"]).json()["title"] == "Spring"
    assert shop.get(URL, params={"revision": outcome["previous"]}).status_code == 200


def test_publishing_the_same_again_changes_nothing(shop: TestClient) -> None:
    """Content-addressed: a repeated publication, spelled otherwise, is the same revision."""
    document = _document(shop, "Spring")
    first = shop.put(URL, json=document, headers={"if-match": _etag(shop)}).json()
    respelled = dict(reversed(document.items()))
    again = shop.put(URL, json=respelled, headers={"if-match": "*"}).json()
    assert again["revision"] == first["revision"]
    assert (again["created"], again["activated"]) == (False, False)


def test_a_lost_update_is_refused(shop: TestClient) -> None:
    """Two writers saw the same revision; the second one is told (412), and nothing of it is kept active."""
    seen = _etag(shop)
    assert shop.put(URL, json=_document(shop, "first"), headers={"if-match": seen}).status_code == 200
    second = shop.put(URL, json=_document(shop, "second"), headers={"if-match": seen})
    assert (second.status_code, second.json()["type"]) == (412, "/problems/revision-mismatch")
    assert _document(shop)["title"] == "first"


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 428),  # RFC 6585 section 3
        ({"if-none-match": "*"}, 412),
        ({"if-match": '"r-00000000000000000000000000000000"'}, 412),
        ({"if-match": '"something else"'}, 412),
        ({"if-none-match": '"r-00000000000000000000000000000000"'}, 428),
        ({"if-match": "*"}, 200),
    ],
)
def test_replacing_asks_for_a_precondition(shop: TestClient, headers: dict[str, str], status: int) -> None:
    """RFC 9110 section 13: what is active is replaced knowingly or not at all."""
    assert shop.put(URL, json=_document(shop, "x"), headers=headers).status_code == status


def test_a_weak_validator_matches_nothing(shop: TestClient) -> None:
    """RFC 9110 section 13.1.1: If-Match compares strongly."""
    assert (
        shop.put(URL, json=_document(shop, "x"), headers={"if-match": f"W/{_etag(shop)}"}).status_code == 412
    )


def test_a_new_catalog_is_201_and_only_where_there_is_none(shop: TestClient) -> None:
    """If-None-Match: * publishes what is new only; If-Match asks for something to replace."""
    document = _document(shop)
    new = {"if-none-match": "*"}
    assert shop.put("/v1/catalogs/winter", json=document, headers={"if-match": "*"}).status_code == 412
    assert [shop.put("/v1/catalogs/winter", json=document, headers=new).status_code for _ in range(2)] == [
        201,
        412,
    ]
    assert {row["id"] for row in shop.get("/v1/catalogs").json()["catalogs"]} >= {"demo", "winter"}


def test_a_revision_can_be_published_first_and_activated_later(shop: TestClient) -> None:
    """And the one before can be activated again: a roll-back."""
    before = _etag(shop)
    kept = shop.put(URL, json=_document(shop, "later"), params={"activate": "false"}).json()
    assert _etag(shop) == before
    for revision, seen in ((kept["revision"], before), (before.strip('"'), f'"{kept["revision"]}"')):
        answer = shop.post(f"{URL}/activation", json={"revision": revision}, headers={"if-match": seen})
        assert (answer.status_code, _etag(shop)) == (200, f'"{revision}"')
    unknown = shop.post(f"{URL}/activation", json={"revision": "r-" + "0" * 32}, headers={"if-match": "*"})
    assert unknown.status_code == 404


def test_everything_wrong_with_a_catalog_is_told_at_once(shop: TestClient) -> None:
    """Each with its pointer; nothing is published."""
    before, document = _etag(shop), _document(shop)
    document["items"][0]["price"] = "-1"
    document["items"][1]["sku"] = document["items"][2]["sku"]
    document["colour"] = "green"
    answer = shop.put(URL, json=document, headers={"if-match": before})
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/catalog-invalid")
    pointers = {error["pointer"] for error in answer.json()["errors"]}
    assert {"/items/0/price", "/items/2/sku", "/colour"} <= pointers
    assert _etag(shop) == before


@pytest.mark.parametrize("name", ["Demo", "de%00mo", "..", "%2e%2e", "a" * 41, "demo%2Fitems%2F"])
def test_a_name_that_cannot_be_is_404(shop: TestClient, name: str) -> None:
    """It never becomes a part of a file's path."""
    assert shop.get(f"/v1/catalogs/{name}").status_code == 404


def test_published_catalogs_survive_a_restart(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A folder given in the settings keeps what was published."""
    settings = Settings(log_level="ERROR", catalog_folder=tmp_path_factory.mktemp("catalogs"))
    with TestClient(create_app(settings), base_url=LOOPBACK, headers=PLAINLY) as client:
        published = client.put(URL, json=_document(client, "kept"), headers={"if-match": "*"}).json()
    with TestClient(create_app(settings), base_url=LOOPBACK, headers=PLAINLY) as client:
        assert _etag(client) == f'"{published["revision"]}"'
