"""The plain route, to measure the planner against: everything listed, handed to a general solver at once.

Arcs over the supports of every run, every cutting pattern of every strip, one integer program. Nothing is
reduced, grouped, bounded or guided.
"""

from itertools import combinations
from typing import Final

import highspy
import numpy as np
from highspy._core import _Highs as Solver  # the plain class: the public wrapper writes a banner

from service.planner.solver.courses.problem import CourseProblem
from service.planner.solver.courses.runs import CourseRun, piece_length

PATTERNS: Final = 200_000
"""How many patterns are listed before the route gives up [-]."""
SECONDS: Final = 20.0
"""How long the solver may take; this is a measurement, so a limit in seconds is in order [s]."""
INFINITY: Final = float("inf")

Column = tuple[float, list[tuple[int, float]], float]


class TooManyPatternsError(ValueError):
    """The patterns cannot all be listed."""


def solve_plainly(problem: CourseProblem) -> int | None:
    """Return the objective [minor units of money], None when time ran out before the optimum was known."""
    rows: list[tuple[float, float]] = []
    columns: list[Column] = []
    demand: dict[tuple[int, int], int] = {}
    for run in problem.runs:
        _add_run(problem, run, rows, columns, demand)
    _add_stock(problem, rows, columns, demand)
    return _solve(problem, rows, columns)


def _add_run(
    problem: CourseProblem,
    run: CourseRun,
    rows: list[tuple[float, float]],
    columns: list[Column],
    demand: dict[tuple[int, int], int],
) -> None:
    """Add a row a support and an arc a pair of supports."""
    first, last = len(rows), len(run.positions) - 1
    rows.extend([(1.0, 1.0), *[(0.0, 0.0)] * (last - 1), (-1.0, -1.0)])
    longest = max(stock.length for stock in problem.stock)
    for start, end in combinations(range(last + 1), 2):
        length = piece_length(run, start, end, problem.grid)
        broken = any(start < support < end for support in run.forced)
        banned = {start, end} & run.forbidden
        if not broken and not banned and 0 < length <= longest:
            key = (run.height_class, length)
            if key not in demand:
                demand[key] = len(rows)
                rows.append((0.0, 0.0))
            entries = [(first + start, 1.0), (first + end, -1.0), (demand[key], -1.0)]
            columns.append((float(problem.joint_cost), entries, 1.0))


def _add_stock(
    problem: CourseProblem,
    rows: list[tuple[float, float]],
    columns: list[Column],
    demand: dict[tuple[int, int], int],
) -> None:
    """Add every pattern of every strip and every rip of every stock."""
    heights = problem.heights or (0,)
    for stock in problem.stock:
        supply = [len(rows) + at for at in range(len(heights))]
        rows.extend([(-INFINITY, 0.0)] * len(heights))
        for height_class, row in enumerate(supply):
            kinds = [(length, at) for (of, length), at in demand.items() if of == height_class]
            for counts, rest in _patterns(kinds, stock.length + problem.kerf, problem.kerf):
                crosscuts = sum(count for _, count in counts) - (rest == 0)
                entries = [(row, 1.0), *((at, float(count)) for at, count in counts)]
                columns.append((float(problem.cut_cost * crosscuts), entries, INFINITY))
        limit = INFINITY if stock.count is None else float(stock.count)
        rows.append((-INFINITY, limit))
        sizes = [(height, row) for height, row in zip(heights, supply, strict=True)]
        width = stock.width if stock.width is not None else 0
        for rip, _ in (
            _patterns(sizes, width + problem.kerf, problem.kerf)
            if stock.width is not None
            else [([(supply[0], 1)], 0)]
        ):
            entries = [(len(rows) - 1, 1.0), *((row, -float(count)) for row, count in rip)]
            columns.append((float(stock.price), entries, INFINITY))


def _patterns(sizes: list[tuple[int, int]], room: int, kerf: int) -> list[tuple[list[tuple[int, int]], int]]:
    """List every choice that fits."""
    found: list[tuple[list[tuple[int, int]], int]] = [([], room)]
    for length, at in sizes:
        found += [
            ([*counts, (at, count)], left - count * (length + kerf))
            for counts, left in found
            for count in range(1, left // (length + kerf) + 1)
        ]
        if len(found) > PATTERNS:
            raise TooManyPatternsError
    return found[1:]


def _solve(problem: CourseProblem, rows: list[tuple[float, float]], columns: list[Column]) -> int | None:
    """Hand the program to the solver."""
    program = highspy.HighsLp()
    program.num_col_, program.num_row_ = len(columns), len(rows)
    program.col_cost_ = np.array([cost for cost, _, _ in columns])
    program.col_lower_ = np.zeros(len(columns))
    program.col_upper_ = np.array([upper for _, _, upper in columns])
    program.row_lower_ = np.array([low for low, _ in rows])
    program.row_upper_ = np.array([high for _, high in rows])
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_ = np.cumsum([0, *(len(entries) for _, entries, _ in columns)])
    program.a_matrix_.index_ = np.array([row for _, entries, _ in columns for row, _ in entries])
    program.a_matrix_.value_ = np.array([value for _, entries, _ in columns for _, value in entries])
    program.integrality_ = [highspy.HighsVarType.kInteger] * len(columns)
    solver = Solver()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("time_limit", SECONDS)
    solver.passModel(program)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    return round(solver.getObjectiveValue()) - problem.joint_cost * len(problem.runs)
