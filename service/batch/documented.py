"""How lists, their answers and the template stand in the contract: texts with an example, since they are read line by line."""

from typing import Any, Final

from service.batch import writing
from service.batch.asking import CSV, JSON_LINES

_LINE: Final = '{"id": "north-1", "spec": {"structure": {"bays": 12, "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "8 mm"}}}\n'
_ANSWER: Final = (
    '{"index": 0, "row": 1, "id": "north-1", "reference": "", "status": 200, "outcome": "caution", "total": "915.75", ..}\n'
    '{"summed_up": {"structures": 1, "planned": 1, "refused": 0, "repeated": 0, "totals": {"USD": "915.75"}, ..}}\n'
)


def _documented(lines: str, table: str) -> dict[str, Any]:
    """Document a list in each of its media types, with an example; it is read and written line by line."""
    examples = {**dict.fromkeys(JSON_LINES, lines), CSV: table}
    return {
        name: {"schema": {"type": "string"}, "examples": {"demo": {"value": example}}}
        for name, example in examples.items()
    }


DOCUMENTED: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": _documented(_LINE, "id,bays,bay_spacing_ft,panel_thickness_mm\r\nnorth-1,12,4,8\r\n"),
    }
}
"""Documents the list that a batch reads"""
ANSWERED: Final[dict[int | str, dict[str, Any]]] = {
    200: {
        "description": "A line a structure, and one that sums up",
        "content": _documented(_ANSWER, ",".join(writing.RESULT)),
    }
}
"""Documents the lines that it answers"""
TEMPLATE: Final[dict[int | str, dict[str, Any]]] = {
    200: {
        "description": "The columns and an example",
        "content": {
            CSV: {"schema": {"type": "string"}, "examples": {"demo": {"value": "id,bays,bay_spacing_mm, .."}}}
        },
    }
}
"""Documents the template"""
