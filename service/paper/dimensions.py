"""Dimensions after ISO 129-1 in spirit: narrow lines, filled arrowheads, figures that are read from below.

Rules of this file
------------------
- A chain of pieces has a line for each piece with arrows at its true ends only; where a sheet breaks a piece, its line runs
  out without an arrow and the figure still says the whole length.
- Positions are running dimensions from one zero, never sums.
- Figures stand under their line, in lanes, so that none touches another.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lxml import etree

from service.paper.drawing import PITCH, SMALL, Sheet
from service.paper.lettering import text_width
from service.paper.placing import Lanes, spread

ARROW = 1.6
"""Length of an arrowhead [mm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """A piece of a chain, on paper."""

    start: float
    """Left end as shown [mm]"""
    end: float
    """Right end as shown [mm]"""
    words: str
    """Its figure"""
    starts: bool = True
    """Whether the left end is the true one"""
    stops: bool = True
    """Whether the right end is the true one"""


@dataclass(frozen=True, slots=True)
class Room:
    """Where the figures of a row may stand, on paper."""

    left: float
    right: float


def arrow(sheet: Sheet, tip: tuple[float, float], way: float, into: etree._Element | None = None) -> None:
    """Draw an arrowhead at a tip; `way` is 1 where it points right, -1 where left."""
    x, y = tip
    back = x - way * ARROW
    sheet.shape([(x, y), (back, y - ARROW / 5), (back, y + ARROW / 5)], "line", None, into)


def span(
    sheet: Sheet, length: Length, y: float, into: etree._Element | None = None, tick: float = 1.2
) -> None:
    """Draw one dimension line without its figure; arrows go outside where they have no room."""
    sheet.line([(length.start, y), (length.end, y)], "dimension", into)
    inside = length.end - length.start > 2.5 * ARROW
    ends = ((length.start, -1.0, length.starts), (length.end, 1.0, length.stops))
    for x, outward, true_end in ends:
        if true_end:
            sheet.line([(x, y - tick), (x, y + tick)], "dimension", into)
            arrow(sheet, (x, y), outward if inside else -outward, into)


def chain(sheet: Sheet, lengths: Iterable[Length], y: float, room: Room) -> float:
    """Draw a chain of dimensions at a height of the paper and give how deep it reaches [mm]."""
    lanes = Lanes(room.left, room.right)
    row = sheet.group("dimensions")
    for length in lengths:
        span(sheet, length, y, row)
        lane, middle = lanes.place((length.start + length.end) / 2, text_width(length.words, SMALL))
        sheet.text((middle, y + PITCH * (lane + 1)), length.words, anchor="middle", into=row)
    return PITCH * (max(len(lanes), 1)) + 2.6


def running(sheet: Sheet, places: Iterable[tuple[float, str]], y: float, room: Room) -> float:
    """Draw running dimensions: a tick at each place with its distance from zero; give how deep they reach [mm]."""
    lanes = Lanes(room.left, room.right)
    row = sheet.group("marks")
    for x, words in places:
        sheet.line([(x, y - 1.2), (x, y + 0.8)], "dimension", row)
        lane, middle = lanes.place(x, text_width(words, SMALL))
        base = y + PITCH * (lane + 1)
        if lane and _clear(lanes, lane, x):
            sheet.line([(x, y + 0.8), (x, base - SMALL)], "dimension", row)
        sheet.text((middle, base), words, anchor="middle", into=row)
    return PITCH * max(len(lanes), 1) + 2.6


def _clear(lanes: Lanes, lane: int, x: float) -> bool:
    """Tell whether a leader to a lane crosses no figure of the lanes above."""
    return all(not start < x < end for above in lanes.taken[:lane] for start, end in above)


def levels(
    sheet: Sheet, heights: Sequence[tuple[float, str]], edge: float, reach: float, *, on_left: bool
) -> float:
    """Write a column of heights beside the wall, each with a leader to its line.

    Parameters
    ----------
    sheet
        The sheet.
    heights
        Where each is on paper, with what it says.
    edge
        Where the wall ends [mm].
    reach
        From there to the words [mm].
    on_left
        Whether the column stands left of the wall.

    Returns
    -------
        Where the column ends [mm of paper].
    """
    column = sheet.group("levels")
    ordered = sorted(heights)
    places = spread([height for height, _ in ordered], PITCH)
    way = -1 if on_left else 1
    for (height, words), place in zip(ordered, places, strict=True):
        leader = [
            (edge, height),
            (edge + way * reach * 0.35, height),
            (edge + way * reach * 0.8, place),
            (edge + way * reach, place),
        ]
        sheet.line(leader, "dimension", column)
        at = (edge + way * (reach + 0.8), place + SMALL * 0.35)
        sheet.text(at, words, anchor="end" if on_left else "start", into=column)
    return places[-1] + PITCH / 2 if places else 0.0
