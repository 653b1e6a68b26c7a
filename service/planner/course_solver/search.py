"""Branch and bound on the program's linear relaxation, for the small programs that most structures give.

A general solver's own search costs more to start than most of these programs take to solve, so the first
nodes are visited here: totals (pieces, sheets) are branched on before single columns, the node with the
least bound comes first. What these nodes do not settle is handed to the general solver.
"""

from dataclasses import dataclass, replace
from heapq import heappop, heappush
from math import ceil, floor

from highspy import SolutionStatus, kHighsInf
from highspy._core import (
    _Highs as Solver,
)  # the plain class: the public wrapper writes a banner and sets callbacks

from service.planner.course_solver.counted import counted
from service.planner.course_solver.guided import Prices, guided_plan
from service.planner.course_solver.large import plan_large
from service.planner.course_solver.model import Model
from service.planner.course_solver.pattern_pricing import Pricer
from service.planner.course_solver.program import Chosen, Plan, Program
from service.planner.course_solver.relaxation import Held, Relaxation
from service.planner.course_solver.simplex import ABOVE, INFEASIBLE, OPTIMAL, STUCK

NODES = 600
"""How many nodes are visited before the general solver is asked [-]."""
HARD_NODES = 600
"""The same where the program is not easy for the general solver [-]."""
PRICED_NODES = 120
"""The same where patterns are not all listed [-]."""
SOLVER_NODES = 1_000
"""How many nodes the general solver may visit [-]."""
EFFORT = 30_000
"""How many simplex iterations, and eighths of a slot priced, a search may spend [-]."""
ROOT_EFFORT = 40_000
"""The same for the first node, without which there is no good bound [-]."""
DIVE = 80
"""How many pieces are fixed one after another to make a plan of a node [-]."""
SETTLED = 6
"""How many whole nodes the general solver is asked to cut [-]."""
EASY = 1_000
"""How many columns a program may have for the general solver to search it all [-]."""
EPSILON = 1e-6

Bounds = dict[int, tuple[float, float]]
"""Least and most of the columns that a node restricts."""

_SEARCH: dict[str, bool | float | str] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 0,
    "mip_rel_gap": 0.0,
    "mip_max_nodes": SOLVER_NODES,
    "mip_max_stall_nodes": 300,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the search ends with.

    Parameters
    ----------
    chosen
        The best solution, None when there is none.
    bound
        Lower bound, with a joint for every piece [minor units of money].
    """

    chosen: Chosen | None
    bound: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Where the relaxation of a node ended, and those below it start.

    Parameters
    ----------
    made
        How many nodes were looked at until then [-].
    values
        Value of every column [-].
    held
        The basis.
    """

    made: int
    values: list[float]
    held: Held


def search(program: Program, floor: float = -kHighsInf) -> Found:
    """Find the best pieces, patterns and stock of a program.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    floor
        A bound that is known already, with a joint for every piece [minor units of money].
    """
    start = counted(program)
    plan, bound = (None, floor) if start is None else (start[0], max(floor, start[1]))
    if plan is not None and plan.cost <= bound:
        return Found(chosen=plan.chosen, bound=bound)
    model = Model(program)
    tree = _Tree(model, bound)
    tree.offer(plan)
    found = tree.run()
    if found is not None:
        return found
    if tree.heap or tree.aside < kHighsInf:
        bound = tree.finish()
    else:
        plan, bound = plan_large(program, program, model.prices(tree.duals))
        tree.offer(plan)
    chosen = None if tree.plan is None else tree.plan.chosen
    return Found(chosen=chosen, bound=max(bound, tree.floor))


def root_prices(model: Model) -> Prices | None:
    """Return what pieces and strips are worth in the relaxation, None when it has no solution."""
    tree = _Tree(model, -kHighsInf)
    tree.look({}, kHighsInf)
    return model.prices(tree.duals) if tree.feasible else None


