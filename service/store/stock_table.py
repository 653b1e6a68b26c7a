"""What items of a catalog cost, how they are packed and when they ship, from a table with a row an item.

Rules of this module: pure functions. A table names an item by its sku and says what changes about it, nothing else; every
row gets an answer. Prices are decimals, never floating point. Whether the new document makes sense is decided where it is
published.

References
----------
RFC 4180 (10/2005), section 2: records end with CRLF (a bare LF is taken too), fields may be quoted, a quote inside is
doubled, every record has the same number of fields.
OWASP, "CSV Injection": a cell that begins with = + - @, tab or carriage return may be run as a formula by the program
that opens it; so no such cell is taken for anything.
"""

import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, Literal, get_args

from service.planner.asked.catalog import PackUnit
from service.planner.messages import Message, say
from service.store.errors import PriceListUnreadable

ROWS_MOST: Final = 5000
"""The most rows of a table [-]."""
CELL_SHOWN_MOST: Final = 60
"""How much of a cell is repeated in the report [characters]."""
_KEY: Final = "sku"
_REMARK: Final = "description"
"""A column that may stand there for people and is not read"""
_MONEY: Final = re.compile(r"[0-9]{1,7}(\.[0-9]{1,2})?")
_WHOLE: Final = re.compile(r"[0-9]{1,6}")

Outcome = Literal["changed", "unchanged", "refused"]
Value = str | int


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """What a column may change about an item.

    Attributes
    ----------
    read
        Gives the value of a cell; raises ValueError for what is none [-].
    usual
        The value of an item that does not say [-].
    complaint
        What is said about a cell that is none; `sku` and `cell` are filled in [-].
    """

    read: Callable[[str], Value | None]
    usual: Value | None
    complaint: Callable[[str, str], Message]


@dataclass(frozen=True, slots=True, kw_only=True)
class CellChange:
    """A value of an item before and after.

    Attributes
    ----------
    pointer
        RFC 6901 pointer to it in the catalog [-].
    before
        What it was; the usual value where the item did not say [-].
    after
        What it is [-].
    """

    pointer: str
    before: Value | None
    after: Value | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRow:
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
    changes
        What it changed [-].
    """

    line: int
    sku: str
    outcome: Outcome
    detail: Message | None = None
    changes: tuple[CellChange, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TableUpdate:
    """A table applied to a catalog.

    Attributes
    ----------
    document
        The catalog with the values of the rows that were taken [-].
    rows
        The answer to every row, in order [-].
    """

    document: dict[str, Any]
    rows: tuple[TableRow, ...]

    def count(self, outcome: Outcome) -> int:
        """Count the rows with an outcome."""
        return sum(row.outcome == outcome for row in self.rows)


def _price(cell: str) -> str:
    if not (_MONEY.fullmatch(cell) and Decimal(cell) > 0):
        raise ValueError(cell)
    return f"{Decimal(cell):.2f}"


def _whole(least: int, most: int) -> Callable[[str], int]:
    """Read a whole number within bounds."""

    def read(cell: str) -> int:
        if not (_WHOLE.fullmatch(cell) and least <= int(cell) <= most):
            raise ValueError(cell)
        return int(cell)

    return read


def _pack_unit(cell: str) -> str | None:
    """Read a pack's unit; an empty cell leaves it to the pack's size."""
    if cell and cell not in get_args(PackUnit):
        raise ValueError(cell)
    return cell or None


COLUMNS: Final[Mapping[str, Column]] = {
    "price": Column(
        read=_price,
        usual=None,
        complaint=lambda sku, cell: say(
            "prices.price",
            "the price of {sku} is no number above zero with at most two decimals: {price}",
            sku=sku,
            price=cell,
        ),
    ),
    "pack_size": Column(
        read=_whole(1, 100_000),
        usual=1,
        complaint=lambda sku, cell: say(
            "prices.pack_size",
            "the pack of {sku} holds no whole number from 1 to 100000: {cell}",
            sku=sku,
            cell=cell,
        ),
    ),
    "pack_unit": Column(
        read=_pack_unit,
        usual=None,
        complaint=lambda sku, cell: say(
            "prices.pack_unit",
            "the pack of {sku} is none of {units}: {cell}",
            sku=sku,
            units=get_args(PackUnit),
            cell=cell,
        ),
    ),
    "lead_days": Column(
        read=_whole(0, 365),
        usual=0,
        complaint=lambda sku, cell: say(
            "prices.lead_days",
            "the lead time of {sku} is no whole number of days from 0 to 365: {cell}",
            sku=sku,
            cell=cell,
        ),
    ),
}
"""Columns beside the sku, by name; a table has one of them at least, in any order and any case"""
HEADER: Final = (_KEY, _REMARK, *COLUMNS)
"""The columns of a table that is written; every one is read back [-]"""


def update_stock(document: Mapping[str, Any], table: bytes) -> TableUpdate:
    """Apply a table to a catalog; the catalog handed in stays as it is.

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
    rows, seen = list[TableRow](), set[str]()
    for line, cells in _records(table):
        row = _judge(line, cells, items, places, seen)
        for change in row.changes:
            items[places[row.sku]][change.pointer.rpartition("/")[2]] = change.after
        seen.add(row.sku)
        rows.append(row)
    return TableUpdate(document={**document, "items": items}, rows=tuple(rows))


