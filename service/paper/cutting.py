"""Cutting diagrams: how each sheet and stick is cut, for the saw hand.

Rules of this file
------------------
- One drawing a pattern, with how many pieces of stock are cut that way. Sheets are to scale both ways; sticks along their
  length, with a depth that is a symbol.
- Letters on the pieces lead to a list of the parts' ids, over all repeats. What is left over has a name to write on it.
- Cuts go in the order shown: rips from the lower edge up, then crosscuts from the left.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from service.paper.bands import fitting_scale
from service.paper.dimensions import Length, Room, chain, levels
from service.paper.drawing import SMALL, Drawing, Sheet
from service.paper.inks import Ink
from service.paper.lettering import shortened, text_width
from service.paper.reading import Measures, description, measures
from service.paper.words import Words
from service.paper.writing import MARGIN, heading, letter, write_lines
from service.planner.answer.layout_shapes import CutOut, MaterialOut, PatternOut, StockOut
from service.planner.answer.shapes import Plan

_STICK: Final = 9.0
"""Depth of a stick on paper, a symbol [mm]"""
_DEEPEST: Final = 110.0
"""Depth of a sheet on paper at most [mm]"""
_SCRAP: Final = 150.0
"""A rest shorter than this is scrap and gets no name; judgement [mm of stock]"""
_BESIDE: Final = 26.0
"""Paper beside a sheet for the heights of its strips [mm]"""


@dataclass(frozen=True, slots=True)
class Cell:
    """A rectangle of a piece of stock: along the cut, then across it [mm of stock]."""

    along: float
    across: float
    length: float
    height: float
    letter: str = ""
    words: str = ""
    fill: Ink = "panel"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pattern:
    """A pattern on its way to paper."""

    name: str
    material: MaterialOut
    stock: StockOut
    pattern: PatternOut
    text: Measures
    words: Words

    @property
    def along(self) -> float:
        """The length that pieces are cut from [mm]."""
        return self.stock["width_mm"] if self.turned else self.stock["length_mm"]

    @property
    def across(self) -> float:
        """The width that strips are ripped from [mm]; 0 for a stick."""
        return self.stock["length_mm"] if self.turned else self.stock.get("width_mm", 0.0)

    @property
    def turned(self) -> bool:
        """Tell whether strips lie across the sheet."""
        return self.stock.get("cut_along") == "width"


def cuttings(plan: Plan, words: Words, width: float) -> Iterator[Drawing]:
    """Draw every pattern of every material.

    Parameters
    ----------
    plan
        The plan.
    words
        Writes in the reader's language.
    width
        Of the paper [mm].

    Yields
    ------
    Drawing
        One a pattern, in the order of the plan.
    """
    text = measures(plan)
    for material in plan["cutting"]["materials"]:
        number = 0
        for stock in material["stock"]:
            for pattern in stock["patterns"]:
                number += 1
                held = _Pattern(
                    name=f"{material['role']}-{number}",
                    material=material,
                    stock=stock,
                    pattern=pattern,
                    text=text,
                    words=words,
                )
                yield _draw(held, width, description(plan, stock["sku"]))


def _kinds(pattern: PatternOut) -> list[CutOut]:
    """List the kinds of cut of a pattern, as its letters count them."""
    return [cut for strip in pattern.get("strips", []) for cut in strip["cuts"]] + list(
        pattern.get("cuts", [])
    )


def cells(held: _Pattern) -> Iterator[Cell]:
    """Walk the rectangles of a pattern: its pieces, and what is left over, named where it is worth keeping."""
    kept = 0
    for cell in _cells(held):
        kept += cell.letter == "*"
        yield replace(cell, letter=f"R{kept}") if cell.letter == "*" else cell


def _cells(held: _Pattern) -> Iterator[Cell]:
    """Walk the rectangles of a pattern strip by strip."""
    kerf = held.material["kerf_mm"]
    names = iter(letter(index) for index in range(len(_kinds(held.pattern))))
    if "cuts" in held.pattern:
        yield from _strip(held, held.pattern["cuts"], names, 0.0, 0.0)
        return
    across = 0.0
    for strip in held.pattern.get("strips", []):
        yield from _strip(held, strip["cuts"], names, across, strip["height_mm"])
        across += strip["height_mm"] + kerf
    yield from _rest(held, (0.0, across), held.along, held.across - across)


def _strip(
    held: _Pattern, cuts: Sequence[CutOut], names: Iterator[str], across: float, height: float
) -> Iterator[Cell]:
    """Walk the pieces of one strip or stick from its left end, and what is left of it."""
    along, kerf = 0.0, held.material["kerf_mm"]
    for cut in cuts:
        name = next(names)
        for _ in range(cut["count"]):
            yield Cell(along, across, cut["length_mm"], height, name, cut["length_text"])
            along += cut["length_mm"] + kerf
    yield from _rest(held, (along, across), held.along - along, height)


def _rest(held: _Pattern, corner: tuple[float, float], length: float, height: float) -> Iterator[Cell]:
    """A rest, unless it went into the saw; where it is worth keeping its letter is a star."""
    if length <= held.material["kerf_mm"] or (held.across and height <= 0):
        return
    kept = length >= _SCRAP and (not held.across or height >= _SCRAP)
    size = f"{held.text(length)} × {held.text(height)}" if held.across else held.text(length)
    yield Cell(*corner, length, height, "*" if kept else "", size, "rest")


def _draw(held: _Pattern, width: float, item: str) -> Drawing:
    """Draw a pattern with its dimensions and the list of its parts."""
    room = width - 2 * MARGIN - _BESIDE
    long, deep = (held.across, held.along) if held.turned else (held.along, held.across)
    scale = max(fitting_scale(long, room, 10), fitting_scale(deep, _DEEPEST) if deep else 1)
    role, repeat = held.words(f"role_{held.material['role']}"), held.pattern["repeat"]
    sheet = Sheet(
        id=f"cutting-{held.name}",
        kind="cutting",
        width=width,
        scale=scale,
        language=held.words.language,
        title=held.words("cutting", role=role, number=held.name.rpartition("-")[2], repeat=repeat),
        description=held.words(
            "cutting_told", repeat=repeat, item=item, kerf=held.text(held.material["kerf_mm"])
        ),
    )
    top = heading(sheet, _notes(held, item, scale)) + 1
    bottom = _draw_stock(sheet, held, scale, top)
    return sheet.finish(_list(sheet, held, bottom + 2) + MARGIN)


def _notes(held: _Pattern, item: str, scale: float) -> list[str]:
    """Write what is cut and how."""
    origin = held.words("on_hand") if held.stock["from_on_hand"] else ""
    return [
        held.words("stock_line", sku=held.stock["sku"], item=item, on_hand=origin),
        held.words("kerf", kerf=held.text(held.material["kerf_mm"]), scale=f"{scale:g}"),
    ]


def _draw_stock(sheet: Sheet, held: _Pattern, scale: float, top: float) -> float:
    """Draw the stock with its pieces and give where its dimensions end [mm]."""
    long = held.across if held.turned else held.along
    deep = (held.along if held.turned else held.across) / scale or _STICK
    box = (MARGIN, top, long / scale, deep)
    sheet.rect(box, "line", "outline")
    for cell in cells(held):
        _draw_cell(sheet, held, cell, scale, (MARGIN, top + deep))
    _draw_rips(sheet, held, scale, (MARGIN + long / scale, top + deep))
    whole = Length(start=MARGIN, end=MARGIN + long / scale, words=held.text(long))
    return top + deep + 3 + chain(sheet, [whole], top + deep + 3, Room(MARGIN, sheet.width - MARGIN))


def _draw_rips(sheet: Sheet, held: _Pattern, scale: float, corner: tuple[float, float]) -> None:
    """Write the ripped height of each strip of a sheet: beside it, or over it where strips lie across."""
    across, right = 0.0, corner[0]
    places: list[tuple[float, str]] = []
    for strip in held.pattern.get("strips", []):
        places.append(((across + strip["height_mm"] / 2) / scale, strip["height_text"]))
        across += strip["height_mm"] + held.material["kerf_mm"]
    if places and held.turned:
        words = held.words("bands", height=places[0][1])
        sheet.text((right + 2, corner[1] - 4), shortened(words, SMALL, sheet.width - right - 4))
    elif places:
        heights = [(corner[1] - middle, held.words("rip", height=height)) for middle, height in places]
        levels(sheet, heights, right, 3, on_left=False)


def _draw_cell(sheet: Sheet, held: _Pattern, cell: Cell, scale: float, corner: tuple[float, float]) -> None:
    """Draw a piece or a rest with what it is, where there is room for it."""
    left, foot = corner
    height = cell.height / scale or _STICK
    box = (left + cell.along / scale, foot - cell.across / scale - height, cell.length / scale, height)
    if held.turned:
        box = (
            left + cell.across / scale,
            foot - (cell.along + cell.length) / scale,
            height,
            cell.length / scale,
        )
    group = sheet.group("rest" if cell.fill == "rest" else "cut")
    sheet.rect(box, cell.fill, "narrow", group)
    middle, centre = box[0] + box[2] / 2, box[1] + box[3] / 2 + SMALL * 0.36
    for words in (f"{cell.letter}  {cell.words}", cell.letter):
        if text_width(words, SMALL, bold=True) < box[2] - 1 and box[3] > SMALL + 0.6:
            sheet.text((middle, centre), words, anchor="middle", bold=True, into=group)
            return


def _list(sheet: Sheet, held: _Pattern, y: float) -> float:
    """List the parts of each letter and the rests, and give where the list ends [mm]."""
    lines = [
        f"{letter(index)}  {cut['length_text']}: {', '.join(cut['pieces'])}"
        for index, cut in enumerate(_kinds(held.pattern))
    ]
    lines += [
        held.words("rest", name=f"{held.name}-{cell.letter}", size=cell.words)
        for cell in cells(held)
        if cell.fill == "rest" and cell.letter
    ]
    return write_lines(sheet, lines, y)
