"""Few pieces from unlimited sticks: exact by a table over all parts of the demand.

Rules of this file
------------------
- The table holds the least price of every part of the demand, each part with the pattern that is cut from it first.
- A pattern takes no further piece; one that yields more than is left yields what is left.
- Only what the table can answer is answered; anything else is left to the general search.
"""

from collections import Counter
from math import prod
from typing import Final

import numpy as np

from service.planner.cut_solver.column_generation import Master
from service.planner.cut_solver.diving import Plan
from service.planner.cut_solver.knapsack import Cuts, Integers
from service.planner.cut_solver.patterns import StripCut

MOST_PARTS: Final = 1_000
"""Parts of the demand up to which the table is made [-]"""
MOST_PATTERNS: Final = 200
"""Patterns of one stock up to which the table is made [-]"""

NEVER: Final = 2**62
"""Price of a pattern that yields nothing of what is left"""


def cheapest_plan(master: Master) -> Plan | None:
    """Give the cheapest plan, of equals one of full sticks first; None where the table does not apply.

    Parameters
    ----------
    master
        Pieces and stock.
    """
    model = master.model
    parts = prod(count + 1 for count in model.demand)
    if parts > MOST_PARTS or any(item.width or item.count is not None for item in model.bins):
        return None
    patterns = _patterns(master)
    if patterns is None:
        return None
    prices = np.array([model.bins[stock].price for stock, _ in patterns])
    taken = np.array([[dict(cuts).get(at, 0) for at in range(len(model.demand))] for _, cuts in patterns])
    first = _first_patterns(model.demand, prices, taken)
    plan: Plan = Counter()
    left = model.demand
    while any(left):
        stock, cuts = patterns[int(first[left])]
        column = master.pricing(stock).column([StripCut(0, cuts)], left)
        plan[stock, column] += 1
        left = tuple(want - got for want, got in zip(left, column.counts, strict=True))
    return plan


def _patterns(master: Master) -> list[tuple[int, Cuts]] | None:
    """All patterns and their stock, those that leave least first; None when there are too many."""
    model, found = master.model, list[tuple[int, int, Cuts]]()
    sizes = model.shape.sizes
    for stock, item in enumerate(model.bins):
        fillings = master.pricing(stock).strip.near(sizes, model.demand, 0, MOST_PATTERNS)
        if fillings is None:
            return None
        found += [(item.length - used, stock, cuts) for used, cuts in fillings if cuts]
    return [(stock, cuts) for _, stock, cuts in sorted(found)]


def _first_patterns(demand: tuple[int, ...], prices: Integers, taken: Integers) -> Integers:
    """Give the pattern that is cut first from every part of the demand; parts come after those within them."""
    shape = tuple(count + 1 for count in demand)
    parts = np.stack(np.unravel_index(np.arange(prod(shape)), shape), axis=1)
    left = np.ravel_multi_index(tuple(np.moveaxis(np.maximum(parts[:, None] - taken, 0), 2, 0)), shape)
    left[left == np.arange(len(parts))[:, None]] = len(parts)  # nothing of the part is yielded
    cost, first = np.full(len(parts) + 1, NEVER), np.zeros(len(parts), np.int64)
    cost[0] = 0
    for at in range(1, len(parts)):
        totals = cost[left[at]] + prices
        first[at] = totals.argmin()
        cost[at] = totals[first[at]]
    return first.reshape(shape)