def stock_rows(document: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """Walk a catalog's items as rows of a table that can be sent back changed.

    Parameters
    ----------
    document
        The catalog as decoded JSON, valid [-].
    """
    for item in document["items"]:
        yield {
            _KEY: item["sku"],
            _REMARK: item["description"],
            **{name: _value(item, name) for name in COLUMNS},
        }


def upsert(document: Mapping[str, Any], item: Mapping[str, Any]) -> dict[str, Any]:
    """Put an item in the place of the one with its sku, or at the end; the catalog handed in stays as it is.

    Parameters
    ----------
    document
        The catalog as decoded JSON, valid [-].
    item
        The item as decoded JSON [-].
    """
    items = list(document["items"])
    place = next((at for at, held in enumerate(items) if held["sku"] == item["sku"]), len(items))
    items[place : place + 1] = [item]
    return {**document, "items": items}


def _value(item: Mapping[str, Any], name: str) -> Value | None:
    found: Value | None = item.get(name, COLUMNS[name].usual)
    return found


def _records(table: bytes) -> Iterator[tuple[int, dict[str, str] | None]]:
    """Walk the records: each one's line and its cells by column, None for one with another number of fields."""
    try:
        reader = csv.reader(io.StringIO(table.decode("utf-8-sig"), newline=""), strict=True)
        header = [name.strip().lower() for name in next(reader, [])]
        known = {_KEY, _REMARK, *COLUMNS}
        named = set(header)
        if len(named) < len(header) or not named <= known or _KEY not in named or not named & {*COLUMNS}:
            raise PriceListUnreadable(
                say(
                    "prices.header",
                    "The first row must name the columns: sku, and one or more of {columns}.",
                    columns=tuple(COLUMNS),
                )
            )
        for number, cells in enumerate((cells for cells in reader if cells), 1):
            if number > ROWS_MOST:
                raise PriceListUnreadable(
                    say("prices.rows", "A price list may have {most} rows at most.", most=ROWS_MOST)
                )
            whole = len(cells) == len(header)
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
) -> TableRow:
    if cells is None:
        detail = say("prices.fields", "has not as many fields as the first row")
        return TableRow(line=line, sku="", outcome="refused", detail=detail)
    said = {name: cell.strip() for name, cell in cells.items()}
    sku = said.pop(_KEY)
    said.pop(_REMARK, None)
    complaint = _unknown(sku, places, seen)
    read: dict[str, Value | None] = {}
    for name, cell in said.items():
        try:
            read[name] = COLUMNS[name].read(cell)
        except ValueError:
            complaint = complaint or COLUMNS[name].complaint(_shown(sku), _shown(cell))
    if complaint:
        return TableRow(line=line, sku=_shown(sku), outcome="refused", detail=complaint)
    changes = tuple(_changes(places[sku], items[places[sku]], read))
    return TableRow(line=line, sku=sku, outcome="changed" if changes else "unchanged", changes=changes)


def _changes(place: int, item: Mapping[str, Any], read: Mapping[str, Value | None]) -> Iterator[CellChange]:
    for name, after in read.items():
        before = _value(item, name)
        same = Decimal(str(before)) == Decimal(str(after)) if name == "price" else before == after
        if not same:
            yield CellChange(pointer=f"/items/{place}/{name}", before=before, after=after)


def _unknown(sku: str, places: Mapping[str, int], seen: set[str]) -> Message | None:
    if sku not in places:
        return say("prices.unknown", "{sku} is no item of the catalog", sku=_shown(sku))
    return say("prices.twice", "{sku} stands in an earlier row too", sku=_shown(sku)) if sku in seen else None


def _shown(cell: str) -> str:
    return "".join(character if character.isprintable() else "?" for character in cell[:CELL_SHOWN_MOST])