class _Tree:
    """The nodes still to be looked at."""

    def __init__(self, model: Model, floor: float) -> None:
        self.model = model
        self.step = model.program.step
        self.lows, self.highs = model.lows(), model.uppers
        self.heap: list[tuple[float, int, Bounds, Start]] = []
        self.made = 0
        self.plan: Plan | None = None
        self.aside = kHighsInf
        self.floor = floor
        self.priced = 0.0
        self.settled = 0
        self.short = False
        self.feasible = False
        self.duals: list[float] = []
        self.nodes = (
            (NODES if len(model.costs) <= EASY else HARD_NODES) if model.program.listed else PRICED_NODES
        )
        self.pricer = None if model.program.listed else Pricer(model)
        self.relaxation = Relaxation(model)
        self.bounds: Bounds = {}

    @property
    def bound(self) -> float:
        """Least bound of the nodes that are left or could not be settled [minor units of money]."""
        return max(self.floor, min(self.aside, self.heap[0][0] if self.heap else kHighsInf))

    def run(self) -> Found | None:
        """Visit nodes, least bound first; None when there are too many."""
        self.look({}, kHighsInf)
        if not self.feasible:
            return Found(chosen=None, bound=kHighsInf)
        if self.heap:
            self.offer(guided_plan(self.model.program, self.model.prices(self.duals)))
            if self.pricer is not None:
                self._dive({}, self.heap[0][3])
        while self.heap and self.made < self.nodes and self.work < EFFORT:
            if self.plan is not None and self.plan.cost <= self.bound:
                break
            cost, _, bounds, start = heappop(self.heap)
            column = self._fractional(start.values)
            if column is None:
                self._settle(cost, start.values)
            else:
                self._branch(column, bounds, start, cost)
        if self.plan is not None and self.plan.cost <= self.bound:
            return Found(chosen=self.plan.chosen, bound=self.plan.cost)
        nothing = not self.heap and self.aside == kHighsInf and not self.short
        return Found(chosen=None, bound=kHighsInf) if nothing else None

    def finish(self) -> float:
        """Make the best of the nodes that are left; the bound, which may have been raised."""
        if self.model.program.listed and len(self.model.costs) <= EASY:
            plan, bound = _ask_solver(self.model)
            self.offer(plan)
            return max(bound, self.bound)
        bound = self.bound
        if self.heap:
            _, _, bounds, start = self.heap[0]
            self._dive(bounds, start)
            self._dive({}, start)
        return bound

    def _dive(self, bounds: Bounds, start: Start) -> None:
        """Fix one piece after another, the nearest to whole first, and cut what comes of it."""
        self.relaxation.return_to(start.held)
        self.made += 1
        values = start.values
        for _ in range(DIVE):
            pieces = values[: self.model.pieces_column]
            parts = [(value - floor(value), -column) for column, value in enumerate(pieces)]
            part, at = max((part for part in parts if EPSILON < part[0] < 1 - EPSILON), default=(0.0, 0))
            if not part:
                self.settled = 0
                self._settle(kHighsInf, values)
                return
            column = -at
            bounds = {**bounds, column: (float(ceil(values[column])), self.highs[column])}
            self._set(bounds)
            limit = kHighsInf if self.plan is None else self.plan.cost - self.step
            if self.relaxation.solve(limit) != OPTIMAL or self.relaxation.cost > limit + 1:
                return
            values = self.relaxation.values.tolist()
            if any(values[column] > EPSILON for column in self.model.rescue):
                return

    def offer(self, plan: Plan | None) -> None:
        """Keep a plan if it is the best so far."""
        if plan is not None and (self.plan is None or plan.cost < self.plan.cost):
            self.plan = plan

    def _settle(self, cost: float, values: list[float]) -> None:
        """Make a plan of a node whose pieces are whole; patterns that are not listed may still be in parts."""
        values = values + [0.0] * (len(self.model.costs) - len(values))
        if all(abs(value - round(value)) <= EPSILON for value in values):
            self.offer(self.model.plan([round(value) for value in values]))
        elif self.settled < SETTLED:
            self.settled += 1
            self.offer(
                _cut_pieces(self.model.program, self.model.read([round(value) for value in values]).pieces)
            )
        if self.plan is None or self.plan.cost > cost:
            self.aside = min(self.aside, cost)

    def _branch(self, column: int, bounds: Bounds, start: Start, cost: float) -> None:
        """Look at the two sides of a column's value."""
        value = start.values[column]
        low, high = bounds.get(column, (self._low(column), self.highs[column]))
        self.look({**bounds, column: (low, float(floor(value)))}, cost, start)
        self.look({**bounds, column: (float(ceil(value)), high)}, cost, start)

    def look(self, bounds: Bounds, cost: float, start: Start | None = None) -> None:
        """Solve the relaxation of a node and keep it when it has a solution; `cost` bounds it from above it."""
        if start is not None and start.made != self.made:
            self.relaxation.return_to(start.held)
        self._set(bounds)
        self.made += 1
        how = self._solve()
        if how in (INFEASIBLE, ABOVE):
            self.feasible |= how == ABOVE
            return
        if how != OPTIMAL:
            self.short = True
            self.aside = min(self.aside, cost)
            self.feasible = True
            self.duals = self.duals if len(self.duals) else self.relaxation.duals.tolist()
            return
        values = self.relaxation.values.tolist()
        if any(values[column] > EPSILON for column in self.model.rescue):
            return
        self.feasible = True
        self.duals = self.duals if len(self.duals) else self.relaxation.duals.tolist()
        own = self.step * ceil(self.relaxation.bound / self.step - EPSILON)
        if self.plan is not None and own >= self.plan.cost:
            return
        heappush(
            self.heap, (own, -self.made, bounds, Start(made=self.made, values=values, held=self.relaxation.hold()))
        )

    def _set(self, bounds: Bounds) -> None:
        """Give the relaxation the bounds of a node."""
        for column in self.bounds.keys() | bounds.keys():
            low, high = bounds.get(column, (self._low(column), self.highs[column]))
            self.relaxation.set_bounds(column, low, high)
        self.bounds = bounds

    def _solve(self) -> int:
        """Solve the relaxation, adding patterns until none is worth while; how it ended."""
        pricer, relaxation = self.pricer, self.relaxation
        limit = kHighsInf if pricer is not None or self.plan is None else self.plan.cost - self.step
        how = relaxation.solve(limit)
        while pricer is not None and how == OPTIMAL:
            if self.work >= (EFFORT if self.made > 1 else ROOT_EFFORT):
                return STUCK
            self.priced += pricer.slots / 8
            if not pricer.improve(relaxation):
                break
            how = relaxation.solve()
        return how

    @property
    def work(self) -> float:
        """Effort spent: exchanges, and eighths of a slot priced [-]."""
        return self.relaxation.work + self.priced

    def _low(self, column: int) -> float:
        """Return the least value of a column at the root."""
        return self.lows[column] if column < len(self.lows) else 0.0

    def _fractional(self, values: list[float]) -> int | None:
        """Column to branch on: a total, else the one nearest to a half; None when all are whole.

        A pattern is no good to branch on where patterns are not all listed, since its like would be added again.
        """
        values += [0.0] * (len(self.model.costs) - len(values))
        for column in self.model.totals:
            if abs(values[column] - round(values[column])) > EPSILON:
                return column
        worst, found = EPSILON, None
        columns = values if self.model.program.listed else values[: self.model.pieces_column]
        for column, value in enumerate(columns):
            off = abs(value - round(value))
            if off > worst:
                worst, found = off, column
        return found


