"""The pattern problem with fractions allowed: columns found by pricing, and a lower bound that is exact.

Rules of this file
------------------
- Floating point only proposes prices; a bound is computed from integer prices and integer caps in exact rationals.
- Effort is limited by rounds and by work; whatever they reach, the bound is true.
- One thread and a fixed seed: the same question takes the same steps.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import floor
from typing import Any

import highspy
import numpy as np
import numpy.typing as npt
from highspy._core import _Highs as Solver

from service.planner.solver.cuts.cut_model import Dual, Model, Scope, safe_dual
from service.planner.solver.cuts.knapsack import Integers
from service.planner.solver.cuts.patterns import Column, Pricing
from service.planner.solver.cuts.sheets import best_pattern

Reals = npt.NDArray[np.float64]

PRICE_SCALE = 2**36
"""Integer value that the dearest piece is scaled to when prices are made exact [-]"""
TOLERANCE = 1e-7
"""What the linear programme may miss by, relative to the dearest stock [-]"""
SPREAD = 6
"""Patterns without common pieces that one round of pricing takes in for each stock [-]"""
STAND_IN = 10.0
"""Price of leaving a piece out, in prices of the dearest stock [-]"""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """The pattern problem with fractions allowed, solved as far as the rounds went."""

    value: float
    """Cost by the linear programme; not a bound [minor units]"""
    repeats: Reals
    """How often each pattern of the pool is used [-]"""
    dual: Dual
    """The best proof met on the way"""


def quiet_solver() -> Any:  # noqa: ANN401 - the package declares only half of its methods
    """Make a linear programming solver that repeats itself exactly and says nothing."""
    # the core class: the package's own wrapper greets on the standard output
    solver: Any = Solver()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 1)
    return solver


class Master:
    """Patterns found so far and the linear programme over them.

    Parameters
    ----------
    model
        The problem.
    work
        Pieces that may be tried in strips before rounds end early [-].
    """

    def __init__(self, model: Model, work: int = 0) -> None:
        self.model = model
        self.unit = max((stock.price for stock in model.bins), default=0) or 1
        self.pricings: dict[tuple[int, int], Pricing] = {}
        for stock in model.bins:
            if (stock.length, stock.width) not in self.pricings:
                self.pricings[stock.length, stock.width] = Pricing(model.shape, stock.length, stock.width)
        self.pool: list[tuple[int, Column]] = []
        self._known: set[tuple[int, Column]] = set()
        self._matrix = np.zeros((64, len(model.demand)), dtype=np.int64)
        self.work = work
        self._told = 0

    @cached_property
    def solver(self) -> Any:  # noqa: ANN401 - the package declares only half of its methods
        """The linear programme; many a problem is answered without."""
        solver = quiet_solver()
        for _ in range(len(self.model.demand) + len(self.model.bins)):
            solver.addRow(0.0, highspy.kHighsInf, 0, [], [])
        for piece in range(len(self.model.demand)):  # so that every scope has an answer, if a dear one
            _add_column(solver, STAND_IN, [(piece, 1)])
        return solver

    @property
    def left(self) -> int:
        """Work that is left [-]."""
        return self.work - sum(pricing.spent for pricing in self.pricings.values())

    @property
    def matrix(self) -> Integers:
        """Pieces that each pattern of the pool yields [-]."""
        return self._matrix[: len(self.pool)]

    def pricing(self, stock: int) -> Pricing:
        """Pricing of a stock's size."""
        return self.pricings[self.model.bins[stock].length, self.model.bins[stock].width]

    def add(self, stock: int, column: Column) -> bool:
        """Add a pattern to the pool; says whether it is new."""
        key = (stock, column)
        if key in self._known or not any(column.counts):
            return False
        self._known.add(key)
        if len(self.pool) == len(self._matrix):
            self._matrix = np.concatenate([self._matrix, np.zeros_like(self._matrix)])
        self._matrix[len(self.pool)] = column.counts
        self.pool.append(key)
        return True

    def _tell(self) -> None:
        """Tell the linear programme of the patterns that were added to the pool."""
        for stock, column in self.pool[self._told :]:
            rows = [(row, count) for row, count in enumerate(column.counts) if count]
            price = self.model.bins[stock].price / self.unit
            _add_column(self.solver, price, [*rows, (len(column.counts) + stock, 1)])
        self._told = len(self.pool)

    def _restrict(self, scope: Scope) -> None:
        """Ask for a scope; patterns that would yield too many of a piece are set aside."""
        self._tell()
        infinity = highspy.kHighsInf
        wanted = np.array(scope.demand, dtype=np.int64)
        tops = [infinity if count is None else count for count in scope.most]
        low = np.array([*scope.demand, *scope.least], dtype=np.float64)
        high = np.array([infinity] * len(wanted) + tops, dtype=np.float64)
        self.solver.changeRowsBounds(len(low), np.arange(len(low), dtype=np.int32), low, high)
        fits = (self.matrix <= wanted).all(axis=1)
        columns = np.arange(len(wanted), len(wanted) + len(self.pool), dtype=np.int32)
        self.solver.changeColsBounds(
            len(columns), columns, np.zeros(len(columns)), np.where(fits, infinity, 0.0)
        )

    def relax(self, scope: Scope, rounds: int, enough: int | None, nodes: int = 0) -> Relaxation:
        """Solve the pattern problem with fractions allowed.

        Parameters
        ----------
        scope
            What is wanted, and the stock.
        rounds
            Rounds of pricing at most [-].
        enough
            Stop as soon as the bound proves this total or cannot be rounded up further; None to go on to the end
            [minor units].
        nodes
            Strips tried for a sheet pattern that cuts no piece too often, once the quick ones no longer help [-].
        """
        self._restrict(scope)
        best: Dual | None = None
        while True:
            self._tell()
            self.solver.run()
            solution = self.solver.getSolution()
            value = self.solver.getObjectiveValue() * self.unit
            duals = np.array(solution.row_dual)
            dual, fresh = self._price(scope, duals, 0)
            if not fresh and nodes:
                dual, fresh = self._price(scope, duals, nodes)
            if best is None or dual.bound > best.bound:
                best = dual
            rounds -= 1
            settled = enough is not None and self.model.next_total(best.bound) >= min(
                enough, value - TOLERANCE * self.unit
            )
            if not fresh or rounds <= 0 or self.left <= 0 or settled:
                return Relaxation(value, np.array(solution.col_value[len(scope.demand) :]), best)

    def _price(self, scope: Scope, duals: Reals, nodes: int) -> tuple[Dual, bool]:
        """Price every size of stock: a proof, and whether patterns were found that improve the pool."""
        raw = np.maximum(duals[: len(scope.demand)], 0.0)
        top = float(raw.max(initial=0.0))
        values = [floor(price / top * PRICE_SCALE) for price in raw] if top > 0 else [0] * len(raw)
        found = {
            size: best_pattern(pricing, values, scope.demand, nodes if pricing.width else 0)
            for size, pricing in self.pricings.items()
        }
        caps = [found[stock.length, stock.width][0] for stock in self.model.bins]
        fresh = False
        for stock, item in enumerate(self.model.bins):
            price = item.price / self.unit - duals[len(raw) + stock] + TOLERANCE
            for column in self._spread(stock, found[item.length, item.width][1], values, scope):
                if raw @ np.array(column.counts, dtype=np.float64) <= price:
                    break
                fresh |= self.add(stock, column)
        return safe_dual(self.model, scope, values, caps), fresh

    def _spread(self, stock: int, first: Column, values: Sequence[int], scope: Scope) -> Iterator[Column]:
        """Valuable patterns without common pieces, as many as one round takes in."""
        column, left = first, scope.demand
        for _ in range(SPREAD if scope.most[stock] != 0 else 0):
            yield column
            left = tuple(0 if used else rest for rest, used in zip(left, column.counts, strict=True))
            _, column = best_pattern(self.pricing(stock), values, left, 0)


def _add_column(solver: Any, price: float, entries: Sequence[tuple[int, int]]) -> None:  # noqa: ANN401 - as above
    """Add a column to a linear programme."""
    rows, counts = zip(*entries, strict=True)
    solver.addCol(
        price,
        0.0,
        highspy.kHighsInf,
        len(rows),
        np.array(rows, dtype=np.int32),
        np.array(counts, dtype=np.float64),
    )
