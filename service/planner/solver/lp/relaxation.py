"""The linear relaxation of a model: solved again and again as bounds change and columns are added, and a basis to return to.

Costs are raised by a little, different for every column, so that no two bases cost the same: `slack` is the most that
this can add, and the bound leaves it out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.planner.solver.compiling import Floats, Integers
from service.planner.solver.effort import Effort
from service.planner.solver.lp.basis import OUT, Basis, Columns, invert, price_columns, settle
from service.planner.solver.lp.branching import EDGE, Terms, branch_and_bound
from service.planner.solver.lp.model import Model
from service.planner.solver.lp.proof import proven_bound, proven_empty
from service.planner.solver.lp.pseudo_costs import Groups
from service.planner.solver.lp.simplex import INFEASIBLE, OPTIMAL, solve
from service.planner.solver.lp.start import ENTRIES, TRIFLE, begin, raised

EPSILON = 1e-6
"""How far from whole a value or a step of cost may be [-]."""
ROOM = 8_000_000
"""Numbers that the inverses of all open nodes may take [-]."""


@dataclass(frozen=True, slots=True)
class Held:
    """A basis to return to.

    Parameters
    ----------
    basis
        Copies of its arrays; the inverse is left out where it is large.
    number
        How many rows and columns there were [-].
    cost
        Its cost.
    updates
        How many exchanges its inverse went through [-].
    """

    basis: Basis
    number: int
    cost: float
    updates: int


def rounded_up(cost: float, step: int) -> float:
    """Round a cost up to the next multiple of a step; no end stays as it is."""
    return float(step * ceil(cost / step)) if abs(cost) < np.inf else cost


class Relaxation:
    """A program and the basis that was reached.

    Parameters
    ----------
    model
        Columns and rows.
    effort
        Counter that the work is charged to.
    most
        What all columns together may add up to in a solution worth having [-].
    missing
        What a column that was not added may save at most where none is worth adding.
    spare
        Room for columns that are added [-].
    """

    def __init__(
        self, model: Model, effort: Effort, most: float, *, missing: float = 0.0, spare: int = 0
    ) -> None:
        self.size = len(model.row_lows)
        self.slack = (2.0 * TRIFLE + missing) * most
        self.most = most
        self.effort = effort
        self.updates = 0
        self.columns, self.basis, self.cost = begin(model.given(), most, spare)

    @property
    def number(self) -> int:
        """How many rows and columns there are [-]."""
        return self.columns.number

    @property
    def bound(self) -> float:
        """Least cost of the relaxation [minor units of money]."""
        return self.cost - self.slack

    def proven(self, how: int) -> float:
        """Return what a solution costs at least, in exact integers, after the program was solved so; infinite when there is none."""
        if how == INFEASIBLE:
            return np.inf if proven_empty(self.columns, self.basis, self.most) else -np.inf
        return proven_bound(self.columns, self.basis, self.most)

    @property
    def values(self) -> Floats:
        """Value of every column [-]."""
        return self.basis.levels[self.size : self.number].copy()

    @property
    def reduced(self) -> Floats:
        """Reduced cost of every column [minor units of money]."""
        return self.basis.reduced[self.size : self.number].copy()

    @property
    def duals(self) -> Floats:
        """Price of every row [minor units of money]."""
        return self.basis.reduced[: self.size].copy()

    def set_bounds(self, column: int, low: float, high: float) -> None:
        """A column other bounds; where it is not basic it moves to the one that its reduced cost is right for."""
        at, basis = self.size + column, self.basis
        self.columns.lows[at], self.columns.highs[at] = low, high
        if basis.places[at] < 0 and basis.levels[at] not in (low, high):
            basis.levels[at] = high if basis.reduced[at] < 0.0 and high < np.inf else low
            self.cost = settle(self.columns, basis)

    def entries(self, column: int) -> list[tuple[int, float]]:
        """Return row and value of the entries of a column."""
        first, last = self.columns.starts[column : column + 2].tolist()
        rows, values = self.columns.rows[first:last].tolist(), self.columns.values[first:last].tolist()
        return list(zip(rows, values, strict=True))

    def restrict(self, row_lows: Floats, row_highs: Floats, highs: Floats) -> None:
        """All rows other bounds, and the columns other upper ones; what is not basic moves to a bound it may have."""
        columns, basis, number = self.columns, self.basis, self.number
        columns.lows[: self.size], columns.highs[: self.size] = row_lows, row_highs
        columns.highs[self.size : number] = highs
        lows, tops = columns.lows[:number], columns.highs[:number]
        above = (tops < np.inf) & ((basis.reduced[:number] < 0.0) | (lows == -np.inf))
        out = basis.places[:number] < 0
        basis.levels[:number][out] = np.where(above, tops, lows)[out]
        self.cost = settle(columns, basis)

    def add_column(self, cost: float, rows: Sequence[int], values: Sequence[float]) -> None:
        """Add a column at zero."""
        first = int(self.columns.starts[self.number - self.size])
        last = first + len(rows)
        if self.number == len(self.columns.costs) or last > len(self.columns.rows):
            self.make_room()
        columns, basis, number = self.columns, self.basis, self.number
        columns.rows[first:last], columns.values[first:last] = rows, values
        columns.starts[number - self.size + 1] = last
        columns.costs[number] = raised(cost, number - self.size)
        columns.lows[number], columns.highs[number] = 0.0, np.inf
        basis.places[number], basis.levels[number] = OUT, 0.0
        basis.reduced[number] = columns.costs[number] - basis.reduced[rows] @ np.array(values)
        self.columns = columns._replace(number=number + 1)

    def add_row(self, low: float, high: float, members: Integers) -> None:
        """Add a row that counts some columns, each once; their numbers ascend."""
        size, number, columns, basis = self.size, self.number, self.columns, self.basis
        starts = columns.starts[: number - size + 1]
        ends, more = starts[members + 1], np.zeros(len(starts), np.int64)
        more[members + 1] = 1
        inverse = np.zeros((size + 1, size + 1))
        inverse[:size, :size] = basis.inverse
        basic = basis.places[members + size]
        inverse[size, :size] = basis.inverse[basic[basic >= 0]].sum(axis=0)
        inverse[size, size] = -1.0
        head = np.append(basis.head + (basis.head >= size), size)
        self.basis = Basis(
            inverse,
            head,
            np.insert(basis.places[:number], size, size),
            np.insert(basis.levels[:number], size, 0.0),
            np.insert(basis.reduced[:number], size, 0.0),
            np.append(basis.weights, 1.0),
        )
        self.columns = Columns(
            number + 1,
            starts + np.cumsum(more),
            np.insert(columns.rows[: starts[-1]], ends, size),
            np.insert(columns.values[: starts[-1]], ends, 1.0),
            np.insert(columns.costs[:number], size, 0.0),
            np.insert(columns.lows[:number], size, low),
            np.insert(columns.highs[:number], size, high),
        )
        self.size = size + 1
        self.cost = settle(self.columns, self.basis)

    def start_again(self) -> None:
        """Go back to the basis of the rows alone, which is right for any costs that are not negative."""
        basis, number = self.basis, self.number
        basis.head[:] = np.arange(self.size)
        basis.places[:number] = OUT
        basis.levels[:number] = self.columns.lows[:number]
        basis.weights[:] = 1.0
        self._invert()

    def solve(self, limit: float = np.inf) -> int:
        """Solve from the basis that was reached; `limit` is a cost beyond which the rest does not matter."""
        how, self.cost, self.updates = solve(
            self.columns,
            self.basis,
            self.cost,
            float(limit + self.slack + EDGE),
            self.updates,
            self.effort.cells,
        )
        return how

    def solve_again(self) -> int:
        """Solve after other bounds, from the rows alone where the basis that was reached leads nowhere."""
        how = self.solve()
        if how != OPTIMAL and not self.effort.ended:
            self.start_again()
            how = self.solve()
        return how

    def explore(
        self, groups: Groups, worth: Floats, step: int, known: float, most: int
    ) -> tuple[float, Floats, float]:
        """Branch and bound from the basis that was reached, which is lost: least cost, values and bound.

        Parameters
        ----------
        groups
            Columns to branch on, those of the first group first [-].
        worth
            What one of every column is worth, about [minor units of money].
        step
            Costs of plans differ by multiples of this [minor units of money].
        known
            Cost of a plan that is known [minor units of money].
        most
            How many nodes are looked at [-].
        """
        terms = Terms(
            groups=groups,
            worth=worth,
            step=float(step),
            slack=self.slack,
            end=self.most,
            most=most,
            places=max(2, min(most + 2, ROOM // self.size**2)),
        )
        known, levels, bound, _ = branch_and_bound(
            self.columns, self.basis, terms, float(known), self.effort.cells
        )
        return known, levels[self.size :], bound

    def hold(self, others: int = 0) -> Held:
        """Copy the basis, the inverse only where there is room for it beside those of so many others."""
        basis = self._copy(inverse=self.size**2 * (others + 1) <= ROOM)
        return Held(basis, self.number, self.cost, self.updates)

    def _copy(self, *, inverse: bool) -> Basis:
        """Copy the basis, its inverse only where that is asked for."""
        number, basis = self.number, self.basis
        return Basis(
            inverse=basis.inverse.copy() if inverse else basis.inverse[:0],
            head=basis.head.copy(),
            places=basis.places[:number].copy(),
            levels=basis.levels[:number].copy(),
            reduced=basis.reduced[:number].copy(),
            weights=basis.weights.copy(),
        )

    def return_to(self, held: Held) -> None:
        """Go back to a basis; columns added since then are at zero."""
        basis, number = self.basis, self.number
        for own, copy in zip(basis, held.basis, strict=True):
            own[: len(copy)] = copy
        basis.places[held.number : number] = OUT
        basis.levels[held.number : number] = 0.0
        if held.number < number:
            price_columns(self.columns, basis, held.number)
        self.cost, self.updates = held.cost, held.updates
        if len(held.basis.inverse) < self.size:
            self._invert()

    def _invert(self) -> bool:
        """Make the inverse anew, and all that follows from it; whether that could be done."""
        if not invert(self.columns, self.basis):
            return False
        self.cost = settle(self.columns, self.basis)
        self.updates = 0
        return True

    def make_room(self) -> None:
        """Make room for as many columns again."""
        columns, basis, room = self.columns, self.basis, len(self.columns.costs)
        self.columns = columns._replace(
            starts=_padded(columns.starts, room, np.int64),
            rows=_padded(columns.rows, ENTRIES * room, np.int64),
            values=_padded(columns.values, ENTRIES * room, np.float64),
            costs=_padded(columns.costs, room, np.float64),
            lows=_padded(columns.lows, room, np.float64),
            highs=_padded(columns.highs, room, np.float64),
        )
        self.basis = basis._replace(
            places=_padded(basis.places, room, np.int64),
            levels=_padded(basis.levels, room, np.float64),
            reduced=_padded(basis.reduced, room, np.float64),
        )


def _padded(own: Sequence[float] | Floats | Integers, room: int, kind: type) -> NDArray[Any]:
    """Return an array with room for more."""
    padded: NDArray[Any] = np.zeros(len(own) + room, dtype=kind)
    padded[: len(own)] = own
    return padded
