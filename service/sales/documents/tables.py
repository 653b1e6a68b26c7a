"""Orders and picking lists as tables: RFC 4180, UTF-8, safe to open in a spreadsheet.

Rules of this file
------------------
- Columns are a table below; their names and order are the contract.
- A text that a spreadsheet would run as a formula gets a quote mark before it (OWASP, "CSV Injection"). Numbers are written
  by us and never begin that way.

References
----------
RFC 4180 (10/2005), section 2: records end with CRLF, a field with a comma, a quote or a line break is quoted.
"""

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Final

from service.sales.shapes import OrderLineOut, OrderOut

FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")
"""How a text begins that a spreadsheet may run [-]"""
ORDER_COLUMNS: Final = (
    "order_id", "reference", "line", "sku", "description", "role", "packs", "pack_unit", "pack_size", "unit", "quantity",
    "pack_price", "amount", "currency", "tax_category", "gtin", "customs_code", "lead_days", "place", "mass_kg",
)  # fmt: skip
"""Columns of an order, one row a line: amount = packs x pack_price; pack_size and quantity are in unit"""
PICKING_COLUMNS: Final = ("place", "line", "sku", "description", "packs", "pack_unit", "mass_kg")
"""Columns of a picking list, by place"""


def harmless(value: object) -> str:
    """Write a cell so that no spreadsheet takes it for a formula."""
    text = "" if value is None else str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(FORMULA_STARTS) else text


def table(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> bytes:
    """Write rows as a table with a header.

    Parameters
    ----------
    columns
        Names of the columns, in order.
    rows
        Cells by column; a missing one is empty.
    """
    sheet = io.StringIO()
    writer = csv.writer(sheet, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([harmless(row.get(column)) for column in columns] for row in rows)
    return sheet.getvalue().encode()


def order_table(order: OrderOut) -> bytes:
    """Write an order, a row a line."""
    head = {"order_id": order["order_id"], "reference": order["reference"]}
    return table(ORDER_COLUMNS, ({**line, **head} for line in order["lines"]))


def picking_table(order: OrderOut) -> bytes:
    """Write a picking list: what to fetch, by place."""
    lines: Mapping[int, OrderLineOut] = {line["line"]: line for line in order["lines"]}
    rows = (
        {**lines[number], "place": pick["place"]} for pick in order["picking"] for number in pick["lines"]
    )
    return table(PICKING_COLUMNS, rows)


TABLES: Final[Mapping[str, Callable[[OrderOut], bytes]]] = {
    "order": order_table,
    "quotation": order_table,
    "picking": picking_table,
}
"""The table of each document"""
