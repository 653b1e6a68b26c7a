"""Branch and bound on the program's linear relaxation, for the small programs that most structures give.

A general solver's own search costs more to start than most of these programs take to solve, so the first
nodes are visited here: totals (pieces, sheets) are branched on before single columns, the node with the
least bound comes first. What these nodes do not settle is handed to the general solver.
"""

from dataclasses import dataclass
from heapq import heappop, heappush
from math import ceil, floor

from highspy import HighsModelStatus, SolutionStatus, kHighsInf
from highspy._core import (
    _Highs as Solver,
)  # the plain class: the public wrapper writes a banner and sets callbacks

from service.planner.course_solver.counted import counted
from service.planner.course_solver.guided import Plan, Prices, guided_plan
from service.planner.course_solver.model import Model
from service.planner.course_solver.pattern_pricing import Pricer
from service.planner.course_solver.program import Chosen, Program

NODES = 120
"""How many nodes are visited before the general solver is asked [-]."""
PRICED_NODES = 120
"""The same where patterns are not all listed [-]."""
SOLVER_NODES = 1_000
"""How many nodes the general solver may visit [-]."""
EPSILON = 1e-6

_RELAXATION: dict[str, bool | float | str] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 0,
    "presolve": "off",
    "solver": "simplex",
}
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
    plan, bound = _ask_solver(model)
    tree.offer(plan)
    if not model.program.listed:
        bound = -kHighsInf
    chosen = None if tree.plan is None else tree.plan.chosen
    return Found(chosen=chosen, bound=max(bound, tree.bound))


def root_prices(model: Model) -> Prices | None:
    """Return what pieces and strips are worth in the relaxation, None when it has no solution."""
    tree = _Tree(model, -kHighsInf)
    tree.look({})
    return model.prices(tree.solver.getSolution().row_dual) if tree.heap else None


class _Tree:
    """The nodes still to be looked at."""

    def __init__(self, model: Model, floor: float) -> None:
        self.model = model
        self.step = model.program.step
        self.lows, self.highs = model.lows(), model.uppers
        self.heap: list[tuple[float, int, dict[int, tuple[float, float]], list[float]]] = []
        self.made = 0
        self.plan: Plan | None = None
        self.aside = kHighsInf
        self.floor = floor
        self.nodes = NODES if model.program.listed else PRICED_NODES
        self.pricer = None if model.program.listed else Pricer(model)
        self.solver = Solver()
        for option, value in _RELAXATION.items():
            self.solver.setOptionValue(option, value)
        self.solver.passModel(model.build(integer=False))
        self.bounds: dict[int, tuple[float, float]] = {}

    @property
    def bound(self) -> float:
        """Least bound of the nodes that are left or could not be settled [minor units of money]."""
        return max(self.floor, min(self.aside, self.heap[0][0] if self.heap else kHighsInf))

    def run(self) -> Found | None:
        """Visit nodes, least bound first; None when there are too many."""
        self.look({})
        if not self.heap:
            return Found(chosen=None, bound=kHighsInf)
        self.offer(guided_plan(self.model.program, self.model.prices(self.solver.getSolution().row_dual)))
        while self.made < self.nodes:
            if self.plan is not None and self.plan.cost <= self.bound:
                return Found(chosen=self.plan.chosen, bound=self.plan.cost)
            if not self.heap:
                return None if self.aside < kHighsInf else Found(chosen=None, bound=kHighsInf)
            cost, _, bounds, values = heappop(self.heap)
            values += [0.0] * (len(self.model.costs) - len(values))
            column = self._fractional(values)
            if column is None:
                self._settle(cost, values)
            else:
                self._branch(column, values[column], bounds)
        return None

    def offer(self, plan: Plan | None) -> None:
        """Keep a plan if it is the best so far."""
        if plan is not None and (self.plan is None or plan.cost < self.plan.cost):
            self.plan = plan

    def _settle(self, cost: float, values: list[float]) -> None:
        """Make a plan of a node whose pieces are whole; patterns that are not listed may still be in parts."""
        if all(abs(value - round(value)) <= EPSILON for value in values):
            self.offer(self.model.plan([round(value) for value in values]))
        else:
            self.offer(
                _ask_solver(self.model, [round(value) for value in values[: self.model.pieces_column]])[0]
            )
        if self.plan is None or self.plan.cost > cost:
            self.aside = min(self.aside, cost)

    def _branch(self, column: int, value: float, bounds: dict[int, tuple[float, float]]) -> None:
        """Look at the two sides of a column's value."""
        low, high = bounds.get(column, (self._low(column), self.highs[column]))
        self.look({**bounds, column: (low, float(floor(value)))})
        self.look({**bounds, column: (float(ceil(value)), high)})

    def look(self, bounds: dict[int, tuple[float, float]]) -> None:
        """Solve the relaxation of a node and keep it when it has a solution."""
        for column in self.bounds.keys() | bounds.keys():
            low, high = bounds.get(column, (self._low(column), self.highs[column]))
            self.solver.changeColBounds(column, low, high)
        self.bounds = bounds
        self.made += 1
        self.solver.run()
        if self.pricer is not None:
            self.solver.setOptionValue("simplex_strategy", 4)
            while self.pricer.improve(self.solver):
                self.solver.run()
            self.solver.setOptionValue("simplex_strategy", 1)
        if self.solver.getModelStatus() == HighsModelStatus.kOptimal:
            values = list(self.solver.getSolution().col_value)
            if any(values[column] > EPSILON for column in self.model.rescue):
                return
            cost = self.step * ceil(self.solver.getObjectiveValue() / self.step - EPSILON)
            heappush(self.heap, (cost, -self.made, bounds, values))

    def _low(self, column: int) -> float:
        """Return the least value of a column at the root."""
        return self.lows[column] if column < len(self.lows) else 0.0

    def _fractional(self, values: list[float]) -> int | None:
        """Column to branch on: a total, else the one nearest to a half; None when all are whole.

        A pattern is no good to branch on where patterns are not all listed, since its like would be added again.
        """
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


def _ask_solver(model: Model, pieces: list[int] | None = None) -> tuple[Plan | None, float]:
    """Hand the model to the general solver; the best plan it finds and its bound.

    Parameters
    ----------
    model
        The model.
    pieces
        How many of each piece are chosen, None when that is open [-].
    """
    solver = Solver()
    for option, value in _SEARCH.items():
        solver.setOptionValue(option, value)
    step = model.program.step
    solver.setOptionValue("mip_abs_gap", step * 0.999)
    solver.passModel(model.build(integer=True))
    for column, count in enumerate(pieces or ()):
        solver.changeColBounds(column, float(count), float(count))
    solver.run()
    information = solver.getInfo()
    if information.primal_solution_status != SolutionStatus.kSolutionStatusFeasible:
        return None, -kHighsInf
    bound = step * ceil(information.mip_dual_bound / step - EPSILON)
    return model.plan([round(value) for value in solver.getSolution().col_value]), bound
