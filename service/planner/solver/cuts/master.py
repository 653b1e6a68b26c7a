"""The pattern problem with fractions allowed: columns found by pricing, and a lower bound that is exact.

Rules of this file
------------------
- Floating point only proposes prices; a bound is computed from integer prices and integer caps in exact rationals.
- Effort is limited by rounds and by units; whatever they reach, the bound is true.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import floor, inf

import numpy as np
import numpy.typing as npt

from service.planner.solver.compiling import Integers
from service.planner.solver.cuts.cut_model import CutModel, Dual, Scope, safe_dual
from service.planner.solver.cuts.patterns import Column, Pricing
from service.planner.solver.cuts.sheets import best_pattern
from service.planner.solver.effort import Effort
from service.planner.solver.lp.model import Model
from service.planner.solver.lp.relaxation import Relaxation
from service.planner.solver.lp.start import TRIFLE

Reals = npt.NDArray[np.float64]

PRICE_SCALE = 2**36
"""Integer value that the dearest piece is scaled to when prices are made exact [-]"""
TOLERANCE = 1e-7
"""What the linear programme may miss by, relative to the dearest stock [-]"""
SPREAD = 6
"""Patterns without common pieces that one round of pricing takes in for each stock [-]"""
SCALE = 1_000.0
"""Cost of the dearest stock in the linear programme [-]"""
STAND_IN = 10.0 * SCALE
"""Cost of an artificial column, which stands for a piece left out or stock not opened [-]"""


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The pattern problem with fractions allowed, solved as far as the rounds went."""

    value: float
    """Cost by the linear programme; not a bound [minor units]"""
    repeats: Reals
    """How often each pattern of the pool is used [-]"""
    dual: Dual
    """The best proof met on the way"""


class Master:
    """Patterns found so far and the linear programme over them.

    Parameters
    ----------
    model
        The problem.
    effort
        Counter of units.
    """

    def __init__(self, model: CutModel, effort: Effort) -> None:
        self.model, self.effort = model, effort
        self.unit = max((stock.price for stock in model.bins), default=0) or 1
        self.pricings: dict[tuple[int, int], Pricing] = {}
        for stock in model.bins:
            if (stock.length, stock.width) not in self.pricings:
                self.pricings[stock.length, stock.width] = Pricing(
                    model.shape, stock.length, stock.width, effort
                )
        self.pool: list[tuple[int, Column]] = []
        self._known: set[tuple[int, Column]] = set()
        self._matrix = np.zeros((64, len(model.demand)), dtype=np.int64)
        self._told = 0

    @cached_property
    def linear(self) -> Relaxation:
        """The linear programme; many a problem is answered without."""
        program = Model()
        for _ in range(len(self.model.demand) + len(self.model.bins)):
            program.column(STAND_IN, [program.row(0.0)], [1.0])
        return Relaxation(program, self.effort, 0.0, spare=128)

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
            rows = [row for row, count in enumerate(column.counts) if count]
            price = self.model.bins[stock].price / self.unit * SCALE
            counts = [float(column.counts[row]) for row in rows]
            self.linear.add_column(price, [*rows, len(column.counts) + stock], [*counts, 1.0])
        self._told = len(self.pool)

    def _restrict(self, scope: Scope) -> None:
        """Ask for a scope; patterns that would yield too many of a piece are set aside."""
        self._tell()
        wanted = np.array(scope.demand, dtype=np.int64)
        low = np.array([*scope.demand, *scope.least], dtype=np.float64)
        tops = [inf if count is None else count for count in scope.most]
        high = np.array([*[inf] * len(wanted), *tops], dtype=np.float64)
        fits = np.where((self.matrix <= wanted).all(axis=1), inf, 0.0)
        self.linear.restrict(low, high, np.concatenate([np.full(len(low), inf), fits]))

    def relax(self, scope: Scope, rounds: int, enough: int | None, nodes: int = 0) -> Relaxed:
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
            self.linear.solve_again()
            values = self.linear.values
            value = (self.linear.cost - 2.0 * TRIFLE * values.sum()) / SCALE * self.unit
            duals = self.linear.duals / SCALE
            dual, fresh = self._price(scope, duals, 0)
            if not fresh and nodes:
                dual, fresh = self._price(scope, duals, nodes)
            if best is None or dual.bound > best.bound:
                best = dual
            rounds -= 1
            settled = enough is not None and self.model.next_total(best.bound) >= min(
                enough, value - TOLERANCE * self.unit
            )
            if not fresh or rounds <= 0 or self.effort.ended or settled:
                return Relaxed(value, values[len(duals) :], best)

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
