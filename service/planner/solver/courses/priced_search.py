"""Branch and bound on the linear relaxation of a program whose patterns are not all listed.

Totals (pieces, full strips, stock) are branched on before single columns, and the node with the least bound comes
first. Patterns worth while are added at every node, so that its bound holds for all patterns.
"""

from collections.abc import Sequence
from heapq import heappop, heappush
from math import ceil, floor, inf

import numpy as np
from numpy.typing import NDArray

from service.planner.records import record
from service.planner.solver.compiling import Floats
from service.planner.solver.courses.column_generation import WORTH
from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.courses.listed_search import ListedSearch
from service.planner.solver.courses.paths import cheapest_pieces
from service.planner.solver.courses.pattern_pricing import Pricer
from service.planner.solver.courses.price_plan import guided_plan
from service.planner.solver.courses.program import Plan
from service.planner.solver.courses.sub_program import Narrowed, narrow
from service.planner.solver.effort import Effort
from service.planner.solver.lp.pseudo_costs import choose, empty_gains, learn
from service.planner.solver.lp.relaxation import EPSILON, Held, Relaxation, rounded_up
from service.planner.solver.lp.simplex import ABOVE, INFEASIBLE, OPTIMAL, STUCK

SPARE = 512
"""Room for patterns that are added [-]."""
DIVE = 80
"""How many pieces are fixed one after another to make a plan of a node [-]."""
CUT_NODES, THOROUGH_NODES = 100, 2_000
"""How many nodes are looked at to cut some pieces alone, and where a dive ends [-]."""

Bounds = dict[int, tuple[float, float]]
"""Least and most of the columns that a node restricts."""


@record
class Node:
    """Where the relaxation of a node ended, and those below it start.

    Parameters
    ----------
    made
        How many relaxations were solved until then [-].
    bounds
        What the node restricts.
    values
        Value of every column [-].
    held
        The basis.
    """

    made: int
    bounds: Bounds
    values: Floats
    held: Held


