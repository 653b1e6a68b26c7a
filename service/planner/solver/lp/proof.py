"""Bounds in exact integers: what the prices of the rows prove, whatever rounding went into them, compiled.

Any prices at all prove a bound (weak duality): costs and entries are whole, prices are scaled and rounded to whole
numbers, and every column then costs its reduced cost at the better of its two ends. Floating point only proposes the prices.

References
----------
Neumaier and Shcherbina, Safe bounds in linear and mixed-integer linear programming, Mathematical Programming 99 (2004)
283-296; with whole prices in place of directed rounding; from memory.
"""

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled
from service.planner.solver.lp.basis import Basis, Columns
from service.planner.solver.lp.simplex import leaving_row

BITS = 2.0**60
"""What a sum of products may come to: whole numbers have 63 bits [-]"""
FINEST = 2.0**32
"""Finest scale of prices; finer ones prove no more [-]"""


@compiled
def proven_bound(columns: Columns, basis: Basis, most: float) -> float:
    """Return the least cost that the prices of the rows prove, rounded up to a whole cost.

    Parameters
    ----------
    columns
        The program; its costs are whole but for what they were raised by, its entries and bounds are whole.
    basis
        Holds the prices.
    most
        What no column exceeds in a solution worth having [-].
    """
    size = len(basis.head)
    prices, scale = whole_prices(columns, basis.reduced[:size], most)
    return float(-(-worth_of(columns, prices, scale, most) // scale))


@compiled
def proven_empty(columns: Columns, basis: Basis, most: float) -> bool:
    """Whether the row of the inverse where the dual method ended proves that there is no solution; `most` as above."""
    row = leaving_row(columns, basis)
    if row < 0:
        return False
    leaving = basis.head[row]
    way = -1.0 if basis.levels[leaving] < columns.lows[leaving] else 1.0
    prices, _ = whole_prices(columns, way * basis.inverse[row], most)
    return worth_of(columns, prices, 0, most) > 0


@compiled
def whole_prices(columns: Columns, prices: Floats, most: float) -> tuple[Integers, int]:
    """Return prices as whole numbers, none on a side without an end, and their scale."""
    top = 1.0
    for price in prices:
        top = max(top, abs(price))
    scale = int(max(1.0, min(FINEST, np.floor(BITS / (top * max(1.0, most) * columns.number)))))
    whole = np.zeros(len(prices), np.int64)
    for row in range(len(prices)):
        end = columns.lows[row] if prices[row] > 0.0 else columns.highs[row]
        if abs(end) < np.inf:
            whole[row] = int(np.rint(prices[row] * scale))
    return whole, scale


@compiled
def worth_of(columns: Columns, prices: Integers, scale: int, most: float) -> int:
    """Return what all rows and columns cost at least at these prices, times the scale; costs count as often as it says."""
    size, total, end = len(prices), 0, int(most)
    for row in range(size):
        if prices[row] > 0:
            total += prices[row] * int(columns.lows[row])
        elif prices[row] < 0:
            total += prices[row] * int(columns.highs[row])
    for j in range(size, columns.number):
        reduced = scale * int(np.rint(columns.costs[j]))
        for k in range(columns.starts[j - size], columns.starts[j - size + 1]):
            reduced -= int(columns.values[k]) * prices[columns.rows[k]]
        if reduced > 0:
            total += reduced * int(columns.lows[j])
        elif reduced < 0:
            total += reduced * (int(columns.highs[j]) if columns.highs[j] < most else end)
    return total
