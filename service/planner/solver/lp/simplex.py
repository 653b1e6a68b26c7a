"""Simplex iterations on small linear programs, compiled: the general solver's start alone takes longer than most of them.

The dual method starts from any basis whose reduced costs are right, as those of the rows are where no cost is
negative; the primal method goes on where columns were added.
"""

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled, compiled_apart
from service.planner.solver.effort import MOST, SPENT, STOP, charge
from service.planner.solver.lp.basis import (
    OUT,
    PIVOT,
    Basis,
    Columns,
    across_inverse,
    eliminate,
    invert,
    settle,
    through_inverse,
)

OPTIMAL, INFEASIBLE, ABOVE, STUCK, INEXACT = range(5)
"""How a call ends: solved; no solution; costs more than the limit; turns used up; the inverse needs to be made anew."""

TURNS = 500
"""How many exchanges each method makes at most [-]."""
FEASIBLE = 1e-9
"""How far a variable may be beyond its bound [-]."""
WORTHWHILE = 1e-8
"""How far wrong a reduced cost may be."""
AGREE = 1e-6
"""How well an entry must agree by row and by column [-]."""
UPDATES = 500
"""How many exchanges are made before the inverse is made anew [-]."""
FRESH = 40
"""After how many exchanges values and prices are worked out anew [-]."""
HEAVY = 1e9
"""Reference weight at which all of them begin anew [-]."""
ROUNDS = 30
"""How often that is gone on with [-]."""


@compiled_apart
def solve(
    columns: Columns, basis: Basis, cost: float, limit: float, updates: int, effort: Floats
) -> tuple[int, float, int]:
    """Solve the program from the basis, making the inverse anew where it has become inexact.

    Parameters
    ----------
    columns
        The program.
    basis
        Where to start; changed in place.
    cost
        Cost of the basis.
    limit
        Cost beyond which the rest does not matter; holds only where all reduced costs are right.
    updates
        How many exchanges its inverse went through [-].
    effort
        Counter of units; the program is left unsolved where they end.

    Returns
    -------
    tuple
        How it ended, the cost, and how many exchanges the inverse went through.
    """
    for _ in range(ROUNDS):
        if updates > UPDATES:
            if not invert(columns, basis):
                break
            cost, updates = settle(columns, basis), 0
        _lighten(basis)
        how, cost, turns = _optimise(columns, basis, cost, limit, effort)
        if how == OPTIMAL and (updates + turns) // FRESH > updates // FRESH:
            cost = settle(columns, basis)
        updates += turns
        if how in (OPTIMAL, INFEASIBLE, ABOVE):
            return how, cost, updates
        if effort[SPENT] >= effort[MOST] or effort[STOP] > 0.0:
            break
        if how == INEXACT:
            updates = UPDATES + 1
    return STUCK, cost, updates


@compiled
def _lighten(basis: Basis) -> None:
    """Begin anew with reference weights that have grown too far to be told apart."""
    if basis.weights.max() > HEAVY:
        basis.weights[:] = 1.0


@compiled
def _charge_turn(columns: Columns, through: Floats, effort: Floats) -> bool:
    """Charge an exchange: rows of the inverse that it changes, entries and variables; whether the units have ended."""
    size, changed = len(through), 0
    for i in range(size):
        changed += through[i] != 0.0
    return charge(
        effort,
        0.5 + (changed * size + 2 * columns.starts[columns.number - size] + 4 * columns.number) / 1_500.0,
    )


@compiled
def _optimise(
    columns: Columns, basis: Basis, cost: float, limit: float, effort: Floats
) -> tuple[int, float, int]:
    """First make the basis feasible, then cheaper where columns were added; how it ended, the cost, and how many exchanges were made."""
    how, cost, used = _make_feasible(columns, basis, cost, limit, effort)
    if how != OPTIMAL:
        return how, cost, used
    how, cost, more = _make_cheaper(columns, basis, cost, effort)
    return how, cost, used + more


