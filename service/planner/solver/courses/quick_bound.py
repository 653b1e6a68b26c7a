"""A bound by counting, and a plan that often meets it: no linear program for the easiest problems.

Every piece covers spans; a strip holds only so many spans; the cheapest stock that holds all spans is a bound on
the stock, and the cheapest path of every section, each piece with its joint and the least crosscuts it can
have, is a bound on the rest. Pieces longer than the shorter stock holds need longer strips, which bounds the pieces
from below. Both bounds hold together for every number of each stock, so the least sum is a bound of the whole.
"""

import numpy as np

from service.planner.solver.courses.pieces import PLACED, Block
from service.planner.solver.courses.price_plan import plan_of
from service.planner.solver.courses.program import Plan, Program
from service.planner.solver.courses.span_totals import Costs, Counted, count
from service.planner.solver.effort import Effort

TRIES = 20_000
"""How many numbers of each stock are tried [-]."""
SMALL = 4
"""Most supports of a section whose pieces are told by place [-]."""


def counted(program: Program, effort: Effort) -> tuple[Plan | None, int] | None:
    """Return a plan and a bound made by counting, with a joint for every piece, None where counting says little.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    effort
        Counter of units.
    """
    stock = program.stocked
    one_rip = len(stock.prices) == len(stock.yields) - 1 == len(stock.given)
    small = all(block.way != PLACED or block.group.section.last <= SMALL for block in program.blocks)
    if program.listing is None or not (one_rip and small):
        return None
    own = Counted(
        shorts=np.array([_short_ends(block) for block in program.blocks]),
        listing=program.listing,
    )
    costs = Costs(program.joint_cost, program.cut_cost, program.step)
    bound, guided = count(program.arrays(), own, costs, TRIES, effort.cells)
    return None if bound < 0 else (plan_of(program, guided), bound)


def _short_ends(block: Block) -> tuple[int, int]:
    """Whether the first and the last span are shorter than those between, 1 each; they are not counted."""
    x = block.group.section.positions
    if block.way == PLACED:
        return 0, 0
    return int(x[1] - x[0] < x[2] - x[1]), int(x[-1] - x[-2] < x[2] - x[1])
