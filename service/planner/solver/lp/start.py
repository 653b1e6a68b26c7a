"""The columns of a model and the basis of its rows alone, with room for columns that are added, compiled.

Every cost is raised by a small amount of its own (perturbation), so that no two bases cost the same.
"""

import numpy as np

from service.planner.solver.compiling import compiled
from service.planner.solver.lp.basis import OUT, Basis, Columns, settle
from service.planner.solver.lp.model import Given

ENTRIES = 8
"""Entries of a column that is added, about [-]."""
TRIFLE = 1e-6
"""Least raise of a cost; the most is twice this."""
SPREAD = 0.6180339887498949
"""Step of the raises, which never come back to where they were [-]."""


@compiled
def raised(cost: float, column: int) -> float:
    """Return a column's cost with its raise."""
    return cost + TRIFLE * (1.0 + (column + 1) * SPREAD % 1.0)


@compiled
def begin(given: Given, most: float, spare: int) -> tuple[Columns, Basis, float]:
    """Return columns, basis and cost to begin with; every cost is raised by a trifle of its own.

    Parameters
    ----------
    given
        The model.
    most
        Value at which a column begins that gains without a bound [-].
    spare
        Room for columns that are added [-].
    """
    size, number = len(given.row_lows), len(given.row_lows) + len(given.costs)
    room = number + spare
    starts = np.zeros(len(given.starts) + spare, np.int64)
    rows = np.zeros(len(given.rows) + ENTRIES * spare, np.int64)
    values = np.zeros(len(given.rows) + ENTRIES * spare)
    costs, lows, highs, levels = np.zeros(room), np.zeros(room), np.zeros(room), np.zeros(room)
    for at in range(len(given.starts)):
        starts[at] = given.starts[at]
    for k in range(len(given.rows)):
        rows[k], values[k] = given.rows[k], given.values[k]
    for row in range(size):
        lows[row], highs[row], levels[row] = given.row_lows[row], given.row_highs[row], given.row_lows[row]
    for at in range(len(given.costs)):
        j = size + at
        costs[j] = raised(given.costs[at], at)
        lows[j], highs[j], levels[j] = given.lows[at], given.highs[at], given.lows[at]
        if costs[j] < 0.0:
            highs[j] = most if highs[j] == np.inf else highs[j]
            levels[j] = highs[j]
    inverse, places = np.zeros((size, size)), np.full(room, OUT)
    for row in range(size):
        inverse[row, row], places[row] = -1.0, row
    columns = Columns(number, starts, rows, values, costs, lows, highs)
    basis = Basis(inverse, np.arange(size), places, levels, costs.copy(), np.ones(size))
    return columns, basis, settle(columns, basis)
