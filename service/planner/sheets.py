"""Sheet patterns that cut no piece more often than it is wanted: the most valuable one, or all worth a floor.

Rules of this file
------------------
- Strips are tried from wide to narrow, each full with what is left of the pieces: every other pattern yields no more.
- A branch ends where even strips that use every piece anew could not reach the floor.
- Effort is limited by nodes; a search cut short says so and proves nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.planner.patterns import Column, Pricing, StripCut

FILLINGS = 4000
"""Fillings of one strip beyond which a search is given up [-]"""


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
        promising = self._classes(sheet)
        for worth, width, rest in promising:
            if sheet.value + worth < self.floor:
                return
            yield from self._strips(sheet, width, rest)
        if not promising and not self.rising and not self._wider_fits(sheet):
            self._keep(sheet)

    def _classes(self, sheet: Sheet) -> list[tuple[int, int, int]]:
        """Width classes that fit: what the sheet can still gain with a strip of it, and after that strip."""
        pricing = self.pricing
        caps, _ = pricing.strips(self.values, sheet.limits)
        most = pricing.most(sheet.limits)
        across = pricing.across.proves
        tables = across.tables(caps, most)
        gains = []
        for width in range(sheet.widest + 1):
            left = sheet.room - pricing.shape.widths[width]
            if left >= 0 and most[width]:
                rest = int(tables[width + 1, across.point(left)])
                gains.append((caps[width] + rest, width, rest))
        return sorted(gains, reverse=True)

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
        widths = self.pricing.shape.widths[sheet.widest + 1 : self.pricing.fitting]
        most = self.pricing.most(sheet.limits)[sheet.widest + 1 :]
        return any(size <= sheet.room and count for size, count in zip(widths, most, strict=True))


def best_sheet(
    pricing: Pricing, values: Sequence[int], limits: Sequence[int], nodes: int
) -> tuple[int, Column]:
    """Cap on the value of a sheet pattern, and the most valuable pattern found.

    Parameters
    ----------
    pricing
        The size of the sheet.
    values
        Value of each piece, none below zero [-].
    limits
        How many of each piece are wanted [-].
    nodes
        Strips tried before the cap is taken as it stands [-].
    """
    cap, column = pricing.best(values, limits)
    known = sum(value * count for value, count in zip(values, column.counts, strict=True))
    if known == cap:
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
