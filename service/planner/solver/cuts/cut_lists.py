"""Cutting for a fixed demand at proven least cost.

Rules of this file
------------------
- Pieces with kerf k between them fit a length L when sum(l + k) <= L + k: the last piece costs no kerf.
- Sheets are ripped into strips across their width, strips are crosscut; nothing is turned.
- A strip holds pieces of one width; with `trim` also narrower ones.
- The answer says what it costs, what it must cost at least, and whether the two meet.
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from service.planner.solver.cuts.closing import close_gap
from service.planner.solver.cuts.cut_model import Bin, CutModel, safe_dual
from service.planner.solver.cuts.diving import Plan, Remainder, Search, departures, first_patterns, greedy
from service.planner.solver.cuts.master import Master
from service.planner.solver.cuts.one_length import cut_one_length
from service.planner.solver.cuts.patterns import Column, Shape
from service.planner.solver.cuts.problem import (
    Cut,
    CutDemand,
    CutList,
    CutListProblem,
    CutStock,
    Pattern,
    PieceFitsNoStock,
    StockRunsOut,
    Strip,
)
from service.planner.solver.cuts.small_demand import cheapest_plan
from service.planner.solver.cuts.stock_counts import branch_on_stock
from service.planner.solver.effort import Effort

__all__ = [
    "Cut",
    "CutDemand",
    "CutList",
    "CutListProblem",
    "CutStock",
    "Effort",
    "Pattern",
    "PieceFitsNoStock",
    "StockRunsOut",
    "Strip",
    "solve_cut_list",
    "turned",
]

UNITS = 10_000_000
"""What a cut list may take where nothing else is said [units]"""
RESERVE = 3
"""Part of the units that is kept for closing the last gap [-]"""
SCOPES = 40
"""Decisions on stock counts looked into [-]"""
DIVES = 24
"""Dives for a better plan [-]"""
NODES = 20_000
"""Nodes of each search that closes the last gap [-]"""

Sizes = dict[tuple[int, int], list[int]]
"""Demands of each size (width, length), kerf included, ascending"""


def turned(problem: CutListProblem) -> CutListProblem:
    """Exchange length and width, so that the first cuts run the other way."""
    return replace(
        problem,
        stock=tuple(replace(item, length=item.width or 0, width=item.length) for item in problem.stock),
        demand=tuple(replace(item, length=item.width or 0, width=item.length) for item in problem.demand),
    )


def solve_cut_list(problem: CutListProblem, effort: Effort | None = None) -> CutList:
    """Cut a demand from the cheapest stock.

    Parameters
    ----------
    problem
        Stock, demand and kerf.
    effort
        Counter of units.

    Returns
    -------
    CutList
        Patterns that cut every piece exactly once, with their cost and a proven lower bound.

    Raises
    ------
    PieceFitsNoStock
        When a piece is larger than every stock.
    StockRunsOut
        When the stock is limited and no cutting that covers the demand exists, or none was found.
    """
    simple = cut_one_length(problem)
    if simple is not None:
        return simple
    sizes = _sizes(problem)
    bins = _bins(problem)
    _check_fit(sizes, bins)
    model = _model(problem, sizes, [item for _, item in bins])
    effort = effort or Effort(UNITS)
    plan = greedy(Master(model, effort), Remainder(model.whole))
    search = _search(model, effort, _covering_plan(model, effort, sizes) if plan is None else plan)
    return CutList(
        objective=search.cost,
        lower_bound=search.bound,
        proven_optimal=search.done,
        patterns=_patterns(problem, search.best, sizes, [index for index, _ in bins]),
        stock_used=_stock_used(problem, search.best, [index for index, _ in bins]),
    )


def _sizes(problem: CutListProblem) -> Sizes:
    sizes: Sizes = defaultdict(list)
    for index, piece in enumerate(problem.demand):
        if piece.count > 0:
            width = 0 if piece.width is None else piece.width + problem.kerf
            sizes[width, piece.length + problem.kerf].append(index)
    return dict(sorted(sizes.items()))


def _bins(problem: CutListProblem) -> list[tuple[int, Bin]]:
    """List the stock that can matter, by its index; one for every piece is as good as no limit."""
    pieces = sum(piece.count for piece in problem.demand)
    bins = [
        (
            index,
            Bin(
                length=item.length + problem.kerf,
                width=0 if item.width is None else item.width + problem.kerf,
                price=item.price,
                count=None if item.count is None or item.count >= pieces else item.count,
            ),
        )
        for index, item in enumerate(problem.stock)
        if item.count != 0
    ]
    return [
        (index, item)
        for index, item in bins
        if not any(_replaces(other, item, earlier=place < index) for place, other in bins if place != index)
    ]


def _replaces(other: Bin, item: Bin, *, earlier: bool) -> bool:
    """Whether another stock without limit does whatever this one does, for no more; of two equal ones the earlier."""
    better = other.length >= item.length and other.width >= item.width and other.price <= item.price
    same = (other.length, other.width, other.price, other.count) == (
        item.length,
        item.width,
        item.price,
        item.count,
    )
    return other.count is None and better and (earlier or not same)


def _check_fit(sizes: Sizes, bins: list[tuple[int, Bin]]) -> None:
    lost = [
        demand
        for (width, length), demands in sizes.items()
        if not any(length <= item.length and width <= item.width for _, item in bins)
        for demand in demands
    ]
    if lost:
        raise PieceFitsNoStock(tuple(sorted(lost)))


def _model(problem: CutListProblem, sizes: Sizes, bins: list[Bin]) -> CutModel:
    widths = sorted({width for width, _ in sizes})
    shape = Shape(
        lengths=tuple(length for _, length in sizes),
        widths=tuple(widths),
        classes=tuple(widths.index(width) for width, _ in sizes),
        trim=problem.trim,
    )
    demand = tuple(sum(problem.demand[index].count for index in demands) for demands in sizes.values())
    return CutModel(shape, demand, tuple(bins))


def _covering_plan(model: CutModel, effort: Effort, sizes: Sizes) -> Plan:
    """Any plan that limited stock allows: the fewest pieces of stand-in stock must be none."""
    stand_ins = {(item.length, item.width): replace(item, price=1, count=None) for item in model.bins}
    free = [replace(item, price=0) for item in model.bins]
    phase = replace(model, bins=(*free, *stand_ins.values()))
    search = _search(phase, effort, greedy(Master(phase, effort), Remainder(phase.whole)) or Counter())
    if search.cost:
        missing: Counter[int] = Counter()
        for (stock, column), repeat in search.best.items():
            for demands, count in zip(sizes.values(), column.counts, strict=True):
                missing[demands[0]] += count * repeat if stock >= len(free) else 0
        raise StockRunsOut(dict(+missing), proven=search.bound > 0)
    return search.best


def _search(model: CutModel, effort: Effort, plan: Plan) -> Search:
    """Bound by size, a table of small demands, bound by patterns, dives: as far as the proof needs."""
    search = Search(Master(model, effort), plan)
    search.prove(_size_bound(model))
    cheapest = None if search.done else cheapest_plan(search.master)
    if cheapest is not None:
        search.offer(cheapest)
        search.prove(search.cost)
    if not search.done:
        with effort.within(effort.left * (RESERVE - 1) / RESERVE):
            _bound_and_dive(search)
    if not search.done and NODES:
        search.relax(settle=False)
        close_gap(search, NODES)
    return search


def _bound_and_dive(search: Search) -> None:
    """Bound by patterns, decide on stock counts, dive for better plans."""
    first_patterns(search.master)
    search.relax()
    if len(search.model.bins) > 1 and not search.done:
        branch_on_stock(search, SCOPES)
    for depth, skip in departures(DIVES):
        if search.ended:
            break
        search.dive(search.model.whole, depth, skip)


def _size_bound(model: CutModel) -> Fraction:
    """Bound the cost as if stock could be filled without waste [minor units]."""
    caps = [item.length * max(1, item.width) for item in model.bins]
    return safe_dual(model, model.whole, model.shape.sizes, caps).bound


def _stock_used(problem: CutListProblem, plan: Plan, kinds: Sequence[int]) -> tuple[int, ...]:
    used = [0] * len(problem.stock)
    for (stock, _), repeat in plan.items():
        used[kinds[stock]] += repeat
    return tuple(used)


def _patterns(problem: CutListProblem, plan: Plan, sizes: Sizes, kinds: Sequence[int]) -> tuple[Pattern, ...]:
    """Patterns in terms of the demands asked for; demands of one size are served in their order."""
    queues = [[[index, problem.demand[index].count] for index in demands] for demands in sizes.values()]
    widths = sorted({width for width, _ in sizes})
    cut: Counter[tuple[int, tuple[Strip, ...]]] = Counter()
    for (stock, column), repeat in sorted(plan.items(), key=lambda entry: (entry[0][0], entry[0][1].strips)):
        left = repeat
        while left:
            often = _often(queues, column, left)
            strips = tuple(
                Strip(
                    width=widths[strip.width] - problem.kerf if widths[strip.width] else None,
                    cuts=tuple(
                        cut for piece, count in strip.cuts for cut in _serve(queues[piece], count, often)
                    ),
                )
                for strip in column.strips
            )
            cut[kinds[stock], strips] += often
            left -= often
    patterns = [Pattern(stock=stock, strips=strips, repeat=repeat) for (stock, strips), repeat in cut.items()]
    return tuple(sorted(patterns, key=lambda pattern: (pattern.stock, -pattern.repeat)))


def _often(queues: Sequence[list[list[int]]], column: Column, most: int) -> int:
    """How often a pattern serves the same demands, once at least [-]."""
    for piece, count in enumerate(column.counts):
        if count and len(queues[piece]) > 1:
            most = min(most, queues[piece][0][1] // count)
    return max(1, most)


def _serve(queue: list[list[int]], count: int, often: int) -> list[Cut]:
    """Assign pieces of one size, as often as a pattern is cut, to the demands that wait for them."""
    served = []
    while count:
        index, left = queue[0]
        part = min(left // often, count) if len(queue) > 1 else count
        served.append(Cut(demand=index, count=part))
        queue[0][1] -= part * often
        count -= part
        if queue[0][1] == 0 and len(queue) > 1:
            queue.pop(0)
    return served
