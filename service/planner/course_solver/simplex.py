"""Simplex iterations on small linear programs, compiled: the general solver's start alone takes longer than most of them.

Minimise costs . x within bounds, where the rows A x are variables too ("logical" ones, numbered before the
columns), so that the basis starts with the rows and every bound is the bound of a variable. The basis is kept as
a dense inverse. The dual method starts from any basis whose reduced costs are right, which the rows always are
where no cost is negative; the primal method goes on where columns were added.
"""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

compiled = njit(cache=True, error_model="numpy")
"""No fast arithmetic: the same numbers must come out wherever and however often a function is compiled."""

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

OPTIMAL, INFEASIBLE, ABOVE, STUCK, INEXACT = range(5)
"""How a call ends: solved; no solution; costs more than the limit; turns used up; the inverse needs to be made anew."""

FEASIBLE = 1e-9
"""How far a variable may be beyond its bound [-]."""
PIVOT = 1e-7
"""Least entry that a variable may enter on [-]."""
AGREE = 1e-6
"""How well an entry must agree by row and by column [-]."""


class Columns(NamedTuple):
    """The program: columns one after another, and the bounds of rows and columns.

    Parameters
    ----------
    starts
        Where the entries of each column begin [-].
    rows
        Row of every entry [-].
    values
        Value of every entry [-].
    lows
        Least value of every row and column [-].
    highs
        Greatest value of every row and column [-].
    """

    starts: Integers
    rows: Integers
    values: Floats
    lows: Floats
    highs: Floats


class Basis(NamedTuple):
    """Where the iterations stand; changed in place.

    Parameters
    ----------
    inverse
        Inverse of the basic columns.
    head
        The basic variable of each row [-].
    places
        Row where a variable is basic, -1 where it is not [-].
    levels
        Value of every row and column [-].
    reduced
        Reduced cost of every row and column, which is the price of a row; 0 of basic ones.
    weights
        Reference weight of every row for the choice of the row that leaves [-].
    """

    inverse: Floats
    head: Integers
    places: Integers
    levels: Floats
    reduced: Floats
    weights: Floats


@compiled
def invert(columns: Columns, basis: Basis) -> bool:
    """Make the inverse of the basic columns anew; whether that could be done.

    Basic columns enter one after another where rows were basic, each at the free row where its entry is greatest.
    """
    size = len(basis.head)
    entries, across = np.zeros(size), np.zeros(size)
    wanted = basis.head.copy()
    free = np.ones(size, np.bool_)
    basis.inverse[:] = 0.0
    for i in range(size):
        basis.inverse[i, i] = -1.0
        basis.head[i] = i
    for variable in wanted:
        if variable < size:
            free[variable] = False
    for variable in wanted:
        if variable < size:
            continue
        _through(columns, basis, variable, size, entries)
        best, row = PIVOT, -1
        for i in range(size):
            if free[i] and abs(entries[i]) > best:
                best, row = abs(entries[i]), i
        if row < 0:
            return False
        free[row] = False
        _eliminate(basis.inverse, entries, row, across)
        basis.head[row] = variable
    for i in range(size):
        basis.places[basis.head[i]] = i
    return True


@compiled
def _eliminate(inverse: Floats, through: Floats, row: int, across: Floats) -> None:
    """Bring the inverse up to date when a column enters at a row; `across` is room to work in."""
    size, found = len(through), 0
    pivot = through[row]
    at = np.empty(size, np.int64)
    own = inverse[row]
    for k in range(size):
        own[k] /= pivot
        if own[k] != 0.0:
            at[found] = k
            across[found] = own[k]
            found += 1
    for i in range(size):
        part = through[i]
        if part != 0.0 and i != row:
            other = inverse[i]
            if found * 4 > size:
                for k in range(size):
                    other[k] -= part * own[k]
            else:
                for k in range(found):
                    other[at[k]] -= part * across[k]


@compiled
def place_basic(columns: Columns, basis: Basis, count: int) -> None:
    """Work out the values of the basic variables from those of the others."""
    size = len(basis.head)
    sums = np.zeros(size)
    for j in range(count):
        level = basis.levels[j]
        if basis.places[j] < 0 and level != 0.0:
            if j < size:
                sums[j] -= level
            else:
                for k in range(columns.starts[j - size], columns.starts[j - size + 1]):
                    sums[columns.rows[k]] += columns.values[k] * level
    totals = np.zeros(size)
    for k in range(size):
        if sums[k] != 0.0:
            for i in range(size):
                totals[i] -= basis.inverse[i, k] * sums[k]
    for i in range(size):
        basis.levels[basis.head[i]] = totals[i]


