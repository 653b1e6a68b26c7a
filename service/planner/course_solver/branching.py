"""Branch and bound on a program whose columns are all listed and all whole, compiled.

The node with the least bound comes first, of equal ones the latest. Totals are branched on before other columns,
of these the one nearest to a half. Nodes keep their basis, so that those below start from it.
"""

from typing import NamedTuple

import numpy as np

from service.planner.course_solver.basis import (
    Basis,
    Columns,
    Floats,
    Integers,
    compiled,
    compiled_apart,
    copy_into,
    invert,
    settle,
)
from service.planner.course_solver.simplex import ABOVE, INFEASIBLE, OPTIMAL, optimise

WHOLE = 1e-6
"""How far from whole a value may be [-]."""
UPDATES = 300
"""How many exchanges an inverse goes through before it is made anew [-]."""


class Terms(NamedTuple):
    """What branch and bound is to know of a program beside its columns.

    Parameters
    ----------
    prices
        What every row and column really costs; in the relaxation they may cost a trifle more.
    totals
        Variables to branch on first [-].
    step
        Costs of plans differ by multiples of this.
    slack
        By how much the relaxation may cost more than the program.
    most
        How many nodes are looked at [-].
    places
        How many nodes may be open at a time [-].
    """

    prices: Floats
    totals: Integers
    step: float
    slack: float
    most: int
    places: int


class Nodes(NamedTuple):
    """Nodes that are open, one a place.

    Parameters
    ----------
    known
        Least cost of a plan that is known, alone in its array.
    aside
        Least bound of nodes that could not be solved, alone in its array.
    looked
        How many nodes were looked at, alone in its array [-].
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

    known: Floats
    aside: Floats
    looked: Integers
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


@compiled_apart
def branch_and_bound(
    columns: Columns, basis: Basis, terms: Terms, known: float
) -> tuple[float, Floats, float, int]:
    """Look for whole values that cost less than a known cost, from a basis that solves the relaxation.

    Parameters
    ----------
    columns
        The program; no room is left after its last column.
    basis
        The basis.
    terms
        What else is to know.
    known
        Cost of a plan that is known.

    Returns
    -------
    tuple
        Least cost found, or the known one; the values that it stands for; a bound of all that costs less
        than the known cost, infinite when there is nothing; how many nodes were looked at.
    """
    nodes, best = _empty(basis, terms.places), np.zeros(columns.number)
    nodes.known[0] = known
    _store(nodes, 0, columns, basis, -np.inf, nodes.updates[0])
    while nodes.looked[0] < terms.most and _free(nodes) >= 0:
        at = _next(nodes)
        if at < 0 or nodes.bounds[at] >= nodes.known[0]:
            break
        _restore(nodes, at, columns, basis)
        variable = _fractional(basis, terms.totals)
        if variable >= 0:
            _branch(nodes, at, columns, basis, variable, terms)
            continue
        cost = _cost(basis, terms)
        if cost < nodes.known[0]:
            nodes.known[0] = cost
            copy_into(basis.levels, best)
        nodes.bounds[at] = np.inf
    at = _next(nodes)
    bound = min(nodes.aside[0], nodes.bounds[at]) if at >= 0 else nodes.aside[0]
    return nodes.known[0], best, bound, nodes.looked[0]


@compiled
def _branch(nodes: Nodes, at: int, columns: Columns, basis: Basis, variable: int, terms: Terms) -> None:
    """Look at the two sides of a variable's value."""
    value, bound, updates = basis.levels[variable], nodes.bounds[at], nodes.updates[at]
    for side in range(2):
        if side:
            _restore(nodes, at, columns, basis)
            nodes.bounds[at] = np.inf
            columns.lows[variable] = np.ceil(value)
        else:
            columns.highs[variable] = np.floor(value)
        nodes.looked[0] += 1
        how, cost, made = _solve(columns, basis, nodes.known[0] - terms.step + terms.slack, updates)
        if how == OPTIMAL:
            own = max(bound, terms.step * np.ceil((cost - terms.slack) / terms.step - WHOLE))
            if own < nodes.known[0]:
                _store(nodes, at if side else _free(nodes), columns, basis, own, made)
        elif how not in (INFEASIBLE, ABOVE):
            nodes.aside[0] = min(nodes.aside[0], bound)


@compiled
def _cost(basis: Basis, terms: Terms) -> float:
    """Cost of the values of a basis, taken as whole."""
    cost = 0.0
    for j in range(len(basis.levels)):
        cost += np.rint(basis.levels[j]) * terms.prices[j]
    return cost


@compiled
def _empty(basis: Basis, places: int) -> Nodes:
    """Return places for nodes, all of them free; what is not used takes no memory."""
    size, count = len(basis.head), len(basis.levels)
    return Nodes(
        np.zeros(1),
        np.full(1, np.inf),
        np.zeros(1, np.int64),
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
def _solve(columns: Columns, basis: Basis, limit: float, updates: int) -> tuple[int, float, int]:
    """Solve the relaxation of a node; how it ended, its cost, and how many exchanges its inverse went through."""
    if updates > UPDATES and invert(columns, basis):
        updates = 0
    how, cost, turns = optimise(columns, basis, settle(columns, basis), limit)
    if how not in (OPTIMAL, INFEASIBLE, ABOVE) and invert(columns, basis):
        how, cost, turns = optimise(columns, basis, settle(columns, basis), limit)
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
    """First place that is free, -1 when none is."""
    for at in range(len(nodes.bounds)):
        if nodes.bounds[at] == np.inf:
            return at
    return -1


@compiled
def _fractional(basis: Basis, totals: Integers) -> int:
    """Total that is not whole, else the column nearest to a half; -1 when all are whole."""
    for variable in totals:
        if abs(basis.levels[variable] - np.rint(basis.levels[variable])) > WHOLE:
            return int(variable)
    worst, found = WHOLE, -1
    for variable in range(len(basis.head), len(basis.levels)):
        off = abs(basis.levels[variable] - np.rint(basis.levels[variable]))
        if off > worst:
            worst, found = off, variable
    return found


@compiled
def _store(nodes: Nodes, at: int, columns: Columns, basis: Basis, bound: float, updates: int) -> None:
    """Keep a node with its bound, and how many exchanges its inverse went through."""
    nodes.bounds[at], nodes.made[at], nodes.updates[at] = bound, nodes.looked[0], updates
    copy_into(columns.lows, nodes.lows[at])
    copy_into(columns.highs, nodes.highs[at])
    for i in range(len(basis.head)):
        copy_into(basis.inverse[i], nodes.inverse[at, i])
    copy_into(basis.head, nodes.head[at])
    copy_into(basis.places, nodes.places[at])
    copy_into(basis.levels, nodes.levels[at])
    copy_into(basis.reduced, nodes.reduced[at])
    copy_into(basis.weights, nodes.weights[at])


@compiled
def _restore(nodes: Nodes, at: int, columns: Columns, basis: Basis) -> None:
    """Go back to a node."""
    copy_into(nodes.lows[at], columns.lows)
    copy_into(nodes.highs[at], columns.highs)
    for i in range(len(basis.head)):
        copy_into(nodes.inverse[at, i], basis.inverse[i])
    copy_into(nodes.head[at], basis.head)
    copy_into(nodes.places[at], basis.places)
    copy_into(nodes.levels[at], basis.levels)
    copy_into(nodes.reduced[at], basis.reduced)
    copy_into(nodes.weights[at], basis.weights)
