"""Patterns that are worth while added to a relaxation until there are none, compiled.

Then its cost bounds all plans, whichever patterns they use. What a pattern is worth is told by the prices of its slots:
the most valuable filling of every strip is looked for, without and with the crosscut that a full one gives back.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.planner.solver.compiling import Integers, compiled, compiled_apart
from service.planner.solver.courses.basis import Basis, Columns
from service.planner.solver.courses.filling import choose, fill
from service.planner.solver.courses.simplex import ABOVE, INEXACT, OPTIMAL, STUCK, solve

MANY = 8
"""How many patterns of a strip are added at a time, beside one for every `FEW` slots [-]."""
FEW = 16
"""For how many slots one more pattern is added [-]."""
WORTH = 1e-5
"""What a pattern that is not listed may save at most where none is worth while [minor units of money]."""
TRIFLE = 1e-6
"""Least raise of a cost; the most is twice this [minor units of money]."""
SPREAD = 0.6180339887498949
"""Step of the raises, which never come back to where they were [-]."""
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
    updates: int,
    limits: tuple[float, float],
) -> tuple[int, float, int, int, float]:
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
    updates
        How many exchanges its inverse went through [-].
    limits
        Cost beyond which the rest does not matter, which holds only where all reduced costs are right; and how
        much work may be done: exchanges by size, eighths of a slot priced [-].

    Returns
    -------
    tuple
        How it ended, cost, number of rows and columns, exchanges of the inverse, and the work done.
    """
    size, work = len(basis.head), 0.0
    limit, effort = limits
    while True:
        how, cost, turns, updates = solve(columns, basis, cost, limit, updates)
        work += turns * size * size / 10_000
        if how == OPTIMAL and work >= effort:
            how = STUCK
        if how not in (OPTIMAL, ABOVE):
            return how, cost, columns.number, updates, work
        work += len(cutting.sizes) / 8
        before = columns.number
        room, columns = _add_patterns(columns, basis, cutting)
        how = FULL if room == FULL else how
        if how == FULL or columns.number == before:
            return how, cost, columns.number, updates, work
        limit = np.inf  # what was added has made reduced costs wrong


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
    room = 0
    for strip in range(len(cutting.rooms)):
        if cutting.classes[strip] == own:
            room = max(room, cutting.rooms[strip])
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
    reduced = cost + TRIFLE * (1.0 + (at + 1) * SPREAD % 1.0)
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
