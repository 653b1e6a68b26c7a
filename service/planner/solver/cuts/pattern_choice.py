"""The last gap: a cheaper plan from the patterns that could still be in one, or the proof that there is none.

Rules of this file
------------------
- The list of patterns is complete: whatever is left out cannot be part of a plan within the target.
- Every node is closed by a bound in exact integers, never by the linear programme's word.
- Branches limit how often a kind of pattern is used (those of one stock, those that join two pieces, a single one), so
  that each plan lies in exactly one branch.
- Effort is limited by nodes; an unfinished search proves nothing and says so.

Notes
-----
A node with branches lo_f <= sum of x over f <= hi_f and use limits x_p <= u_p costs at least, for any prices pi >= 0 and
any branch prices sigma, sum(pi d) + sum(sigma lo or hi) + sum over patterns of min(0, c_p - pi a_p - sigma f_p) u_p.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import inf

import numpy as np
import numpy.typing as npt

from service.planner.solver.compiling import Integers
from service.planner.solver.cuts.cut_model import CutModel
from service.planner.solver.cuts.diving import StockColumn
from service.planner.solver.cuts.master import SCALE, Reals
from service.planner.solver.effort import Effort
from service.planner.solver.lp.model import Model
from service.planner.solver.lp.relaxation import Relaxation

MONEY_SCALE = 2**40
"""Integer value that the target is scaled to when prices are made exact [-]"""
PAIR_DEMAND = 2
"""Most copies of any piece for which branching on pairs of pieces is worth while [-]"""
WHOLE = 1e-6
"""Distance from a whole number that counts as none [-]"""

Branches = tuple[tuple[int, int, int], ...]
"""Branches on the way to a node: (feature, least use, most use)"""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a search came to."""

    repeats: tuple[int, ...] | None
    """How often each pattern is used in a plan within the target; None when none was found [-]"""
    finished: bool
    """Whether the search ran to its end, so that no plan found means that there is none"""


