"""An independent answer to the course problem, by a general solver on a formulation of its own.

Pieces are arcs between supports, run by run; every way to cut a strip is a column, told apart by whether it
uses the strip up; every way to rip a sheet is a column; pieces are cut exactly as often as they are chosen.
Nothing is reduced, grouped or bounded, and no code of the planner is used, so it is only for small cases.
"""

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations, product
from typing import Any

from ortools.sat.python import cp_model

Pattern = tuple[tuple[int, ...], ...]


def least_cost(problem: Any) -> int | None:
    """Return the cost of the best plan [minor units of money], None when there is none."""
    model = cp_model.CpModel()
    cost: list[Any] = []
    demand = _paths(model, problem, cost)
    strips = _strips(model, problem, demand, cost)
    _sheets(model, problem, strips, cost)
    model.minimize(sum(cost) - problem.joint_cost * len(problem.runs))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL
    return round(solver.objective_value)


def _paths(model: Any, problem: Any, cost: list[Any]) -> dict[tuple[int, int], list[Any]]:
    """Add a path over every run; the pieces chosen, by height class and length."""
    demand = defaultdict(list)
    for run in problem.runs:
        n = len(run.positions)
        into, out = defaultdict(list), defaultdict(list)
        for i, j, length in _arcs(problem, run):
            arc = model.new_bool_var("")
            out[i].append(arc)
            into[j].append(arc)
            demand[run.height_class, length].append(arc)
            cost.append(problem.joint_cost * arc)
        for i in range(n):
            model.add(sum(into[i]) - sum(out[i]) == (i == n - 1) - (i == 0))
    return demand


def _arcs(problem: Any, run: Any) -> Iterator[tuple[int, int, int]]:
    """Go through every pair of supports that a piece may join, whatever the stock."""
    x, n = run.positions, len(run.positions)
    for i, j in combinations(range(n), 2):
        broken = any(i < support < j for support in run.forced)
        banned = any(end in run.forbidden and 0 < end < n - 1 for end in (i, j))
        if broken or banned or (problem.max_span is not None and x[j] - x[i] > problem.max_span):
            continue
        left = run.start_deduction if i == 0 else run.joint_deductions[i]
        right = run.end_deduction if j == n - 1 else run.joint_deductions[j]
        length = (x[j] - x[i] - left - right) // problem.grid * problem.grid
        if length > 0:
            yield i, j, length


def _strips(
    model: Any, problem: Any, demand: dict[tuple[int, int], list[Any]], cost: list[Any]
) -> dict[tuple[int, int], Any]:
    """Add strips of every stock and height class; every piece chosen is cut once."""
    cut = defaultdict(list)
    strips = {}
    for at, stock in enumerate(problem.stock):
        for height in range(len(problem.heights or (0,))):
            lengths = sorted(length for h, length in demand if h == height)
            most = [len(demand[height, length]) for length in lengths]
            used = []
            for counts in _fillings(lengths, most, stock.length + problem.kerf, problem.kerf):
                pieces = sum(counts)
                filled = sum(n * length for n, length in zip(counts, lengths, strict=True))
                crosscuts = pieces - (filled + (pieces - 1) * problem.kerf == stock.length)
                column = model.new_int_var(0, sum(most), "")
                used.append(column)
                cost.append(problem.cut_cost * crosscuts * column)
                for n, length in zip(counts, lengths, strict=True):
                    if n:
                        cut[height, length].append(n * column)
            strips[at, height] = sum(used)
    for key, arcs in demand.items():
        model.add(sum(cut[key]) == sum(arcs))
    return strips


def _sheets(model: Any, problem: Any, strips: dict[tuple[int, int], Any], cost: list[Any]) -> None:
    """Let stock opened give the strips; linear stock gives one each."""
    heights = problem.heights or (0,)
    for at, stock in enumerate(problem.stock):
        if stock.width is None:
            rips = [tuple(int(h == g) for g in range(len(heights))) for h in range(len(heights))]
        else:
            most = [(stock.width + problem.kerf) // (height + problem.kerf) for height in heights]
            rips = [
                rip
                for rip in product(*(range(n + 1) for n in most))
                if sum(n * (height + problem.kerf) for n, height in zip(rip, heights, strict=True))
                <= stock.width + problem.kerf
            ]
        opened = [model.new_int_var(0, 200, "") for _ in rips]
        for h in range(len(heights)):
            model.add(strips[at, h] <= sum(rip[h] * column for rip, column in zip(rips, opened, strict=True)))
        if stock.count is not None:
            model.add(sum(opened) <= stock.count)
        cost.extend(stock.price * column for column in opened)


def _fillings(lengths: list[int], most: list[int], room: int, kerf: int) -> list[tuple[int, ...]]:
    """Every non-empty choice of pieces that fits a strip."""
    found: list[tuple[tuple[int, ...], int]] = [((), room)]
    for length, limit in zip(lengths, most, strict=True):
        found = [
            ((*counts, n), left - n * (length + kerf))
            for counts, left in found
            for n in range(min(limit, left // (length + kerf)) + 1)
        ]
    return [counts for counts, _ in found if any(counts)]