@compiled
def price_all(columns: Columns, basis: Basis, costs: Floats, count: int) -> None:
    """Work out the reduced cost of every row and column."""
    size = len(basis.head)
    basis.reduced[:size] = 0.0
    for i in range(size):
        cost = costs[basis.head[i]]
        if cost != 0.0:
            own = basis.inverse[i]
            for k in range(size):
                basis.reduced[k] += cost * own[k]
    price_columns(columns, basis, costs, size, count)
    for i in range(size):
        basis.reduced[basis.head[i]] = 0.0


@compiled
def price_columns(columns: Columns, basis: Basis, costs: Floats, first: int, last: int) -> None:
    """Work out the reduced cost of some columns from the prices of the rows."""
    size = len(basis.head)
    for j in range(first, last):
        price = costs[j]
        for k in range(columns.starts[j - size], columns.starts[j - size + 1]):
            price -= columns.values[k] * basis.reduced[columns.rows[k]]
        basis.reduced[j] = price


@compiled
def _through(columns: Columns, basis: Basis, variable: int, size: int, entries: Floats) -> None:
    """Put the inverse times a column into `entries`."""
    if variable < size:
        for i in range(size):
            entries[i] = -basis.inverse[i, variable]
        return
    first, last = columns.starts[variable - size], columns.starts[variable - size + 1]
    for i in range(size):
        total = 0.0
        for k in range(first, last):
            total += basis.inverse[i, columns.rows[k]] * columns.values[k]
        entries[i] = total


@compiled
def _across(columns: Columns, basis: Basis, row: int, size: int, count: int, entries: Floats) -> None:
    """Put a row of the inverse times all columns that are not basic into `entries`."""
    own = basis.inverse[row]
    for i in range(size):
        entries[i] = -own[i] if basis.places[i] < 0 else 0.0
    for j in range(count - size):
        total = 0.0
        if basis.places[size + j] < 0:
            for k in range(columns.starts[j], columns.starts[j + 1]):
                total += own[columns.rows[k]] * columns.values[k]
        entries[size + j] = total


@compiled
def _exchange(
    basis: Basis, across: Floats, through: Floats, row: int, entering: int, bound: float, count: int
) -> float:
    """Let a variable enter at a row, and the one there leave to its bound; how far the entering one moves."""
    leaving, pivot = basis.head[row], through[row]
    theta = basis.reduced[entering] / across[entering]
    for j in range(count):
        basis.reduced[j] -= theta * across[j]
    basis.reduced[entering], basis.reduced[leaving] = 0.0, -theta
    step = (basis.levels[leaving] - bound) / pivot
    for i in range(len(basis.head)):
        basis.levels[basis.head[i]] -= step * through[i]
    _eliminate(basis.inverse, through, row, np.empty(len(basis.head)))
    basis.levels[entering] += step
    basis.levels[leaving] = bound
    basis.head[row], basis.places[entering], basis.places[leaving] = entering, row, -1
    return step


@compiled
def _leaving(columns: Columns, basis: Basis) -> int:
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
def _entering(
    columns: Columns, basis: Basis, across: Floats, rising: bool, count: int, candidates: Integers
) -> int:
    """Return the variable whose reduced cost is used up first, of nearly equal ones that with the greatest entry."""
    limit, found = np.inf, 0
    for j in range(count):
        entry = across[j]
        if abs(entry) > PIVOT and columns.lows[j] < columns.highs[j]:
            at_low = basis.levels[j] == columns.lows[j]
            if (entry < 0.0) == (at_low == rising):
                spare = basis.reduced[j] if at_low else -basis.reduced[j]
                if spare >= -FEASIBLE:
                    limit = min(limit, (max(spare, 0.0) + FEASIBLE) / abs(entry))
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
def make_feasible(
    columns: Columns, basis: Basis, count: int, cost: float, limit: float, turns: int
) -> tuple[int, float, int]:
    """Dual method: bring every variable within its bounds, keeping the reduced costs right.

    Parameters
    ----------
    columns
        The program.
    basis
        Where to start; changed in place.
    count
        How many rows and columns there are [-].
    cost
        Cost of the basis.
    limit
        Cost beyond which the rest does not matter; holds only where all reduced costs are right.
    turns
        How many exchanges may be made [-].

    Returns
    -------
    tuple
        How it ended, the cost, and how many exchanges were made.
    """
    size = len(basis.head)
    across, through, candidates = np.zeros(count), np.zeros(size), np.zeros(count, np.int64)
    for turn in range(turns):
        row = _leaving(columns, basis)
        if row < 0:
            return OPTIMAL, cost, turn
        leaving = basis.head[row]
        rising = basis.levels[leaving] < columns.lows[leaving]
        _across(columns, basis, row, size, count, across)
        entering = _entering(columns, basis, across, rising, count, candidates)
        if entering < 0:
            return INFEASIBLE, cost, turn
        _through(columns, basis, entering, size, through)
        if abs(through[row] - across[entering]) > AGREE * (1.0 + abs(through[row])):
            return INEXACT, cost, turn
        _reweigh(basis, through, row)
        reduced = basis.reduced[entering]
        bound = columns.lows[leaving] if rising else columns.highs[leaving]
        cost += reduced * _exchange(basis, across, through, row, entering, bound, count)
        if cost > limit:
            return ABOVE, cost, turn + 1
    return STUCK, cost, turns


