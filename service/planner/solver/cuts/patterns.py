"""Cutting patterns of a stick or a sheet, and the strips they are made of.

Rules of this file
------------------
- A pattern is a few strips ripped across the sheet, each crosscut into pieces; a stick is a single strip.
- Sizes already carry the kerf; pieces are numbered from narrow to wide and, within a width, from short to long.
- A cap is a proven limit: no strip of its class is worth more. The filling found beside it may be worth less.
- Nothing here knows of stock counts or money.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, pairwise

from service.planner.solver.cuts.knapsack import Cuts, Filler

SLOTS = 60
"""Strips of one class told apart across a sheet; further ones count as much as the last [-]"""


@dataclass(frozen=True, slots=True, order=True)
class StripCut:
    """One strip of a pattern."""

    width: int
    """Width class of the strip; 0 for a stick [-]"""
    cuts: Cuts
    """Pieces crosscut from it"""


@dataclass(frozen=True, slots=True)
class Column:
    """A pattern of one piece of stock, as the master problem sees it."""

    strips: tuple[StripCut, ...]
    """Its strips, widest first"""
    counts: tuple[int, ...]
    """How many of each piece it yields [-]"""


@dataclass(frozen=True, slots=True)
class Shape:
    """Sizes of the pieces and how they may share a strip, kerf included."""

    lengths: tuple[int, ...]
    """Length of each piece plus kerf [nm]"""
    widths: tuple[int, ...]
    """Widths of the width classes plus kerf, ascending; a single zero for sticks [nm]"""
    classes: tuple[int, ...]
    """Width class of each piece, ascending [-]"""
    trim: bool
    """Whether a strip may also hold narrower pieces, trimmed"""

    @property
    def sizes(self) -> list[int]:
        """Length, or length times width, of each piece [nm] or [nm2]."""
        return [
            length * max(1, self.widths[width])
            for length, width in zip(self.lengths, self.classes, strict=True)
        ]


class Pricing:
    """Patterns of one size of stock.

    Parameters
    ----------
    shape
        The pieces.
    length
        Length of the stock plus kerf [nm].
    width
        Width of the stock plus kerf; 0 for sticks [nm].
    """

    def __init__(self, shape: Shape, length: int, width: int) -> None:
        self.shape = shape
        self.length = length
        self.width = width
        self._tried = 0
        starts = [shape.classes.index(index) for index in range(len(shape.widths))] + [len(shape.classes)]
        self.own = tuple(range(*bounds) for bounds in pairwise(starts))
        self.fitting = sum(size <= width for size in shape.widths)
        self.repeats = [min(SLOTS, width // max(1, size)) for size in shape.widths[: self.fitting]]
        self.ends = list(accumulate(self.repeats))

    @property
    def spent(self) -> int:
        """Work done so far: pieces tried in strips [-]."""
        return self._tried + self.strip.steps

    @cached_property
    def strip(self) -> Filler:
        """Pieces along a strip."""
        return Filler(self.shape.lengths, self.length)

    @cached_property
    def across(self) -> Filler:
        """Strips across a sheet, each class as often as the width allows."""
        widths = self.shape.widths[: self.fitting]
        sizes = [size for size, count in zip(widths, self.repeats, strict=True) for _ in range(count)]
        return Filler(sizes, self.width)

    def members(self, width: int) -> range:
        """Pieces that a strip of a width class may hold."""
        return range(self.own[width].stop) if self.shape.trim else self.own[width]

    def strips(
        self, values: Sequence[int], limits: Sequence[int]
    ) -> tuple[list[int], list[tuple[int, Cuts]]]:
        """Cap on the value of a strip of each class, and the most valuable filling found."""
        self._tried += len(values)
        groups, nested = self.own[: self.fitting], self.shape.trim
        found = list(self.strip.finds.fills(values, limits, groups, nested=nested))
        if self.strip.exact:
            return [value for value, _ in found], found
        return [value for value, _ in self.strip.proves.fills(values, limits, groups, nested=nested)], found

    def column(self, strips: Sequence[StripCut], limits: Sequence[int]) -> Column:
        """Pattern of these strips, without pieces beyond the limits."""
        left = list(limits)
        kept = []
        for strip in sorted(strips, reverse=True):
            cuts = tuple((piece, min(count, left[piece])) for piece, count in strip.cuts if left[piece] > 0)
            for piece, count in cuts:
                left[piece] -= count
            if cuts:
                kept.append(StripCut(strip.width, cuts))
        return Column(tuple(kept), tuple(limit - rest for limit, rest in zip(limits, left, strict=True)))

    def greedy(self, limits: Sequence[int]) -> Column:
        """Pattern filled strip by strip, each time with the widest and longest pieces that fit."""
        left = list(limits)
        room = self.width
        strips: list[StripCut] = []
        for piece in reversed(range(len(limits))):
            width = self.shape.classes[piece]
            size = self.shape.widths[width]
            while left[piece] and size <= room and self.shape.lengths[piece] <= self.length:
                strips.append(StripCut(width, self._greedy_strip(width, piece, left)))
                room -= max(1, size)  # a stick has no room for a second strip
        return self.column(strips, limits)

    def _greedy_strip(self, width: int, first: int, left: list[int]) -> Cuts:
        """Fill a strip that `first` opens; takes what it uses from `left`."""
        room = self.length
        counts: dict[int, int] = {}
        for piece in (first, *reversed(self.members(width))):
            count = min(left[piece], room // self.shape.lengths[piece])
            if count > 0:
                counts[piece] = counts.get(piece, 0) + count
                left[piece] -= count
                room -= count * self.shape.lengths[piece]
        return tuple(sorted(counts.items()))