def _cut_pieces(program: Program, pieces: list[list[int]]) -> Plan | None:
    """Plan with these pieces alone: they have few patterns, so that all can be listed.

    Parameters
    ----------
    program
        The whole program.
    pieces
        How many of each piece there are; the plan may take other numbers of those that there are at all [-].
    """
    only = program.only(pieces)
    if only is None:
        return None
    tree = _Tree(Model(only), -kHighsInf)
    found = tree.run()
    if found is None and len(tree.model.costs) <= EASY:
        tree.offer(_ask_solver(tree.model)[0])
    plan = tree.plan if found is None else found
    if plan is None or plan.chosen is None:
        return None
    return program.plan(replace(plan.chosen, pieces=_among(pieces, plan.chosen.pieces)))


def _among(chosen: list[list[int]], counts: list[list[int]]) -> list[list[int]]:
    """Put the counts of the pieces that were to choose from back among all pieces."""
    found = []
    for all_pieces, own in zip(chosen, counts, strict=True):
        left = iter(own)
        found.append([next(left) if count else 0 for count in all_pieces])
    return found


def _ask_solver(model: Model) -> tuple[Plan | None, float]:
    """Hand the model to the general solver; the best plan it finds and its bound."""
    solver = Solver()
    for option, value in _SEARCH.items():
        solver.setOptionValue(option, value)
    step = model.program.step
    solver.setOptionValue("mip_abs_gap", step * 0.999)
    solver.passModel(model.build(integer=True))
    solver.run()
    information = solver.getInfo()
    if information.primal_solution_status != SolutionStatus.kSolutionStatusFeasible:
        return None, -kHighsInf
    bound = step * ceil(information.mip_dual_bound / step - EPSILON)
    return model.plan([round(value) for value in solver.getSolution().col_value]), bound
