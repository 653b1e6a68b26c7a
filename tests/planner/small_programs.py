"""Small programs for the tests of the solver's own simplex method, drawn with a seed, and what HiGHS makes of them.

HiGHS is an independent solver; it gets the dense matrix, not the columns that the service's own code works on.
"""

from dataclasses import dataclass
from math import inf
from random import Random

import highspy
import numpy as np
from highspy._core import _Highs as Solver
from numpy.typing import NDArray

from service.planner.solver.compiling import Floats
from service.planner.solver.courses.column_generation import WORTH
from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.courses.least_cost import CourseProblem
from service.planner.solver.courses.pattern_pricing import Pricer
from service.planner.solver.courses.pieces import Kinds, make_block
from service.planner.solver.courses.program import make_program
from service.planner.solver.courses.sections import group_sections
from service.planner.solver.effort import Effort
from service.planner.solver.lp.basis import Basis, Columns, settle
from service.planner.solver.lp.relaxation import Relaxation
from service.planner.solver.lp.simplex import solve

SHAPES = ("rows", "equalities", "degenerate", "boxed", "wide")
OFTEN = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Small:
    """Minimise costs . x, where lows <= x <= highs and row_lows <= matrix x <= row_highs."""

    costs: Floats
    lows: Floats
    highs: Floats
    row_lows: Floats
    row_highs: Floats
    matrix: Floats


def draw_program(seed: int) -> Small:
    """Draw a program of small whole numbers, about a third of them without a solution; the seed picks its shape in turn."""
    random = Random(f"program {seed}")  # noqa: S311 - no secret
    shape = SHAPES[seed % len(SHAPES)]
    rows, columns = random.randint(1, 9), random.randint(2, 12 if shape != "wide" else 30)
    matrix = np.zeros((rows, columns))
    for i in range(rows):
        for j in range(columns):
            if random.random() < 0.45:
                matrix[i, j] = random.choice((-3, -2, -1, 1, 1, 2, 3))
    if shape == "degenerate" and rows > 2:
        matrix[-1] = matrix[0] + matrix[1]
    costs = np.array([float(random.randint(0, 3 if shape == "degenerate" else 20)) for _ in range(columns)])
    lows = np.array([float(random.choice((0, 0, 0, 1))) for _ in range(columns)])
    highs = np.array([random.choice((inf, inf, 2.0, 5.0)) for _ in range(columns)])
    if shape == "boxed":
        highs = lows + np.array([float(random.randint(0, 6)) for _ in range(columns)])
        costs -= 10.0
    row_lows, row_highs = _row_bounds(random, shape, matrix)
    return Small(costs=costs, lows=lows, highs=highs, row_lows=row_lows, row_highs=row_highs, matrix=matrix)


def _row_bounds(random: Random, shape: str, matrix: Floats) -> tuple[Floats, Floats]:
    """Draw bounds of the rows: about those that a point has, or any at all."""
    point = np.array([float(random.randint(0, 4)) for _ in range(matrix.shape[1])])
    middle = matrix @ point
    if random.random() < 0.4:
        middle = np.array([float(random.randint(-6, 10)) for _ in middle])
    if shape == "degenerate" and random.random() < 0.5:
        middle = np.zeros(len(middle))
    lows, highs = middle.copy(), middle.copy()
    for i in range(len(middle)):
        kind = random.randrange(4)
        if shape != "equalities" and kind:
            lows[i] = -inf if kind == 1 else middle[i] - random.randint(0, 2) * (kind == 3)
            highs[i] = inf if kind == 2 else middle[i] + random.randint(0, 2) * (kind == 3)
    return lows, highs


def columns_of(small: Small) -> Columns:
    """Put a program into the form that is solved: rows first, then columns."""
    rows, columns = small.matrix.shape
    entries = [np.nonzero(small.matrix[:, j])[0] for j in range(columns)]
    return Columns(
        number=rows + columns,
        starts=np.cumsum([0, *map(len, entries)]),
        rows=np.concatenate(entries),
        values=np.concatenate([small.matrix[at, j] for j, at in enumerate(entries)]),
        costs=np.concatenate([np.zeros(rows), small.costs]),
        lows=np.concatenate([small.row_lows, small.lows]),
        highs=np.concatenate([small.row_highs, small.highs]),
    )


def first_basis(columns: Columns, size: int) -> Basis:
    """Return the basis of the rows, every column at the bound where its reduced cost is right."""
    cheaper = (columns.costs < 0.0) & (columns.highs < inf)
    levels = np.where(cheaper, columns.highs, columns.lows)
    levels[:size] = 0.0
    return Basis(
        inverse=-np.eye(size),
        head=np.arange(size),
        places=np.where(np.arange(columns.number) < size, np.arange(columns.number), -1),
        levels=levels,
        reduced=columns.costs.copy(),
        weights=np.ones(size),
    )


