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

from service.planner.solver.compiling import Integers, compiled
from service.planner.solver.cuts.diving import Plan
from service.planner.solver.cuts.master import Master
from service.planner.solver.cuts.patterns import StripCut
from service.planner.solver.knapsack import Cuts

MOST_PARTS: Final = 1_000
"""Parts of the demand up to which the table is made [-]"""
MOST_PATTERNS: Final = 200
"""Patterns of one stock up to which the table is made [-]"""

NEVER: Final = 2**62
"""More than any plan costs [minor units of money]"""


def cheapest_plan(master: Master) -> Plan | None:
    """The cheapest plan, of equals one of full sticks first; None where the table does not apply.

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
    first = pattern_of_part(np.array(model.demand), prices, taken).reshape([n + 1 for n in model.demand])
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
    sizes, wanted = np.array(model.shape.sizes), np.array(model.demand)
    parts = np.indices([count + 1 for count in model.demand]).reshape(len(wanted), -1).T
    used = parts @ sizes
    for stock, item in enumerate(model.bins):
        left = item.length - used
        full = np.all((parts == wanted) | (left[:, None] < sizes), axis=1)
        own = np.nonzero(full & (left >= 0) & (used > 0))[0]
        if len(own) > MOST_PATTERNS:
            return None
        for rest, counts in zip(left[own].tolist(), parts[own].tolist(), strict=True):
            found.append((rest, stock, tuple([(at, count) for at, count in enumerate(counts) if count])))
    return [(stock, cuts) for _, stock, cuts in sorted(found)]


@compiled
def pattern_of_part(demand: Integers, prices: Integers, taken: Integers) -> Integers:
    """The pattern that is cut first from every part of the demand; parts come after those within them.

    Parameters
    ----------
    demand
        How many pieces of each size are wanted [-].
    prices
        Price of every pattern [minor units of money].
    taken
        How many of each size every pattern yields [-].

    Returns
    -------
        The number of a pattern for every part, the count of the last size changing fastest from part to part [-].
    """
    sizes = len(demand)
    weights = np.ones(sizes, np.int64)
    for at in range(sizes - 1, 0, -1):
        weights[at - 1] = weights[at] * (demand[at] + 1)
    parts = weights[0] * (demand[0] + 1)
    cost, first = np.zeros(parts, np.int64), np.zeros(parts, np.int64)
    for part in range(1, parts):
        cost[part] = NEVER
        for pattern in range(len(prices)):
            left = 0
            for at in range(sizes):
                wanted = part // weights[at] % (demand[at] + 1)
                left += max(0, wanted - taken[pattern, at]) * weights[at]
            if cost[left] + prices[pattern] < cost[part]:
                cost[part], first[part] = cost[left] + prices[pattern], pattern
    return first
