"""The pattern problem with fractions allowed: columns found by pricing, and a lower bound that is exact.

Rules of this file
------------------
- Floating point only proposes prices; a bound is computed from integer prices and integer caps in exact rationals.
- Effort is limited by rounds; whatever the rounds reach, the bound is true.
- One thread and a fixed seed: the same question takes the same steps.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import floor, gcd
from typing import Any

import highspy
import numpy as np
import numpy.typing as npt
from highspy._core import _Highs as Solver

from service.planner.knapsack import Integers
from service.planner.patterns import Column, Pricing, Shape
from service.planner.sheets import best_pattern

Reals = npt.NDArray[np.float64]

PRICE_SCALE = 2**36
"""Integer value that the dearest piece is scaled to when prices are made exact [-]"""
TOLERANCE = 1e-7
"""What the linear programme may miss by, relative to the dearest stock [-]"""
SPREAD = 6
"""Further patterns without shared pieces looked for in each pricing [-]"""
TOTALS_LIMIT = 2**20
"""Largest total, in steps of the common divisor, for which attainable totals are listed [-]"""


@dataclass(frozen=True, slots=True)
class Bin:
    """One kind of stock, kerf included."""

    length: int
    """Length plus kerf [nm]"""
    width: int
    """Width plus kerf; 0 for sticks [nm]"""
    price: int
    """Price of one [minor units]"""
    count: int | None
    """How many there are; None when there is no limit [-]"""


@dataclass(frozen=True, slots=True)
class Model:
    """The problem as the solver sees it: sizes merged, kerf inside them."""

    shape: Shape
    """Pieces"""
    demand: tuple[int, ...]
    """How many of each piece [-]"""
    bins: tuple[Bin, ...]
    """Stock"""

    def next_total(self, bound: Fraction) -> int:
        """Smallest total price at or above a bound that stock prices can add up to [minor units]."""
        step = gcd(*(stock.price for stock in self.bins)) or 1
        start = -((-bound.numerator) // (bound.denominator * step))
        if start > TOTALS_LIMIT:
            return start * step
        return next_sum([stock.price // step for stock in self.bins if stock.price], start) * step


def next_sum(parts: Sequence[int], start: int) -> int:
    """Smallest sum of any number of the parts that is at least `start` [-]."""
    if not parts or start <= 0:
        return max(start, 0)
    top = start + min(parts)
    sums = 1
    for part in parts:
        step = part
        while step <= top:
            sums |= (sums << step) & ((1 << (top + 1)) - 1)
            step *= 2
    above = sums >> start
    return start + (above & -above).bit_length() - 1


@dataclass(frozen=True, slots=True)
class Dual:
    """A proof: integer prices of the pieces and how they scale."""

    prices: tuple[int, ...]
    """Price of each piece, none below zero [-]"""
    caps: tuple[int, ...]
    """Highest worth of a pattern of each stock at those prices [-]"""
    scale: Fraction
    """Money per unit of price [minor units]"""
    bound: Fraction
    """What the demand costs at least [minor units]"""


def safe_dual(
    model: Model,
    demand: Sequence[int],
    counts: Sequence[int | None],
    prices: Sequence[int],
    caps: Sequence[int],
) -> Dual:
    """Best exact bound that prices and caps prove.

    Notes
    -----
    For any scale t the demand costs at least t x sum(price x demand) less, for each limited stock, its count times
    what a pattern is worth above the stock's price; without a limit a pattern may not be worth more than its stock.
    The bound is concave and piecewise linear in t, so that it is highest where a pattern's worth meets a price.

    References
    ----------
    Farley, A note on bounding a class of linear programming problems, including cutting stock problems,
    Operations Research 38 (1990) 922-923; the limited counts are the usual Lagrangean term.
    """
    worth = sum(price * count for price, count in zip(prices, demand, strict=True))
    kinds = [
        (stock.price, cap, count)
        for stock, cap, count in zip(model.bins, caps, counts, strict=True)
        if cap > 0
    ]
    ceiling = min((Fraction(price, cap) for price, cap, count in kinds if count is None), default=None)

    def bound(scale: Fraction) -> Fraction:
        rent = sum(
            (max(Fraction(0), scale * cap - price) * count for price, cap, count in kinds if count),
            Fraction(0),
        )
        return scale * worth - rent

    scales = {Fraction(price, cap) for price, cap, _ in kinds}
    scale = max(
        (scale for scale in scales if ceiling is None or scale <= ceiling), key=bound, default=Fraction(0)
    )
    return Dual(tuple(prices), tuple(caps), scale, bound(scale))


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
    """

    def __init__(self, model: Model) -> None:
        self.model = model
        self.unit = max((stock.price for stock in model.bins), default=0) or 1
        self.pricings: dict[tuple[int, int], Pricing] = {}
        for stock in model.bins:
            if (stock.length, stock.width) not in self.pricings:
                self.pricings[stock.length, stock.width] = Pricing(model.shape, stock.length, stock.width)
        self.pool: list[tuple[int, Column]] = []
        self._known: set[tuple[int, Column]] = set()
        self._matrix = np.zeros((64, len(model.demand)), dtype=np.int64)
        self.solver = quiet_solver()
        self.rounds = 0
        infinity = highspy.kHighsInf
        for count in model.demand:
            self.solver.addRow(count, infinity, 0, [], [])
        for stock in model.bins:
            self.solver.addRow(-infinity, infinity if stock.count is None else stock.count, 0, [], [])

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
        rows = [row for row, count in enumerate(column.counts) if count]
        self.solver.addCol(
            self.model.bins[stock].price / self.unit,
            0.0,
            highspy.kHighsInf,
            len(rows) + 1,
            np.array([*rows, len(column.counts) + stock], dtype=np.int32),
            np.array([*(column.counts[row] for row in rows), 1], dtype=np.float64),
        )
        return True

    def restrict(self, demand: Sequence[int], counts: Sequence[int | None]) -> None:
        """Ask for another demand and stock; patterns that would yield too many of a piece are set aside."""
        infinity = highspy.kHighsInf
        wanted = np.array(demand, dtype=np.int64)
        rows = np.arange(len(wanted) + len(counts), dtype=np.int32)
        tops = np.array([infinity if count is None else count for count in counts], dtype=np.float64)
        self.solver.changeRowsBounds(
            len(rows),
            rows,
            np.concatenate([wanted.astype(np.float64), np.full(len(counts), -infinity)]),
            np.concatenate([np.full(len(wanted), infinity), tops]),
        )
        fits = (self.matrix <= wanted).all(axis=1)
        columns = np.arange(len(self.pool), dtype=np.int32)
        self.solver.changeColsBounds(
            len(columns), columns, np.zeros(len(columns)), np.where(fits, infinity, 0.0)
        )

    def relax(
        self,
        demand: Sequence[int],
        counts: Sequence[int | None],
        rounds: int,
        enough: int | None,
        nodes: int = 0,
    ) -> Relaxation | None:
        """Solve the pattern problem with fractions allowed; None when the pool cannot meet the demand.

        Parameters
        ----------
        demand
            How many of each piece [-].
        counts
            How many of each stock are left; None without limit [-].
        rounds
            Rounds of pricing at most [-].
        enough
            Stop as soon as the bound proves this total or cannot be rounded up further; None to go on to the end
            [minor units].
        nodes
            Strips tried for a sheet pattern that cuts no piece too often, once the quick ones no longer help [-].
        """
        self.restrict(demand, counts)
        best: Dual | None = None
        while True:
            self.solver.run()
            self.rounds += 1
            if self.solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
                return None
            solution = self.solver.getSolution()
            value = self.solver.getObjectiveValue() * self.unit
            raw = np.maximum(np.array(solution.row_dual[: len(demand)]), 0.0)
            dual, fresh = self._price(raw, demand, counts, nodes=0)
            if not fresh and nodes:
                dual, fresh = self._price(raw, demand, counts, nodes)
            if best is None or dual.bound > best.bound:
                best = dual
            rounds -= 1
            settled = enough is not None and self.model.next_total(best.bound) >= min(
                enough, value - TOLERANCE * self.unit
            )
            if not fresh or rounds <= 0 or settled:
                return Relaxation(value, np.array(solution.col_value[: len(self.pool)]), best)

    def _price(
        self, raw: Reals, demand: Sequence[int], counts: Sequence[int | None], nodes: int
    ) -> tuple[Dual, bool]:
        """Price every size of stock: a proof, and whether patterns were found that improve the pool."""
        top = float(raw.max(initial=0.0))
        values = [floor(price / top * PRICE_SCALE) for price in raw] if top > 0 else [0] * len(raw)
        found = {
            size: best_pattern(pricing, values, demand, nodes if pricing.width else 0)
            for size, pricing in self.pricings.items()
        }
        caps = [found[stock.length, stock.width][0] for stock in self.model.bins]
        dual = safe_dual(self.model, demand, counts, values, caps)
        rents = self.solver.getSolution().row_dual[len(demand) :]
        fresh = False
        for stock, item in enumerate(self.model.bins):
            if counts[stock] == 0:
                continue
            column = found[item.length, item.width][1]
            price = item.price / self.unit - rents[stock] + TOLERANCE
            left = list(demand)
            for _ in range(SPREAD):
                if raw @ np.array(column.counts, dtype=np.float64) <= price:
                    break
                fresh |= self.add(stock, column)
                left = [0 if used else rest for rest, used in zip(left, column.counts, strict=True)]
                _, column = best_pattern(self.pricing(stock), values, left, 0)
        return dual, fresh
