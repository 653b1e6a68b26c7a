"""The cutting problem as the solver sees it, and bounds on its cost in exact arithmetic.

Rules of this file
------------------
- Sizes are merged and carry the kerf; prices and bounds are exact.
- A bound is computed from integer prices and integer caps, wherever these came from; no floating point enters it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import gcd

from service.planner.solver.cuts.patterns import Shape

TOTALS_LIMIT = 2**20
"""Largest total, in steps of the common divisor, for which attainable totals are listed [-]"""
FAR = 1000
"""How far beyond the last meeting of worth and price a bound is tried when all stock is limited [-]"""


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


@dataclass(frozen=True)
class CutModel:
    """The problem as the solver sees it: sizes merged, kerf inside them."""

    shape: Shape
    """Pieces"""
    demand: tuple[int, ...]
    """How many of each piece [-]"""
    bins: tuple[Bin, ...]
    """Stock"""

    @property
    def whole(self) -> "Scope":
        """All of the problem."""
        return Scope(self.demand, (0,) * len(self.bins), tuple(item.count for item in self.bins))

    @cached_property
    def by_price(self) -> list[int]:
        """The stock, cheapest for its size first [-]."""
        sizes = [item.length * max(1, item.width) for item in self.bins]
        return sorted(range(len(self.bins)), key=lambda at: (self.bins[at].price / sizes[at], -sizes[at], at))

    @cached_property
    def step(self) -> int:
        """Total prices differ by multiples of this [minor units]."""
        return gcd(*(stock.price for stock in self.bins)) or 1

    @cached_property
    def _totals(self) -> dict[int, int]:
        """Which totals prices can add up to, in steps: a bit each, by how many bits are known."""
        return {}

    def next_total(self, bound: Fraction) -> int:
        """Smallest total price at or above a bound that stock prices can add up to [minor units]."""
        start = -((-bound.numerator) // (bound.denominator * self.step))
        parts = {stock.price // self.step for stock in self.bins if stock.price}
        if start > TOTALS_LIMIT or start <= 0 or not parts:
            return max(start, 0) * self.step
        top = 1 << (start + min(parts)).bit_length()
        if top not in self._totals:
            self._totals[top] = sums_up_to(parts, top)
        above = self._totals[top] >> start
        return (start + (above & -above).bit_length() - 1) * self.step


def sums_up_to(parts: Iterable[int], top: int) -> int:
    """List the sums of any number of the parts up to a number, a bit each."""
    sums = 1
    for part in parts:
        step = part
        while step <= top:
            sums |= (sums << step) & ((1 << (top + 1)) - 1)
            step *= 2
    return sums


@dataclass(frozen=True, slots=True)
class Scope:
    """A part of the problem: what is wanted, and how much of each stock may and must be opened."""

    demand: tuple[int, ...]
    """How many of each piece [-]"""
    least: tuple[int, ...]
    """How many of each stock must be opened [-]"""
    most: tuple[int | None, ...]
    """How many of each stock may be opened; None when there is no limit [-]"""


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
    """What the scope costs at least [minor units]"""


def safe_dual(model: CutModel, scope: Scope, prices: Sequence[int], caps: Sequence[int]) -> Dual:
    """Best exact bound that prices and caps prove.

    Notes
    -----
    For any scale t >= 0 a scope costs at least t x sum(price x demand) + sum over stock of (price - t x cap) x use, the
    use being the least where a pattern is worth no more than its stock and the most where it is worth more; without
    a limit on the use it may not be worth more. The bound is concave and piecewise linear in t, so that it is highest
    where a pattern's worth meets its price.

    References
    ----------
    Farley, A note on bounding a class of linear programming problems, including cutting stock problems,
    Operations Research 38 (1990) 922-923; the limits on the use are the usual Lagrangean terms.
    """
    worth = sum(price * count for price, count in zip(prices, scope.demand, strict=True))
    kinds = list(zip(model.bins, caps, scope.least, scope.most, strict=True))

    def bound(scale: Fraction) -> Fraction:
        total = scale * worth
        for stock, cap, least, most in kinds:
            margin = stock.price - scale * cap
            total += margin * (least if margin >= 0 or most is None else most)
        return total

    meetings = {Fraction(stock.price, cap) for stock, cap, _, _ in kinds if cap > 0}
    ceiling = min(
        (Fraction(stock.price, cap) for stock, cap, _, most in kinds if most is None and cap > 0),
        default=None,
    )
    if ceiling is None:
        meetings.add(FAR * max(meetings, default=Fraction(0)))
    scales = [Fraction(0), *(scale for scale in sorted(meetings) if ceiling is None or scale <= ceiling)]
    scale = max(scales, key=bound)
    return Dual(tuple(prices), tuple(caps), scale, bound(scale))
