"""Cutting patterns of a strip, a stick or a sheet, and the most valuable one at given prices.

Rules of this file
------------------
- Sizes here already carry the kerf: pieces l + k in a stock L + k, so that what fits is a plain sum.
- A pattern is a multiset of strips; a stick is one strip. Strips are ripped across the sheet, then crosscut.
- Prices and values are integers, and a value called a cap is a proven limit: no pattern is worth more.
- Nothing here knows of stock counts, money or demand to be met; it only respects how many of a piece are wanted.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

Integers = npt.NDArray[np.int64]

RASTER_LIMIT = 60_000
"""Reachable sums beyond which a knapsack works on a coarse grid instead [-]"""
COARSE_STEPS = 10_000
"""Steps of the coarse grid over the stock [-]"""

Cuts = tuple[tuple[int, int], ...]
"""Pieces of one strip: (index of the piece, how many), ascending [-]"""


@dataclass(frozen=True, slots=True, order=True)
class StripCut:
    """One strip of a pattern."""

    width: int
    """Index of the strip's width class; 0 for sticks [-]"""
    cuts: Cuts
    """Pieces crosscut from it"""


@dataclass(frozen=True, slots=True)
class Column:
    """A pattern of one piece of stock, as the master problem sees it."""

    strips: tuple[StripCut, ...]
    """Strips across the sheet, widest first; exactly one for a stick"""
    counts: tuple[int, ...]
    """How many of each piece the pattern yields [-]"""


@dataclass(frozen=True, slots=True)
class Shape:
    """Sizes of the pieces and how they may share a strip, kerf included."""

    lengths: tuple[int, ...]
    """Length of each piece plus kerf [nm]"""
    widths: tuple[int, ...]
    """Width class sizes plus kerf, widest first; a single zero for sticks [nm]"""
    classes: tuple[int, ...]
    """Width class of each piece [-]"""
    trim: bool
    """Whether a strip may also hold narrower pieces, trimmed"""

    @property
    def sizes(self) -> list[int]:
        """Length, or length times width, of each piece [nm] or [nm2]."""
        return [
            length * max(1, self.widths[width])
            for length, width in zip(self.lengths, self.classes, strict=True)
        ]

    def members(self, width: int) -> list[int]:
        """Pieces that a strip of a width class may hold."""
        return [
            piece
            for piece, own in enumerate(self.classes)
            if own == width or (self.trim and own > width)  # classes run from wide to narrow
        ]


def raster(sizes: Sequence[int], capacity: int, limit: int = RASTER_LIMIT) -> Integers | None:
    """Capacities that a knapsack of these sizes can be left with, none below another that serves as well.

    Parameters
    ----------
    sizes
        Sizes of the pieces [nm].
    capacity
        Capacity of the stock [nm].
    limit
        Largest raster that is still worth building [-].

    Returns
    -------
    Integers | None
        Ascending points, the last one standing for the whole capacity; None when there are more than `limit`.

    Notes
    -----
    Reduced raster points: every remaining capacity is rounded down to a sum of sizes, which loses no filling.

    References
    ----------
    Terno, Lindemann, Scheithauer, Zuschnittprobleme und ihre praktische Loesung (1987); from memory.
    """
    reachable = np.zeros(1, dtype=np.int64)
    for size in sorted(set(sizes), reverse=True):
        step = size
        while step <= capacity:
            reachable = np.union1d(
                reachable, reachable[: np.searchsorted(reachable, capacity - step, "right")] + step
            )
            step *= 2
            if len(reachable) > limit:
                return None
    rest = capacity - reachable
    return np.unique(reachable[np.searchsorted(reachable, rest, "right") - 1])


