"""The integer program as columns and rows, ready for a general solver.

Where all patterns are listed, only those that take no further piece are, and they may have room for more
pieces than are chosen: every piece costs a crosscut, and a strip that is filled exactly gives one back, which
rows of their own hold to the pieces chosen. Where they are not, each pattern costs its own crosscuts, and
strips that do not exist may be bought dear, and so may full ones beyond their number, so that prices show which
patterns are missing.
"""

from collections.abc import Sequence

import highspy
import numpy as np
from numpy.typing import NDArray

from service.planner.solver.courses.guided import Prices
from service.planner.solver.courses.pieces import PLACED
from service.planner.solver.courses.program import Chosen, Plan, Program
from service.planner.solver.courses.strips import Pattern

INFINITY = float(highspy.kHighsInf)
DEAR = 1_000
"""Price of a strip that does not exist, in multiples of what stock and joint cost [-]."""
Entries = Sequence[tuple[int, float]]


class Model:
    """Columns and rows, and what each column means.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    """

    def __init__(self, program: Program) -> None:
        self.program = program
        self.costs: list[float] = []
        self.uppers: list[float] = []
        self.totals: list[int] = []
        self._worth: list[float] = []
        self.starts: list[int] = [0]
        self.rows: list[int] = []
        self.values: list[float] = []
        self.row_lows: list[float] = []
        self.row_highs: list[float] = []
        self.flush_rows: dict[int, int] = {}
        for _ in program.slots:
            self._row(-INFINITY, 0.0)
        if program.cut_cost and program.listed:
            slots = {slot for ps in program.patterns for p in ps if p.flush for slot, _ in p.counts}
            self.flush_rows = {slot: self._row(-INFINITY, 0.0) for slot in sorted(slots)}
        self.full_row = self._row(0.0, 0.0)
        self._add_pieces()
        self.supply_rows = [self._row(-INFINITY, 0.0) for _ in program.strips]
        self.stock_rows = list(self.supply_rows)
        self._add_patterns()
        self._add_strips()
        self._add_stock()

    def _row(self, low: float, high: float) -> int:
        self.row_lows.append(low)
        self.row_highs.append(high)
        return len(self.row_lows) - 1

    def add_pattern(self, strip: int, pattern: Pattern) -> None:
        """Take up a pattern that was added to the relaxation."""
        self._pattern_column(strip, pattern)

    def pattern_of(self, entries: Entries) -> tuple[int, Pattern]:
        """Return the strip and pattern that the entries of a column stand for."""
        counts = {row: -round(value) for row, value in entries if row < len(self.program.slots)}
        others = [row for row, _ in entries if row not in counts]
        strip = next(at for at, row in enumerate(self.supply_rows) if row in others)
        return strip, Pattern(tuple(sorted(counts.items())), self.full_row in others)

    def _column(
        self, cost: float, rows: Sequence[int], values: Sequence[float], upper: float = INFINITY
    ) -> int:
        self.rows += rows
        self.values += values
        return self._end_column(cost, upper)

    def _end_column(self, cost: float, upper: float = INFINITY) -> int:
        """End a column whose entries were added; its number."""
        self.costs.append(cost)
        self.uppers.append(upper)
        self.starts.append(len(self.rows))
        return len(self.costs) - 1

    def _add_pieces(self) -> None:
        program = self.program
        count_row = self.count_row = self._row(0.0, 0.0)
        self.block_rows: list[int] = []
        fewest = 0
        for block in program.blocks:
            first = len(self.row_lows)
            self.block_rows.append(first)
            for total in block.totals:
                self._row(total, total)
            fewest += block.fewest
            own = [count_row]
            if block.way != PLACED and len(program.blocks) > 1:
                own.append(self._row(block.fewest, INFINITY))
            for piece in block.pieces:
                self._piece_column(program.slot_of[piece.kind], own, first, piece.rows)
        crosscut = program.cut_cost if program.listed else 0
        self.pieces_column = self._column(program.joint_cost + crosscut, [count_row], [-1.0])
        self.fewest = fewest
        self._total(self.pieces_column, program.joint_cost + crosscut)

    def _add_patterns(self) -> None:
        self.patterns: list[tuple[int, int, Pattern]] = []
        program = self.program
        for at, patterns in enumerate(program.patterns):
            for pattern in patterns:
                self._pattern_column(at, pattern)
        for at, patterns in enumerate(program.patterns):
            for pattern in patterns:
                if pattern.flush and self.flush_rows:
                    self._pattern_column(at, pattern, full=True)

    def _piece_column(self, slot: int, own: list[int], first: int, places: Entries) -> None:
        """Add a piece to its slot, the rows of its own block, and the rows of its places from the first one on."""
        rows, values = self.rows, self.values
        rows.append(slot)
        rows += own
        values += [1.0] * (1 + len(own))
        for row, value in places:
            rows.append(first + row)
            values.append(value)
        if slot in self.flush_rows:
            rows.append(self.flush_rows[slot])
            values.append(-1.0)
        self._end_column(0.0)

    def _pattern_column(self, strip: int, pattern: Pattern, *, full: bool = False) -> None:
        """Add a pattern; `full` gives a crosscut back."""
        cut, listed, rows, values = self.program.cut_cost, self.program.listed, self.rows, self.values
        self.patterns.append((len(self.costs), strip, pattern))
        rows.append(self.supply_rows[strip])
        values.append(1.0)
        for slot, number in pattern.counts:
            rows.append(slot)
            values.append(-number)
            if full:
                rows.append(self.flush_rows[slot])
                values.append(number)
        if cut and (full or (pattern.flush and not listed)):
            rows.append(self.full_row)
            values.append(1.0)
        self._end_column(-float(cut * full) if listed else float(cut * pattern.crosscuts))

    def _add_strips(self) -> None:
        """Count strips that several kinds of stock give, so that their number can be branched on."""
        supplies = self.program.supplies
        self.strip_columns: dict[int, int] = {}
        for strip, row in enumerate(self.supply_rows):
            prices = [
                [supply.price / n for rip in supply.rips for at, n in rip if at == strip]
                for supply in supplies
            ]
            if sum(map(bool, prices)) > 1:
                self.stock_rows[strip] = self._row(-INFINITY, 0.0)
                column = self._column(0.0, [row, self.stock_rows[strip]], [-1.0, 1.0])
                self.strip_columns[strip] = column
                self._total(column, min(map(min, filter(None, prices))))

    def _total(self, column: int, worth: float) -> None:
        """Have a column branched on before others; one of it is worth so much, about."""
        self.totals.append(column)
        self._worth.append(max(1.0, worth))

    def _add_stock(self) -> None:
        self.rips: list[tuple[int, int, int]] = []
        for at, supply in enumerate(self.program.supplies):
            upper = INFINITY if supply.count is None else float(supply.count)
            whole = [] if len(supply.rips) == 1 else [self._row(0.0, 0.0)]
            if whole:
                self._total(self._column(supply.price, whole, [-1.0], upper), supply.price)
            for rip, yields in enumerate(supply.rips):
                rows = [*whole, *(self.stock_rows[strip] for strip, _ in yields)]
                values = [*(1.0 for _ in whole), *(-float(n) for _, n in yields)]
                price, most = (0.0, INFINITY) if whole else (supply.price, upper)
                self.rips.append((self._column(price, rows, values, most), at, rip))
            if not whole:
                self._total(self.rips[-1][0], supply.price)
        self.full_column = None
        if self.program.cut_cost:
            self.full_column = self._column(0.0, [self.full_row], [-1.0])
            self._total(self.full_column, self.program.cut_cost)
        dear = DEAR * (self.program.joint_cost + max(supply.price for supply in self.program.supplies) + 1)
        rescued = [] if self.program.listed else [*self.supply_rows, self.full_row]
        self.rescue = [self._column(dear, [row], [-1.0]) for row in rescued]

    @property
    def most(self) -> int:
        """How much all columns of a plan without waste can add up to: pieces, their total, strips, stock and its total [-]."""
        return 6 * sum(block.group.size * block.group.section.last for block in self.program.blocks)

    def worth(self) -> NDArray[np.float64]:
        """Return what one of every column is worth, about [minor units of money]."""
        worth = np.full(len(self.costs), float(self.program.joint_cost + 1))
        worth[self.totals] = self._worth
        return worth

    def lows(self) -> list[float]:
        """Return the least value of every column [-]."""
        lows = [0.0] * len(self.costs)
        lows[self.pieces_column] = float(self.fewest)
        return lows

    def prices(self, duals: Sequence[float]) -> Prices:
        """Return what pieces and strips are worth at the duals of the rows."""
        program, crosscut = self.program, self.program.cut_cost if self.program.listed else 0
        contents = [-duals[slot] for slot in range(len(program.slots))]
        pieces = [program.joint_cost + crosscut + worth for worth in contents]
        for slot, row in self.flush_rows.items():
            pieces[slot] += duals[row]
        return Prices(pieces=pieces, contents=contents, strips=[-duals[row] for row in self.supply_rows])

    def build(self, *, integer: bool) -> highspy.HighsLp:
        """Return the model in the solver's own form."""
        size = len(self.costs)
        program = highspy.HighsLp()
        program.num_col_, program.num_row_ = size, len(self.row_lows)
        program.col_cost_ = np.array(self.costs, dtype=float)
        program.col_lower_ = np.array(self.lows())
        program.col_upper_ = np.array(self.uppers)
        program.row_lower_ = np.array(self.row_lows, dtype=float)
        program.row_upper_ = np.array(self.row_highs, dtype=float)
        program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        program.a_matrix_.start_ = np.array(self.starts)
        program.a_matrix_.index_ = np.array(self.rows)
        program.a_matrix_.value_ = np.array(self.values, dtype=float)
        if integer:
            uppers = list(self.uppers)
            for column in self.rescue:
                uppers[column] = 0.0
            program.col_upper_ = np.array(uppers)
            program.integrality_ = [highspy.HighsVarType.kInteger] * size
        return program

    def plan(self, values: Sequence[int]) -> Plan:
        """Return the plan that the columns' values stand for, and its cost."""
        cost = sum([round(cost) * value for cost, value in zip(self.costs, values, strict=True) if value])
        return Plan(chosen=self.read(values), cost=cost)

    def read(self, values: Sequence[int]) -> Chosen:
        """Turn the columns' values back into pieces, strips and stock."""
        pieces, column = [], 0
        for block in self.program.blocks:
            pieces.append(list(values[column : column + len(block.pieces)]))
            column += len(block.pieces)
        cut = [entry for entry in self.patterns if values[entry[0]]]
        cut.sort(key=lambda entry: self.costs[entry[0]])
        strips = [(at, pattern) for column, at, pattern in cut for _ in range(values[column])]
        opened = [(at, rip) for column, at, rip in self.rips for _ in range(values[column])]
        return Chosen(pieces=pieces, strips=strips, opened=opened)
