"""Sheet patterns that cut no piece more often than it is wanted: the most valuable one, or all worth a floor.

Rules of this file
------------------
- Strips are tried from wide to narrow, each full with what is left of the pieces: every other pattern yields no more.
- A branch ends where even strips that use every piece anew could not reach the floor.
- Effort is limited by nodes; a search cut short says so and proves nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled
from service.planner.solver.cuts.patterns import SLOTS, Column, Pricing, StripCut

ROUNDING = 8
"""What rounding can hide in the gain of one more strip, so that later ones never gain more [-]"""
MARGIN = 1e-10
"""What rounding can take off a sum of prices, relative to it [-]"""
FILLINGS = 1000
"""Fillings of one strip beyond which a search is given up [-]"""


class Outlook:
    """What the rest of a sheet can still gain, at most.

    Parameters
    ----------
    pricing
        The size of the sheet.
    values
        Value of each piece, none below zero [-].
    limits
        How many of each piece are wanted [-].
    """

    def __init__(self, pricing: Pricing, values: Sequence[int], limits: Sequence[int]) -> None:
        self.pricing = pricing
        self.caps, self.found = pricing.strips(values, limits)
        self.wanted = [sum(limits[piece] for piece in own) for own in pricing.own[: pricing.fitting]]
        pieces = _by_worth(values, pricing.shape.lengths, limits)
        pricing.effort.charge(len(values) * len(self.caps) / 10)
        gains: list[int] = []
        uses: list[int] = []
        for width, cap in enumerate(self.caps):
            count = min(pricing.repeats[width], self.wanted[width])
            own = pieces[
                (pieces[:, 3] >= pricing.members(width).start) & (pieces[:, 3] < pricing.members(width).stop)
            ]
            worths = strips_together(own, float(pricing.length), cap, count).tolist()
            worths += worths[-1:] * (pricing.repeats[width] + 1 - len(worths))
            gains.extend(after - before for before, after in pairwise(worths))
            uses.extend(int(self.wanted[width] > slot) for slot in range(len(worths) - 1))
            if pricing.repeats[width] == SLOTS:
                gains[-1] += ROUNDING
                uses[-1] = max(0, self.wanted[width] - SLOTS + 1)
        self.tables = pricing.across.proves.tables(gains, uses)

    def rest(self, widest: int, room: int) -> int:
        """Most that strips up to a class can gain in a width left over [-]."""
        return int(self.tables[self.pricing.ends[widest], self.pricing.across.proves.point(room)])

    def classes(self, widest: int, room: int) -> list[tuple[int, int, int]]:
        """Width classes that fit: what can be gained with a strip of it, and after that strip; most first."""
        gains = []
        for width in range(widest + 1):
            left = room - self.pricing.shape.widths[width]
            if left >= 0 and self.wanted[width]:
                rest = self.rest(width, left)
                gains.append((self.caps[width] + rest, width, rest))
        return sorted(gains, reverse=True)


def _by_worth(values: Sequence[int], lengths: Sequence[int], limits: Sequence[int]) -> Floats:
    """Value, length, count and number of the pieces that are wanted and worth something, the most valuable by length first."""
    found = np.array([values, lengths, limits, range(len(values))], dtype=float).T
    found = found[(found[:, 0] > 0) & (found[:, 2] > 0)]
    return np.ascontiguousarray(found[np.argsort(-found[:, 0] / found[:, 1], kind="stable")])


@compiled
def strips_together(pieces: Floats, length: float, cap: int, most: int) -> Integers:
    """Limit on the value of 0, 1, 2 ... strips of a class together.

    Parameters
    ----------
    pieces
        Value, length and count of the pieces, the most valuable by length first.
    length
        Length of a strip plus kerf [nm].
    cap
        Most that one strip is worth [-].
    most
        How many strips there may be [-].

    Notes
    -----
    n strips are worth at most n caps, and at most what one strip n times as long is worth when pieces may be cut
    anywhere: price p for each unit of length, plus what each piece is worth above its length at that price. That
    holds for any p; the best one is the worth by length of the piece that no longer fits. Sums are rounded up by more
    than floating point can lose.
    """
    worths = np.zeros(most + 1, np.int64)
    for count in range(1, most + 1):
        room, price = count * length, 0.0
        for at in range(len(pieces)):
            room -= pieces[at, 1] * pieces[at, 2]
            if room < 0.0:
                price = pieces[at, 0] / pieces[at, 1]
                break
        worth = price * count * length
        for at in range(len(pieces)):
            worth += max(0.0, pieces[at, 0] - price * pieces[at, 1]) * pieces[at, 2]
        worths[count] = min(count * cap, int(worth * (1.0 + MARGIN)) + 1)
    return worths


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet filled in part."""

    strips: tuple[StripCut, ...]
    """Strips so far"""
    widest: int
    """Widest width class still to be tried [-]"""
    room: int
    """Width left over [nm]"""
    limits: tuple[int, ...]
    """Pieces still wanted [-]"""
    value: int
    """Worth so far [-]"""


