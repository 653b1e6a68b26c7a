"""The best patterns of a strip for given prices of its slots.

Used where there are too many patterns to list: the relaxation is solved over the patterns known so far, and
patterns that its prices make worth while are added until there are none, which makes its value a bound for
all patterns.
"""

from collections.abc import Sequence
from functools import reduce
from math import gcd

import numpy as np

from service.planner.course_solver.basis import Floats, Integers
from service.planner.course_solver.filling import Filling, choose, fill, list_fillings
from service.planner.course_solver.model import Model
from service.planner.course_solver.relaxation import WORTH, Relaxation
from service.planner.course_solver.strips import Pattern

MANY = 8
"""How many patterns of a strip are added at a time, beside one for every `FEW` slots [-]."""
FEW = 16
"""For how many slots one more pattern is added [-]."""


class Knapsack:
    """The slots of a height class, and the strips they may be cut from.

    Parameters
    ----------
    strips
        Lengths of the strips [nm].
    kerf
        Width of a cut [nm].
    slots
        Slots that may be cut from them [-].
    lengths
        Length of every slot [nm].
    """

    def __init__(
        self, strips: Sequence[int], kerf: int, slots: Sequence[int], lengths: Sequence[int]
    ) -> None:
        ordered = sorted((lengths[slot] + kerf, slot) for slot in slots)
        self.slots = [slot for _, slot in ordered]
        unit = reduce(gcd, [size for size, _ in ordered], 0) or max(strips) + kerf
        self.sizes = np.array([size // unit for size, _ in ordered], dtype=np.int64)
        self.rooms = {strip: (strip + kerf) // unit for strip in strips}
        self.even = {strip for strip in strips if (strip + kerf) % unit == 0}

    def filled(self, prices: Floats, *, flush: bool) -> "Filled":
        """Fill all strips at these prices of the slots; `flush` asks for strips that are used up."""
        return Filled(self, fill(self.sizes, prices[self.slots], max(self.rooms.values()), flush))


class Filled:
    """Strips filled at some prices.

    Parameters
    ----------
    knapsack
        The slots and strips.
    filling
        How every room is filled.
    """

    def __init__(self, knapsack: Knapsack, filling: Filling) -> None:
        self.knapsack, self.filling = knapsack, filling

    def most(self, strip: int) -> float:
        """Return the highest price of a pattern of a strip [minor units of money]."""
        return float(self.filling.worth[self.knapsack.rooms[strip]])

    def best(self, strip: int, above: float) -> list[Pattern]:
        """Return patterns of a strip that are worth more than `above`, the best of each last piece."""
        room = self.knapsack.rooms[strip]
        if self.filling.worth[room] <= above:
            return []
        most = MANY + len(self.filling.sizes) // FEW
        return self._patterns(strip, choose(self.filling, room, above, most))

    def all_worth(self, strip: int, least: float, most: int) -> list[Pattern] | None:
        """Return all patterns of a strip that take no further piece and are worth so much, None when they are more than `most`."""
        room, sizes = self.knapsack.rooms[strip], self.filling.sizes
        if not len(sizes) or sizes[0] > room:
            return []
        found = list_fillings(self.filling, room, least, most)
        return None if len(found) > most else self._patterns(strip, found)

    def _patterns(self, strip: int, found: Integers) -> list[Pattern]:
        """Return fillings as patterns."""
        full = found @ self.knapsack.sizes == self.knapsack.rooms[strip]
        if strip not in self.knapsack.even:
            full[:] = False
        slots = self.knapsack.slots
        return [
            Pattern(tuple(sorted([(slots[at], int(counts[at])) for at in np.nonzero(counts)[0]])), flush)
            for counts, flush in zip(found, full.tolist(), strict=True)
        ]


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
        self._known = {(at, pattern.counts) for _, at, pattern in model.patterns}
        self.knapsacks = {}
        for height_class in sorted({own for _, own in program.strips}):
            kinds = [kind for kind, at in enumerate(program.kinds.classes) if at == height_class]
            slots = sorted({program.slot_of[kind] for kind in kinds})
            lengths = [length for length, own in program.strips if own == height_class]
            self.knapsacks[height_class] = Knapsack(lengths, program.kerf, slots, program.slots)

    @property
    def slots(self) -> int:
        """How many slots are priced in a round [-]."""
        return sum([len(knapsack.slots) for knapsack in self.knapsacks.values()])

    def shortlist(
        self, relaxation: Relaxation, spare: float, live: Sequence[int], most: int
    ) -> list[list[Pattern]] | None:
        """Patterns of live slots that may be part of a plan dearer than the relaxation by no more than `spare`; None when there are more than `most`."""
        program, duals = self.model.program, relaxation.duals
        prices = np.maximum(-duals[: len(program.slots)] - program.cut_cost, 0.0)
        saved = max(0.0, program.cut_cost + duals[self.model.full_row])
        filled = {}
        for own, knapsack in self.knapsacks.items():
            slots = [slot for slot in live if slot in set(knapsack.slots)]
            filled[own] = Knapsack(list(knapsack.rooms), program.kerf, slots, program.slots).filled(
                prices, flush=False
            )
        patterns: list[list[Pattern]] = []
        for at, (length, own) in enumerate(program.strips):
            least = -duals[self.model.supply_rows[at]] - spare - saved
            found = filled[own].all_worth(length, least, most)
            if found is None:
                return None
            most -= len(found)
            patterns.append(found)
        return patterns

    def add_patterns(self, relaxation: Relaxation) -> bool | None:
        """Add patterns that are worth while; whether there were any, None when rounding finds only known ones."""
        program, cut = self.model.program, self.model.program.cut_cost
        duals = relaxation.duals
        prices = -duals[: len(program.slots)] - cut
        for flush in (False, True) if cut else (False,):
            filled = {own: knapsack.filled(prices, flush=flush) for own, knapsack in self.knapsacks.items()}
            added, found = False, False
            for at, (length, own) in enumerate(program.strips):
                if flush and length not in self.knapsacks[own].even:
                    continue
                above = (
                    -duals[self.model.supply_rows[at]] - (cut + duals[self.model.full_row]) * flush + WORTH
                )
                for pattern in filled[own].best(length, above):
                    found = True
                    if (at, pattern.counts) not in self._known:
                        self._known.add((at, pattern.counts))
                        relaxation.add(*self.model.add_pattern(at, pattern))
                        added = True
            if found:
                return added or None
        return False
