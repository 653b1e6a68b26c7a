"""The form's descriptor: made from the models and the catalog, in three languages, without a price.

Reference: JSON Schema 2020-12 (core and validation), by an independent validator; RFC 6901 pointers; RFC 9110 13.1.2.
"""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient
from jsonschema import Draft202012Validator

from service.planner.units import parse_length
from service.store.contract import Storefront
from tests.api.conftest import Keys


def fields_of(form: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Walk the questions, those of list entries with the pointer of a first entry."""
    for group in form["presentation"]["groups"]:
        for field in group["fields"]:
            yield field
            for entry in field.get("entries", ()):
                yield entry | {"pointer": f"{field['pointer']}/0{entry['pointer']}"}


def put(spec: dict[str, Any], pointer: str, value: Any) -> None:
    """Put a value into a spec, making what lies on the way."""
    node: Any = spec
    *way, last = pointer.split("/")[1:]
    for step, after in zip(way, [*way[1:], last], strict=True):
        made: Any = [] if after == "0" else {}
        if step == "0":
            if not node:
                node.append(made)
            node = node[0]
        else:
            node = node.setdefault(step, made)
    node[last] = value


def filled(form: dict[str, Any], units: str, changes: dict[str, Any]) -> dict[str, Any]:
    """The spec of a form whose every default is sent, with some answers changed."""
    spec: dict[str, Any] = {"display_units": units, "catalog": form["catalog"]["id"]}
    for field in fields_of(form):
        value = changes.get(field["pointer"], field["default"][units])
        if "/0/" not in field["pointer"] and value is not None:
            put(spec, field["pointer"], value)
    return spec


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_what_the_form_begins_with_makes_a_plan(client: TestClient, units: str) -> None:
    """Two answers are enough; every default as it is typed means what the service takes by itself."""
    form = client.get("/v1/form").json()
    changes = {"/structure/bays": 12, "/structure/bay_spacing": "5 ft"}
    spec = filled(form, units, changes)
    Draft202012Validator(form["schema"]).validate(spec)
    plain = {
        "structure": {"bays": 12, "bay_spacing": "5 ft"},
        "wall": {"panel_thickness": "8 mm"},
        "display_units": units,
    }
    first, second = (client.post("/v1/plans?parts=summary", json=body).json() for body in (spec, plain))
    assert first["summary"] == second["summary"]


def test_the_schema_is_one_of_json_schema_2020_12(client: TestClient) -> None:
    """It says so, and the validator's own metaschema agrees."""
    schema = client.get("/v1/form").json()["schema"]
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_every_option_and_limit_is_one_that_the_schema_takes(client: TestClient, units: str) -> None:
    """What the form offers or calls a limit is never refused for its shape."""
    form = client.get("/v1/form").json()
    validator = Draft202012Validator(form["schema"])
    for field in fields_of(form):
        held = [option["value"] for option in field.get("options", ())]
        held += [field["limits"][units][end] for end in ("least", "greatest")] if "limits" in field else []
        for value in held:
            body = filled(form, units, {"/structure/bays": 2, "/structure/bay_spacing": "5 ft"})
            if "/0/" in field["pointer"]:
                body["structure"]["openings"] = [{"side": "left", "offset": "20 ft", "width": "4 ft"}]
            put(body, field["pointer"], int(value) if field["kind"] == "count" else value)
            errors = [error.message for error in validator.iter_errors(body)]
            assert not errors, (field["pointer"], value, errors)
            if field["kind"] == "length":
                parse_length(value)


def test_options_are_what_the_catalog_stocks(shop: TestClient) -> None:
    """A catalog without 16 mm sheet offers none; its validator changes with it."""
    before = shop.get("/v1/form")
    document = shop.get("/v1/catalogs/demo").json()
    thick = {"sheet", "joint_profile", "top_channel", "end_cap"}
    document["items"] = [
        item
        for item in document["items"]
        if not (item["part"]["role"] in thick and item["part"].get("thickness") == "16 mm")
    ]
    assert shop.put("/v1/catalogs/demo", json=document, headers={"if-match": "*"}).status_code == 200
    after = shop.get("/v1/form", headers={"if-none-match": before.headers["etag"]})
    assert after.status_code == 200
    offered = [
        next(field for field in fields_of(answer.json()) if field["pointer"] == "/wall/panel_thickness")
        for answer in (before, after)
    ]
    assert [option["value"] for option in offered[0]["options"]] == ["6 mm", "8 mm", "10 mm", "16 mm"]
    assert [option["value"] for option in offered[1]["options"]] == ["6 mm", "8 mm", "10 mm"]


def test_it_is_not_sent_again(client: TestClient) -> None:
    """304 for who has it in this language, 200 in another; nothing is left in English."""
    english = client.get("/v1/form")
    again = client.get("/v1/form", headers={"if-none-match": english.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    labels = {"en": [field["label"] for field in fields_of(english.json())]}
    for tag in ("es", "fr"):
        answer = client.get(
            "/v1/form", headers={"if-none-match": english.headers["etag"], "accept-language": tag}
        )
        assert (answer.status_code, answer.headers["content-language"]) == (200, tag)
        labels[tag] = [field["label"] for field in fields_of(answer.json())]
        assert not set(labels[tag]) & set(labels["en"])


def test_it_tells_no_prices(client: TestClient) -> None:
    """Neither a price nor a sku of the catalog stands in it."""
    text = client.get("/v1/form").text
    catalog = client.get("/v1/catalogs/demo").json()
    assert not [item["sku"] for item in catalog["items"] if item["sku"] in text]
    prices = {item["price"] for item in catalog["items"]}
    assert not prices & set(re.findall(r'"([0-9]+\.[0-9]{2})"', text))


def test_a_shop_pages_key_reads_its_own_form_and_no_other(client: TestClient, keys: Keys) -> None:
    """The catalog comes with the key; another is not there."""
    document = client.get("/v1/catalogs/demo").json()
    dealer = keys.issue("former")
    assert client.put("/v1/catalogs/walls", json=document, headers=dealer | {"if-none-match": "*"}).is_success
    origin = "https://shop.example"
    page = keys.issue("former", origins=(origin,), storefront=Storefront(catalog="walls")) | {
        "origin": origin
    }
    assert client.get("/v1/form", headers=page).json()["catalog"]["id"] == "walls"
    refused = client.get("/v1/form?catalog=demo", headers=page)
    assert (refused.status_code, refused.json()["type"]) == (422, "/problems/no-such-catalog")


@pytest.mark.parametrize(
    ("tag", "said"), [("en", "must be a whole number"), ("es", "número entero"), ("fr", "nombre entier")]
)
def test_messages_of_fields_are_there_by_code(client: TestClient, tag: str, said: str) -> None:
    """What a refusal says of a field stands in the descriptor under its code, in the reader's language."""
    headers = {"accept-language": tag}
    messages = client.get("/v1/form", headers=headers).json()["presentation"]["messages"]
    wrong = {"structure": {"bays": "many", "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "8 mm"}}
    error = client.post("/v1/plans", json=wrong, headers=headers).json()["errors"][0]
    assert messages[error["code"]] == error["detail"]
    assert said in error["detail"]
