"""Price lists and comparisons over HTTP."""

import gc
from decimal import Decimal
from typing import Any

import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from service.api.revision_shapes import ComparisonAnswer, PriceListAnswer
from service.planner.asked.catalog import Catalog

URL = "/v1/catalogs/demo"
CSV = {"content-type": "text/csv"}
SHEET = "PC08-48x120"
SHORT: dict[str, Any] = {"structure": {"bays": 2, "bay_spacing": "5 ft"}, "wall": {"panel_thickness": "8 mm"}}
"""A structure that one such sheet serves: two strips, each over two bays"""


def _price(client: TestClient, sku: str) -> str:
    items = client.get(f"{URL}/items").json()["items"]
    return next(str(item["price"]) for item in items if item["sku"] == sku)


def _etag(client: TestClient) -> str:
    return str(client.get(URL).headers["etag"])


def test_a_price_list_publishes_a_revision(shop: TestClient) -> None:
    """Every row is answered, and the new price is in the active catalog."""
    before, seen = _price(shop, SHEET), _etag(shop)
    table = f"sku,price\r\n{SHEET},99.25\r\n".encode()
    answer = shop.post(f"{URL}/prices", content=table, headers=CSV | {"if-match": seen})
    assert answer.status_code == 200, answer.text
    TypeAdapter(PriceListAnswer).validate_python(answer.json(), strict=True)
    row = answer.json()["rows"][0]
    assert (row["line"], row["sku"], row["outcome"]) == (2, SHEET, "changed")
    (change,) = row["changes"]
    assert (change["before"], change["after"]) == (before, "99.25")
    assert _price(shop, SHEET) == "99.25"
    assert answer.json()["published"]["previous"] == seen.strip('"')


def test_the_table_of_items_can_be_sent_back(shop: TestClient) -> None:
    """Read as a table, with one lead time written over, it changes that and nothing else."""
    read = shop.get(f"{URL}/items", headers={"accept": "text/csv"})
    assert read.headers["content-type"].startswith("text/csv")
    head, *rows = read.text.splitlines()
    assert head == "sku,description,price,pack_size,pack_unit,lead_days"
    at = next(at for at, row in enumerate(rows) if row.startswith(SHEET))
    rows[at] = rows[at].rpartition(",")[0] + ",19"
    sent = "\r\n".join([head, *rows])
    answer = shop.post(f"{URL}/prices", content=sent.encode(), headers=CSV | {"if-match": _etag(shop)})
    assert answer.status_code == 200, answer.text
    changed = [change for row in answer.json()["rows"] for change in row["changes"]]
    assert [(change["pointer"].rpartition("/")[2], change["after"]) for change in changed] == [
        ("lead_days", 19)
    ]


def test_an_item_is_put_in_its_place_or_at_the_end(shop: TestClient) -> None:
    """One item makes a revision; the sku of the address counts; what is no item is refused with its fields."""
    items = shop.get(f"{URL}/items").json()["items"]
    place = next(at for at, item in enumerate(items) if item["sku"] == SHEET)
    dearer = items[place] | {"price": "123.45"}
    put = shop.put(f"{URL}/items/{SHEET}", json=dearer, headers={"if-match": _etag(shop)})
    assert put.status_code == 200, put.text
    new = dearer | {"sku": "NEW-1"}
    assert shop.put(f"{URL}/items/NEW-1", json=new, headers={"if-match": _etag(shop)}).status_code == 200
    found = shop.get(f"{URL}/items").json()["items"]
    assert found == [*items[:place], dearer, *items[place + 1 :], new]
    for sku, body, status, pointer in (
        ("NEW-2", new, 422, "/sku"),
        ("NEW-1", new | {"price": "free"}, 422, "/price"),
    ):
        answer = shop.put(f"{URL}/items/{sku}", json=body, headers={"if-match": "*"})
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (status, pointer)
    new["price"] = "124.00"
    assert shop.put(f"{URL}/items/NEW-1", json=new).status_code == 428
    assert shop.put(f"{URL}/items/NEW-1", json=new, headers={"if-match": '"r-0"'}).status_code == 412