def solve_from(
    columns: Columns, basis: Basis, limit: float = inf, *, updates: int = 0
) -> tuple[int, float, int]:
    """Solve from a basis whose inverse went through some exchanges; how it ended, the cost and the exchanges."""
    how, cost, after = solve(columns, basis, settle(columns, basis), float(limit), updates, endless().cells)
    return how, cost, after - updates


def endless() -> Effort:
    """Make a counter that does not end."""
    return Effort(inf)


def relaxation_of(model: Formulation, spare: int = 0, effort: Effort | None = None) -> Relaxation:
    """Return the relaxation of a formulation, as the search has it."""
    missing = 0.0 if model.program.listed else WORTH
    return Relaxation(model.lp, effort or endless(), float(model.most), missing=missing, spare=spare)


def with_all_patterns(model: Formulation, own: Relaxation, limit: float = inf) -> int:
    """Solve a relaxation with every pattern that is worth while; how it ended."""
    return Pricer(model).solve(own, limit)


def highs_of(model: Formulation, own: Relaxation | None = None, *, integer: bool = False) -> highspy.HighsLp:
    """Return a formulation in the form of HiGHS, with the columns that were added to its relaxation."""
    lp, program = model.lp, highspy.HighsLp()
    added = range(len(lp.costs), own.number - own.size) if own else ()
    extra = [own.entries(column) for column in added] if own else []
    priced = [model.pattern_of(entries)[1].crosscuts * model.program.cut_cost for entries in extra]
    program.num_col_, program.num_row_ = len(lp.costs) + len(extra), len(lp.row_lows)
    program.col_cost_ = np.array([*lp.costs, *priced], dtype=float)
    program.col_lower_ = np.array([*lp.lows, *[0.0] * len(extra)])
    highs = np.array([*lp.highs, *[inf] * len(extra)])
    highs[model.rescue] = 0.0 if integer else inf
    program.col_upper_ = highs
    program.row_lower_, program.row_upper_ = (
        np.array(lp.row_lows, dtype=float),
        np.array(lp.row_highs, dtype=float),
    )
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_ = np.array(
        [*lp.starts, *(len(lp.rows) + np.cumsum([len(e) for e in extra], dtype=int))]
    )
    program.a_matrix_.index_ = np.array([*lp.rows, *(row for entries in extra for row, _ in entries)])
    program.a_matrix_.value_ = np.array(
        [*lp.values, *(value for entries in extra for _, value in entries)], dtype=float
    )
    if integer:
        program.integrality_ = [highspy.HighsVarType.kInteger] * program.num_col_
    return program


def ask_highs(program: highspy.HighsLp) -> float | None:
    """Return the least cost by HiGHS, None when there is no solution; where all columns are whole it is whole."""
    solver = Solver()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 1e-6)
    solver.setOptionValue("presolve", "off")
    solver.passModel(program)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    assert status == highspy.HighsModelStatus.kOptimal
    best = float(solver.getInfo().objective_function_value)
    return float(round(best)) if program.integrality_ else best


def program_of(small: Small, *, integer: bool = False) -> highspy.HighsLp:
    """Return a program in the form of HiGHS."""
    rows, columns = small.matrix.shape
    program = highspy.HighsLp()
    program.num_col_, program.num_row_ = columns, rows
    program.col_cost_ = small.costs
    program.col_lower_, program.col_upper_ = small.lows, small.highs
    program.row_lower_, program.row_upper_ = small.row_lows, small.row_highs
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_ = np.arange(columns + 1) * rows
    program.a_matrix_.index_ = np.tile(np.arange(rows), columns)
    program.a_matrix_.value_ = small.matrix.T.flatten()
    if integer:
        program.integrality_ = [highspy.HighsVarType.kInteger] * columns
    return program


def model_of(problem: CourseProblem) -> Formulation:
    """Return the integer program of a course problem that has stock for all its heights."""
    heights = problem.heights or (0,)
    longest = tuple(
        max(stock.length for stock in problem.stock if stock.width is None or stock.width >= height)
        for height in heights
    )
    kinds = Kinds(longest, problem.grid, problem.max_span)
    blocks = [make_block(group, kinds) for group in group_sections(problem.runs)]
    return Formulation(make_program(problem, kinds, blocks))


def close(one: float, other: float) -> bool:
    """Whether two costs agree; both solvers keep rows and reduced costs to about 1e-7."""
    return abs(one - other) <= 1e-6 * max(1.0, abs(one), abs(other))


def within(values: Floats, lows: NDArray[np.float64], highs: NDArray[np.float64]) -> bool:
    """Whether all values are within their bounds; the tolerance is a hundred times the solver's own."""
    return bool(np.all(values >= lows - 1e-7) and np.all(values <= highs + 1e-7))
