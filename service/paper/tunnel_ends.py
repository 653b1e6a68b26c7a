"""The two ends of a tunnel for the shopper: a symbol of an arch between its walls.

Rules of this file
------------------
- A plan does not hold the tunnel's width, so this is no scale drawing, and it says so.
"""

import math
from typing import Final

from service.paper.drawing import LARGE, SMALL, Sheet
from service.paper.inks import Ink
from service.paper.words import Words
from service.planner.answer.layout_shapes import RunOut

_MARGIN: Final = 6.0
_ARCH: Final = 17.0
"""Radius of the arch [mm of paper]"""
_FILLS: Final[dict[str, Ink]] = {"end_rigid": "panel", "end_open": "paper"}
_WALL: Final = 6.0
"""Height of the wall beside it [mm of paper]"""


def draw_ends(sheet: Sheet, held: list[RunOut], words: Words, y: float) -> float:
    """Draw both ends of a tunnel from a height of the paper and give where they end [mm]."""
    sheet.text((_MARGIN, y + LARGE), words("ends"), size=LARGE, bold=True)
    grade = y + LARGE + 5 + _ARCH + 4
    ends = (("front", held[0]["front_end"]), ("back", held[-1]["back_end"]))
    for index, (name, what) in enumerate(ends):
        middle = sheet.width * (1 + 2 * index) / 4
        _arch(sheet, middle, grade, solid=what)
        sheet.text((middle, grade + 4.5), words("end", end=words(name), what=words(what)), anchor="middle")
    return grade + 4.5 + SMALL + 3


def _arch(sheet: Sheet, middle: float, grade: float, *, solid: str) -> None:
    """Draw one arch with the wall at both feet."""
    bow = [
        (middle - _ARCH * math.cos(angle), grade - 4 - _ARCH * math.sin(angle))
        for angle in (math.pi * step / 24 for step in range(25))
    ]
    outline = [(middle - _ARCH, grade), *bow, (middle + _ARCH, grade)]
    group = sheet.group("end")
    sheet.shape(outline, _FILLS.get(solid, "metal"), "outline", group)
    for way in (-1, 1):
        x = middle + way * _ARCH
        sheet.rect((min(x, x + way * 1.2), grade - _WALL, 1.2, _WALL), "panel", "narrow", group)
    sheet.line([(middle - _ARCH - 4, grade), (middle + _ARCH + 4, grade)], "ground", group)
