"""New prices, packs and lead times from a table."""

from __future__ import annotations

import copy
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.planner.asked.catalog_rules import read_catalog
from service.sales.documents.tables import table as write_table
from service.store.compare import compare
from service.store.errors import PriceListUnreadable
from service.store.folder import SHIPPED
from service.store.stock_table import HEADER, ROWS_MOST, stock_rows, update_stock

DEMO: dict[str, Any] = json.loads(Path(SHIPPED, "demo.json").read_text())
SKUS = [item["sku"] for item in DEMO["items"]]


def outcomes(table: str | bytes) -> list[tuple[int, str, str]]:
    """Give line, outcome and detail of every row."""
    text = table.encode() if isinstance(table, str) else table
    return [
        (row.line, row.outcome, row.detail.code if row.detail else "")
        for row in update_stock(DEMO, text).rows
    ]


def test_price_is_changed_and_nothing_else() -> None:
    """The new document differs from the old one in the price alone, is valid, and the old one stays."""
    untouched = copy.deepcopy(DEMO)
    update = update_stock(DEMO, f"sku,price\r\n{SKUS[0]},42.5\r\n".encode())
    (change,) = compare(DEMO, update.document)
    assert (change.pointer, change.before, change.after) == (
        "/items/0/price",
        DEMO["items"][0]["price"],
        "42.50",
    )
    (row,) = update.rows
    (cell,) = row.changes
    assert (row.line, row.outcome) == (2, "changed")
    assert (cell.pointer, cell.before, cell.after) == ("/items/0/price", DEMO["items"][0]["price"], "42.50")
    assert untouched == DEMO
    read_catalog(update.document)


@pytest.mark.parametrize(
    "table",
    [
        "sku,price\r\n{0},43.00\r\n{1},51.00\r\n",  # RFC 4180, section 2, rule 1
        "sku,price\r\n{0},43.00\r\n{1},51.00",  # rule 2: the last line break may be missing
        "sku,price\n{0},43.00\n{1},51.00\n",  # a bare line feed, common practice
        '"sku","price"\r\n"{0}","43.00"\r\n{1},"51.00"\r\n',  # rule 5: any field may be quoted
        "Price, SKU\r\n43.00,{0}\r\n51.00,{1}\r\n",  # columns are known by their names
        "\ufeffsku,price\r\n{0},43.00\r\n{1},51.00\r\n",  # the mark that table programs put before UTF-8
        "sku,price\r\n\r\n{0},43.00\r\n\r\n{1},51.00\r\n\r\n",  # empty lines between
    ],
)
def test_ways_to_write_a_table(table: str) -> None:
    """Every way says the same."""
    update = update_stock(DEMO, table.format(*SKUS).encode())
    assert [item["price"] for item in update.document["items"][:2]] == ["43.00", "51.00"]
    assert update.count("changed") == 2


def test_quote_inside_a_field_is_doubled() -> None:
    """RFC 4180, section 2, rule 7; the field is read whole and reported."""
    (row,) = update_stock(DEMO, b'sku,price\r\n"a ""b"", c\nd",1.00\r\n').rows
    assert (row.sku, row.outcome) == ('a "b", c?d', "refused")


@pytest.mark.parametrize(
    "table",
    [
        b"",
        b"\r\n",
        b"sku;price\r\nA;1.00\r\n",
        b"sku,description\r\nA,sheet\r\n",
        b"sku\r\nA\r\n",
        b"sku,price,note\r\nA,1,x\r\n",
        b"A,1.00\r\n",
        b"sku,sku\r\nA,A\r\n",
        b'sku,price\r\n"A,1.00\r\n',
        b'sku,price\r\n"A"x,1.00\r\n',
        b"sku,price\r\n\xff,1.00\r\n",
        b"sku,price\r\n" + b"A,1.00\r\n" * (ROWS_MOST + 1),
    ],
)
def test_no_table_is_refused_as_a_whole(table: bytes) -> None:
    """What is no table of sku and price changes nothing."""
    with pytest.raises(PriceListUnreadable):
        update_stock(DEMO, table)


def test_every_row_gets_its_answer() -> None:
    """Bad rows are refused one by one with the reason; good ones between them are taken."""
    first, second = SKUS[:2]
    table = (
        f"sku,price\r\n{first},43.00\r\nNOPE,1.00\r\n{first},44.00\r\n{second},free\r\n{second}\r\n"
        f"{second},0.00\r\n{SKUS[2]},{DEMO['items'][2]['price']}\r\n"
    )
    assert outcomes(table) == [
        (2, "changed", ""),
        (3, "refused", "prices.unknown"),
        (4, "refused", "prices.twice"),
        (5, "refused", "prices.price"),
        (6, "refused", "prices.fields"),
        (7, "refused", "prices.twice"),
        (8, "unchanged", ""),
    ]


@pytest.mark.parametrize(
    "price",
    [
        "=1+1",
        "+1.00",
        "-1.00",
        "@SUM(1)",
        "1,000.00",
        "1e3",
        "NaN",
        "Infinity",
        "0x10",
        "1.001",
        "1.",
        ".5",
        "",
        "１２",
        "1 000",
        "12345678.00",
        "1_0",
        "$5.00",
    ],
)
def test_price_that_is_no_plain_number_is_refused(price: str) -> None:
    """Neither a formula nor another way to write a number is taken for a price."""
    assert outcomes(f'sku,price\r\n{SKUS[0]},"{price}"\r\n')[0][1] == "refused"


def test_the_table_of_a_catalog_changes_nothing_when_it_is_sent_back() -> None:
    """Every row is unchanged, whatever the items say or leave out."""
    update = update_stock(DEMO, write_table(HEADER, stock_rows(DEMO)))
    assert {row.outcome for row in update.rows} == {"unchanged"}
    assert update.document == DEMO


def test_packs_and_lead_times_are_changed_too() -> None:
    """Several values of an item in one row, each told; the document is valid."""
    update = update_stock(DEMO, f"lead_days,sku,pack_unit,pack_size\r\n21,{SKUS[0]},XPX,5\r\n".encode())
    told = {change.pointer: change.after for change in update.rows[0].changes}
    assert told == {"/items/0/lead_days": 21, "/items/0/pack_unit": "XPX", "/items/0/pack_size": 5}
    read_catalog(update.document)


@pytest.mark.parametrize(
    ("column", "cell"),
    [("lead_days", "-1"), ("lead_days", "366"), ("lead_days", "2.5"), ("lead_days", ""), ("pack_size", "0"),
     ("pack_size", "=4"), ("pack_size", "１２"), ("pack_unit", "box"), ("pack_unit", "XXX")],
)  # fmt: skip
def test_what_a_column_does_not_hold_is_refused(column: str, cell: str) -> None:
    """Each with a text of its own that names the item and what was written."""
    (row,) = update_stock(DEMO, f"sku,{column}\r\n{SKUS[0]},{cell}\r\n".encode()).rows
    assert (row.outcome, row.detail and row.detail.code) == ("refused", f"prices.{column}")


@given(cents=st.lists(st.integers(1, 999_999_999), min_size=1, max_size=8))
def test_prices_are_exact(cents: list[int]) -> None:
    """Every price comes through to the cent, and only the named items change."""
    rows = [f"{sku},{Decimal(cent) / 100}" for sku, cent in zip(SKUS, cents, strict=False)]
    update = update_stock(DEMO, "\r\n".join(["sku,price", *rows]).encode())
    for place, item in enumerate(update.document["items"]):
        if place < len(cents):
            assert Decimal(item["price"]) * 100 == cents[place]
        else:
            assert item == DEMO["items"][place]
