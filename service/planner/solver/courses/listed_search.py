"""The search of a program whose patterns are all listed: its relaxation, a plan from its prices, compiled branch and bound."""

from math import inf

import numpy as np

from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.courses.price_plan import guided_plan
from service.planner.solver.courses.program import Plan, Program
from service.planner.solver.effort import Effort
from service.planner.solver.lp.relaxation import Relaxation, rounded_up
from service.planner.solver.lp.simplex import OPTIMAL, STUCK


class ListedSearch:
    """A program whose patterns are all listed, and the best plan so far.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    effort
        Counter of units.
    least
        A bound that is known already [minor units of money].
    known
        Cost of a plan that is known already: only a plan that costs less is looked for [minor units of money].
    """

    def __init__(self, program: Program, effort: Effort, least: float = -inf, known: float = inf) -> None:
        self.program, self.model = program, Formulation(program)
        self.relaxation = Relaxation(self.model.lp, effort, float(self.model.most))
        self.least, self.known = least, known
        self.below, self.solved = -inf, False
        self.plan: Plan | None = None

    @property
    def bound(self) -> float:
        """No plan that is cheaper than the known ones costs less than this; as much as they do or more when there is none [minor units of money]."""
        return max(self.least, self.below)

    @property
    def done(self) -> bool:
        """Whether nothing better is left to find."""
        return self.bound >= self.known

    def plant(self) -> bool:
        """Solve the relaxation, and make a plan of its prices where none is known; whether it could be solved at all."""
        step, own = self.program.step, self.relaxation
        how = own.solve(self.known - step)
        self.solved = how == OPTIMAL
        if how == STUCK:
            return False
        self.below = rounded_up(own.proven(how), step)
        if self.known == inf and how == OPTIMAL:
            self.offer(guided_plan(self.program, self.model.prices(own.duals.tolist()), own.effort))
        return True

    def grow(self, nodes: int) -> None:
        """Branch until nothing better is left or so many nodes were looked at; what was reached is lost, so that this is done once."""
        if self.done or not self.solved:
            return
        model = self.model
        groups = np.array(model.totals), np.arange(len(model.lp.costs))
        known, values, self.below = self.relaxation.explore(
            groups, model.worth(), self.program.step, self.known, nodes
        )
        if known < self.known:
            self.offer(model.plan(np.rint(values).astype(int).tolist()))

    def offer(self, plan: Plan | None) -> None:
        """Keep a plan if it is the best so far."""
        if plan is not None and plan.cost < self.known:
            self.plan, self.known = plan, plan.cost
