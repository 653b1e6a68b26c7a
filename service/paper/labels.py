"""Labels for cut pieces: id, length, which side is up, and the id as a QR code.

Rules of this file
------------------
- One label a piece that is cut or ripped, in the order of the cut lists. Sheets of labels are given by size: labels lie in
  rows and columns from the margins on, and never on the margin.
- The QR code holds the piece's id and nothing else: it is typed or scanned where the plan is open.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, islice
from typing import Any, Final

import orjson
import segno

from service.paper.drawing import LARGE, SMALL, Drawing, Sheet
from service.paper.lettering import shortened
from service.paper.packet import PacketTooLong, PaperSize, compiler, source
from service.paper.words import Words
from service.planner.answer.shapes import Plan

MOST_LABELS: Final = 5_000
"""Labels of one document at most [-]"""
_PAPERS: Final[dict[PaperSize, tuple[float, float]]] = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}
"""Width and height of papers, ISO 216 and ANSI Y14.1 [mm]"""
_PADDING: Final = 2.0
"""Free edge of a label [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelStock:
    """A sheet of labels, by its sizes [mm]."""

    paper: PaperSize = "a4"
    width: float = 63.5
    height: float = 38.1
    left: float = 7.2
    top: float = 15.1
    pitch_x: float = 66.0
    pitch_y: float = 38.1

    @property
    def columns(self) -> int:
        """Count the labels beside each other."""
        return max(0, int((_PAPERS[self.paper][0] - self.left - self.width) // self.pitch_x) + 1)

    @property
    def rows(self) -> int:
        """Count the labels under each other."""
        return max(0, int((_PAPERS[self.paper][1] - self.top - self.height) // self.pitch_y) + 1)


def labelled(plan: Plan) -> Iterator[tuple[str, str, str]]:
    """Walk the pieces that get a label: id, length and role of the material, in the order of the cut lists."""
    for material in plan["cutting"]["materials"]:
        for stock in material["stock"]:
            for pattern in stock["patterns"]:
                for strip in (*pattern.get("strips", []), pattern):
                    for cut in strip.get("cuts", []):
                        for piece in cut["pieces"]:
                            yield piece, cut["length_text"], material["role"]


def labels(plan: Plan, words: Words, stock: LabelStock) -> bytes:
    """Lay out the labels of a plan.

    Parameters
    ----------
    plan
        The plan.
    words
        Writes in the crew's language.
    stock
        The sheet of labels.

    Returns
    -------
        A PDF.

    Raises
    ------
    PacketTooLong
        When there are more labels than are set.
    """
    pieces = list(labelled(plan))
    if len(pieces) > MOST_LABELS:
        raise PacketTooLong(0, len(pieces))
    held, each = iter(pieces), stock.columns * stock.rows
    sheets: list[dict[str, Any]] = []
    while taken := list(islice(held, each)):
        drawing = _sheet(taken, words, stock, len(sheets) + 1)
        sheets.append({"svg": drawing.svg.decode(), "alt": drawing.description})
    data = {"title": words("labels"), "paper": stock.paper, "language": words.language, "sheets": sheets}
    pdf = compiler().compile(
        input=source("labels.typ"),
        format="pdf",
        sys_inputs={"data": orjson.dumps(data).decode()},
        pdf_standards="ua-1",
        timestamp=0,
    )
    assert isinstance(pdf, bytes), "one document gives one file"  # noqa: S101  # for the type checker
    return pdf


def _sheet(taken: list[tuple[str, str, str]], words: Words, stock: LabelStock, number: int) -> Drawing:
    """Draw one sheet of labels."""
    width, height = _PAPERS[stock.paper]
    told = "; ".join(f"{name} {length}" for name, length, _ in taken)
    sheet = Sheet(
        id=f"labels-{number}",
        kind="labels",
        width=width,
        title=words("labels"),
        description=told,
        language=words.language,
    )
    for index, piece in enumerate(taken):
        row, column = divmod(index, stock.columns)
        corner = (stock.left + column * stock.pitch_x, stock.top + row * stock.pitch_y)
        _label(sheet, piece, words, stock, corner)
    return sheet.finish(height)


def _label(
    sheet: Sheet, piece: tuple[str, str, str], words: Words, stock: LabelStock, corner: tuple[float, float]
) -> None:
    """Draw one label: its code at the left, its words beside it."""
    name, length, role = piece
    left, top = corner[0] + _PADDING, corner[1] + _PADDING
    code = min(stock.height - 2 * _PADDING, stock.width * 0.38)
    _code(sheet, name, (left, top), code)
    at, room = left + code + _PADDING, stock.width - code - 3 * _PADDING
    lines = [(name, SMALL), (length, LARGE), (words.role("role", role), SMALL)]
    lines += [(words("side_up"), SMALL)] if role == "sheet" else []
    y = top
    for line, size in lines:
        if y + size <= top + stock.height - 2 * _PADDING:
            sheet.text((at, y + size), shortened(line, size * 1.12, room), size=size, bold=size == LARGE)
        y += size * 1.5


def _code(sheet: Sheet, name: str, corner: tuple[float, float], size: float) -> None:
    """Draw a QR code with its quiet zone (ISO/IEC 18004: four modules), runs of dark modules as one bar each."""
    matrix = segno.make_qr(name, error="m").matrix
    module = size / (len(matrix) + 8)
    bars = (
        (corner[0] + (start + 4) * module, corner[1] + (row + 4) * module, length * module, module)
        for row, line in enumerate(matrix)
        for start, length in _dark(line)
    )
    sheet.boxes(bars, "line", sheet.group("code", label=name))


def _dark(line: bytearray) -> Iterator[tuple[int, int]]:
    """Walk the runs of dark modules of a row: where each starts and how many it has."""
    at = 0
    for dark, run in groupby(line):
        length = len(list(run))
        if dark:
            yield at, length
        at += length
