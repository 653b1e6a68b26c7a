"""Answers on their way out: a JSON line or a CSV row a structure, and a last one that sums up.

Rules of this file
------------------
- JSON is put together from bytes that a planner made; it is not read again.
- Cells that a spreadsheet would take for a formula are written as text.
"""

import csv
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import orjson

from service.batch.columns import column_at, columns
from service.batch.records import Record, Refused
from service.batch.stream import Answered

RESULT: Final = (
    "index", "row", "id", "reference", "status", "outcome", "total", "currency", "wall_length_mm", "panels", "panel_joints",
    "sheets", "total_mass_kg", "longest_mm", "proven_optimal", "plan_id", "problem", "column", "detail", "suggestion",
)  # fmt: skip
"""Columns of an answer as CSV"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """How a batch is answered in one media type."""

    first: Callable[[], bytes]
    """Writes what stands before the first line"""
    line: Callable[[Answered], bytes]
    """Writes the line of a structure"""
    order: Callable[[bytes], bytes]
    """Writes the line of the order that a list ends in, from the line that is JSON"""
    last: Callable[[Mapping[str, Any]], bytes]
    """Writes the sums"""


def head_of(index: int, record: Record | Refused) -> dict[str, Any]:
    """Say which structure a line is about."""
    return {"index": index, "row": record.row, "id": record.id, "reference": getattr(record, "reference", "")}


def with_head(head: Mapping[str, Any], content: bytes) -> bytes:
    """Write a JSON line: which structure, then its answer."""
    return orjson.dumps(head)[:-1] + b"," + content[1:] + b"\n"


def json_line(answered: Answered) -> bytes:
    """Write an answer as a JSON line."""
    return with_head(head_of(answered.index, answered.record), answered.content)


def last_json_line(summed_up: Mapping[str, Any]) -> bytes:
    """Write the last line of an answer as JSON lines."""
    return orjson.dumps({"summed_up": summed_up}) + b"\n"


def csv_header() -> bytes:
    """Write the header of an answer as CSV."""
    return _row(RESULT)


def csv_row(answered: Answered) -> bytes:
    """Write an answer as a CSV row."""
    return csv_row_of({**head_of(answered.index, answered.record), **orjson.loads(answered.content)})


def csv_row_of(line: Mapping[str, Any]) -> bytes:
    """Write a line that was JSON as a CSV row."""
    if "combined" in line:
        return _order_row(line["combined"])
    told = {**line.get("summary", {}), **line, **_told_of(line.get("problem"))}
    return _row(told.get(name) for name in RESULT)


def _order_row(made: Mapping[str, Any]) -> bytes:
    """Write the total of an order and what it saves, or its problem; its lines are for those who read JSON."""
    told = {"id": "combined", **made, **_told_of(made.get("problem"))}
    if "order" in made:
        order = made["order"]
        detail = f"{order['saving']['message']['text']} {made['left_out']} left out"
        told |= {
            **{name: order[name] for name in ("total", "currency", "total_mass_kg", "longest_mm")},
            "detail": detail,
        }
    return _row(told.get(name) for name in RESULT)


def _told_of(problem: Mapping[str, Any] | None) -> dict[str, Any]:
    """Tell a problem in the few words that a row has room for: its kind, and the first field concerned."""
    if problem is None:
        return {}
    first: Mapping[str, Any] = next(iter(problem.get("errors", ())), {})
    return {
        "problem": problem["type"].rpartition("/")[2],
        "column": first.get("column") or column_at(first.get("pointer", "")),
        "detail": first.get("detail", problem["detail"]),
        "suggestion": first.get("suggestion"),
    }


def last_csv_row(summed_up: Mapping[str, Any]) -> bytes:
    """Write the last row of an answer as CSV: its sums under the columns that they belong to."""
    totals = summed_up["totals"]
    told = {
        "id": "summed up",
        "outcome": " ".join(f"{name}={held['count']}" for name, held in summed_up["outcomes"].items()),
        "total": " ".join(totals.values()),
        "currency": " ".join(totals),
        "detail": f"{summed_up['structures']} structures, {summed_up['planned']} planned, {summed_up['refused']} refused,"
        f" {summed_up['repeated']} repeated, {summed_up['seconds']} s",
    }
    return _row(told.get(name) for name in RESULT)


def _row(cells: Any) -> bytes:  # noqa: ANN401  # any iterable of plain values
    held = io.StringIO()
    csv.writer(held).writerow([_safe(cell) for cell in cells])
    return held.getvalue().encode()


def _safe(cell: object) -> object:
    """Write a text that begins like a formula behind an apostrophe, which spreadsheets take for text."""
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in {"=", "+", "-", "@", "\t", "\r"} else cell


EXAMPLE: Final = {
    "id": "north-1",
    "bays": 12,
    "bay_spacing_mm": "4 ft",
    "panel_thickness_mm": "8 mm",
    "opening_1_side": "left",
    "opening_1_offset_mm": "17 ft",
    "opening_1_width_mm": "30 in",
}
"""A row of the template; the structure is invented"""


def template() -> bytes:
    """Write every column of a bid list, and one structure as an example."""
    titles = ["id", *(column.published for column in columns().values())]
    return _row(titles) + _row(EXAMPLE.get(title) for title in titles)


_LINES: Final = Form(first=bytes, line=json_line, order=bytes, last=last_json_line)
FORMS: Final = {
    "application/jsonl": _LINES,
    "application/x-ndjson": _LINES,
    "text/csv": Form(
        first=csv_header,
        line=csv_row,
        order=lambda line: csv_row_of(orjson.loads(line)) if line else b"",
        last=last_csv_row,
    ),
}
"""How a batch is answered, by media type"""
