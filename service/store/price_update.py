"""New prices for a catalog from a table of sku and price.

Rules of this module: pure functions. A table says what an item costs and nothing else; every row gets an answer. Prices
are decimals, never floating point. Whether the new document makes sense is decided where it is published.

References
----------
RFC 4180 (10/2005), section 2: records end with CRLF (a bare LF is taken too), fields may be quoted, a quote inside is
doubled, every record has the same number of fields.
OWASP, "CSV Injection": a cell that begins with = + - @, tab or carriage return may be run as a formula by the program
that opens it; so no such cell is taken as a price, and none is written without a quote mark before it.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from service.planner.messages import Message, say
from service.planner.writing import ENGLISH, Writer
from service.store.errors import PriceListUnreadable

ROWS_MOST = 5000
"""The most rows of a table [-]."""
COLUMNS = ("sku", "price")
"""The columns, in any order and any case [-]."""
PRICE = re.compile(r"[0-9]{1,7}(\.[0-9]{1,2})?")
"""How a price is written; the decimal sign is a point [-]."""
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""How a cell begins that a table program may run [-]."""
CELL_SHOWN_MOST = 60
"""How much of a cell is repeated in the report [characters]."""

Outcome = Literal["changed", "unchanged", "refused"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRow:
    """The answer to one row.

    Attributes
    ----------
    line
        Line of the table that the row ends on, the header's is 1 [-].
    sku
        The item, as written, shortened and without control characters [-].
    outcome
        What became of it [-].
    detail
        Why it was refused; none otherwise [-].
    pointer
        RFC 6901 pointer to the price in the catalog; None when it was refused [-].
    before
        The price in the catalog; None when it was refused [currency of the catalog].
    after
        The new price; None when it was refused [currency of the catalog].
    """

    line: int
    sku: str
    outcome: Outcome
    detail: Message | None = None
    pointer: str | None = None
    before: str | None = None
    after: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceUpdate:
    """A table applied to a catalog.

    Attributes
    ----------
    document
        The catalog with the new prices of the rows that were taken [-].
    rows
        The answer to every row, in order [-].
    """

    document: dict[str, Any]
    rows: tuple[PriceRow, ...]

    def count(self, outcome: Outcome) -> int:
        """Count the rows with an outcome."""
        return sum(row.outcome == outcome for row in self.rows)


def update_prices(document: Mapping[str, Any], table: bytes) -> PriceUpdate:
    """Apply a table of prices to a catalog; the catalog handed in stays as it is.

    Parameters
    ----------
    document
        The catalog as decoded JSON, valid [-].
    table
        The table, UTF-8, with a header [-].

    Raises
    ------
    PriceListUnreadable
        When it is no such table as a whole: not UTF-8, broken quoting, other columns, too many rows.
    """
    items = [dict(item) for item in document["items"]]
    places = {item["sku"]: index for index, item in enumerate(items)}
    rows, seen = list[PriceRow](), set[str]()
    for line, cells in _records(table):
        row = _judge(line, cells, items, places, seen)
        if row.outcome == "changed":
            items[places[row.sku]]["price"] = row.after
        seen.add(row.sku)
        rows.append(row)
    return PriceUpdate(document={**document, "items": items}, rows=tuple(rows))


def write_report(update: PriceUpdate) -> str:
    """Write the answers to a table as a table, safe to open.

    Parameters
    ----------
    update
        The applied table [-].
    """
    sheet = io.StringIO()
    writer = csv.writer(sheet, lineterminator="\r\n")
    writer.writerow(("line", "sku", "outcome", "detail", "before", "after"))
    for row in update.rows:
        detail = "" if row.detail is None else Writer(ENGLISH).text(row.detail)
        cells = (row.line, row.sku, row.outcome, detail, row.before or "", row.after or "")
        writer.writerow([_harmless(str(cell)) for cell in cells])
    return sheet.getvalue()


def _records(table: bytes) -> Iterator[tuple[int, dict[str, str] | None]]:
    """Give each record's line and its cells by column; None for one with another number of fields."""
    try:
        reader = csv.reader(io.StringIO(table.decode("utf-8-sig"), newline=""), strict=True)
        header = [name.strip().lower() for name in next(reader, [])]
        if sorted(header) != sorted(COLUMNS):
            raise PriceListUnreadable(
                say("prices.header", "The first row must name the columns: sku and price.")
            )
        for number, cells in enumerate((cells for cells in reader if cells), 1):
            if number > ROWS_MOST:
                raise PriceListUnreadable(
                    say("prices.rows", "A price list may have {most} rows at most.", most=ROWS_MOST)
                )
            whole = len(cells) == len(COLUMNS)
            yield reader.line_num, dict(zip(header, cells, strict=True)) if whole else None
    except (UnicodeDecodeError, csv.Error) as error:
        raise PriceListUnreadable(
            say("prices.no_table", "The list is no table of comma-separated values in UTF-8.")
        ) from error


def _judge(
    line: int,
    cells: dict[str, str] | None,
    items: list[dict[str, Any]],
    places: dict[str, int],
    seen: set[str],
) -> PriceRow:
    if cells is None:
        return PriceRow(
            line=line,
            sku="",
            outcome="refused",
            detail=say("prices.fields", "has not the two fields sku and price"),
        )
    sku, price = cells["sku"].strip(), cells["price"].strip()
    complaint = _complaint(sku, price, places, seen)
    if complaint:
        return PriceRow(line=line, sku=_shown(sku), outcome="refused", detail=complaint)
    before, after = items[places[sku]]["price"], f"{Decimal(price):.2f}"
    same = Decimal(before) == Decimal(after)
    return PriceRow(
        line=line,
        sku=sku,
        outcome="unchanged" if same else "changed",
        pointer=f"/items/{places[sku]}/price",
        before=before,
        after=before if same else after,
    )


def _complaint(sku: str, price: str, places: dict[str, int], seen: set[str]) -> Message | None:
    shown = _shown(sku)
    if sku not in places:
        return say("prices.unknown", "{sku} is no item of the catalog", sku=shown)
    if sku in seen:
        return say("prices.twice", "{sku} stands in an earlier row too", sku=shown)
    if not PRICE.fullmatch(price):
        return say(
            "prices.price",
            "the price of {sku} is no number with at most two decimals: {price}",
            sku=shown,
            price=_shown(price),
        )
    return None if Decimal(price) > 0 else say("prices.zero", "the price of {sku} is zero", sku=shown)


def _shown(cell: str) -> str:
    return "".join(character if character.isprintable() else "?" for character in cell[:CELL_SHOWN_MOST])


def _harmless(cell: str) -> str:
    return f"'{cell}" if cell.startswith(FORMULA_STARTS) else cell
