"""The integer program of a material as rows and columns, and what each column means.

Where all patterns are listed, only those that take no further piece are, and they may have room for more
pieces than are chosen: every piece costs a crosscut, and a strip that is filled exactly gives one back, which
rows of their own hold to the pieces chosen. Where they are not, each pattern costs its own crosscuts, and
strips that do not exist may be bought dear, and so may full ones beyond their number, so that prices show which
patterns are missing.
"""

from collections.abc import Sequence
from math import inf

import numpy as np
from numpy.typing import NDArray

from service.planner.solver.courses.pieces import PLACED
from service.planner.solver.courses.price_plan import Prices
from service.planner.solver.courses.program import Chosen, Plan, Program
from service.planner.solver.courses.strips import Pattern
from service.planner.solver.lp.model import Model

DEAR = 1_000
"""Price of a strip that does not exist, in multiples of what stock and joint cost [-]."""
Entries = Sequence[tuple[int, float]]


class Formulation:
    """Columns and rows, and what each column means.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    """

    def __init__(self, program: Program) -> None:
        self.program = program
        self.lp = Model()
        self.totals: list[int] = []
        self._worth: list[float] = []
        self.flush_rows: dict[int, int] = {}
        for _ in program.slots:
            self.lp.row(-inf, 0.0)
        if program.cut_cost and program.listed:
            slots = {slot for ps in program.patterns for p in ps if p.flush for slot, _ in p.counts}
            self.flush_rows = {slot: self.lp.row(-inf, 0.0) for slot in sorted(slots)}
        self.full_row = self.lp.row(0.0, 0.0)
        self._add_pieces()
        self.supply_rows = [self.lp.row(-inf, 0.0) for _ in program.strips]
        self.stock_rows = list(self.supply_rows)
        self._add_patterns()
        self._add_strips()
        self._add_stock()

    def pattern_of(self, entries: Entries) -> tuple[int, Pattern]:
        """Return the strip and pattern that the entries of a column stand for."""
        counts = {row: -round(value) for row, value in entries if row < len(self.program.slots)}
        others = [row for row, _ in entries if row not in counts]
        strip = next(at for at, row in enumerate(self.supply_rows) if row in others)
        return strip, Pattern(tuple(sorted(counts.items())), self.full_row in others)

    def _add_pieces(self) -> None:
        program = self.program
        count_row = self.count_row = self.lp.row(0.0, 0.0)
        self.block_rows: list[int] = []
        fewest = 0
        for block in program.blocks:
            first = len(self.lp.row_lows)
            self.block_rows.append(first)
            for total in block.totals:
                self.lp.row(total, total)
            fewest += block.fewest
            own = [count_row]
            if block.way != PLACED and len(program.blocks) > 1:
                own.append(self.lp.row(block.fewest, inf))
            for piece in block.pieces:
                self._piece_column(program.slot_of[piece.kind], own, first, piece.rows)
        crosscut = program.cut_cost if program.listed else 0
        self.pieces_column = self.lp.column(program.joint_cost + crosscut, [count_row], [-1.0])
        self.lp.lows[self.pieces_column] = float(fewest)
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
        rows, values = self.lp.rows, self.lp.values
        rows.append(slot)
        rows += own
        values += [1.0] * (1 + len(own))
        for row, value in places:
            rows.append(first + row)
            values.append(value)
        if slot in self.flush_rows:
            rows.append(self.flush_rows[slot])
            values.append(-1.0)
        self.lp.end_column(0.0)

    def _pattern_column(self, strip: int, pattern: Pattern, *, full: bool = False) -> None:
        """Add a pattern; `full` gives a crosscut back."""
        cut, listed, rows, values = self.program.cut_cost, self.program.listed, self.lp.rows, self.lp.values
        self.patterns.append((len(self.lp.costs), strip, pattern))
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
        self.lp.end_column(-float(cut * full) if listed else float(cut * pattern.crosscuts))

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
                self.stock_rows[strip] = self.lp.row(-inf, 0.0)
                column = self.lp.column(0.0, [row, self.stock_rows[strip]], [-1.0, 1.0])
                self.strip_columns[strip] = column
                self._total(column, min(map(min, filter(None, prices))))

    def _total(self, column: int, worth: float) -> None:
        """Have a column branched on before others; one of it is worth so much, about."""
        self.totals.append(column)
        self._worth.append(max(1.0, worth))

    def _add_stock(self) -> None:
        self.rips: list[tuple[int, int, int]] = []
        for at, supply in enumerate(self.program.supplies):
            upper = inf if supply.count is None else float(supply.count)
            whole = [] if len(supply.rips) == 1 else [self.lp.row(0.0, 0.0)]
            if whole:
                self._total(self.lp.column(supply.price, whole, [-1.0], high=upper), supply.price)
            for rip, yields in enumerate(supply.rips):
                rows = [*whole, *(self.stock_rows[strip] for strip, _ in yields)]
                values = [*(1.0 for _ in whole), *(-float(n) for _, n in yields)]
                price, most = (0.0, inf) if whole else (supply.price, upper)
                self.rips.append((self.lp.column(price, rows, values, high=most), at, rip))
            if not whole:
                self._total(self.rips[-1][0], supply.price)
        self.full_column = None
        if self.program.cut_cost:
            self.full_column = self.lp.column(0.0, [self.full_row], [-1.0])
            self._total(self.full_column, self.program.cut_cost)
        dear = DEAR * (self.program.joint_cost + max(supply.price for supply in self.program.supplies) + 1)
        rescued = [] if self.program.listed else [*self.supply_rows, self.full_row]
        self.rescue = [self.lp.column(dear, [row], [-1.0]) for row in rescued]

    @property
    def most(self) -> int:
        """How much all columns of a plan without waste can add up to: pieces, their total, strips, stock and its total [-]."""
        return 6 * sum(block.group.size * block.group.section.last for block in self.program.blocks)

    def worth(self) -> NDArray[np.float64]:
        """Return what one of every column is worth, about [minor units of money]."""
        worth = np.full(len(self.lp.costs), float(self.program.joint_cost + 1))
        worth[self.totals] = self._worth
        return worth

    def prices(self, duals: Sequence[float]) -> Prices:
        """Return what pieces and strips are worth at the duals of the rows."""
        program, crosscut = self.program, self.program.cut_cost if self.program.listed else 0
        contents = [-duals[slot] for slot in range(len(program.slots))]
        pieces = [program.joint_cost + crosscut + worth for worth in contents]
        for slot, row in self.flush_rows.items():
            pieces[slot] += duals[row]
        return Prices(pieces=pieces, contents=contents, strips=[-duals[row] for row in self.supply_rows])

    def plan(self, values: Sequence[int]) -> Plan:
        """Return the plan that the columns' values stand for, and its cost."""
        cost = sum([round(cost) * value for cost, value in zip(self.lp.costs, values, strict=True) if value])
        return Plan(chosen=self.read(values), cost=cost)

    def read(self, values: Sequence[int]) -> Chosen:
        """Turn the columns' values back into pieces, strips and stock."""
        pieces, column = [], 0
        for block in self.program.blocks:
            pieces.append(list(values[column : column + len(block.pieces)]))
            column += len(block.pieces)
        cut = [entry for entry in self.patterns if values[entry[0]]]
        cut.sort(key=lambda entry: self.lp.costs[entry[0]])
        strips = [(at, pattern) for column, at, pattern in cut for _ in range(values[column])]
        opened = [(at, rip) for column, at, rip in self.rips for _ in range(values[column])]
        return Chosen(pieces=pieces, strips=strips, opened=opened)
