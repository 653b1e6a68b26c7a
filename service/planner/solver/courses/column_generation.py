"""Patterns that are worth while added to a relaxation until there are none, compiled.

Then its cost bounds all plans, whichever patterns they use. What a pattern is worth is told by the prices of its slots:
the most valuable filling of every strip is looked for, without and with the crosscut that a full one gives back.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.planner.solver.compiling import Floats, Integers, compiled, compiled_apart
from service.planner.solver.courses.filling import choose, fill
from service.planner.solver.effort import charge
from service.planner.solver.lp.basis import Basis, Columns
from service.planner.solver.lp.proof import whole_prices, worth_of
from service.planner.solver.lp.simplex import ABOVE, INEXACT, OPTIMAL, STUCK, solve
from service.planner.solver.lp.start import raised

MANY = 8
"""How many patterns of a strip are added at a time, beside one for every `FEW` slots [-]."""
FEW = 16
"""For how many slots one more pattern is added [-]."""
WORTH = 1e-5
"""What a pattern that is not listed may save at most where none is worth while [minor units of money]."""
FULL = INEXACT + 1
"""How a call ends that finds no room for another column."""


class Cutting(NamedTuple):
    """What patterns are made of.

    Parameters
    ----------
    sizes
        Length and kerf of every slot, ascending in every height class [units].
    slots
        The slot of each size [-].
    firsts
        Where the sizes of every height class begin, and where the last ones end [-].
    classes
        Height class of every strip [-].
    rooms
        Room of every strip [units].
    even
        Whether a strip can be filled exactly.
    rows
        Row of every strip [-].
    full_row
        Row that counts full strips [-].
    cut
        Cost of a crosscut [minor units of money].
    """

    sizes: Integers
    slots: Integers
    firsts: Integers
    classes: Integers
    rooms: Integers
    even: NDArray[np.bool_]
    rows: Integers
    full_row: int
    cut: float


@compiled_apart
def solve_with_patterns(
    columns: Columns,
    basis: Basis,
    cutting: Cutting,
    cost: float,
    limits: tuple[int, float],
    effort: Floats,
) -> tuple[int, float, int, int]:
    """Solve the program, adding patterns while they are worth while.

    Parameters
    ----------
    columns
        The program.
    basis
        Where to start; changed in place.
    cutting
        What patterns are made of.
    cost
        Cost of the basis.
    limits
        How many exchanges its inverse went through [-]; cost beyond which the rest does not matter, which holds only
        where all reduced costs are right.
    effort
        Counter of units.

    Returns
    -------
    tuple
        How it ended, cost, number of rows and columns, and exchanges of the inverse.
    """
    updates, limit = limits
    room = 0
    for own in cutting.rooms:
        room = max(room, own)
    while True:
        how, cost, updates = solve(columns, basis, cost, limit, updates, effort)
        if how == OPTIMAL and charge(effort, len(cutting.sizes) * room / 1_000):
            how = STUCK
        if how not in (OPTIMAL, ABOVE):
            return how, cost, columns.number, updates
        before = columns.number
        place, columns = _add_patterns(columns, basis, cutting)
        how = FULL if place == FULL else how
        if how == FULL or columns.number == before:
            return how, cost, columns.number, updates
        limit = np.inf  # what was added has made reduced costs wrong


@compiled_apart
def proven_with_patterns(columns: Columns, basis: Basis, cutting: Cutting, most: float) -> float:
    """Return the least cost that the prices of the rows prove for all patterns, listed or not, rounded up to a whole cost.

    Parameters
    ----------
    columns
        The program.
    basis
        Holds the prices.
    cutting
        What patterns are made of.
    most
        What no column exceeds in a solution worth having; of strips there are a sixth of it at most [-].
    """
    prices, scale = whole_prices(columns, basis.reduced[: len(basis.head)], most)
    total, cut = worth_of(columns, prices, scale, most), scale * int(cutting.cut)
    saved = cut + prices[cutting.full_row]
    for own in range(len(cutting.firsts) - 1):
        first, last = cutting.firsts[own], cutting.firsts[own + 1]
        contents = (-prices[cutting.slots[first:last]] - cut).astype(np.float64)  # whole, so sums are exact
        room = _room(cutting, own)
        filled = fill(cutting.sizes[first:last], contents, room, False)
        full = fill(cutting.sizes[first:last], contents, room, True)
        for strip in range(len(cutting.rooms)):
            if cutting.classes[strip] == own:
                worth = filled.worth[cutting.rooms[strip]]
                if saved > 0 and cutting.even[strip]:
                    worth = max(worth, full.worth[cutting.rooms[strip]] + saved)
                total -= int(max(0.0, worth + prices[cutting.rows[strip]])) * (int(most) // 6)
    return float(-(-total // scale))


@compiled
def _room(cutting: Cutting, own: int) -> int:
    """Return the greatest room of a height class [units]."""
    room = 0
    for strip in range(len(cutting.rooms)):
        if cutting.classes[strip] == own:
            room = max(room, cutting.rooms[strip])
    return room


@compiled
def _add_patterns(columns: Columns, basis: Basis, cutting: Cutting) -> tuple[int, Columns]:
    """Add patterns that are worth while, full ones where no others are; whether there was room for all."""
    before, how = columns.number, OPTIMAL
    for own in range(len(cutting.firsts) - 1):
        if how != FULL:
            how, columns = _add_filled(columns, basis, cutting, own, 0.0)
    saved = cutting.cut + basis.reduced[cutting.full_row]
    if columns.number == before and cutting.cut and saved > 0.0:
        for own in range(len(cutting.firsts) - 1):
            if how != FULL:
                how, columns = _add_filled(columns, basis, cutting, own, saved)
    return how, columns


@compiled
def _add_filled(
    columns: Columns, basis: Basis, cutting: Cutting, own: int, saved: float
) -> tuple[int, Columns]:
    """Add patterns of a height class that are worth while; strips are used up where that saves something."""
    first, last, how = cutting.firsts[own], cutting.firsts[own + 1], OPTIMAL
    room = _room(cutting, own)
    prices = -basis.reduced[cutting.slots[first:last]] - cutting.cut
    filling = fill(cutting.sizes[first:last], prices, room, saved > 0.0)
    for strip in range(len(cutting.rooms)):
        above = WORTH - basis.reduced[cutting.rows[strip]] - saved
        fits = cutting.classes[strip] == own and (saved == 0.0 or cutting.even[strip])
        if fits and filling.worth[cutting.rooms[strip]] > above:
            for counts in choose(filling, cutting.rooms[strip], above, MANY + (last - first) // FEW):
                how, columns = _add(columns, basis, cutting, strip, first, counts)
                if how == FULL:
                    return how, columns
    return how, columns


@compiled
def _add(
    columns: Columns, basis: Basis, cutting: Cutting, strip: int, first: int, counts: Integers
) -> tuple[int, Columns]:
    """Add a pattern, at zero; one that takes the whole strip gives a crosscut back where that is worth something."""
    number = columns.number
    at = number - len(basis.head)
    k, left, cost = columns.starts[at], cutting.rooms[strip], 0.0
    if number == len(columns.costs) or k + len(counts) + 2 > len(columns.rows):
        return FULL, columns
    saved = cutting.cut + basis.reduced[cutting.full_row]
    columns.rows[k], columns.values[k] = cutting.rows[strip], 1.0
    k += 1
    for i in range(len(counts)):
        if counts[i]:
            columns.rows[k], columns.values[k] = cutting.slots[first + i], -float(counts[i])
            k, left, cost = k + 1, left - counts[i] * cutting.sizes[first + i], cost + counts[i] * cutting.cut
    if left == 0 and cutting.even[strip] and cutting.cut and saved > 0.0:
        columns.rows[k], columns.values[k] = cutting.full_row, 1.0
        k, cost = k + 1, cost - cutting.cut
    reduced = raised(cost, at)
    columns.costs[number] = reduced
    for entry in range(columns.starts[at], k):
        reduced -= columns.values[entry] * basis.reduced[columns.rows[entry]]
    if reduced > -WORTH / 2:  # rounding has found one that is there
        return STUCK, columns
    columns.starts[at + 1] = k
    columns.lows[number], columns.highs[number] = 0.0, np.inf
    basis.places[number], basis.levels[number], basis.reduced[number] = -1, 0.0, reduced
    return OPTIMAL, Columns(
        number + 1,
        columns.starts,
        columns.rows,
        columns.values,
        columns.costs,
        columns.lows,
        columns.highs,
    )