class Knapsack:
    """Fill one capacity with the most valuable pieces, by dynamic programming over a raster.

    Parameters
    ----------
    sizes
        Sizes of the pieces [nm].
    capacity
        Capacity of the stock [nm].
    points
        Raster of remaining capacities, ascending [nm].
    """

    def __init__(self, sizes: Sequence[int], capacity: int, points: Integers) -> None:
        self.sizes = tuple(sizes)
        self.capacity = capacity
        self.points = points
        self._moves: dict[int, tuple[int, Integers]] = {}

    def move(self, size: int) -> tuple[int, Integers]:
        """First point that holds a size, and where each point lands when the size is taken from it."""
        if size not in self._moves:
            first = int(np.searchsorted(self.points, size))
            landing = np.searchsorted(self.points, self.points[first:] - size, "right") - 1
            self._moves[size] = (first, landing)
        return self._moves[size]

    def bundles(self, values: Sequence[int], limits: Sequence[int]) -> Iterator[tuple[int, int]]:
        """Pieces worth taking, in bundles of 1, 2, 4 ... copies that make up every number to the limit."""
        for piece, size in enumerate(self.sizes):
            left = min(limits[piece], self.capacity // size) if values[piece] > 0 else 0
            copies = 1
            while left > 0:
                yield piece, min(copies, left)
                left -= copies
                copies *= 2

    def fill(self, values: Sequence[int], limits: Sequence[int]) -> tuple[int, Cuts]:
        """Most valuable filling, exactly.

        Parameters
        ----------
        values
            Value of each piece; those not above zero are left out [-].
        limits
            How many of each piece may be used [-].

        Returns
        -------
        tuple[int, Cuts]
            The value and the pieces.
        """
        best = np.zeros(len(self.points), dtype=np.int64)
        steps = []
        for piece, copies in self.bundles(values, limits):
            first, landing = self.move(self.sizes[piece] * copies)
            taken = best[landing] + values[piece] * copies
            kept = best[first:]
            steps.append((piece, copies, first, landing, taken > kept))
            np.maximum(kept, taken, out=kept)
        return int(best[-1]), _trace(steps, len(self.points) - 1)


def _trace(steps: list[tuple[int, int, int, Integers, npt.NDArray[np.bool_]]], point: int) -> Cuts:
    """Pieces behind the best value of a point."""
    counts: dict[int, int] = {}
    for piece, copies, first, landing, better in reversed(steps):
        if point >= first and better[point - first]:
            counts[piece] = counts.get(piece, 0) + copies
            point = int(landing[point - first])
    return tuple(sorted(counts.items()))


@dataclass(frozen=True, slots=True)
class Filler:
    """A knapsack to find patterns and one to prove caps: the same one unless the raster had to be coarse."""

    finds: Knapsack
    """Every filling it gives fits"""
    proves: Knapsack
    """No filling is worth more than its value"""


def filler(sizes: Sequence[int], capacity: int) -> Filler:
    """Knapsacks for pieces in one capacity, exact while the raster is small enough."""
    points = raster(sizes, capacity)
    if points is not None:
        exact = Knapsack(sizes, capacity, points)
        return Filler(finds=exact, proves=exact)
    step = -(-capacity // COARSE_STEPS)
    grid = np.arange(capacity // step + 1, dtype=np.int64)
    return Filler(  # pieces rounded up always fit; pieces rounded down are worth at least as much
        finds=Knapsack([-(-size // step) for size in sizes], capacity // step, grid),
        proves=Knapsack([max(1, size // step) for size in sizes], capacity // step, grid),
    )


class Pricing:
    """The most valuable pattern of one size of stock.

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
        self.members = tuple(
            shape.members(index) if size <= width else [] for index, size in enumerate(shape.widths)
        )

    @cached_property
    def strip(self) -> Filler:
        """Knapsacks along a strip."""
        return filler(self.shape.lengths, self.length)

    @cached_property
    def sheet(self) -> Filler:
        """Knapsacks across the sheet."""
        return filler([max(1, width) for width in self.shape.widths], max(1, self.width))

    def best(self, values: Sequence[int], limits: Sequence[int]) -> tuple[int, Column]:
        """Cap on the value of any pattern, and a pattern (that reaches it, for sticks on an exact raster).

        Parameters
        ----------
        values
            Value of each piece [-].
        limits
            How many of each piece are wanted [-].
        """
        caps, fillings = [], []
        for members in self.members:
            own = [0] * len(values)
            for piece in members:
                own[piece] = limits[piece]
            value, cuts = self.strip.finds.fill(values, own)
            fillings.append((value, cuts))
            proves = self.strip.proves
            caps.append(value if proves is self.strip.finds else proves.fill(values, own)[0])
        if self.width == 0:
            return caps[0], self.column([StripCut(0, fillings[0][1])], limits)
        return self._across(caps, fillings, limits)

    def _across(
        self, caps: list[int], fillings: list[tuple[int, Cuts]], limits: Sequence[int]
    ) -> tuple[int, Column]:
        """Lay strips across a sheet: a strip of a class holds at least one piece of that very width."""
        most = [0] * len(caps)
        for piece, width in enumerate(self.shape.classes):
            most[width] += limits[piece]
        cap, _ = self.sheet.proves.fill(caps, most)
        _, widths = self.sheet.finds.fill([value for value, _ in fillings], most)
        strips = [StripCut(width, fillings[width][1]) for width, count in widths for _ in range(count)]
        return cap, self.column(strips, limits)

    def column(self, strips: Sequence[StripCut], limits: Sequence[int]) -> Column:
        """Pattern of these strips, without pieces beyond the limits."""
        left = list(limits)
        kept = []
        for strip in strips:
            cuts = tuple((piece, min(count, left[piece])) for piece, count in strip.cuts if left[piece] > 0)
            for piece, count in cuts:
                left[piece] -= count
            if cuts:
                kept.append(StripCut(strip.width, cuts))
        counts = tuple(limit - rest for limit, rest in zip(limits, left, strict=True))
        return Column(tuple(kept), counts)

    def greedy(self, limits: Sequence[int], order: Sequence[int]) -> Column:
        """Pattern filled strip by strip with the first pieces in order that fit."""
        left = list(limits)
        room = self.width
        strips = []
        for piece in order:
            width = self.shape.classes[piece]
            while (
                left[piece] > 0
                and self.shape.widths[width] <= room
                and self.shape.lengths[piece] <= self.length
            ):
                cuts = self._greedy_strip(width, piece, left, order)
                strips.append(StripCut(width, cuts))
                room -= self.shape.widths[width]
                if self.width == 0:
                    return self.column(strips, limits)
        return self.column(strips, limits)

    def _greedy_strip(self, width: int, first: int, left: list[int], order: Sequence[int]) -> Cuts:
        """Fill a strip that `first` opens; takes what it uses from `left`."""
        room = self.length
        members = set(self.members[width])
        counts: dict[int, int] = {}
        for piece in (first, *order):
            if piece in members and left[piece] > 0:
                count = min(left[piece], room // self.shape.lengths[piece])
                if count > 0:
                    counts[piece] = counts.get(piece, 0) + count
                    left[piece] -= count
                    room -= count * self.shape.lengths[piece]
        return tuple(sorted(counts.items()))
