"""The best pattern of a strip for given prices of its slots, by dynamic programming over its length.

Used where there are too many patterns to list: the relaxation is solved over the patterns known so far, and
patterns that its prices make worth while are added until there are none, which makes its value a bound for
all patterns.
"""

from collections.abc import Sequence
from functools import reduce
from math import gcd

import numpy as np
from highspy import HighsModelStatus
from highspy._core import _Highs as Solver
from numpy.typing import NDArray

from service.planner.course_solver.model import Model
from service.planner.course_solver.strips import Pattern

Values = NDArray[np.float64]
UNREACHED = -1e30
NEARLY = 1e-9
WORTH = 1e-4
"""A pattern is added when it saves more than this [minor units of money]."""


class Knapsack:
    """A strip and the slots that fit in it.

    Parameters
    ----------
    length
        Length of the strip [nm].
    kerf
        Width of a cut [nm].
    slots
        Slots that may be cut from it [-].
    lengths
        Length of every slot [nm].
    """

    def __init__(self, length: int, kerf: int, slots: Sequence[int], lengths: Sequence[int]) -> None:
        self.slots = [slot for slot in slots if lengths[slot] <= length]
        sizes = [lengths[slot] + kerf for slot in self.slots]
        self.unit = reduce(gcd, sizes, 0) or 1
        self.room = (length + kerf) // self.unit
        self.even = (length + kerf) % self.unit == 0
        self.sizes = [size // self.unit for size in sizes]

    def best(self, prices: Sequence[float], *, flush: bool) -> tuple[float, Pattern | None]:
        """Return the highest price of a pattern, and the pattern; `flush` asks for one that fills the strip.

        Parameters
        ----------
        prices
            Price of every slot [minor units of money].
        flush
            Whether the strip must be used up.
        """
        if not self.slots or (flush and not self.even):
            return UNREACHED, None
        worth = [(size, prices[slot], slot) for size, slot in zip(self.sizes, self.slots, strict=True)]
        if not flush:
            worth = [item for item in worth if item[1] > NEARLY]
        values = self._values(worth, flush=flush)
        if values[self.room] <= UNREACHED / 2:
            return UNREACHED, None
        counts: dict[int, int] = {}
        room, value = self.room, float(values[self.room])
        while room and value > values[0] + NEARLY or (flush and room):
            for size, price, slot in worth:
                if size <= room and abs(values[room - size] + price - value) < 1e-6:
                    counts[slot] = counts.get(slot, 0) + 1
                    room, value = room - size, float(values[room - size])
                    break
            else:
                break
        return float(values[self.room]), Pattern(tuple(sorted(counts.items())), self.even and room == 0)

    def _values(self, worth: Sequence[tuple[int, float, int]], *, flush: bool) -> Values:
        """Highest price within every room."""
        values = np.full(self.room + 1, UNREACHED) if flush else np.zeros(self.room + 1)
        values[0] = 0.0
        for size, price, _ in worth:
            for _ in range(self.room // size):
                before = values[size:].copy()
                np.maximum(values[size:], values[:-size] + price, out=values[size:])
                if np.array_equal(before, values[size:]):
                    break
        return values


class Pricer:
    """Adds patterns that are worth while to a model that does not list them all.

    Parameters
    ----------
    model
        The model.
    """

    def __init__(self, model: Model) -> None:
        self.model = model
        program = model.program
        self.knapsacks = []
        for length, height_class in program.strips:
            kinds = [kind for kind, at in enumerate(program.kinds.classes) if at == height_class]
            slots = sorted({program.slot_of[kind] for kind in kinds})
            self.knapsacks.append(Knapsack(length, program.kerf, slots, program.slots))

    def improve(self, solver: Solver) -> bool:
        """Add the best pattern of every strip if it is worth while; whether any was."""
        if solver.getModelStatus() != HighsModelStatus.kOptimal:
            return False
        duals = solver.getSolution().row_dual
        model, added = self.model, False
        prices = [-duals[slot] for slot in range(len(model.program.slots))]
        for strip, knapsack in enumerate(self.knapsacks):
            room = -duals[model.supply_rows[strip]]
            added |= self._add(solver, strip, knapsack.best(prices, flush=False), room)
            if model.program.cut_cost:
                reduced = [price + duals[model.flush_rows[slot]] for slot, price in enumerate(prices)]
                limit = room - model.program.cut_cost
                added |= self._add(solver, strip, knapsack.best(reduced, flush=True), limit, full=True)
        return added

    def _add(
        self,
        solver: Solver,
        strip: int,
        found: tuple[float, Pattern | None],
        limit: float,
        *,
        full: bool = False,
    ) -> bool:
        """Add a pattern whose price is above the limit."""
        price, pattern = found
        if pattern is None or not pattern.counts or price <= limit + WORTH:
            return False
        cost, entries = self.model.add_pattern(strip, pattern, full=full)
        rows = np.array([row for row, _ in entries], dtype=np.int32)
        solver.addCol(cost, 0.0, np.inf, len(rows), rows, np.array([value for _, value in entries]))
        return True
