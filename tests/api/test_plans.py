"""Plans over HTTP: bytes, caches, catalogs, refusals."""

from typing import Any

import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from service.planner.alternatives import Alternatives
from service.planner.answer.once_shapes import PlanOnce
from service.planner.answer.shapes import PARTS
from tests.api.conftest import Keys

URL = "/v1/plans"
DEMO: dict[str, Any] = {
    "structure": {"bays": 18, "bay_spacing": "5 ft"},
    "wall": {"panel_thickness": "8 mm", "height": "23 in"},
}


def test_a_plan_is_as_the_contract_says(client: TestClient) -> None:
    """Every field that is emitted is of the documented type, and none is missing."""
    answer = client.post(URL, json=DEMO)
    assert answer.status_code == 200, answer.text
    TypeAdapter(PlanOnce).validate_python(answer.json(), strict=True)


def test_the_same_spec_has_the_same_bytes(client: TestClient) -> None:
    """However it is spelled: millimetres or feet, defaults written out, members in another order."""
    first = client.post(URL, json=DEMO)
    spelled = {
        "wall": {"height": 584.2, "panel_thickness": 8.0},
        "structure": {"bay_spacing": "60 in", "bays": 18.0, "sides": ["left", "right"]},
    }
    again = client.post(URL, json=spelled)
    assert (again.content, again.headers["etag"]) == (first.content, first.headers["etag"])


def test_a_restarted_service_answers_the_same_bytes(client: TestClient, shop: TestClient) -> None:
    """A plan is a function of spec, revision and planner version, so every replica agrees."""
    assert client.post(URL, json=DEMO).content == shop.post(URL, json=DEMO).content


def test_the_answer_says_its_catalog_and_revision(client: TestClient) -> None:
    """So that an ordering system can recompute it."""
    active = client.get("/v1/catalogs/demo").headers["etag"].strip('"')
    catalog = client.post(URL, json=DEMO).json()["catalog"]
    assert (catalog["id"], catalog["revision"]) == ("demo", active)


def test_a_plan_follows_the_active_revision_unless_it_pins_one(shop: TestClient) -> None:
    """A price change shows in the next plan; the pinned plan keeps its bytes."""
    before = shop.post(URL, json=DEMO)
    document = shop.get("/v1/catalogs/demo").json()
    for item in document["items"]:
        item["price"] = f"{float(item['price']) + 1:.2f}"
        item["breaks"] = []
    published = shop.put("/v1/catalogs/demo", json=document, headers={"if-match": "*"})
    assert published.status_code == 200, published.text
    after = shop.post(URL, json=DEMO)
    assert after.json()["catalog"]["revision"] == published.json()["revision"]
    assert float(after.json()["bill_of_materials"]["total"]) > float(
        before.json()["bill_of_materials"]["total"]
    )
    pinned = shop.post(URL, json=DEMO | {"catalog_revision": published.json()["previous"]})
    assert pinned.content == before.content


@pytest.mark.parametrize("name", ["other", "de-mo"])
def test_a_catalog_that_is_not_there_is_named_with_those_that_are(client: TestClient, name: str) -> None:
    """The pointer leads to the field, and the dealer's catalogs are offered."""
    answer = client.post(URL, json=DEMO | {"catalog": name})
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/no-such-catalog")
    assert answer.json()["errors"][0]["pointer"] == "/catalog"
    assert "demo" in answer.json()["errors"][0]["allowed"]


def test_a_revision_that_is_not_there_is_named(client: TestClient) -> None:
    """A pinned revision is never replaced by another."""
    answer = client.post(URL, json=DEMO | {"catalog_revision": "r-" + "0" * 32})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/catalog_revision")


def test_an_answer_made_before_is_not_made_again(shop: TestClient) -> None:
    """The same bytes lead straight to it; the same question spelled otherwise leads to it after reading."""
    for body in (DEMO, DEMO, DEMO | {"display_units": "imperial"}):
        assert shop.post(URL, json=body).status_code == 200
    counted = shop.get("/metrics").text
    assert 'shin_wall_cache_total{level="body",outcome="hit"} 1.0' in counted
    assert 'shin_wall_cache_total{level="answer",outcome="miss"} 1.0' in counted
    assert 'shin_wall_cache_total{level="answer",outcome="hit"} 2.0' in counted


def test_two_dealers_never_share_an_answer(shop: TestClient) -> None:
    """OWASP API1: not even the time to answer tells a dealer what another has asked."""
    keys = Keys(shop)
    document = shop.get("/v1/catalogs/demo").json()
    for dealer in ("one", "two"):
        headers = keys.issue(dealer)
        assert (
            shop.put("/v1/catalogs/demo", json=document, headers=headers | {"if-none-match": "*"}).status_code
            == 201
        )
        assert shop.post(URL, json=DEMO, headers=headers).status_code == 200
    assert 'shin_wall_cache_total{level="answer",outcome="miss"} 2.0' in shop.get("/metrics").text


def test_alternatives_are_as_the_contract_says(client: TestClient) -> None:
    """The same body as a plan; a short list, the cheapest first."""
    answer = client.post("/v1/alternatives", json=DEMO)
    assert answer.status_code == 200, answer.text
    TypeAdapter(Alternatives).validate_python(answer.json(), strict=True)
    totals = [float(row["total"]) for row in answer.json()["alternatives"]]
    assert totals == sorted(totals)


def test_parts_are_answered_and_computed_by_themselves(client: TestClient) -> None:
    """Named parts are those of the whole plan; a summary has what is known without steps and checks."""
    whole = client.post(URL, json=DEMO)
    asked = client.post(f"{URL}?parts=bill_of_materials,summary,summary", json=DEMO)
    assert asked.status_code == 200, asked.text
    found, every = asked.json(), whole.json()
    TypeAdapter(PlanOnce).validate_python(found, strict=True)
    assert found["bill_of_materials"] == every["bill_of_materials"]
    assert every["summary"] == found["summary"] | {
        "minutes": every["summary"]["minutes"],
        "outcome": every["summary"]["outcome"],
    }
    assert found.keys() & set(PARTS) == {"summary", "bill_of_materials"}
    assert asked.headers["etag"] != whole.headers["etag"]
    same = client.post(f"{URL}?parts=summary,bill_of_materials", json=DEMO)
    assert (same.headers["etag"], same.content) == (asked.headers["etag"], asked.content)
    assert client.post(f"{URL}?parts={','.join(PARTS)}", json=DEMO).content == whole.content


@pytest.mark.parametrize("named", ["", "price", "summary,", "Summary"])
def test_a_part_that_is_none_is_refused_with_those_there_are(client: TestClient, named: str) -> None:
    """A misspelled part is never left out in silence."""
    answer = client.post(f"{URL}?parts={named}", json=DEMO)
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/invalid-parameters")
    assert answer.json()["errors"][0]["allowed"] == [*PARTS, "drawings"]
