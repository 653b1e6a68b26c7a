"""The linear relaxation of a model: bounds of nodes, columns that are added, and a basis to return to.

Costs are raised by a trifle, different for every column, so that no two bases cost the same: `slack` is the most that
this can add, and the bound leaves it out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.planner.solver.compiling import Floats, Integers
from service.planner.solver.courses.basis import OUT, Basis, invert, price_columns, settle
from service.planner.solver.courses.beginning import ENTRIES, Given, begin
from service.planner.solver.courses.branching import Terms, branch_and_bound
from service.planner.solver.courses.first_basis import first_basis
from service.planner.solver.courses.gains import Groups
from service.planner.solver.courses.generation import (
    FULL,
    TRIFLE,
    WORTH,
    Cutting,
    solve_with_patterns,
)
from service.planner.solver.courses.model import Entries, Model
from service.planner.solver.courses.simplex import FEASIBLE, solve

EPSILON = 1e-6
"""How far from whole a value or a step of cost may be [-]."""
ROOM = 8_000_000
"""Numbers that the inverses of all open nodes may take [-]."""
HELD = 8_000_000
"""The same where patterns are priced: nodes beyond are held without [-]."""


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
        self.size = len(model.row_lows)
        most = float(model.most)
        self.slack = (2.0 * TRIFLE + (0.0 if model.program.listed else WORTH)) * most
        self.work = 0.0
        self._updates = 0
        given = Given(
            np.array(model.starts),
            np.array(model.rows),
            np.array(model.values),
            np.array(model.costs),
            np.array(model.lows()),
            np.array(model.uppers),
            np.array(model.row_lows),
            np.array(model.row_highs),
        )
        self.columns, self.basis, self.cost = begin(given, most, spare)
        if not model.program.listed:
            self._begin(first_basis(model, self.columns.costs[self.size : self.number].tolist()))

    def _begin(self, basic: dict[int, int]) -> None:
        """Begin with some basic columns, with the rows alone where rounding has left a reduced cost wrong."""
        basis, rows = self.basis, list(basic)
        basis.head[rows] = np.array(list(basic.values())) + self.size
        lows, highs, levels = self.columns.lows[rows], self.columns.highs[rows], basis.levels.copy()
        basis.levels[rows] = np.where(np.isfinite(lows), lows, highs)
        basis.places[rows] = OUT
        if not self._invert() or np.any(basis.reduced[self.size : self.number] < -FEASIBLE):
            basis.head[:] = np.arange(self.size)
            basis.places[: self.number], basis.levels[:] = OUT, levels
            self._invert()

    @property
    def number(self) -> int:
        """How many rows and columns there are [-]."""
        return self.columns.number

    @property
    def bound(self) -> float:
        """Least cost of the relaxation [minor units of money]."""
        return self.cost - self.slack

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
        """Give a column other bounds; where it is not basic it moves to the one that its reduced cost is right for."""
        at, basis = self.size + column, self.basis
        self.columns.lows[at], self.columns.highs[at] = low, high
        if basis.places[at] < 0 and basis.levels[at] not in (low, high):
            basis.levels[at] = high if basis.reduced[at] < 0.0 and high < np.inf else low
            self.cost = settle(self.columns, basis)

    def entries(self, column: int) -> Entries:
        """Return the entries of a column."""
        first, last = self.columns.starts[column : column + 2].tolist()
        rows, values = self.columns.rows[first:last].tolist(), self.columns.values[first:last].tolist()
        return list(zip(rows, values, strict=True))

    def solve(self, limit: float = np.inf) -> int:
        """Solve from the basis that was reached; `limit` is a cost beyond which the rest does not matter."""
        how, self.cost, turns, self._updates = solve(
            self.columns, self.basis, self.cost, float(limit + self.slack), self._updates
        )
        self.work += turns * self.size * self.size / 10_000
        return how

    def solve_with_patterns(self, cutting: Cutting, most: float, limit: float = np.inf) -> int:
        """Solve from the basis that was reached, adding patterns until none is worth while or so much work is done; `limit` is as for `solve`."""
        how, limit = FULL, float(limit + self.slack)
        while how == FULL:
            how, self.cost, number, self._updates, work = solve_with_patterns(
                self.columns, self.basis, cutting, self.cost, self._updates, (limit, float(most - self.work))
            )
            limit = np.inf
            self.work += work
            self.columns = self.columns._replace(number=number)
            if how == FULL:
                self._make_room()
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
            most=most,
            places=max(2, min(most + 2, ROOM // self.size**2)),
        )
        known, levels, bound, _ = branch_and_bound(self.columns, self.basis, terms, float(known))
        return known, levels[self.size :], bound

    def hold(self, others: int = 0) -> Held:
        """Copy the basis, the inverse only where there is room for it beside those of so many others."""
        basis = self._copy(inverse=self.size**2 * (others + 1) <= HELD)
        return Held(basis, self.number, self.cost, self._updates)

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
        self.cost, self._updates = held.cost, held.updates
        if len(held.basis.inverse) < self.size:
            self._invert()

    def _invert(self) -> bool:
        """Make the inverse anew, and all that follows from it; whether that could be done."""
        if not invert(self.columns, self.basis):
            return False
        self.cost = settle(self.columns, self.basis)
        self._updates = 0
        return True

    def _make_room(self) -> None:
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