class PricedSearch:
    """The nodes still to be looked at, and the best plan so far.

    Parameters
    ----------
    model
        Columns and rows.
    effort
        Counter of units.
    least
        A bound that is known already [minor units of money].
    known
        Cost of a plan that is known already: only a plan that costs less is looked for [minor units of money].
    """

    def __init__(self, model: Formulation, effort: Effort, least: float = -inf, known: float = inf) -> None:
        self.model, self.program = model, model.program
        self.step = model.program.step
        self.lows, self.highs, self.effort = model.lp.lows, model.lp.highs, effort
        self.least, self.known = least, known
        self.plan: Plan | None = None
        self.heap: list[tuple[float, int, Node]] = []
        self.aside = inf
        self.made = 0
        self.settled: dict[bytes, bool] = {}
        self.pricer = Pricer(model)
        self.relaxation = Relaxation(model.lp, effort, float(model.most), missing=WORTH, spare=SPARE)
        self.bounds: Bounds = {}
        self.gains = empty_gains(model.worth())
        # a pattern that is priced is no good to branch on: its like would be added again
        self.groups = np.array(model.totals), np.arange(model.pieces_column)

    @property
    def bound(self) -> float:
        """No plan that is cheaper than the known ones costs less than this; infinite when there is none [minor units of money]."""
        return max(self.least, min(self.aside, self.heap[0][0] if self.heap else inf))

    @property
    def done(self) -> bool:
        """Whether nothing better is left to find."""
        return self.bound >= self.known

    def plant(self) -> bool:
        """Look at the first node and make plans of it; whether it could be solved at all."""
        if not self._look({}, self.least):
            return False
        self.duals = self.relaxation.duals.tolist()
        if self.heap:
            self.root = self.heap[0][2]
            self.reduced = self.relaxation.reduced[: self.model.pieces_column]
            self.root_bound = self.relaxation.bound
            self.offer(guided_plan(self.program, self.model.prices(self.duals), self.effort))
            if not self.done:
                self._cut(self._favoured(), thorough=False)
        return True

    def _favoured(self) -> NDArray[np.bool_]:
        """Say which pieces the first relaxation uses, and those of the path through most of them in every section."""
        values = self.root.values[: self.model.pieces_column]
        favoured, first = values > EPSILON, 0
        for block in self.program.blocks:
            own = slice(first, first + len(block.pieces))
            costs = 1.0 - values[own] / block.group.size
            favoured[own] |= cheapest_pieces(block.places, costs, block.group.section.last, block.way)[1] > 0
            first = own.stop
        return favoured

    def shortened(self, most: int) -> Narrowed | None:
        """Return the program of what may be part of a better plan, None where more than so many patterns may be.

        At the prices of the first relaxation every piece and pattern says by how much it makes a plan dearer.
        """
        if self.known == inf:
            return None
        spare = self.known - self.step - self.root_bound + EPSILON
        kept = self._by_block(self.reduced <= spare)
        live = {
            self.program.slot_of[piece.kind]
            for block, own in zip(self.program.blocks, kept, strict=True)
            for piece, keep in zip(block.pieces, own, strict=True)
            if keep
        }
        self.relaxation.return_to(self.root.held)
        self.made += 1
        self.effort.charge(most)
        patterns = self.pricer.shortlist(self.relaxation, spare, sorted(live), most)
        return None if patterns is None else narrow(self.program, kept, patterns)

    def _by_block(self, chosen: NDArray[np.bool_]) -> list[list[bool]]:
        """Say block by block which pieces are chosen."""
        left = iter(chosen.tolist())
        return [[next(left) for _ in block.pieces] for block in self.program.blocks]

    def grow(self, nodes: int) -> None:
        """Look at nodes, least bound first, until nothing better is left, so many were looked at or the effort is spent."""
        while self.heap and not self.done and self.made < nodes and not self.effort.ended:
            cost, _, node = heappop(self.heap)
            column = choose(node.values, self.groups, self.gains)
            if column < 0:
                self._close(node, cost)
            else:
                self._branch(column, node, cost)

    def offer(self, plan: Plan | None) -> None:
        """Keep a plan if it is the best so far."""
        if plan is not None and plan.cost < self.known:
            self.plan, self.known = plan, plan.cost

    def last_try(self) -> None:
        """Make plans of the first node and of the best one that is left."""
        self.settled.clear()
        for node in (self.root, *(node for _, _, node in self.heap[:1])):
            self._dive(node)

    def _dive(self, node: Node) -> None:
        """Fix one piece after another, the nearest to whole first, and cut what comes of it."""
        self.relaxation.return_to(node.held)
        self.made += 1
        bounds, values = node.bounds, node.values
        for _ in range(DIVE):
            part = values[: self.model.pieces_column] % 1.0
            part[(part < EPSILON) | (part > 1.0 - EPSILON)] = 0.0
            column = int(np.argmax(part))
            if not part[column]:
                self._settle(values, thorough=True)
                return
            reached, bounds = bounds, {**bounds, column: (float(ceil(values[column])), self.highs[column])}
            self._set(bounds, reached)
            if self.relaxation.solve() != OPTIMAL or self.relaxation.bound > self.known - self.step:
                return
            values = self.relaxation.values
            if self._rescued(values):
                return

    def _plan(self, values: Sequence[int]) -> Plan:
        """Return the plan that whole values stand for."""
        listed = len(self.model.lp.costs)
        chosen = self.model.read(values[:listed])
        for column, value in enumerate(values[listed:], listed):
            if value:
                chosen.strips.extend([self.model.pattern_of(self.relaxation.entries(column))] * value)
        return self.program.plan(chosen)

    def _settle(self, values: Floats, *, thorough: bool = False) -> bool:
        """Make a plan of whole pieces, whose patterns may still be in parts; whether nothing better can be made of them."""
        whole = np.rint(values)
        if _are_whole(values):
            self.offer(self._plan(whole.astype(int).tolist()))
            return True
        chosen = whole[: self.model.pieces_column] > 0.0
        key = chosen.tobytes()
        if key not in self.settled:
            self.settled[key] = self._cut(chosen, thorough=thorough)
        return self.settled[key]

    def _cut(self, chosen: NDArray[np.bool_], *, thorough: bool) -> bool:
        """Plan with some pieces alone: they have few patterns, so that all can be listed; whether the best plan was found."""
        self.effort.charge(500 + len(chosen))
        narrowed = narrow(self.program, self._by_block(chosen))
        if not narrowed.program.listed:
            return False
        listed = ListedSearch(narrowed.program, self.effort, known=self.known)
        if listed.plant():
            listed.grow(THOROUGH_NODES if thorough else CUT_NODES)
        if listed.plan is not None:
            self.offer(narrowed.widened(listed.plan))
        return listed.done

    def _close(self, node: Node, cost: float) -> None:
        """Deal with a node whose pieces are whole: what else they may be is looked at, one piece pinned after another.

        A node is done with when its patterns are whole too, or when all its pieces are pinned and no better plan
        can be made of them.
        """
        closed = self._settle(node.values)
        if cost >= self.known or _are_whole(node.values):
            return
        pieces = np.nonzero(node.values[: self.model.pieces_column] > 0.5)[0].tolist()
        for column in (self.model.pieces_column, *pieces):
            low, high = node.bounds.get(column, (self._low(column), self.highs[column]))
            if low < high:
                value = float(np.rint(node.values[column]))
                for ends in ((low, value - 1.0), (value, value), (value + 1.0, high)):
                    if ends[0] <= ends[1]:
                        self._look({**node.bounds, column: ends}, cost, node)
                return
        if not closed:
            self.aside = min(self.aside, cost)

    def _branch(self, column: int, node: Node, cost: float) -> None:
        """Look at the two sides of a column's value."""
        value = float(node.values[column])
        low, high = node.bounds.get(column, (self._low(column), self.highs[column]))
        for side, ends in enumerate(((low, float(floor(value))), (float(ceil(value)), high))):
            self._look({**node.bounds, column: ends}, cost, node)
            learn(self.gains, column, value, side, min(self.reached, self.known) - node.held.cost)

    def _look(self, bounds: Bounds, cost: float, above: Node | None = None) -> bool:
        """Solve the relaxation of a node and keep it when it is worth while; `cost` bounds it from above it."""
        if above is not None and above.made != self.made:
            self.relaxation.return_to(above.held)
        self._set(bounds, above.bounds if above else {})
        self.made += 1
        self.effort.charge(50 + self.relaxation.size**2 / 500)
        how = self._solve()
        self.reached = self.relaxation.cost if how == OPTIMAL else inf
        if how == STUCK:
            self.aside = min(self.aside, cost)
            return False
        own = max(cost, rounded_up(self.pricer.proven(self.relaxation, how), self.step))
        if how in (INFEASIBLE, ABOVE):
            self.aside = min(self.aside, own) if own < self.known else self.aside
            return True
        values = self.relaxation.values
        if own < self.known and not self._rescued(values):
            node = Node(
                made=self.made, bounds=bounds, values=values, held=self.relaxation.hold(len(self.heap))
            )
            heappush(self.heap, (own, -self.made, node))
        return True

    def _solve(self) -> int:
        """Solve the relaxation, adding patterns until none is worth while; how it ended."""
        return self.pricer.solve(self.relaxation, self.known - self.step)

    def _set(self, bounds: Bounds, reached: Bounds) -> None:
        """The relaxation the bounds of a node; its basis was reached with others."""
        for column in self.bounds.keys() | bounds.keys():
            ends = bounds.get(column)
            if ends != self.bounds.get(column) or ends != reached.get(column):
                low, high = ends or (self._low(column), self.highs[column])
                self.relaxation.set_bounds(column, low, high)
        self.bounds = bounds

    def _rescued(self, values: Floats) -> bool:
        """Whether strips that do not exist are used."""
        return any(values[column] > EPSILON for column in self.model.rescue)

    def _low(self, column: int) -> float:
        """Return the least value of a column at the first node."""
        return self.lows[column] if column < len(self.lows) else 0.0


def _are_whole(values: Floats) -> bool:
    """Whether all values are whole."""
    return bool(np.all(np.abs(values - np.rint(values)) <= EPSILON))
