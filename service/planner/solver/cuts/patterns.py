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
from typing import NamedTuple

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled
from service.planner.solver.effort import Effort
from service.planner.solver.knapsack import Cuts, Filler

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


class ShapeArrays(NamedTuple):
    """Pieces as arrays, one entry a piece."""

    lengths: Integers
    """Length plus kerf [nm]"""
    widths: Integers
    """Width plus kerf; 0 for sticks [nm]"""
    sizes: Floats
    """Length, or length times width [nm] or [nm2]"""
    firsts: Integers
    """First piece that may share a strip with it [-]"""
    lasts: Integers
    """Last one [-]"""


@dataclass(frozen=True)
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

    @cached_property
    def arrays(self) -> ShapeArrays:
        """The pieces as arrays, for compiled code."""
        classes = np.array(self.classes, dtype=np.int64)
        firsts = np.zeros(len(classes), np.int64) if self.trim else np.searchsorted(classes, classes)
        lasts = np.searchsorted(classes, classes, "right") - 1
        widths = np.array(self.widths, dtype=np.int64)[classes]
        lengths = np.array(self.lengths, dtype=np.int64)
        sizes: Floats = lengths.astype(np.float64) * np.maximum(1, widths)
        return ShapeArrays(lengths, widths, sizes, firsts, lasts)


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
    effort
        Counter of units.
    """

    def __init__(self, shape: Shape, length: int, width: int, effort: Effort) -> None:
        self.shape, self.length, self.width, self.effort = shape, length, width, effort
        starts = [shape.classes.index(index) for index in range(len(shape.widths))] + [len(shape.classes)]
        self.own = tuple(range(*bounds) for bounds in pairwise(starts))
        self.fitting = sum(size <= width for size in shape.widths)
        self.repeats = [min(SLOTS, width // max(1, size)) for size in shape.widths[: self.fitting]]
        self.ends = list(accumulate(self.repeats))

    @cached_property
    def strip(self) -> Filler:
        """Pieces along a strip."""
        return Filler(self.shape.lengths, self.length, self.effort)

    @cached_property
    def across(self) -> Filler:
        """Strips across a sheet, each class as often as the width allows."""
        widths = self.shape.widths[: self.fitting]
        sizes = [size for size, count in zip(widths, self.repeats, strict=True) for _ in range(count)]
        return Filler(sizes, self.width, self.effort)

    def members(self, width: int) -> range:
        """Pieces that a strip of a width class may hold."""
        return range(self.own[width].stop) if self.shape.trim else self.own[width]

    def strips(
        self, values: Sequence[int], limits: Sequence[int]
    ) -> tuple[list[int], list[tuple[int, Cuts]]]:
        """Cap on the value of a strip of each class, and the most valuable filling found."""
        self.effort.charge(len(values))
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
        strips: list[list[tuple[int, int]]] = []
        for strip, piece, count in self._greedy(np.array(limits, dtype=np.int64)).tolist():
            if strip == len(strips):
                strips.append([])
            strips[strip].append((piece, count))
        self.effort.charge(len(limits) / 5)
        cuts = [StripCut(self.shape.classes[own[0][0]], tuple(sorted(own))) for own in strips]
        return self.column(cuts, limits)

    def greedy_size(self, limits: Integers) -> float:
        """Size of what the greedy pattern yields [nm] or [nm2]."""
        found = self._greedy(limits)
        return float(self.shape.arrays.sizes[found[:, 1]] @ found[:, 2])

    def _greedy(self, limits: Integers) -> Integers:
        """Strip, piece and count of everything that the greedy pattern yields [-]."""
        self.effort.charge(5.0 + len(limits) / 200)
        return fill_greedily(self.shape.arrays, limits, self.length, self.width)


@compiled
def fill_greedily(shape: ShapeArrays, limits: Integers, length: int, width: int) -> Integers:
    """Fill a stock strip by strip: the widest and longest piece left opens each, longer ones go in before shorter ones.

    Parameters
    ----------
    shape
        The pieces.
    limits
        How many of each may be used [-].
    length
        Length of the stock plus kerf [nm].
    width
        Width of the stock plus kerf; 0 for sticks [nm].

    Returns
    -------
        Strip, piece and count of everything cut, the piece that opens a strip first [-].
    """
    left, room, strip = limits.copy(), width, 0
    found, number = np.zeros((16, 3), np.int64), 0
    for first in range(len(left) - 1, -1, -1):
        size = shape.widths[first]
        while left[first] > 0 and size <= room and shape.lengths[first] <= length:
            along = length
            for turn in range(-1, len(left)):
                piece = first if turn < 0 else shape.lasts[first] - turn
                if piece < shape.firsts[first]:
                    break
                count = min(left[piece], along // shape.lengths[piece])
                if count > 0:
                    if number == len(found):
                        found = np.concatenate((found, np.zeros_like(found)))
                    found[number, 0], found[number, 1], found[number, 2] = strip, piece, count
                    number += 1
                    left[piece] -= count
                    along -= count * shape.lengths[piece]
            strip += 1
            room -= max(1, size)  # a stick has no room for a second strip
    return found[:number]
