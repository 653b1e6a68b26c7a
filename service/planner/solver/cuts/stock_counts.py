"""A tighter bound, and better plans, from deciding how much of each stock is opened.

Rules of this file
------------------
- Each scope lies between a least and a most of every stock; together the open ones hold every plan that could be better.
- The scope with the lowest bound comes first, so that its bound is that of the whole problem.
- A scope whose fractional plan opens whole stock has no further branch: its bound stays.
"""

from dataclasses import replace
from fractions import Fraction
from heapq import heappop, heappush
from itertools import count

import numpy as np

from service.planner.solver.cuts.cut_model import Scope
from service.planner.solver.cuts.diving import ROUNDS, SHEET_NODES, Search
from service.planner.solver.cuts.master import Relaxed

WHOLE = 1e-5
"""Distance from a whole number that counts as none [-]"""


def branch_on_stock(search: Search, scopes: int) -> None:
    """Raise the bound, and dive in every scope.

    Parameters
    ----------
    search
        The search so far, its fractional plan solved.
    scopes
        Scopes looked into at most [-].
    """
    stuck: list[Fraction] = []
    numbers = count()  # of two equal bounds the older scope comes first
    waiting = [(Fraction(search.bound), next(numbers), search.model.whole)]
    for _ in range(scopes):
        if not waiting or search.ended:
            break
        bound, _, scope = heappop(waiting)
        relaxed = search.master.relax(scope, ROUNDS, search.cost, SHEET_NODES)
        bound = max(bound, relaxed.dual.bound)
        if search.model.next_total(bound) < search.cost:
            search.dive(scope, 0, 0)
            parts = _parts(search, scope, relaxed)
            for part in parts:
                heappush(waiting, (bound, next(numbers), part))
            if not parts:
                stuck.append(bound)
        search.prove(min([*stuck, *(low for low, _, _ in waiting)], default=Fraction(search.cost)))


def _parts(search: Search, scope: Scope, relaxed: Relaxed) -> tuple[Scope, ...]:
    """Split a scope at the stock whose use is farthest from whole; none when all is whole."""
    uses = np.zeros(len(search.model.bins))
    for (stock, _), repeat in zip(search.master.pool, relaxed.repeats.tolist(), strict=False):
        uses[stock] += repeat
    away = np.abs(uses - np.rint(uses))
    stock = int(np.argmax(away))
    if away[stock] < WHOLE:
        return ()
    use = int(uses[stock])
    most, least = list(scope.most), list(scope.least)
    most[stock], least[stock] = use, use + 1
    return replace(scope, most=tuple(most)), replace(scope, least=tuple(least))
