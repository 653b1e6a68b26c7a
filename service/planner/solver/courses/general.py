"""The general solver, asked where our own branch and bound does not finish: its cuts prove what ours cannot."""

from math import ceil, inf

from highspy import SolutionStatus
from highspy._core import (
    _Highs as Solver,
)  # the plain class: the public wrapper writes a banner and sets callbacks

from service.planner.solver.courses.model import Model
from service.planner.solver.courses.program import Plan

NODES = 1_000
"""How many nodes the general solver may visit [-]."""
OPTIONS: dict[str, bool | float | str] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 0,
    "mip_rel_gap": 0.0,
    "mip_max_nodes": NODES,
    "mip_max_stall_nodes": 300,
}
ROUNDING = 1e-6


def ask_solver(model: Model) -> tuple[Plan | None, float]:
    """Have the general solver look for a plan among the patterns that are known; the plan, and a bound of all plans of these."""
    solver = Solver()
    for option, value in OPTIONS.items():
        solver.setOptionValue(option, value)
    step = model.program.step
    solver.setOptionValue("mip_abs_gap", step * 0.999)
    solver.passModel(model.build(integer=True))
    solver.run()
    information = solver.getInfo()
    if information.primal_solution_status != SolutionStatus.kSolutionStatusFeasible:
        return None, -inf
    bound = step * ceil(information.mip_dual_bound / step - ROUNDING)
    return model.plan([round(value) for value in solver.getSolution().col_value]), bound