class SheetSearch:
    """Search the patterns of a sheet.

    Parameters
    ----------
    pricing
        The size of the sheet.
    values
        Value of each piece, none below zero [-].
    floor
        Least value of interest [-].
    rising
        Whether the floor rises above each pattern found, so that the last one is the most valuable.
    """

    def __init__(self, pricing: Pricing, values: Sequence[int], floor: int, *, rising: bool) -> None:
        self.pricing = pricing
        self.values = values
        self.floor = floor
        self.rising = rising
        self.found: list[Sheet] = []
        self.finished = True

    def run(self, limits: Sequence[int], nodes: int) -> None:
        """Search until done or out of nodes."""
        wanted = tuple(
            limit if value or not self.rising else 0 for limit, value in zip(limits, self.values, strict=True)
        )
        root = Sheet((), self.pricing.fitting - 1, self.pricing.width, wanted, 0)
        stack = [iter([root])]
        while stack and self.finished:
            sheet = next(stack[-1], None)
            if sheet is None:
                stack.pop()
            elif nodes == 0:
                self.finished = False
            else:
                nodes -= 1
                stack.append(self._grow(sheet))

    def _keep(self, sheet: Sheet) -> None:
        if sheet.value >= self.floor:
            self.found.append(sheet)
            self.floor = sheet.value + 1 if self.rising else self.floor

    def _grow(self, sheet: Sheet) -> Iterator[Sheet]:
        """Sheets with one more strip, the most promising first."""
        if self.rising:
            self._keep(sheet)
        promising = Outlook(self.pricing, self.values, sheet.limits).classes(sheet.widest, sheet.room)
        for worth, width, rest in promising:
            if sheet.value + worth < self.floor:
                return
            yield from self._strips(sheet, width, rest)
        if not promising and not self.rising and not self._wider_fits(sheet):
            self._keep(sheet)

    def _strips(self, sheet: Sheet, width: int, rest: int) -> Iterator[Sheet]:
        """Sheets with one more strip of a class."""
        members, own = self.pricing.members(width), self.pricing.own[width]
        limits = [limit if piece in members else 0 for piece, limit in enumerate(sheet.limits)]
        fillings = self.pricing.strip.near(self.values, limits, self.floor - sheet.value - rest, FILLINGS)
        if fillings is None:
            self.finished = False
            return
        for worth, cuts in sorted(fillings, reverse=True):
            if sheet.value + worth + rest < self.floor:
                return
            if any(piece in own for piece, _ in cuts):
                left = list(sheet.limits)
                for piece, count in cuts:
                    left[piece] -= count
                yield Sheet(
                    strips=(*sheet.strips, StripCut(width, cuts)),
                    widest=width,
                    room=sheet.room - self.pricing.shape.widths[width],
                    limits=tuple(left),
                    value=sheet.value + worth,
                )

    def _wider_fits(self, sheet: Sheet) -> bool:
        """Whether a wider strip could be added, so that a better pattern is found elsewhere."""
        return any(
            self.pricing.shape.widths[width] <= sheet.room and any(sheet.limits[piece] for piece in own)
            for width, own in enumerate(self.pricing.own[: self.pricing.fitting])
            if width > sheet.widest
        )


def quick_sheet(outlook: Outlook, values: Sequence[int], limits: Sequence[int]) -> Column:
    """Sheet pattern of one promising strip after another."""
    pricing = outlook.pricing
    left, room = list(limits), pricing.width
    strips: list[StripCut] = []
    while promising := [
        row for row in outlook.classes(pricing.fitting - 1, room) if outlook.found[row[1]][0]
    ]:
        width = promising[0][1]
        strips.append(StripCut(width, outlook.found[width][1]))
        room -= pricing.shape.widths[width]
        for piece, count in strips[-1].cuts:
            left[piece] -= count
        outlook = Outlook(pricing, values, left)
    return pricing.column(strips, limits)


def best_pattern(
    pricing: Pricing, values: Sequence[int], limits: Sequence[int], nodes: int
) -> tuple[int, Column]:
    """Cap on the value of a pattern, and a valuable pattern; for sticks on an exact raster it is worth the cap.

    Parameters
    ----------
    pricing
        The size of the stock.
    values
        Value of each piece, none below zero [-].
    limits
        How many of each piece are wanted [-].
    nodes
        Strips tried in the search for the best sheet before its cap is taken as it stands [-].
    """
    if not pricing.fitting:
        return 0, Column((), (0,) * len(limits))
    if pricing.width == 0:
        (cap,), ((_, cuts),) = pricing.strips(values, limits)
        return cap, pricing.column([StripCut(0, cuts)], limits)
    outlook = Outlook(pricing, values, limits)
    cap = outlook.rest(pricing.fitting - 1, pricing.width)
    column = quick_sheet(outlook, values, limits)
    known = sum(value * count for value, count in zip(values, column.counts, strict=True))
    if nodes == 0 or known == cap:
        return cap, column
    search = SheetSearch(pricing, values, known + 1, rising=True)
    search.run(limits, nodes)
    if search.found:
        column = pricing.column(search.found[-1].strips, limits)
    return search.floor - 1 if search.finished else cap, column


def near_sheets(
    pricing: Pricing, values: Sequence[int], limits: Sequence[int], floor: int, nodes: int
) -> list[Column] | None:
    """All full sheet patterns worth at least a floor, one for each yield; None when the nodes do not suffice."""
    search = SheetSearch(pricing, values, floor, rising=False)
    search.run(limits, nodes)
    if not search.finished:
        return None
    columns = [pricing.column(sheet.strips, limits) for sheet in search.found]
    return list({column.counts: column for column in columns}.values())
