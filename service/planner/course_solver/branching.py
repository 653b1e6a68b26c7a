"""Branch and bound on a program whose columns are all listed and all whole, compiled.

The node with the least bound comes first, of equal ones the latest. Totals are branched on before other columns,
of these the one nearest to a half. Nodes keep their basis, so that those below start from it.
"""

from typing import NamedTuple

import numpy as np

from service.planner.course_solver.simplex import (
    ABOVE,
    INFEASIBLE,
    OPTIMAL,
    Basis,
    Columns,
    Floats,
    Integers,
    compiled,
    improve,
    invert,
    settle,
)

WHOLE = 1e-6
"""How far from whole a value may be [-]."""
TURNS = 2_000
"""How many exchanges a node may take by each method [-]."""
UPDATES = 300
"""How many exchanges an inverse goes through before it is made anew [-]."""


class Nodes(NamedTuple):
    """Nodes that are open, one a place.

    Parameters
    ----------
    bounds
        Least cost of each, infinite where the place is free.
    made
        When each was looked at [-].
    updates
        How many exchanges its inverse went through [-].
    lows
        Least value of every row and column [-].
    highs
        Greatest value of every row and column [-].
    inverse
        As of its basis.
    head
        As of its basis.
    places
        As of its basis.
    levels
        As of its basis.
    reduced
        As of its basis.
    weights
        As of its basis.
    """

    bounds: Floats
    made: Integers
    updates: Integers
    lows: Floats
    highs: Floats
    inverse: Floats
    head: Integers
    places: Integers
    levels: Floats
    reduced: Floats
    weights: Floats


@compiled
def branch_and_bound(
    columns: Columns,
    basis: Basis,
    costs: Floats,
    prices: Floats,
    totals: Integers,
    step: float,
    slack: float,
    known: float,
    most: int,
) -> tuple[float, Floats, float, int]:
    """Look for whole values that cost less than a known cost, from a basis that solves the relaxation.

    Parameters
    ----------
    columns
        The program; no room is left after its last column.
    basis
        The basis.
    costs
        Cost of every row and column in the relaxation.
    prices
        What every row and column really costs.
    totals
        Columns to branch on first, as variables [-].
    step
        Costs of plans differ by multiples of this.
    slack
        By how much the relaxation may cost more than the program.
    known
        Cost of a plan that is known.
    most
        How many nodes are looked at [-].

    Returns
    -------
    tuple
        Least cost found, or the known one; the values that it stands for; a bound of all that costs less
        than the known cost, infinite when there is nothing; how many nodes were looked at.
    """
    nodes = _empty(basis, most)
    best = np.zeros(len(basis.levels))
    aside, looked = np.inf, 0
    _store(nodes, 0, columns, basis, -np.inf, 0, 0)
    while looked < most:
        at = _next(nodes)
        if at < 0 or nodes.bounds[at] >= known:
            break
        updates = _restore(nodes, at, columns, basis)
        bound = nodes.bounds[at]
        variable = _fractional(basis, totals)
        if variable < 0:
            cost = np.sum(np.rint(basis.levels) * prices)
            if cost < known:
                known = cost
                best[:] = basis.levels
            nodes.bounds[at] = np.inf
            continue
        value = basis.levels[variable]
        for side in range(2):
            if side:
                updates = _restore(nodes, at, columns, basis)
                nodes.bounds[at] = np.inf
                columns.lows[variable] = np.ceil(value)
            else:
                columns.highs[variable] = np.floor(value)
            looked += 1
            how, cost, updates = _solve(columns, basis, costs, known - step + slack, updates)
            if how == OPTIMAL:
                own = max(bound, step * np.ceil((cost - slack) / step - WHOLE))
                if own < known:
                    free = at if side else _free(nodes)
                    _store(nodes, free, columns, basis, own, looked, updates)
            elif how != INFEASIBLE and how != ABOVE:
                aside = min(aside, bound)
    at = _next(nodes)
    left = np.inf if at < 0 else nodes.bounds[at]
    return known, best, min(aside, left), looked


@compiled
def _empty(basis: Basis, most: int) -> Nodes:
    """Return places for nodes, all of them free; what is not used takes no memory."""
    size, count = len(basis.head), len(basis.levels)
    places = most + 3
    return Nodes(
        np.full(places, np.inf),
        np.zeros(places, np.int64),
        np.zeros(places, np.int64),
        np.empty((places, count)),
        np.empty((places, count)),
        np.empty((places, size, size)),
        np.empty((places, size), np.int64),
        np.empty((places, count), np.int64),
        np.empty((places, count)),
        np.empty((places, count)),
        np.empty((places, size)),
    )


@compiled
def _solve(columns: Columns, basis: Basis, costs: Floats, limit: float, updates: int) -> tuple[int, float, int]:
    """Solve the relaxation of a node; how it ended, its cost, and how many exchanges its inverse went through."""
    count = len(basis.levels)
    if updates > UPDATES and invert(columns, basis):
        updates = 0
    cost = settle(columns, basis, costs, count)
    how, cost, turns = improve(columns, basis, costs, count, cost, limit, TURNS)
    if how != OPTIMAL and how != INFEASIBLE and how != ABOVE and invert(columns, basis):
        cost = settle(columns, basis, costs, count)
        how, cost, turns = improve(columns, basis, costs, count, cost, limit, TURNS)
    return how, cost, updates + turns


@compiled
def _next(nodes: Nodes) -> int:
    """Place of the node with the least bound, the latest of them; -1 when none is open."""
    found = -1
    for at in range(len(nodes.bounds)):
        bound = nodes.bounds[at]
        if bound < np.inf and (
            found < 0
            or bound < nodes.bounds[found]
            or (bound == nodes.bounds[found] and nodes.made[at] > nodes.made[found])
        ):
            found = at
    return found


@compiled
def _free(nodes: Nodes) -> int:
    """First place that is free."""
    for at in range(len(nodes.bounds)):
        if nodes.bounds[at] == np.inf:
            return at
    return len(nodes.bounds) - 1


@compiled
def _fractional(basis: Basis, totals: Integers) -> int:
    """Total that is not whole, else the column nearest to a half; -1 when all are whole."""
    for variable in totals:
        if abs(basis.levels[variable] - np.rint(basis.levels[variable])) > WHOLE:
            return variable
    worst, found = WHOLE, -1
    for variable in range(len(basis.head), len(basis.levels)):
        off = abs(basis.levels[variable] - np.rint(basis.levels[variable]))
        if off > worst:
            worst, found = off, variable
    return found


@compiled
def _store(
    nodes: Nodes, at: int, columns: Columns, basis: Basis, bound: float, made: int, updates: int
) -> None:
    """Keep a node."""
    nodes.bounds[at], nodes.made[at], nodes.updates[at] = bound, made, updates
    nodes.lows[at], nodes.highs[at] = columns.lows, columns.highs
    nodes.inverse[at], nodes.head[at], nodes.places[at] = basis.inverse, basis.head, basis.places
    nodes.levels[at], nodes.reduced[at], nodes.weights[at] = basis.levels, basis.reduced, basis.weights


@compiled
def _restore(nodes: Nodes, at: int, columns: Columns, basis: Basis) -> int:
    """Go back to a node; how many exchanges its inverse went through."""
    columns.lows[:], columns.highs[:] = nodes.lows[at], nodes.highs[at]
    basis.inverse[:], basis.head[:], basis.places[:] = nodes.inverse[at], nodes.head[at], nodes.places[at]
    basis.levels[:], basis.reduced[:], basis.weights[:] = nodes.levels[at], nodes.reduced[at], nodes.weights[at]
    return nodes.updates[at]