class PatternChoice:
    """Choose among patterns by branch and bound.

    Parameters
    ----------
    model
        The problem.
    patterns
        All patterns that a plan within the target can use.
    target
        Cost that a plan may have at most [minor units].
    effort
        Counter of units.
    """

    def __init__(self, model: CutModel, patterns: Sequence[StockColumn], target: int, effort: Effort) -> None:
        self.model = model
        self.target, self.effort = target, effort
        self.patterns = patterns
        self.demand = np.array(model.demand, dtype=np.int64)
        self.stocks = np.array([stock for stock, _ in patterns], dtype=np.int64)
        self.counts = np.array([column.counts for _, column in patterns], dtype=np.int64)
        self.costs = np.array([model.bins[stock].price for stock in self.stocks], dtype=np.int64)
        needed = np.where(self.counts > 0, -(-self.demand // np.maximum(self.counts, 1)), 0)
        self.most = needed.max(axis=1)
        self.pairing = int(self.demand.max(initial=0)) <= PAIR_DEMAND
        self.most_any = int(self.demand.sum())
        self.scale = max(1, MONEY_SCALE // (target + 1))
        self.features: dict[tuple[int, ...], int] = {}
        self.masks: list[npt.NDArray[np.bool_]] = []
        program = Model()
        for count in self.demand:
            program.row(float(count))
        for cost, counts in zip(self.costs, self.counts, strict=True):
            rows = np.flatnonzero(counts)
            program.column(cost / (target + 1) * SCALE, rows.tolist(), counts[rows].astype(float).tolist())
        for row in range(len(self.demand)):
            program.column(SCALE, [row], [1.0])
        self.linear = Relaxation(program, effort, 0.0, spare=128)
        for stock in range(len(model.bins)):
            self.feature((0, stock), self.stocks == stock)

    def feature(self, key: tuple[int, ...], mask: npt.NDArray[np.bool_]) -> int:
        """Row that counts the uses of a kind of pattern; an artificial column lets it always be met, if dear."""
        if key not in self.features:
            self.features[key] = len(self.masks)
            self.masks.append(mask)
            self.linear.add_row(0.0, inf, np.flatnonzero(mask))
            self.linear.add_column(SCALE, [self.linear.size - 1], [1.0])
        return self.features[key]

    def search(self, nodes: int) -> Verdict:
        """Look for a plan within the target.

        Parameters
        ----------
        nodes
            Nodes of the search at most [-].
        """
        root = tuple(
            (self.features[0, stock], 0, self.most_any if item.count is None else item.count)
            for stock, item in enumerate(self.model.bins)
        )
        stack: list[Branches] = [root]
        while stack:
            if nodes == 0 or self.effort.ended:
                return Verdict(None, finished=False)
            nodes -= 1
            node = stack.pop()
            repeats = self._relax(node)
            if repeats is None:
                continue
            rounded = np.rint(repeats).astype(np.int64)
            if np.abs(repeats - rounded).max() < WHOLE:
                if self._is_plan(rounded):
                    return Verdict(tuple(rounded.tolist()), finished=True)
                return Verdict(None, finished=False)  # the linear programme's tolerance hides what is missing
            feature, use = self._branch(repeats)
            low = int(use)
            stack.append(_narrowed(node, feature, 0, low))
            stack.append(_narrowed(node, feature, low + 1, self.most_any))
        return Verdict(None, finished=True)

    def _relax(self, node: Branches) -> Reals | None:
        """Solve a node with fractions allowed; None when its exact bound is above the target."""
        low, high = np.zeros(len(self.masks)), np.full(len(self.masks), inf)
        for feature, least, most in node:
            low[feature], high[feature] = least, most
        linear = self.linear
        everything = np.full(linear.number - linear.size, inf)
        linear.restrict(
            np.concatenate([self.demand, low]),
            np.concatenate([np.full(len(self.demand), inf), high]),
            everything,
        )
        linear.solve_again()
        duals = linear.duals * ((self.target + 1) * self.scale / SCALE)
        if self.model.next_total(self.bound(np.floor(duals).astype(np.int64), node)) > self.target:
            return None
        return linear.values[: len(self.patterns)]

    def bound(self, duals: Integers, node: Branches) -> Fraction:
        """Least cost of a node that prices prove, exactly [minor units].

        Parameters
        ----------
        duals
            Prices of the pieces and of the features, times the scale [-].
        node
            Branches of the node.
        """
        dearest = (self.target + 1) * self.scale
        pieces = np.clip(duals[: len(self.demand)], 0, dearest)
        reduced = self.costs * self.scale - self.counts @ pieces
        total = sum(price * count for price, count in zip(pieces.tolist(), self.model.demand, strict=True))
        for feature, least, most in node:
            price = int(min(duals[len(self.demand) + feature], dearest))
            total += price * (least if price > 0 else most)
            reduced = reduced - price * self.masks[feature]
        loss = np.flatnonzero(reduced < 0)
        total += sum(
            cost * most for cost, most in zip(reduced[loss].tolist(), self.most[loss].tolist(), strict=True)
        )
        return Fraction(total, self.scale)

    def _is_plan(self, repeats: Integers) -> bool:
        uses = np.bincount(self.stocks, weights=repeats, minlength=len(self.model.bins))
        enough = all(
            item.count is None or use <= item.count for item, use in zip(self.model.bins, uses, strict=True)
        )
        return enough and bool(
            (repeats @ self.counts >= self.demand).all() and repeats @ self.costs <= self.target
        )

    def _branch(self, repeats: Reals) -> tuple[int, float]:
        """Kind of pattern whose use is farthest from whole: stock first, then pairs of pieces, then one pattern."""
        for stock in range(len(self.model.bins)):
            use = float(repeats[self.stocks == stock].sum())
            if abs(use - round(use)) > WHOLE:
                return self.features[0, stock], use
        pair, use = self._pair(repeats) if self.pairing else (None, 0.0)
        if pair is not None:
            mask = (self.counts[:, pair[0]] > 0) & (self.counts[:, pair[1]] > 0)
            return self.feature((1, *pair), mask), use
        column = int(np.argmax(np.abs(repeats - np.rint(repeats))))
        mask = np.arange(len(repeats)) == column
        return self.feature((2, column), mask), float(repeats[column])

    def _pair(self, repeats: Reals) -> tuple[tuple[int, int] | None, float]:
        """Two pieces whose common use is farthest from whole; None when that of all pairs is whole."""
        uses: dict[tuple[int, int], float] = defaultdict(float)
        for column in np.flatnonzero(np.abs(repeats) > WHOLE).tolist():
            for pair in combinations(np.flatnonzero(self.counts[column]).tolist(), 2):
                uses[pair] += float(repeats[column])
        away = {pair: abs(use - round(use)) for pair, use in uses.items()}
        farthest = max(sorted(away), key=away.__getitem__, default=None)
        if farthest is None or away[farthest] <= WHOLE:
            return None, 0.0
        return farthest, uses[farthest]


def _narrowed(node: Branches, feature: int, least: int, most: int) -> Branches:
    """Narrow one feature of the branches."""
    for known, low, high in node:
        if known == feature:
            least, most = max(least, low), min(most, high)
    return (*(branch for branch in node if branch[0] != feature), (feature, least, most))
