"""Closing the gap between the best plan and the bound with a complete list of patterns.

Rules of this file
------------------
- A pattern whose reduced cost exceeds what the target leaves above the bound is in no plan within the target.
- Targets that need too many patterns are lowered; a target with no plan raises the bound just above it.
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import ceil

from service.planner.solver.cuts.cut_model import Dual
from service.planner.solver.cuts.diving import Plan, Remainder, Search, StockColumn
from service.planner.solver.cuts.master import Master
from service.planner.solver.cuts.pattern_choice import PatternChoice
from service.planner.solver.cuts.patterns import Column, Pricing, StripCut
from service.planner.solver.cuts.sheets import near_sheets

PATTERNS = 20_000
"""Patterns of one stock size beyond which a target is given up [-]"""
SHEET_NODES = 6000
"""Strips tried in the listing of sheet patterns before a target is given up [-]"""
NODE_SIZE = 300
"""What a node costs by itself, in patterns [-]"""
CHOICE_SIZE = 6_000_000
"""Nodes times patterns that one target may take [-]"""


def patterns_within(master: Master, dual: Dual, target: int) -> list[StockColumn] | None:
    """All patterns that a plan within a target can use; None when there are too many.

    Notes
    -----
    At scale t a plan costs at least the bound plus, for each use of a pattern, max(price, t x cap) - t x worth.
    """
    if dual.scale == 0:
        return None
    model = master.model
    found: list[StockColumn] = []
    for stock, item in enumerate(model.bins):
        start = max(item.price / dual.scale, Fraction(dual.caps[stock]))
        floor = start - (target - dual.bound) / dual.scale
        columns = _near(master.pricing(stock), dual.prices, model.demand, ceil(floor))
        if columns is None:
            return None
        found.extend((stock, column) for column in columns)
    return found


def _near(pricing: Pricing, values: Sequence[int], limits: Sequence[int], floor: int) -> list[Column] | None:
    """All full patterns worth at least a floor; None when there are too many."""
    if pricing.width:
        return near_sheets(pricing, values, limits, floor, SHEET_NODES)
    found = pricing.strip.near(values, limits, floor, PATTERNS)
    return None if found is None else [pricing.column([StripCut(0, cuts)], limits) for _, cuts in found]


def close_gap(search: Search, nodes: int) -> None:
    """Lower the cost or raise the bound until they meet or the effort ends."""
    while not search.done and search.dual is not None and not search.master.effort.ended:
        for target in dict.fromkeys((search.cost - 1, search.bound)):
            patterns = patterns_within(search.master, search.dual, target)
            if patterns is not None:
                break
        else:
            return
        if not _settle(search, patterns, target, nodes):
            return


def _settle(search: Search, patterns: list[StockColumn], target: int, nodes: int) -> bool:
    """Find a plan within a target or prove that there is none; says whether either came about."""
    if not patterns:
        search.prove(target + 1)
        return True
    choice = PatternChoice(search.model, patterns, target, search.master.effort)
    verdict = choice.search(min(nodes, CHOICE_SIZE // (NODE_SIZE + len(patterns))))
    if verdict.repeats is not None:
        search.offer(_exact(search.master, zip(patterns, verdict.repeats, strict=True)))
        return True
    if verdict.finished:
        search.prove(target + 1)
    return verdict.finished


def _exact(master: Master, uses: Iterable[tuple[StockColumn, int]]) -> Plan:
    """Plan that uses patterns as told, each without the pieces that are no longer wanted."""
    rest = Remainder(master.model.whole)
    for pattern, repeat in uses:
        rest.take(pattern, repeat)
        over = repeat - rest.plan[pattern]
        for _ in range(over):
            stock, column = pattern
            fitted = master.pricing(stock).column(column.strips, rest.demand)
            if any(fitted.counts):
                rest.take((stock, fitted), 1)
    return +rest.plan