@compiled
def _make_feasible(
    columns: Columns, basis: Basis, cost: float, limit: float, effort: Floats
) -> tuple[int, float, int]:
    """Dual method: bring every variable within its bounds, keeping the reduced costs right."""
    across, through = np.zeros(columns.number), np.zeros(len(basis.head))
    candidates = np.zeros(columns.number, np.int64)
    for turn in range(TURNS):
        row = leaving_row(columns, basis)
        if row < 0:
            return OPTIMAL, cost, turn
        leaving = basis.head[row]
        rising = basis.levels[leaving] < columns.lows[leaving]
        across_inverse(columns, basis, row, across)
        entering = _entering(columns, basis, across, rising, candidates)
        if entering < 0:
            return INFEASIBLE, cost, turn
        through_inverse(columns, basis, entering, through)
        if not _agree(through[row], across[entering]):
            return INEXACT, cost, turn
        _reweigh(basis, through, row)
        reduced = basis.reduced[entering]
        bound = columns.lows[leaving] if rising else columns.highs[leaving]
        cost += reduced * _exchange(basis, across, through, row, entering, bound)
        if cost > limit:
            return ABOVE, cost, turn + 1
        if _charge_turn(columns, through, effort):
            return STUCK, cost, turn + 1
    return STUCK, cost, TURNS


@compiled
def _make_cheaper(columns: Columns, basis: Basis, cost: float, effort: Floats) -> tuple[int, float, int]:
    """Primal method: let variables enter while that lowers the cost, keeping every variable within its bounds."""
    across, through = np.zeros(columns.number), np.zeros(len(basis.head))
    weights = np.ones(columns.number)
    for turn in range(TURNS):
        entering = _worthwhile(columns, basis, weights)
        if entering < 0:
            return OPTIMAL, cost, turn
        reduced = basis.reduced[entering]
        way = 1.0 if reduced < 0.0 else -1.0
        through_inverse(columns, basis, entering, through)
        row, limit = _blocking(columns, basis, through, way)
        width = columns.highs[entering] - columns.lows[entering]
        if width <= limit:
            if width == np.inf:
                return STUCK, cost, turn
            _cross(columns, basis, through, way, entering)
            cost += way * width * reduced
            continue
        across_inverse(columns, basis, row, across)
        if not _agree(through[row], across[entering]):
            return INEXACT, cost, turn
        _reweigh_columns(basis, across, weights, entering, row)
        leaving = basis.head[row]
        bound = columns.lows[leaving] if way * through[row] > 0.0 else columns.highs[leaving]
        cost += reduced * _exchange(basis, across, through, row, entering, bound)
        if _charge_turn(columns, through, effort):
            return STUCK, cost, turn + 1
    return STUCK, cost, TURNS


@compiled
def _agree(one: float, other: float) -> bool:
    """Whether an entry is the same by column and by row."""
    return abs(one - other) <= AGREE * (1.0 + abs(one))


@compiled
def _exchange(basis: Basis, across: Floats, through: Floats, row: int, entering: int, bound: float) -> float:
    """Let a variable enter at a row, and the one there leave to its bound; how far the entering one moves."""
    leaving, pivot = basis.head[row], through[row]
    theta = basis.reduced[entering] / across[entering]
    for j in range(len(across)):
        basis.reduced[j] -= theta * across[j]
    basis.reduced[entering], basis.reduced[leaving] = 0.0, -theta
    step: float = (basis.levels[leaving] - bound) / pivot
    for i in range(len(basis.head)):
        basis.levels[basis.head[i]] -= step * through[i]
    eliminate(basis.inverse, through, row)
    basis.levels[entering] += step
    basis.levels[leaving] = bound
    basis.head[row], basis.places[entering], basis.places[leaving] = entering, row, OUT
    return step


