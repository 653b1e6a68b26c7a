"""The best patterns of a strip for given prices of its slots.

Used where there are too many patterns to list: the relaxation is solved over the patterns known so far, and
patterns that its prices make worth while are added until there are none, which makes its value a bound for
all patterns.
"""

from collections.abc import Sequence
from functools import reduce
from itertools import pairwise
from math import gcd

import numpy as np

from service.planner.solver.compiling import Floats, Integers
from service.planner.solver.courses.column_generation import (
    FULL,
    Cutting,
    proven_with_patterns,
    solve_with_patterns,
)
from service.planner.solver.courses.filling import Filling, fill, list_fillings
from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.courses.strips import Pattern
from service.planner.solver.lp.branching import EDGE
from service.planner.solver.lp.relaxation import Relaxation
from service.planner.solver.lp.simplex import INFEASIBLE


class StripKnapsack:
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

    def __init__(self, knapsack: StripKnapsack, filling: Filling) -> None:
        self.knapsack, self.filling = knapsack, filling

    def most(self, strip: int) -> float:
        """Return the highest price of a pattern of a strip [minor units of money]."""
        return float(self.filling.worth[self.knapsack.rooms[strip]])

    def all_worth(self, strip: int, least: float, most: int) -> list[Pattern] | None:
        """Return all patterns of a strip that take no further piece and are worth so much, None when they are more than `most`."""
        room, sizes = self.knapsack.rooms[strip], self.filling.sizes
        if not len(sizes) or sizes[0] > room:
            return []
        found = list_fillings(self.filling, room, least, most)
        return None if len(found) > most else self._patterns(strip, found)

    def _patterns(self, strip: int, found: Integers) -> list[Pattern]:
        """Return fillings as patterns."""
        own = self.knapsack
        full = (found @ own.sizes == own.rooms[strip]) & (strip in own.even)
        order = np.argsort(own.slots)
        at, places = np.nonzero(found[:, order])
        counts = found[:, order][at, places].tolist()
        pairs = list(zip(np.array(own.slots)[order][places].tolist(), counts, strict=True))
        ends = np.searchsorted(at, np.arange(len(found) + 1)).tolist()
        return [
            Pattern(tuple(pairs[first:last]), flush)
            for (first, last), flush in zip(pairwise(ends), full.tolist(), strict=True)
        ]


class Pricer:
    """Adds patterns that are worth while to a model that does not list them all.

    Parameters
    ----------
    model
        The model.
    """

    def __init__(self, model: Formulation) -> None:
        self.model = model
        program = model.program
        self.knapsacks = {}
        for height_class in sorted({own for _, own in program.strips}):
            kinds = [kind for kind, at in enumerate(program.kinds.classes) if at == height_class]
            slots = sorted({program.slot_of[kind] for kind in kinds})
            lengths = [length for length, own in program.strips if own == height_class]
            self.knapsacks[height_class] = StripKnapsack(lengths, program.kerf, slots, program.slots)

        self.cutting = self._cutting()

    def solve(self, relaxation: Relaxation, limit: float) -> int:
        """Solve from the basis that was reached, adding patterns until none is worth while; how it ended.

        Parameters
        ----------
        relaxation
            Linear program of the model.
        limit
            A cost beyond which the rest does not matter [minor units of money].
        """
        how, limit = FULL, float(limit + relaxation.slack + EDGE)
        while how == FULL:
            how, relaxation.cost, number, relaxation.updates = solve_with_patterns(
                relaxation.columns,
                relaxation.basis,
                self.cutting,
                relaxation.cost,
                (relaxation.updates, limit),
                relaxation.effort.cells,
            )
            limit = np.inf
            relaxation.columns = relaxation.columns._replace(number=number)
            if how == FULL:
                relaxation.make_room()
        return how

    def proven(self, relaxation: Relaxation, how: int) -> float:
        """Return what a plan costs at least, in exact integers, after the program was solved so [minor units of money]."""
        if how == INFEASIBLE:
            return relaxation.proven(how)
        return proven_with_patterns(relaxation.columns, relaxation.basis, self.cutting, relaxation.most)

    def _cutting(self) -> Cutting:
        """Return what patterns are made of, for compiled code."""
        program, owns = self.model.program, list(self.knapsacks)
        knapsacks = [self.knapsacks[own] for _, own in program.strips]
        lengths = [length for length, _ in program.strips]
        return Cutting(
            sizes=np.concatenate([self.knapsacks[own].sizes for own in owns]),
            slots=np.concatenate([self.knapsacks[own].slots for own in owns]).astype(np.int64),
            firsts=np.cumsum([0, *(len(self.knapsacks[own].slots) for own in owns)]),
            classes=np.array([owns.index(own) for _, own in program.strips]),
            rooms=np.array([own.rooms[length] for own, length in zip(knapsacks, lengths, strict=True)]),
            even=np.array([length in own.even for own, length in zip(knapsacks, lengths, strict=True)]),
            rows=np.array(self.model.supply_rows),
            full_row=self.model.full_row,
            cut=float(program.cut_cost),
        )

    def shortlist(
        self, relaxation: Relaxation, spare: float, live: Sequence[int], most: int
    ) -> list[list[Pattern]] | None:
        """Patterns of live slots, numbered in their order, that may be part of a plan dearer than the relaxation by no more than `spare`; None when there are more than `most`."""
        program, duals = self.model.program, relaxation.duals
        prices = np.maximum(-duals[: len(program.slots)] - program.cut_cost, 0.0)[live]
        saved = max(0.0, program.cut_cost + duals[self.model.full_row])
        lengths, filled = [program.slots[slot] for slot in live], {}
        for own, knapsack in self.knapsacks.items():
            known = set(knapsack.slots)
            slots = [at for at, slot in enumerate(live) if slot in known]
            narrowed = StripKnapsack(list(knapsack.rooms), program.kerf, slots, lengths)
            filled[own] = narrowed.filled(prices, flush=False)
        patterns: list[list[Pattern]] = []
        for at, (length, own) in enumerate(program.strips):
            least = -duals[self.model.supply_rows[at]] - spare - saved
            found = filled[own].all_worth(length, least, most)
            if found is None:
                return None
            most -= len(found)
            patterns.append(found)
        return patterns
