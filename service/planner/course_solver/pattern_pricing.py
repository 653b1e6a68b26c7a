"""The best pattern of a strip for given prices of its slots, by dynamic programming over its length.

Used where there are too many patterns to list: the relaxation is solved over the patterns known so far, and
patterns that its prices make worth while are added until there are none, which makes its value a bound for
all patterns.
"""

from collections import Counter
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
MANY = 16
"""How many patterns of a strip are added at a time [-]."""
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
        fitting = sorted((lengths[slot], slot) for slot in slots if lengths[slot] <= length)
        self.slots = [slot for _, slot in fitting]
        sizes = [size + kerf for size, _ in fitting]
        unit = reduce(gcd, sizes, 0) or length + kerf
        self.room = (length + kerf) // unit
        self.even = (length + kerf) % unit == 0
        self.sizes = [size // unit for size in sizes]
        self.small = sum([2 * size <= self.room for size in self.sizes])
        self.big_sizes = np.array(self.sizes[self.small :], dtype=int)
        self.big_slots = np.array(self.slots[self.small :], dtype=int)

    def best(self, prices: Sequence[float], above: float, *, flush: bool) -> list[Pattern]:
        """Return patterns worth more than `above`, the best of each last piece; `flush` asks for full strips.

        Parameters
        ----------
        prices
            Price of every slot [minor units of money].
        above
            What a pattern must be worth more than [minor units of money].
        flush
            Whether the strip must be used up.
        """
        if flush and not self.even:
            return []
        values, used = self._values(prices, flush=flush)
        if not used or values[self.room] <= above:
            return []
        sizes = np.array([self.sizes[at] for at in used])
        worth = np.array([prices[self.slots[at]] for at in used])
        totals = values[self.room - sizes] + worth
        patterns = {}
        for first in np.argsort(-totals, kind="stable")[: MANY + len(used) // 8]:
            if totals[first] <= above:
                break
            counts, room = [used[first]], self.room - int(sizes[first])
            while room and (flush or values[room] > values[0]):
                fits = np.nonzero(sizes <= room)[0]
                at = fits[np.argmax(values[room - sizes[fits]] + worth[fits])] if len(fits) else -1
                if at < 0 or values[room - sizes[at]] + worth[at] < values[room] - NEARLY:
                    break
                counts.append(used[at])
                room -= int(sizes[at])
            filled = Counter(self.slots[at] for at in counts)
            full = self.even and sum(self.sizes[at] for at in counts) == self.room
            patterns[tuple(sorted(filled.items()))] = full
        return [Pattern(counts, full) for counts, full in patterns.items()]

    def most(self, prices: Sequence[float], *, flush: bool) -> float:
        """Return the highest price of a pattern, or of one that uses the strip up [minor units of money]."""
        if flush and not self.even:
            return UNREACHED
        return float(self._values(prices, flush=flush)[0][self.room])

    def _values(self, prices: Sequence[float], *, flush: bool) -> tuple[Values, list[int]]:
        """Highest price within every room, and the slots that can be part of it.

        Of those longer than half the strip one has room at most: they count for the whole strip alone.
        """
        values = np.full(self.room + 1, UNREACHED) if flush else np.zeros(self.room + 1)
        values[0] = 0.0
        used = []
        for at in range(self.small):
            size, price = self.sizes[at], prices[self.slots[at]]
            if price <= values[size] + NEARLY:
                continue
            used.append(at)
            for start in range(size, self.room + 1, size):
                part = values[start : start + size]
                np.maximum(part, values[start - size : start - size + len(part)] + price, out=part)
        if len(self.big_sizes):
            worth = np.asarray(prices)[self.big_slots]
            used += (np.nonzero(worth > values[self.big_sizes] + NEARLY)[0] + self.small).tolist()
            values[self.room] = max(
                values[self.room], float(np.max(values[self.room - self.big_sizes] + worth))
            )
        return values, used


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

    @property
    def slots(self) -> int:
        """How many slots are priced in a round [-]."""
        return sum([len(knapsack.slots) for knapsack in self.knapsacks])

    def improve(self, solver: Solver) -> bool:
        """Add patterns that are worth while; whether there were any."""
        if solver.getModelStatus() != HighsModelStatus.kOptimal:
            return False
        duals = solver.getSolution().row_dual
        cut = self.model.program.cut_cost
        prices = [-duals[slot] - cut for slot in range(len(self.model.program.slots))]
        rooms = [-duals[row] for row in self.model.supply_rows]
        added = False
        for flush in (False, True) if cut else (False,):
            for strip, (knapsack, room) in enumerate(zip(self.knapsacks, rooms, strict=True)):
                above = room - cut * flush + WORTH
                for pattern in knapsack.best(prices, above, flush=flush):
                    self._add(solver, strip, pattern)
                    added = True
            if added:
                break
        return added

    def _add(self, solver: Solver, strip: int, pattern: Pattern) -> None:
        """Add a pattern to the model and to the solver's copy of it."""
        cost, entries = self.model.add_pattern(strip, pattern)
        rows = np.array([row for row, _ in entries], dtype=np.int32)
        solver.addCol(cost, 0.0, np.inf, len(rows), rows, np.array([value for _, value in entries]))
