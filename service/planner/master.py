"""The integer program of pieces, strip patterns and rips, handed to a general solver.

Every piece costs a joint and a crosscut, a pattern costs nothing, and one that is filled exactly gives its
crosscut back. Patterns may have room for more pieces than are chosen, except where the crosscut is given
back. Opened stock pays its price and supplies strips.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import highspy
import numpy as np

from service.planner.pieces import Block, Kinds
from service.planner.strips import Pattern

NODES = 20_000
INFINITY = highspy.kHighsInf


@dataclass(frozen=True, slots=True, kw_only=True)
class StripType:
    """Strips of one length and height class.

    Parameters
    ----------
    length
        Length of the strip [nm].
    height_class
        Index into the heights of the problem [-].
    """

    length: int
    height_class: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """One kind of stock and the ways it may be ripped.

    Parameters
    ----------
    stock
        Index of the stock in the problem [-].
    price
        Price of one [minor units of money].
    count
        How many there are, None when unlimited [-].
    rips
        Each way to rip it: number of the strip type and how many strips [-].
    """

    stock: int
    price: int
    count: int | None
    rips: tuple[tuple[tuple[int, int], ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """A solution of the integer program.

    Parameters
    ----------
    pieces
        For every block how many of each piece [-].
    strips
        Strip type and pattern of every strip.
    opened
        Index of supply and of rip of everything opened [-].
    bound
        Lower bound of the program [minor units of money].
    """

    pieces: list[list[int]]
    strips: list[tuple[int, Pattern]]
    opened: list[tuple[int, int]]
    bound: float


@dataclass(slots=True)
class _Model:
    """Columns and rows of the program as they are put together."""

    costs: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=lambda: [0])
    rows: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)
    lows: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)

    def row(self, low: float, high: float) -> int:
        """Add a row and return its number."""
        self.lows.append(low)
        self.highs.append(high)
        return len(self.lows) - 1

    def column(self, cost: float, entries: Sequence[tuple[int, float]]) -> None:
        """Add an integer column."""
        self.costs.append(cost)
        for row, value in entries:
            self.rows.append(row)
            self.values.append(value)
        self.starts.append(len(self.rows))


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """What the integer program is made of.

    Parameters
    ----------
    blocks
        Possible pieces of every group of sections.
    kinds
        Kinds of piece.
    strip_types
        Kinds of strip.
    patterns
        Patterns of each strip type.
    supplies
        Stock and its rips.
    joint_cost
        Allowance for a joint [minor units of money].
    cut_cost
        Allowance for a crosscut [minor units of money].
    """

    blocks: list[Block]
    kinds: Kinds
    strip_types: list[StripType]
    patterns: list[list[Pattern]]
    supplies: list[Supply]
    joint_cost: int
    cut_cost: int


def solve_program(program: Program, *, nodes: int = NODES) -> Chosen | None:
    """Solve the program; None when it has no solution.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    nodes
        How many nodes the search may visit [-].
    """
    model = _Model()
    _add_pieces(model, program)
    _add_patterns(model, program)
    values, bound = _run(model, nodes)
    if values is None:
        return None
    return _read(program, values, bound)


def _add_pieces(model: _Model, program: Program) -> None:
    """Rows: demand of every kind, limit of what may be flush, the blocks' own; columns: pieces."""
    count = len(program.kinds.lengths)
    for _ in range(count):
        model.row(-INFINITY, 0.0)
    for _ in range(count):
        model.row(-INFINITY, 0.0)
    cost = program.joint_cost + program.cut_cost
    for block in program.blocks:
        first = len(model.lows)
        for total in block.totals:
            model.row(total, total)
        for piece in block.pieces:
            entries = [(first + row, float(value)) for row, value in piece.rows]
            model.column(cost, [(piece.kind, 1.0), (count + piece.kind, -1.0), *entries])


def _add_patterns(model: _Model, program: Program) -> None:
    """Rows: strips of every type, limited stock; columns: patterns, flush patterns, rips."""
    count = len(program.kinds.lengths)
    supply_rows = [model.row(-INFINITY, 0.0) for _ in program.strip_types]
    for row, patterns in zip(supply_rows, program.patterns, strict=True):
        for pattern in patterns:
            model.column(0.0, [(row, 1.0), *((kind, -float(n)) for kind, n in pattern.counts)])
        for pattern in patterns:
            if pattern.flush and program.cut_cost:
                demand = [(kind, -float(n)) for kind, n in pattern.counts]
                limit = [(count + kind, float(n)) for kind, n in pattern.counts]
                model.column(-program.cut_cost, [(row, 1.0), *demand, *limit])
    for supply in program.supplies:
        limit = [] if supply.count is None else [(model.row(-INFINITY, supply.count), 1.0)]
        for rip in supply.rips:
            model.column(supply.price, [*limit, *((supply_rows[at], -float(n)) for at, n in rip)])


def _run(model: _Model, nodes: int) -> tuple[list[int] | None, float]:
    """Hand the model to the solver; the values of its columns, and the bound."""
    size = len(model.costs)
    program = highspy.HighsLp()
    program.num_col_, program.num_row_ = size, len(model.lows)
    program.col_cost_ = np.array(model.costs, dtype=float)
    program.col_lower_ = np.zeros(size)
    program.col_upper_ = np.full(size, INFINITY)
    program.row_lower_ = np.array(model.lows, dtype=float)
    program.row_upper_ = np.array(model.highs, dtype=float)
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_ = np.array(model.starts)
    program.a_matrix_.index_ = np.array(model.rows)
    program.a_matrix_.value_ = np.array(model.values, dtype=float)
    program.integrality_ = [highspy.HighsVarType.kInteger] * size
    solver = highspy.Highs()
    for option, value in _OPTIONS.items():
        solver.setOptionValue(option, value)
    solver.setOptionValue("mip_max_nodes", nodes)
    solver.passModel(program)
    solver.run()
    information = solver.getInfo()
    if information.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None, INFINITY
    return [round(value) for value in solver.getSolution().col_value], information.mip_dual_bound


_OPTIONS = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 0,
    "mip_rel_gap": 0.0,
    "mip_abs_gap": 0.5,
    "mip_max_stall_nodes": 2_000,
}


def _read(program: Program, values: list[int], bound: float) -> Chosen:
    """Turn the columns' values back into pieces, strips and stock, in the order they were added."""
    column = iter(values)
    pieces = [[next(column) for _ in block.pieces] for block in program.blocks]
    full: list[tuple[int, Pattern]] = []
    roomy: list[tuple[int, Pattern]] = []
    for at, patterns in enumerate(program.patterns):
        for pattern in patterns:
            roomy.extend([(at, pattern)] * next(column))
        for pattern in patterns:
            if pattern.flush and program.cut_cost:
                full.extend([(at, pattern)] * next(column))
    opened = [
        (at, rip)
        for at, supply in enumerate(program.supplies)
        for rip in range(len(supply.rips))
        for _ in range(next(column))
    ]
    return Chosen(pieces=pieces, strips=full + roomy, opened=opened, bound=bound)
