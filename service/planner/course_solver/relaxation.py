"""The linear relaxation of a model: bounds of nodes, columns that are added, and a basis to return to.

Costs are raised by a trifle, different for every column, so that no two bases cost the same: `slack` is the most that
this can add, and the bound leaves it out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.planner.course_solver.branching import branch_and_bound
from service.planner.course_solver.model import Entries, Model
from service.planner.course_solver.simplex import (
    ABOVE,
    INEXACT,
    INFEASIBLE,
    OPTIMAL,
    STUCK,
    Basis,
    Columns,
    Floats,
    Integers,
    improve,
    invert,
    price_columns,
    settle,
)

TRIFLE = 1e-6
"""Least raise of a cost; the most is twice this [minor units of money]."""
SPREAD = 0.6180339887498949
"""Step of the raises, which never come back to where they were [-]."""
BOX = 1e6
"""Most of a column with a negative cost, which must start there [-]."""
UPDATES = 500
"""How many exchanges are made before the inverse is made anew [-]."""
TURNS = 500
"""How many exchanges are made at a time [-]."""
ROUNDS = 30
"""How often that is gone on with for one node [-]."""
KEPT = 200
"""Size up to which the inverse of a basis is held [-]."""
ENTRIES = 8
"""Entries of a column that is added, about [-]."""


@dataclass(frozen=True, slots=True)
class Held:
    """A basis to return to.

    Parameters
    ----------
    basis
        Copies of its arrays; the inverse is left out where it is large.
    count
        How many rows and columns there were [-].
    cost
        Its cost.
    updates
        How many exchanges its inverse went through [-].
    """

    basis: Basis
    count: int
    cost: float
    updates: int


class Relaxation:
    """A program and the basis that was reached.

    Parameters
    ----------
    model
        Columns and rows.
    spare
        Room for columns that are added [-].
    """

    def __init__(self, model: Model, spare: int = 0) -> None:
        self.size, columns = len(model.row_lows), len(model.costs)
        self.count = count = self.size + columns
        self.slack = 2.0 * TRIFLE * model.most
        self.work = 0
        self._updates = 0
        room = count + spare
        self.costs = np.zeros(room)
        self.costs[self.size : count] = model.costs
        self.costs[self.size : count] += TRIFLE * (1.0 + np.arange(1, columns + 1) * SPREAD % 1.0)
        lows, highs, levels = np.zeros(room), np.zeros(room), np.zeros(room)
        lows[: self.size], lows[self.size : count] = model.row_lows, model.lows()
        highs[: self.size], highs[self.size : count] = model.row_highs, model.uppers
        falling = self.costs[:count] < 0.0
        highs[:count][falling & (highs[:count] == np.inf)] = BOX
        levels[:count] = np.where(falling, highs[:count], lows[:count])
        self.columns = Columns(
            starts=_padded(model.starts, spare, np.int64),
            rows=_padded(model.rows, ENTRIES * spare, np.int64),
            values=_padded(model.values, ENTRIES * spare, np.float64),
            lows=lows,
            highs=highs,
        )
        places = np.full(room, -1)
        places[: self.size] = np.arange(self.size)
        self.basis = Basis(
            inverse=-np.eye(self.size),
            head=np.arange(self.size),
            places=places,
            levels=levels,
            reduced=self.costs.copy(),
            weights=np.ones(self.size),
        )
        self.cost = settle(self.columns, self.basis, self.costs, self.count)

    @property
    def bound(self) -> float:
        """Least cost of the relaxation [minor units of money]."""
        return self.cost - self.slack

    @property
    def values(self) -> Floats:
        """Value of every column [-]."""
        return self.basis.levels[self.size : self.count].copy()

    @property
    def reduced(self) -> Floats:
        """Reduced cost of every column [minor units of money]."""
        return self.basis.reduced[self.size : self.count].copy()

    @property
    def duals(self) -> Floats:
        """Price of every row [minor units of money]."""
        return self.basis.reduced[: self.size].copy()

    def set_bounds(self, column: int, low: float, high: float) -> None:
        """Give a column other bounds."""
        self.columns.lows[self.size + column] = low
        self.columns.highs[self.size + column] = high

    def add(self, cost: float, entries: Entries) -> None:
        """Add a column, at zero."""
        at = self.count - self.size
        self._make_room(len(entries))
        first = self.columns.starts[at]
        last = first + len(entries)
        self.columns.rows[first:last] = [row for row, _ in entries]
        self.columns.values[first:last] = [value for _, value in entries]
        self.columns.starts[at + 1] = last
        self.columns.lows[self.count], self.columns.highs[self.count] = 0.0, np.inf
        self.costs[self.count] = cost + TRIFLE * (1.0 + (at + 1) * SPREAD % 1.0)
        self.basis.places[self.count], self.basis.levels[self.count] = -1, 0.0
        price_columns(self.columns, self.basis, self.costs, self.count, self.count + 1)
        self.count += 1

    def solve(self, limit: float = np.inf) -> int:
        """Solve from the basis that was reached; `limit` is a cost beyond which the rest does not matter."""
        for _ in range(ROUNDS):
            if self._updates > UPDATES and not self._invert():
                return STUCK
            how, self.cost, turns = improve(
                self.columns, self.basis, self.costs, self.count, self.cost, limit + self.slack, TURNS
            )
            self.work += turns * self.size * self.size // 10_000
            self._updates += turns
            if how in (OPTIMAL, INFEASIBLE, ABOVE):
                return how
            if how == INEXACT:
                self._updates = UPDATES + 1
        return STUCK

    def explore(self, totals: Sequence[int], step: int, known: float, most: int) -> tuple[float, Floats, float, int]:
        """Branch and bound from the basis that was reached: least cost, values, bound and nodes looked at.

        Parameters
        ----------
        totals
            Columns to branch on first [-].
        step
            Costs of plans differ by multiples of this [minor units of money].
        known
            Cost of a plan that is known [minor units of money].
        most
            How many nodes are looked at [-].
        """
        count = self.count
        columns = self.columns._replace(lows=self.columns.lows[:count].copy(), highs=self.columns.highs[:count].copy())
        basis = self.hold(whole=True).basis
        variables = np.array(totals) + self.size
        prices = np.rint(self.costs[:count])
        known, levels, bound, looked = branch_and_bound(
            columns, basis, self.costs[:count], prices, variables, float(step), self.slack, float(known), most
        )
        return known, levels[self.size :], bound, looked

    def hold(self, *, whole: bool = False) -> Held:
        """Copy the basis, a large inverse only when the whole is asked for."""
        count = self.count
        basis = self.basis
        return Held(
            Basis(
                basis.inverse.copy() if whole or self.size <= KEPT else basis.inverse[:0],
                basis.head.copy(),
                basis.places[:count].copy(),
                basis.levels[:count].copy(),
                basis.reduced[:count].copy(),
                basis.weights.copy(),
            ),
            count,
            self.cost,
            self._updates,
        )

    def return_to(self, held: Held) -> None:
        """Go back to a basis; columns added since then are at zero."""
        basis = self.basis
        for own, copy in zip(basis, held.basis, strict=True):
            own[: len(copy)] = copy
        basis.places[held.count : self.count] = -1
        basis.levels[held.count : self.count] = 0.0
        if held.count < self.count:
            price_columns(self.columns, basis, self.costs, held.count, self.count)
        self.cost, self._updates = held.cost, held.updates
        if self.size > KEPT:
            self._invert()

    def _invert(self) -> bool:
        """Make the inverse anew, and all that follows from it; whether that could be done."""
        if not invert(self.columns, self.basis):
            return False
        self.cost = settle(self.columns, self.basis, self.costs, self.count)
        self._updates = 0
        return True

    def _make_room(self, entries: int) -> None:
        """Make room for a column with so many entries."""
        columns, basis = self.columns, self.basis
        if columns.starts[self.count - self.size] + entries > len(columns.rows):
            rows, values = _padded(columns.rows, len(columns.rows) + ENTRIES, np.int64), _padded(columns.values, len(columns.rows) + ENTRIES, np.float64)
            self.columns = columns = columns._replace(rows=rows, values=values)
        if self.count == len(self.costs):
            room = len(self.costs)
            self.columns = columns._replace(
                starts=_padded(columns.starts, room, np.int64),
                lows=_padded(columns.lows, room, np.float64),
                highs=_padded(columns.highs, room, np.float64),
            )
            self.basis = basis._replace(
                places=_padded(basis.places, room, np.int64),
                levels=_padded(basis.levels, room, np.float64),
                reduced=_padded(basis.reduced, room, np.float64),
            )
            self.costs = _padded(self.costs, room, np.float64)


def _padded(own: Sequence[float] | Floats | Integers, room: int, kind: type) -> NDArray[Any]:
    """Return an array with room for more."""
    padded = np.zeros(len(own) + room, dtype=kind)
    padded[: len(own)] = own
    return padded