def test_a_refused_row_refuses_the_list(shop: TestClient) -> None:
    """Each refused row is named by its line, a formula too; nothing is published."""
    seen = _etag(shop)
    table = f"sku,price\r\n{SHEET},99.25\r\nNO-SUCH,1.00\r\n=cmd(),2\r\n".encode()
    answer = shop.post(f"{URL}/prices", content=table, headers=CSV | {"if-match": seen})
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/price-list-refused")
    assert [error["row"] for error in answer.json()["errors"]] == [3, 4]
    assert _etag(shop) == seen


@pytest.mark.parametrize(
    ("headers", "table", "status"),
    [
        ({}, b"sku,price\r\n", 428),
        ({"if-match": '"r-00000000000000000000000000000000"'}, b"sku,price\r\nPC08-48x120,1\r\n", 412),
        ({"if-match": "*"}, b"\xff\xfe", 422),
        ({"if-match": "*"}, b"item,cost\r\n", 422),
        ({"if-match": "*", "content-type": "application/json"}, b"{}", 415),
    ],
)
def test_a_list_that_cannot_be_applied_is_refused(
    shop: TestClient, headers: dict[str, str], table: bytes, status: int
) -> None:
    """Without the revision that was seen, or when it is no table at all."""
    table = table if status != 428 else f"sku,price\r\n{SHEET},1.23\r\n".encode()
    assert shop.post(f"{URL}/prices", content=table, headers=CSV | headers).status_code == status


def _compared(client: TestClient, body: dict[str, Any]) -> dict[str, Any]:
    answer = client.post(f"{URL}/comparisons", json=body)
    assert answer.status_code == 200, answer.text
    TypeAdapter(ComparisonAnswer).validate_python(answer.json(), strict=True)
    found: dict[str, Any] = answer.json()
    return found


def test_a_comparison_tells_the_change_and_what_it_does_to_a_price(shop: TestClient) -> None:
    """Ten more a sheet on nine sheets is ninety more: the reference structure buys nine (see its bill)."""
    before = _etag(shop).strip('"')
    price = f"{Decimal(_price(shop, SHEET)) + 10:.2f}"
    table = f"sku,price\r\n{SHEET},{price}\r\n".encode()
    assert shop.post(f"{URL}/prices", content=table, headers=CSV | {"if-match": "*"}).status_code == 200
    found = _compared(shop, {"before": before, "structure": SHORT})
    assert [(change["kind"], change["name"], change["after"]) for change in found["changes"]] == [
        ("changed", SHEET, price)
    ]
    bought = shop.post("/v1/plans", json={**SHORT, "catalog_revision": before})
    lines = {line["sku"]: line["packs"] for line in bought.json()["bill_of_materials"]["lines"]}
    assert Decimal(found["difference"]) <= 10 * lines[SHEET]
    assert Decimal(found["difference"]) == Decimal(found["after"]["total"]) - Decimal(
        found["before"]["total"]
    )


def test_a_structure_that_a_revision_cannot_build_has_no_price(shop: TestClient) -> None:
    """The comparison is answered all the same, and says why."""
    revision = _etag(shop).strip('"')
    structure = {"structure": {"bays": 4, "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "25 mm"}}
    found = _compared(shop, {"before": revision, "structure": structure})
    assert found["changes"] == []
    assert (found["before"]["total"], found["difference"]) == (None, None)
    assert found["before"]["refused"]


def test_catalogs_that_were_replaced_are_not_kept(shop: TestClient) -> None:
    """Fifty price lists make fifty catalogs, each planned from; those that were active once are gone from memory."""
    body = {"structure": {"bays": 4, "bay_spacing": "5 ft"}, "wall": {"panel_thickness": "8 mm"}}
    others = _catalogs()
    for number in range(50):
        table = f"sku,price\r\n{SHEET},{100 + number}.00\r\n".encode()
        headers = CSV | {"if-match": _etag(shop)}
        assert shop.post(f"{URL}/prices", content=table, headers=headers).status_code == 200
        assert shop.post("/v1/plans", json=body).status_code == 200
    assert len(_catalogs() - others) == 1


def _catalogs() -> set[int]:
    """Tell the catalogs in memory that are not held since before the start."""
    gc.collect()
    return {id(each) for each in gc.get_objects() if isinstance(each, Catalog)}
