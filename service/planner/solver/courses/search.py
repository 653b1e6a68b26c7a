"""The search for the best plan: counting first, then branch and bound on ever fewer pieces.

Once there is a plan, pieces that cannot be in a better one are left out: at the prices of the first relaxation
every piece says by how much it makes a plan dearer. What is left has fewer slots and often few enough patterns
to list. What the search does not settle keeps an honest bound.
"""

from math import inf

from service.planner.records import record
from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.courses.listed_search import ListedSearch
from service.planner.solver.courses.price_plan import Prices, guided_plan
from service.planner.solver.courses.priced_search import PricedSearch
from service.planner.solver.courses.program import Chosen, Plan, Program
from service.planner.solver.courses.quick_bound import counted
from service.planner.solver.courses.sampling import plan_large, prices_by_length
from service.planner.solver.effort import Effort

SHORTLISTS = ((6, 900), (60, 1_500), (200, 2_500))
"""After how many nodes patterns are listed, and how many at most [-]."""
NODES = 800
"""How many nodes are looked at in all [-]."""
LISTED_NODES = 8_000
"""The same where all patterns are listed [-]."""


@record
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


def search(program: Program, effort: Effort, least: float = -inf, known: Plan | None = None) -> Found:
    """Find the best pieces, patterns and stock of a program.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    effort
        Counter of units.
    least
        A bound that is known already, with a joint for every piece [minor units of money].
    known
        A plan that is known already, None when there is none.
    """
    start = counted(program, effort)
    plan, bound = (None, least) if start is None else (start[0], max(least, start[1]))
    if known is not None and (plan is None or known.cost < plan.cost):
        plan = known
    if plan is None or plan.cost > bound:
        better, bound = _explore(program, effort, bound, inf if plan is None else plan.cost)
        plan = better or plan or _any_plan(program, bound, effort)
    return Found(
        chosen=None if plan is None else plan.chosen, bound=bound if plan is None else min(bound, plan.cost)
    )


def _any_plan(program: Program, bound: float, effort: Effort) -> Plan | None:
    """Return a plan at prices by length, for where the search has found none though it did not rule them out."""
    prices = prices_by_length(program) if bound < inf else None
    return None if prices is None else guided_plan(program, prices, effort)


def root_prices(model: Formulation, effort: Effort) -> Prices | None:
    """Return what pieces and strips are worth in the relaxation, None when it has no solution."""
    tree = PricedSearch(model, effort)
    return model.prices(tree.duals) if tree.plant() and tree.heap else None


def _explore(program: Program, effort: Effort, least: float, known: float) -> tuple[Plan | None, float]:
    """Look for a plan that costs less than a known one.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    effort
        Counter of units.
    least
        A bound that is known already [minor units of money].
    known
        Cost of the plan that is known [minor units of money].

    Returns
    -------
    tuple
        The plan, None when there is none, and a bound of all plans that cost less than the known one.
    """
    if program.listed:
        return _explore_listed(program, effort, least, known)
    tree = PricedSearch(Formulation(program), effort, least, known)
    if not tree.plant():
        return _of_prices(tree, effort, least)
    for nodes, most in SHORTLISTS:
        tree.grow(nodes)
        if tree.done:
            return tree.plan, tree.bound
        shortened = tree.shortened(most)
        if shortened is not None:
            better, bound = _explore(shortened.program, effort, tree.bound, tree.known)
            return tree.plan if better is None else shortened.widened(better), bound
    tree.grow(NODES)
    if not tree.done:
        tree.last_try()
        tree.offer(plan_large(program, program, tree.model.prices(tree.duals), effort)[0])
    return tree.plan, tree.bound


def _explore_listed(
    program: Program, effort: Effort, least: float, known: float
) -> tuple[Plan | None, float]:
    """Look for a plan as `_explore` does, where all patterns are listed."""
    own = ListedSearch(program, effort, least, known)
    if not own.plant():
        return _of_prices(own, effort, least)
    own.grow(LISTED_NODES)
    return own.plan, own.bound


def _of_prices(own: ListedSearch | PricedSearch, effort: Effort, least: float) -> tuple[Plan | None, float]:
    """Plan at the prices of a relaxation that could not be solved to its end."""
    plan, bound = plan_large(
        own.program, own.program, own.model.prices(own.relaxation.duals.tolist()), effort
    )
    own.offer(plan)
    return own.plan, max(bound, least)