@compiled
def _worthwhile(columns: Columns, basis: Basis, count: int) -> int:
    """Return the variable whose reduced cost is furthest wrong, -1 when all are right."""
    best, found = 10.0 * FEASIBLE, -1
    for j in range(count):
        if basis.places[j] < 0 and columns.lows[j] < columns.highs[j]:
            gain = -basis.reduced[j] if basis.levels[j] == columns.lows[j] else basis.reduced[j]
            if gain > best:
                best, found = gain, j
    return found


@compiled
def _room(columns: Columns, basis: Basis, row: int, entry: float) -> float:
    """How far the basic variable of a row is from the bound that an entry moves it to."""
    variable = basis.head[row]
    if entry > 0.0:
        return basis.levels[variable] - columns.lows[variable]
    return columns.highs[variable] - basis.levels[variable]


@compiled
def _blocking(columns: Columns, basis: Basis, through: Floats, way: float) -> tuple[int, float]:
    """Row that stops a variable from moving further, of nearly equal ones that with the greatest entry; how far it moves."""
    limit = np.inf
    for i in range(len(basis.head)):
        entry = way * through[i]
        if abs(entry) > PIVOT:
            limit = min(limit, (_room(columns, basis, i, entry) + FEASIBLE) / abs(entry))
    best, row = 0.0, -1
    for i in range(len(basis.head)):
        entry = way * through[i]
        if abs(entry) > max(PIVOT, best) and _room(columns, basis, i, entry) <= limit * abs(entry):
            best, row = abs(entry), i
    return row, limit


@compiled
def make_cheaper(
    columns: Columns, basis: Basis, count: int, cost: float, turns: int
) -> tuple[int, float, int]:
    """Primal method: let variables enter while that lowers the cost, keeping every variable within its bounds.

    Parameters
    ----------
    columns
        The program.
    basis
        Where to start; changed in place.
    count
        How many rows and columns there are [-].
    cost
        Cost of the basis.
    turns
        How many exchanges may be made [-].

    Returns
    -------
    tuple
        How it ended, the cost, and how many exchanges were made.
    """
    size = len(basis.head)
    across, through = np.zeros(count), np.zeros(size)
    for turn in range(turns):
        entering = _worthwhile(columns, basis, count)
        if entering < 0:
            return OPTIMAL, cost, turn
        reduced = basis.reduced[entering]
        way = 1.0 if reduced < 0.0 else -1.0
        _through(columns, basis, entering, size, through)
        row, limit = _blocking(columns, basis, through, way)
        width = columns.highs[entering] - columns.lows[entering]
        if width <= limit:
            if width == np.inf:
                return STUCK, cost, turn
            for i in range(size):
                basis.levels[basis.head[i]] -= way * width * through[i]
            basis.levels[entering] = columns.highs[entering] if way > 0.0 else columns.lows[entering]
            cost += way * width * reduced
            continue
        _across(columns, basis, row, size, count, across)
        if abs(through[row] - across[entering]) > AGREE * (1.0 + abs(through[row])):
            return INEXACT, cost, turn
        leaving = basis.head[row]
        bound = columns.lows[leaving] if way * through[row] > 0.0 else columns.highs[leaving]
        cost += reduced * _exchange(basis, across, through, row, entering, bound, count)
    return STUCK, cost, turns


@compiled
def improve(
    columns: Columns, basis: Basis, costs: Floats, count: int, cost: float, limit: float, turns: int
) -> tuple[int, float, int]:
    """Solve the program from the basis: first make it feasible, then cheaper where columns were added.

    Parameters
    ----------
    columns
        The program.
    basis
        Where to start; changed in place.
    costs
        Cost of every row and column.
    count
        How many rows and columns there are [-].
    cost
        Cost of the basis.
    limit
        Cost beyond which the rest does not matter; holds only where all reduced costs are right.
    turns
        How many exchanges may be made, by each method [-].

    Returns
    -------
    tuple
        How it ended, the cost, and how many exchanges were made.
    """
    how, cost, used = make_feasible(columns, basis, count, cost, limit, turns)
    if how != OPTIMAL:
        return how, cost, used
    how, cost, more = make_cheaper(columns, basis, count, cost, turns)
    if how == OPTIMAL and used + more:
        cost = settle(columns, basis, costs, count)
    return how, cost, used + more


@compiled
def settle(columns: Columns, basis: Basis, costs: Floats, count: int) -> float:
    """Work out values and prices from the inverse, without what rounding has added up; the cost."""
    place_basic(columns, basis, count)
    price_all(columns, basis, costs, count)
    cost = 0.0
    for j in range(count):
        cost += costs[j] * basis.levels[j]
    return cost