@compiled
def leaving_row(columns: Columns, basis: Basis) -> int:
    """Row of the basic variable that is furthest beyond its bounds, by its weight; -1 when none is."""
    worst, row = 0.0, -1
    for i in range(len(basis.head)):
        variable = basis.head[i]
        level = basis.levels[variable]
        off = max(columns.lows[variable] - level, level - columns.highs[variable])
        if off > FEASIBLE and off * off > worst * basis.weights[i]:
            worst, row = off * off / basis.weights[i], i
    return row


@compiled
def _entering(columns: Columns, basis: Basis, across: Floats, rising: bool, candidates: Integers) -> int:
    """Return the variable whose reduced cost is used up first, of nearly equal ones that with the greatest entry."""
    limit, found = np.inf, 0
    for j in range(columns.number):
        if abs(across[j]) > PIVOT and columns.lows[j] < columns.highs[j]:
            at_low = basis.levels[j] == columns.lows[j]
            spare = basis.reduced[j] if at_low else -basis.reduced[j]
            if (across[j] < 0.0) == (at_low == rising) and spare >= -FEASIBLE:
                limit = min(limit, (max(spare, 0.0) + FEASIBLE) / abs(across[j]))
                candidates[found] = j
                found += 1
    best, entering = 0.0, -1
    for j in candidates[:found]:
        if abs(across[j]) > best and abs(basis.reduced[j]) <= limit * abs(across[j]):
            best, entering = abs(across[j]), j
    return entering


@compiled
def _reweigh(basis: Basis, through: Floats, row: int) -> None:
    """Bring the reference weights up to date before an exchange."""
    pivot, own = through[row], basis.weights[row]
    for i in range(len(basis.head)):
        if i != row and through[i] != 0.0:
            share = through[i] / pivot
            basis.weights[i] = max(basis.weights[i], share * share * own)
    basis.weights[row] = max(1.0, own / (pivot * pivot))


@compiled
def _reweigh_columns(basis: Basis, across: Floats, weights: Floats, entering: int, row: int) -> None:
    """Bring the reference weights of the columns up to date before an exchange."""
    pivot, own = across[entering], weights[entering]
    for j in range(len(across)):
        share = across[j] / pivot
        weights[j] = max(weights[j], share * share * own)
    weights[basis.head[row]] = max(1.0, own / (pivot * pivot))


@compiled
def _worthwhile(columns: Columns, basis: Basis, weights: Floats) -> int:
    """Return the variable whose reduced cost is furthest wrong by its weight, -1 when all are right."""
    best, found = 0.0, -1
    for j in range(columns.number):
        if basis.places[j] < 0 and columns.lows[j] < columns.highs[j]:
            gain = -basis.reduced[j] if basis.levels[j] == columns.lows[j] else basis.reduced[j]
            if gain > WORTHWHILE and gain * gain > best * weights[j]:
                best, found = gain * gain / weights[j], j
    return found


@compiled
def _cross(columns: Columns, basis: Basis, through: Floats, way: float, variable: int) -> None:
    """Move a variable from one of its bounds to the other."""
    low, high = columns.lows[variable], columns.highs[variable]
    for i in range(len(basis.head)):
        basis.levels[basis.head[i]] -= way * (high - low) * through[i]
    basis.levels[variable] = high if way > 0.0 else low


@compiled
def _blocking(columns: Columns, basis: Basis, through: Floats, way: float) -> tuple[int, float]:
    """Row that stops a variable from moving further, of nearly equal ones that with the greatest entry; how far it moves."""
    limit, rooms = np.inf, np.empty(len(basis.head))
    for i in range(len(basis.head)):
        entry, variable = way * through[i], basis.head[i]
        if abs(entry) > PIVOT:
            if entry > 0.0:
                rooms[i] = basis.levels[variable] - columns.lows[variable]
            else:
                rooms[i] = columns.highs[variable] - basis.levels[variable]
            limit = min(limit, (rooms[i] + FEASIBLE) / abs(entry))
    best, row = 0.0, -1
    for i in range(len(basis.head)):
        entry = abs(way * through[i])
        if entry > max(PIVOT, best) and rooms[i] <= limit * entry:
            best, row = entry, i
    return row, limit
