"""Headings and lists on a sheet, broken to its width.

Rules of this file
------------------
- Lines break at spaces; what is still too long is cut with an ellipsis rather than run off the paper.
"""

from collections.abc import Iterable, Iterator
from typing import Final

from service.paper.drawing import LARGE, PITCH, SMALL, Sheet
from service.paper.lettering import printable, shortened, text_width

MARGIN: Final = 5.0
"""Free paper around a drawing [mm]"""
_LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def letter(index: int) -> str:
    """Name things in their order: A, B, .., Z, AA, AB, .."""
    return (letter(index // 26 - 1) if index >= 26 else "") + _LETTERS[index % 26]


def wrapped(line: str, room: float, size: float = SMALL, *, bold: bool = False) -> Iterator[str]:
    """Break a line at its spaces so that each part fits the room [mm]."""
    held = ""
    for word in printable(line).split(" "):
        longer = f"{held} {word}" if held else word
        if held and text_width(longer, size, bold=bold) > room:
            yield held
            longer = word
        held = longer
    yield shortened(held, size * (1.12 if bold else 1), room)


def heading(sheet: Sheet, notes: Iterable[str]) -> float:
    """Write a sheet's title and what is to be known first, and give where that ends [mm]."""
    y, room = MARGIN, sheet.width - 2 * MARGIN
    for part in wrapped(sheet.title, room, LARGE, bold=True):
        y += LARGE + 1
        sheet.text((MARGIN, y - 1), part, size=LARGE, bold=True)
    return write_lines(sheet, notes, y + 0.4)


def write_lines(sheet: Sheet, lines: Iterable[str], y: float) -> float:
    """Write lines under each other and give where they end [mm]."""
    for line in lines:
        for part in wrapped(line, sheet.width - 2 * MARGIN):
            sheet.text((MARGIN, y + SMALL), part)
            y += PITCH
    return y
