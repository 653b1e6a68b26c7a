"""Bases of small linear programs: a dense inverse, and what follows from it, compiled.

Minimise costs . x within bounds, where the rows A x are variables too ("logical" ones, numbered before the
columns), so that the basis starts with the rows and every bound is the bound of a variable.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.planner.solver.compiling import Floats, Integers, compiled

PIVOT = 1e-7
"""Least entry that a variable may enter on [-]."""
OUT, FIXED = -1, -2
"""Stand for the row of a variable that is not basic, and of one that cannot change either."""
SPARSE = 4
"""A row is sparse where fewer than one in so many of its entries are not zero [-]."""


class Columns(NamedTuple):
    """The program: columns one after another, costs and bounds; there may be room for more behind them.

    Parameters
    ----------
    number
        How many rows and columns there are [-].
    starts
        Where the entries of each column begin [-].
    rows
        Row of every entry [-].
    values
        Value of every entry [-].
    costs
        Cost of one of every row and column; of rows nothing.
    lows
        Least value of every row and column [-].
    highs
        Greatest value of every row and column [-].
    """

    number: int
    starts: Integers
    rows: Integers
    values: Floats
    costs: Floats
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
        Row where a variable is basic; `OUT` where it is not, `FIXED` where it cannot change either: its reduced cost
        is not kept up then [-].
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
    entries, wanted = np.zeros(size), basis.head.copy()
    free = np.ones(size, np.bool_)
    basis.inverse[:] = 0.0
    for i in range(size):
        basis.inverse[i, i] = -1.0
        basis.head[i] = i
    for variable in wanted[wanted < size]:
        free[variable] = False
    for variable in wanted[wanted >= size]:
        through_inverse(columns, basis, variable, entries)
        row = _greatest(entries, free)
        if row < 0:
            return False
        free[row] = False
        eliminate(basis.inverse, entries, row)
        basis.head[row] = variable
    for i in range(size):
        basis.places[basis.head[i]] = i
    return True


@compiled
def _greatest(entries: Floats, free: NDArray[np.bool_]) -> int:
    """Free row with the greatest entry, -1 when none is great enough."""
    best, row = PIVOT, -1
    for i in range(len(entries)):
        if free[i] and abs(entries[i]) > best:
            best, row = abs(entries[i]), i
    return row


@compiled
def eliminate(inverse: Floats, through: Floats, row: int) -> None:
    """Bring the inverse up to date when a column enters at a row."""
    size, pivot, found = len(through), through[row], 0
    own, at = np.empty(size), np.empty(size, np.int64)
    for k in range(size):
        own[k] = inverse[row, k] / pivot
        inverse[row, k] = own[k]
        if own[k] != 0.0:
            at[found] = k
            found += 1
    for i in range(size):
        part = through[i]
        if part != 0.0 and i != row:
            if SPARSE * found > size:
                for k in range(size):
                    inverse[i, k] -= part * own[k]
            else:
                for k in at[:found]:
                    inverse[i, k] -= part * own[k]


@compiled
def _subtract(other: Floats, own: Floats, part: float) -> None:
    """Take a part of one row off another."""
    for k in range(len(own)):
        other[k] -= part * own[k]


@compiled
def settle(columns: Columns, basis: Basis) -> float:
    """Work out values and prices from the inverse, without what rounding has added up; the cost."""
    _place_basic(columns, basis)
    _price_rows(columns, basis)
    price_columns(columns, basis, len(basis.head))
    for variable in basis.head:
        basis.reduced[variable] = 0.0
    return cost_at(columns, basis)


@compiled
def cost_at(columns: Columns, basis: Basis) -> float:
    """Cost of the values of a basis."""
    cost = 0.0
    for j in range(columns.number):
        cost += columns.costs[j] * basis.levels[j]
    return cost


@compiled
def _place_basic(columns: Columns, basis: Basis) -> None:
    """Work out the values of the basic variables from those of the others."""
    size = len(basis.head)
    sums, totals = np.zeros(size), np.zeros(size)
    for j in range(columns.number):
        if basis.places[j] < 0 and basis.levels[j] != 0.0:
            _add(columns, j, basis.levels[j], sums)
    for k in range(size):
        if sums[k] != 0.0:
            for i in range(size):
                totals[i] -= basis.inverse[i, k] * sums[k]
    for i in range(size):
        basis.levels[basis.head[i]] = totals[i]


@compiled
def _add(columns: Columns, variable: int, level: float, sums: Floats) -> None:
    """Add so much of a variable to the rows."""
    at = variable - len(sums)
    if at < 0:
        sums[variable] -= level
        return
    for k in range(columns.starts[at], columns.starts[at + 1]):
        sums[columns.rows[k]] += columns.values[k] * level


@compiled
def _price_rows(columns: Columns, basis: Basis) -> None:
    """Work out the price of every row."""
    size = len(basis.head)
    prices = basis.reduced[:size]
    prices[:] = 0.0
    for i in range(size):
        cost = columns.costs[basis.head[i]]
        if cost != 0.0:
            _subtract(prices, basis.inverse[i], -cost)


@compiled
def price_columns(columns: Columns, basis: Basis, first: int) -> None:
    """Work out the reduced cost of the columns from the first on, from the prices of the rows."""
    size = len(basis.head)
    for j in range(first, columns.number):
        price = columns.costs[j]
        for k in range(columns.starts[j - size], columns.starts[j - size + 1]):
            price -= columns.values[k] * basis.reduced[columns.rows[k]]
        basis.reduced[j] = price


@compiled
def through_inverse(columns: Columns, basis: Basis, variable: int, entries: Floats) -> None:
    """Put the inverse times a column into `entries`."""
    size = len(basis.head)
    if variable < size:
        for i in range(size):
            entries[i] = -basis.inverse[i, variable]
        return
    first, last = columns.starts[variable - size], columns.starts[variable - size + 1]
    for i in range(size):
        total = 0.0
        for k in range(np.uint64(first), np.uint64(last)):
            total += basis.inverse[i, columns.rows[k]] * columns.values[k]
        entries[i] = total


@compiled
def across_inverse(columns: Columns, basis: Basis, row: int, entries: Floats) -> None:
    """Put a row of the inverse times all columns that are out of the basis into `entries`, nothing for those that are fixed."""
    own, size = basis.inverse[row], len(basis.head)
    for i in range(size):
        entries[i] = -own[i] if basis.places[i] < 0 else 0.0
    first = np.uint64(columns.starts[0])
    for j in range(columns.number - size):
        last = np.uint64(columns.starts[j + 1])
        total = 0.0
        if basis.places[size + j] == OUT:
            for k in range(first, last):  # unsigned: it is a third quicker
                total += own[columns.rows[k]] * columns.values[k]
        entries[size + j] = total
        first = last
