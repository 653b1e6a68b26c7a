"""A good plan from prices: the cheapest path of every section at the prices, then strips filled one by one.

The prices come from a linear relaxation. The plan is a start for the search, and all there is where the
problem is too large to search.
"""

from collections.abc import Sequence
from itertools import accumulate, pairwise

import numpy as np

from service.planner.records import record
from service.planner.solver.courses.greedy_plan import ENDLESS, Guided, Worths, guide
from service.planner.solver.courses.paths import cheapest_pieces
from service.planner.solver.courses.pieces import Block
from service.planner.solver.courses.program import Chosen, Plan, Program
from service.planner.solver.courses.strips import Pattern
from service.planner.solver.effort import Effort


@record
class Prices:
    """What pieces and strips are worth.

    Parameters
    ----------
    pieces
        Cost of choosing a piece of each slot, its joint and its share of stock and crosscut included [minor units of money].
    contents
        Worth of having a piece of each slot in a strip [minor units of money].
    strips
        Worth of each strip [minor units of money].
    """

    pieces: Sequence[float]
    contents: Sequence[float]
    strips: Sequence[float]


def guided_plan(program: Program, prices: Prices, effort: Effort) -> Plan | None:
    """Return a plan made at these prices, None when stock runs out on the way or a section alone cannot be laid.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    prices
        What pieces and strips are worth.
    effort
        Counter of units; the plan is made even where they end.
    """
    worths = Worths(*(np.array(own, dtype=float) for own in (prices.pieces, prices.contents, prices.strips)))
    counts = program.stocked.counts
    stock = np.where(counts < 0, ENDLESS, counts)
    costs = program.joint_cost, program.cut_cost
    return plan_of(program, guide(program.arrays(), worths, stock, *costs, effort.cells))


def plan_of(program: Program, guided: Guided) -> Plan | None:
    """Return what compiled code has found as a plan, None when it has found none."""
    if guided.cost < 0:
        return None
    used, contents = guided.used.tolist(), [(slot, n) for slot, n in guided.contents.tolist()]
    ends = [0, *accumulate(len(block.pieces) for block in program.blocks)]
    strips: list[tuple[int, Pattern]] = []
    for (strip, repeat, flush), (first, last) in zip(
        guided.cut.tolist(), pairwise(guided.starts.tolist()), strict=True
    ):
        strips += [(strip, Pattern(tuple(contents[first:last]), flush == 1))] * repeat
    strips.sort(key=lambda entry: not entry[1].flush)
    opened = [(at, rip) for at, rip, repeat in guided.opened.tolist() for _ in range(repeat)]
    chosen = Chosen(pieces=[used[first:last] for first, last in pairwise(ends)], strips=strips, opened=opened)
    return Plan(chosen=chosen, cost=guided.cost)


def cheapest_path(block: Block, slot_of: Sequence[int], costs: Sequence[float]) -> tuple[float, list[int]]:
    """Return the cost of a block's cheapest pieces, the same in all its sections, and how many of each.

    Parameters
    ----------
    block
        The possible pieces.
    slot_of
        The slot that each kind is cut from [-].
    costs
        Cost of a piece of each slot.
    """
    slots = np.array(slot_of)[block.places[:, 2]]
    last, size = block.group.section.last, block.group.size
    total, used = cheapest_pieces(block.places, np.array(costs, dtype=float)[slots], last, block.way)
    return total * size, (used * size).tolist()
