"""Colours and lines of drawings.

Rules of this file
------------------
- Meaning never hangs on colour alone: parts differ in outline, lightness and label too, so that a copy in black and
  white, and eyes that do not tell red from green, read the same.
- Text stands 4.5:1 or better on every ground it is put on, in both schemes (WCAG 2.2, 1.4.3); a test measures it.
- A themed drawing asks the page for `--wall-NAME` and falls back to the light colour, so that the embedding page gives
  the dark scheme by setting the properties of `DARK`.
"""

from collections.abc import Mapping
from typing import Final, Literal

Ink = Literal[
    "paper", "text", "line", "faint", "panel", "board", "metal", "post", "earth", "rest", "mark", "wood"
]

LIGHT: Final[Mapping[Ink, str]] = {
    "paper": "#ffffff",
    "text": "#10181f",
    "line": "#10181f",
    "faint": "#56626c",
    "panel": "#dcebf5",
    "board": "#c3ccd3",
    "metal": "#e9ecee",
    "post": "#f4f1ea",
    "earth": "#e6dccb",
    "rest": "#f3ead2",
    "mark": "#8a3b00",
    "wood": "#ecd9bb",
}
"""Colours on paper and on light pages"""
DARK: Final[Mapping[Ink, str]] = {
    "paper": "#11181d",
    "text": "#f2f5f7",
    "line": "#d5dde3",
    "faint": "#a9b5be",
    "panel": "#1d3f57",
    "board": "#3f4a53",
    "metal": "#2c353c",
    "post": "#39352b",
    "earth": "#3a3226",
    "rest": "#463c1f",
    "mark": "#ffb27a",
    "wood": "#4c3b21",
}
"""Colours that a dark page sets as `--wall-NAME`"""

Line = Literal["outline", "narrow", "hidden", "centre", "dimension", "ground", "break"]

_WIDE: Final = 0.5
"""Wide lines of ISO 128-2 group 0.5: outlines [mm]"""
_NARROW: Final = 0.25
"""Narrow lines of the same group: everything else [mm]"""


def _stroke(width: float, dashes: tuple[float, ...] = ()) -> dict[str, str]:
    """Write a kind of line as attributes; dashes are multiples of its width."""
    pattern = {"stroke-dasharray": " ".join(f"{part * width:g}" for part in dashes)} if dashes else {}
    return {"stroke-width": f"{width:g}", **pattern}


LINES: Final[Mapping[Line, Mapping[str, str]]] = {
    "outline": _stroke(_WIDE),
    "narrow": _stroke(_NARROW),
    # 02 dashed narrow: dashes 12 d, gaps 3 d; 04 long dashes and dots: 24 d, 3 d, 0.5 d, 3 d
    "hidden": _stroke(_NARROW, (12, 3)),
    "centre": _stroke(_NARROW, (24, 3, 0.5, 3)),
    "dimension": _stroke(_NARROW * 0.72),
    "ground": _stroke(_WIDE * 1.4),
    "break": _stroke(_NARROW),
}
"""Kinds of line after ISO 128-2:2020 (from memory): wide to narrow 2:1; wide outlines, narrow dashed hidden edges, narrow
chain centre lines, narrow dimension lines"""


def colour(ink: Ink, *, themed: bool) -> str:
    """Write a colour: fixed, or as the embedding page sets it."""
    return f"var(--wall-{ink}, {LIGHT[ink]})" if themed else LIGHT[ink]
