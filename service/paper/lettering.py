"""The one typeface of drawings and packets: what text takes on paper.

Rules of this file
------------------
- Widths come from the advances of the font that ships with the service; kerning is left out, so a text is never wider.
- A character that the font lacks is written as the replacement character, since no other font can be counted on.
"""

from functools import cache, lru_cache
from pathlib import Path
from typing import Final
from unicodedata import category

from fontTools.ttLib import TTFont

FONTS: Final = Path(__file__).parent / "fonts"
"""Folder of the fonts that ship with the service"""
FAMILY: Final = "DejaVu Sans Condensed, DejaVu Sans, Arial, sans-serif"
"""What drawings ask for: the shipped font, else one about as wide"""
ASCENT: Final = 0.76
"""Height of a capital or figure with what stands on it, over the size [-]"""
DESCENT: Final = 0.24
"""Depth under the baseline, over the size [-]"""
_UNKNOWN: Final = "�"


@cache
def _advances(*, bold: bool) -> dict[int, float]:
    """Read how far each character of the font moves on, over the size [-]."""
    name = "DejaVuSansCondensed-Bold.ttf" if bold else "DejaVuSansCondensed.ttf"
    with TTFont(FONTS / name, lazy=True) as font:
        per_em, metrics = font["head"].unitsPerEm, font["hmtx"].metrics
        return {code: metrics[glyph][0] / per_em for code, glyph in font.getBestCmap().items()}


@lru_cache(maxsize=4096)
def printable(text: str) -> str:
    """Replace the characters that the font does not have, and those that are no letters, signs or spaces."""
    known = _advances(bold=False)
    return "".join(sign if ord(sign) in known and _shows(sign) else _UNKNOWN for sign in text)


def _shows(sign: str) -> bool:
    """Tell whether a character can be set; spaces that do not break can, though Python does not call them printable."""
    return sign.isprintable() or category(sign) == "Zs"


@lru_cache(maxsize=16384)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Measure a text.

    Parameters
    ----------
    text
        Printable text.
    size
        Size of the font [mm of paper].
    bold
        Whether it is set bold.

    Returns
    -------
        Its width [mm of paper].
    """
    advances = _advances(bold=bold)
    missing = advances[ord(_UNKNOWN)]
    return size * sum(advances.get(ord(sign), missing) for sign in text)


def shortened(text: str, size: float, room: float) -> str:
    """Cut a text at the end so that it fits the room [mm of paper]."""
    if text_width(text, size) <= room:
        return text
    while text and text_width(text + "…", size) > room:
        text = text[:-1]
    return text.rstrip() + "…"
