"""Good cutting plans: greedy filling, and dives that round the fractional plan pattern by pattern.

Rules of this file
------------------
- A plan is complete before it counts; its cost is exact.
- Dives are numbered: each departs from the first at one depth, and there are only so many of them.
- A dive ends as soon as its bound shows that it cannot beat the best plan known.
"""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

import numpy as np

from service.planner.solver.cuts.cut_model import CutModel, Dual, Scope
from service.planner.solver.cuts.master import Master, Reals
from service.planner.solver.cuts.patterns import Column

StockColumn = tuple[int, Column]
"""A pattern and the stock it is cut from"""
Plan = Counter[StockColumn]
"""How often each pattern is cut [-]"""

CANDIDATES = 8
"""Stock sizes compared for the next pattern of a greedy plan, the cheapest for their size first [-]"""
FIRST = 2_000
"""Patterns that the pool is started with at most [-]"""
ROUNDS = 1000
"""Rounds of pricing for one bound [-]"""
DIVE_ROUNDS = 40
"""Rounds of pricing in one step of a dive [-]"""
SPECK = 1e-6
"""Fraction of a pattern that counts as none [-]"""
SHEET_NODES = 300
"""Strips tried in the search for one sheet pattern of the bound [-]"""
NEARLY = 0.8
"""Fraction from which a pattern is rounded up together with others [-]"""


def cost_of(model: CutModel, plan: Plan) -> int:
    """Price of the stock that a plan opens [minor units]."""
    return sum(model.bins[stock].price * repeat for (stock, _), repeat in plan.items())


class Remainder:
    """What is still to be cut, and from what.

    Parameters
    ----------
    scope
        What is wanted, and the stock.
    plan
        What has been cut already.
    """

    def __init__(self, scope: Scope, plan: Plan | None = None) -> None:
        self.demand = list(scope.demand)
        self.least = list(scope.least)
        self.most = list(scope.most)
        self.plan: Plan = Counter(plan)

    @property
    def scope(self) -> Scope:
        """What is left as a problem of its own."""
        return Scope(tuple(self.demand), tuple(self.least), tuple(self.most))

    def room(self, pattern: StockColumn) -> int:
        """How often a pattern can still be cut without excess [-]."""
        stock, column = pattern
        times = [self.demand[piece] // count for piece, count in enumerate(column.counts) if count]
        left = self.most[stock]
        return min(times) if left is None else min(*times, left)

    def take(self, pattern: StockColumn, times: int) -> bool:
        """Cut a pattern up to so many times; says whether any was cut."""
        stock, column = pattern
        times = min(times, self.room(pattern))
        if times <= 0:
            return False
        self.plan[pattern] += times
        for piece, count in enumerate(column.counts):
            self.demand[piece] -= times * count
        left = self.most[stock]
        self.most[stock] = None if left is None else left - times
        self.least[stock] = max(0, self.least[stock] - times)
        return True


def greedy(master: Master, remainder: Remainder) -> Plan | None:
    """Fill stock after stock, largest pieces first, each time the stock with the most in it for its price."""
    model, rest = master.model, Remainder(remainder.scope, remainder.plan)
    while any(rest.demand):
        limits = np.array(rest.demand, dtype=np.int64)
        best, price, densest, tried = -1, 0, 0.0, 0
        for stock in model.by_price:
            if rest.most[stock] != 0 and tried < CANDIDATES:
                size = master.pricing(stock).greedy_size(limits)
                tried += size > 0
                if size and (best < 0 or _denser(size, model.bins[stock].price, densest, price)):
                    best, price, densest = stock, model.bins[stock].price, size
        if best < 0:
            return None
        rest.take((best, master.pricing(best).greedy(rest.demand)), max(rest.demand))
    return rest.plan


def _denser(size: float, price: int, other_size: float, other_price: int) -> bool:
    """Whether more is cut for the money, or more for nothing."""
    return (size * other_price, size) > (other_size * price, other_size)


def departures(dives: int) -> Iterator[tuple[int, int]]:
    """Where each dive leaves the first one: (depth, how many choices are passed over)."""
    yield 0, 0
    for number in range(dives - 1):
        yield number // 2, 1 + number % 2


class Search:
    """The best plan so far and the ways to a better one.

    Parameters
    ----------
    master
        The patterns.
    """

    def __init__(self, master: Master, plan: Plan) -> None:
        self.master = master
        self.model = master.model
        self.best = plan
        self.cost = cost_of(self.model, plan)
        self.bound = 0
        self.dual: Dual | None = None
        self.offer(plan)

    @property
    def done(self) -> bool:
        """Whether the best plan is proven."""
        return self.cost <= self.bound

    @property
    def ended(self) -> bool:
        """Whether there is nothing to gain, or no work left to gain it with."""
        return self.done or self.master.effort.ended

    def offer(self, plan: Plan) -> None:
        """Keep a plan if it is the best so far; its patterns join the pool, so that every remainder can be met."""
        for stock, column in plan:
            self.master.add(stock, column)
        cost = cost_of(self.model, plan)
        if cost < self.cost:
            self.best, self.cost = plan, cost

    def prove(self, bound: Fraction | int) -> None:
        """Take note of a bound, rounded up to a total that prices can add up to."""
        self.bound = max(self.bound, min(self.model.next_total(Fraction(bound)), self.cost))

    def relax(self, *, settle: bool = True) -> None:
        """Bound by patterns; to settle is to stop when further rounds could not raise it to the next total."""
        relaxed = self.master.relax(self.model.whole, ROUNDS, self.cost if settle else None, SHEET_NODES)
        self.dual = relaxed.dual
        self.prove(relaxed.dual.bound)

    def dive(self, scope: Scope, depth: int, skip: int) -> None:
        """Round the fractional plan step by step, passing over `skip` choices at one depth."""
        rest = Remainder(scope)
        level = 0
        moving = True
        while any(rest.demand) and moving and not self.ended:
            spent = cost_of(self.model, rest.plan)
            relaxed = self.master.relax(rest.scope, DIVE_ROUNDS, self.cost - spent)
            if spent + self.model.next_total(relaxed.dual.bound) >= self.cost:
                return
            moving = self._round(rest, relaxed.repeats, skip if level == depth else 0)
            completed = greedy(self.master, rest)
            if completed is not None:
                self.offer(completed)
            level += 1

    def _round(self, rest: Remainder, repeats: Reals, skip: int) -> bool:
        """Cut whole repeats, then what is nearly whole or, failing that, the next nearest; says whether any was cut."""
        used = np.flatnonzero(repeats > SPECK)
        whole = np.floor(repeats[used] + SPECK)
        moved = False
        for index, times in zip(used.tolist(), whole.tolist(), strict=True):
            moved |= rest.take(self.master.pool[index], int(times))
        parts = repeats[used] - whole
        order = np.lexsort((used, -parts))
        taken = 0
        for choice in order[skip if skip < len(order) else 0 :].tolist():
            if parts[choice] < (NEARLY if taken else SPECK):
                break
            taken += rest.take(self.master.pool[used[choice]], 1)
        return moved or taken > 0


def first_patterns(master: Master) -> None:
    """Start the pool with one greedy pattern led by every piece."""
    demand = master.model.demand
    enough = max(1, FIRST // len(demand))
    for stock in master.model.by_price[:enough]:
        for piece in range(len(demand)):
            limits = [count if other <= piece else 0 for other, count in enumerate(demand)]
            master.add(stock, master.pricing(stock).greedy(limits))
