"""Branch and bound on a program whose columns are all listed and all whole, compiled.

The search goes down from node to node, to the lesser bound of the two below each, and where none is left begins again at
the least bound of all, of equal ones at the latest. Totals are branched on before other columns, of these the one that
has raised the cost most where it was branched on. Nodes keep their basis, so that those below start from it.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.planner.solver.compiling import Floats, Integers, compiled, compiled_apart, copy_into
from service.planner.solver.effort import charge
from service.planner.solver.lp.basis import FIXED, Basis, Columns, cost_at
from service.planner.solver.lp.proof import proven_bound, proven_empty
from service.planner.solver.lp.pseudo_costs import WHOLE, Groups, choose, empty_gains, learn
from service.planner.solver.lp.simplex import ABOVE, INFEASIBLE, OPTIMAL, solve

EDGE = 0.02
"""How far above a cost a relaxation must be for whole prices to prove it."""
FEW = 32
"""For how many open nodes there is room at first [-]."""


class Terms(NamedTuple):
    """What branch and bound is to know of a program beside its columns.

    Parameters
    ----------
    groups
        Columns to branch on, those of the first group first [-].
    worth
        What one of every column is worth, about.
    step
        Costs of plans differ by multiples of this.
    slack
        By how much the relaxation may cost more than the program.
    end
        What no column exceeds in a solution worth having [-].
    most
        How many nodes are looked at [-].
    places
        How many nodes may be open at a time [-].
    """

    groups: Groups
    worth: Floats
    step: float
    slack: float
    end: float
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
    used
        How many places were ever used, alone in its array [-].
    bounds
        Least cost of each, infinite where the place is free.
    costs
        Cost of the relaxation of each.
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
    gains
        What branching has raised the cost by, as `empty_gains` says.
    """

    known: Floats
    aside: Floats
    looked: Integers
    used: Integers
    bounds: Floats
    costs: Floats
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
    gains: Floats


@compiled_apart
def branch_and_bound(
    columns: Columns, basis: Basis, terms: Terms, known: float, effort: Floats
) -> tuple[float, Floats, float, int]:
    """Look for whole values that cost less than a known cost, from a basis that solves the relaxation.

    Parameters
    ----------
    columns
        The program; no room is left after its last column.
    basis
        The basis; both are changed in place.
    terms
        What else is to know.
    known
        Cost of a plan that is known.
    effort
        Counter of units.

    Returns
    -------
    tuple
        Least cost found, or the known one; the values that it stands for; a bound of all that costs less
        than the known cost, infinite when there is nothing; how many nodes were looked at.
    """
    size = len(basis.head)
    groups = terms.groups[0] + size, terms.groups[1] + size
    worth = np.concatenate((np.ones(size), terms.worth))
    nodes, best = _empty(basis, min(FEW, terms.places), worth), np.zeros(columns.number)
    nodes.known[0] = known
    root = terms.step * np.ceil(proven_bound(columns, basis, terms.end) / terms.step)
    _tighten(columns, basis, max(0.0, known - terms.step + terms.slack - cost_at(columns, basis)))
    _store(nodes, 0, columns, basis, root, nodes.updates[0])
    held = 0
    while nodes.looked[0] < terms.most and not charge(effort, 1.0):
        if _free(nodes) < 0:
            if len(nodes.bounds) >= terms.places:
                break
            nodes = _with_room(nodes, terms.places)
        at = _below(nodes)
        at = at if at >= 0 else _next(nodes)
        if at < 0 or nodes.bounds[at] >= nodes.known[0]:
            break
        if at != held:
            _restore(nodes, at, columns, basis)
        variable = choose(basis.levels, groups, nodes.gains)
        if variable >= 0:
            held = _branch(nodes, at, columns, basis, variable, terms, effort)
            continue
        cost = _cost(basis, columns.costs)
        if cost < nodes.known[0]:
            nodes.known[0] = cost
            copy_into(basis.levels, best)
        nodes.bounds[at] = np.inf
    at = _next(nodes)
    bound = min(nodes.aside[0], nodes.bounds[at]) if at >= 0 else nodes.aside[0]
    return nodes.known[0], best, bound, nodes.looked[0]


@compiled
def _branch(  # noqa: PLR0913, PLR0917 - compiled code takes its arrays one by one
    nodes: Nodes, at: int, columns: Columns, basis: Basis, variable: int, terms: Terms, effort: Floats
) -> int:
    """Look at the two sides of a variable's value; the node that the basis stands at then, -1 for none."""
    value, bound, updates, before = (
        basis.levels[variable],
        nodes.bounds[at],
        nodes.updates[at],
        nodes.costs[at],
    )
    held = -1
    for side in range(2):
        if side:
            _restore(nodes, at, columns, basis)
            nodes.bounds[at], held = np.inf, -1
            columns.lows[variable] = np.ceil(value)
        else:
            columns.highs[variable] = np.floor(value)
        nodes.looked[0] += 1
        limit = nodes.known[0] - terms.step + terms.slack + EDGE
        how, cost, made = solve(columns, basis, before, limit, updates, effort)
        learn(nodes.gains, variable, value, side, (min(cost, limit) if how == OPTIMAL else limit) - before)
        if how == INFEASIBLE:
            own = np.inf if proven_empty(columns, basis, terms.end) else bound
        elif how in (OPTIMAL, ABOVE):
            own = max(bound, terms.step * np.ceil(proven_bound(columns, basis, terms.end) / terms.step))
        else:
            own = bound
        if own < nodes.known[0] and how == OPTIMAL:
            _tighten(columns, basis, limit - cost)
            held = at if side else _free(nodes)
            _store(nodes, held, columns, basis, own, made)
        elif own < nodes.known[0]:
            nodes.aside[0] = min(nodes.aside[0], own)
    return held


@compiled
def _tighten(columns: Columns, basis: Basis, spare: float) -> None:
    """Bring bounds nearer where more of a column would cost more than may be spent beyond the relaxation, by its reduced cost."""
    for j in range(len(basis.head), columns.number):
        reduced = abs(basis.reduced[j])
        if basis.places[j] < 0 and reduced > 0.0 and columns.lows[j] < columns.highs[j]:
            steps = np.floor(spare / reduced + WHOLE)
            if basis.levels[j] == columns.lows[j]:
                columns.highs[j] = min(columns.highs[j], columns.lows[j] + steps)
            else:
                columns.lows[j] = max(columns.lows[j], columns.highs[j] - steps)
            if columns.lows[j] == columns.highs[j]:
                basis.places[j] = FIXED


@compiled
def _cost(basis: Basis, costs: Floats) -> float:
    """Cost of the values of a basis, taken as whole, without the trifles that costs were raised by."""
    cost = 0.0
    for j in range(len(basis.levels)):
        cost += np.rint(basis.levels[j]) * np.rint(costs[j])
    return cost


@compiled
def _empty(basis: Basis, places: int, worth: Floats) -> Nodes:
    """Return places for nodes, all of them free; what is not used takes no memory."""
    size, count = len(basis.head), len(basis.levels)
    return Nodes(
        np.zeros(1),
        np.full(1, np.inf),
        np.zeros(1, np.int64),
        np.zeros(1, np.int64),
        np.full(places, np.inf),
        np.zeros(places),
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
        empty_gains(worth),
    )


@compiled
def _with_room(nodes: Nodes, most: int) -> Nodes:
    """Return the nodes with room for four times as many, or for as many as may be open at most."""
    places = min(4 * len(nodes.bounds), most)
    return Nodes(
        nodes.known,
        nodes.aside,
        nodes.looked,
        nodes.used,
        _longer(nodes.bounds, places),
        _longer(nodes.costs, places),
        _longer(nodes.made, places),
        _longer(nodes.updates, places),
        _longer(nodes.lows, places),
        _longer(nodes.highs, places),
        _longer(nodes.inverse, places),
        _longer(nodes.head, places),
        _longer(nodes.places, places),
        _longer(nodes.levels, places),
        _longer(nodes.reduced, places),
        _longer(nodes.weights, places),
        nodes.gains,
    )


@compiled
def _longer(own: NDArray[Any], places: int) -> NDArray[Any]:
    """Return an array with room for more nodes."""
    longer = np.empty((places, *own.shape[1:]), own.dtype)
    for at in range(len(own)):
        longer[at] = own[at]
    return longer


@compiled
def _below(nodes: Nodes) -> int:
    """Place of the nodes made last from one above them, the lesser bound of the two; -1 when none is open."""
    found = -1
    for at in range(nodes.used[0]):
        if (
            nodes.bounds[at] < nodes.known[0]
            and nodes.made[at] >= nodes.looked[0] - 1
            and (found < 0 or nodes.bounds[at] < nodes.bounds[found])
        ):
            found = at
    return found


@compiled
def _next(nodes: Nodes) -> int:
    """Place of the node with the least bound, the latest of them; -1 when none is open."""
    found = -1
    for at in range(nodes.used[0]):
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
    for at in range(nodes.used[0]):
        if nodes.bounds[at] == np.inf:
            return at
    return nodes.used[0] if nodes.used[0] < len(nodes.bounds) else -1


@compiled
def _store(nodes: Nodes, at: int, columns: Columns, basis: Basis, bound: float, updates: int) -> None:
    """Keep a node with its bound, and how many exchanges its inverse went through."""
    nodes.bounds[at], nodes.made[at], nodes.updates[at] = bound, nodes.looked[0], updates
    nodes.used[0] = max(nodes.used[0], at + 1)
    nodes.costs[at] = cost_at(columns, basis)
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
