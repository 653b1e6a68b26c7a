"""A plan and an honest bound where there are too many places to search them all.

Prices are taken from the relaxation of a sample: the first supports of every section. They are carried over to
all lengths, scaled until no pattern is worth more than its strip, and then give both a lower bound (the cheapest
path of every section at the prices) and a plan (guided by them).
"""

from bisect import bisect_left
from collections.abc import Sequence
from math import ceil, inf

import numpy as np

from service.planner.solver.courses.pattern_pricing import StripKnapsack
from service.planner.solver.courses.pieces import PLACED, Block
from service.planner.solver.courses.price_plan import Prices, cheapest_path, guided_plan
from service.planner.solver.courses.program import Plan, Program
from service.planner.solver.courses.sections import Group, Section
from service.planner.solver.effort import Effort

PLACES = 1_500
"""How many placed pieces are searched [-]."""
SAMPLE = 100
"""How many supports of a section the sample takes [-]."""
FEWEST = 8
"""How many it takes at least [-]."""
TURN = 500
"""Rows that an exchange brings up to date in a unit, and exchanges that a row takes, about [-]."""
MARGIN = 1e-9
"""Relative allowance for rounding in the bound [-]."""


def is_large(blocks: Sequence[Block]) -> bool:
    """Whether there are too many places to search."""
    return sum(len(block.pieces) for block in blocks if block.way == PLACED) > PLACES


def sample_size(program: Program, effort: Effort) -> int | None:
    """How many supports of a section a sample takes whose relaxation fits the units; None where the whole one does."""
    supports = sum(block.group.section.last for block in program.blocks if block.way == PLACED)
    rows = len(program.slots) + supports
    if not supports or rows**3 <= effort.left * TURN / 4:
        return None
    fits = (effort.left * TURN / 16) ** (1 / 3)
    return max(FEWEST, int(fits / rows * supports / len(program.blocks)))


def sample(groups: Sequence[Group], most: int) -> list[Group]:
    """Return the groups with the first supports of their sections."""
    return [Group(section=_first(group.section, most), members=group.members) for group in groups]


def _first(section: Section, most: int) -> Section:
    """Return the first supports of a section, the last of them one where a piece may end."""
    last = min(most, section.last)
    while last in section.forbidden:
        last += 1
    return Section(
        positions=section.positions[: last + 1],
        deductions=section.deductions[: last + 1],
        forbidden=frozenset(i for i in section.forbidden if i < last),
        height_class=section.height_class,
    )


def carry_over(program: Program, sampled: Program, prices: Prices, less: float) -> Prices:
    """Return prices for all lengths from those of a sample, such that no pattern is worth more than its strip.

    A full strip gives a crosscut back, which the sample knows only of its own lengths. Room for that is made by
    taking something off every piece, and by scaling as far as that is not enough.

    Parameters
    ----------
    program
        The whole program.
    sampled
        The program of the sample; it has the same strips.
    prices
        What pieces and strips of the sample are worth.
    less
        What is taken off every piece [minor units of money].
    """
    strips = [prices.strips[sampled.strips.index(strip)] for strip in program.strips]
    worth = [0.0] * len(program.slots)
    for height_class in sorted(set(program.kinds.classes)):
        known = sorted(
            (sampled.slots[slot], prices.contents[slot] - program.cut_cost)
            for slot in _slots(sampled, height_class)
        )
        own = _slots(program, height_class)
        for slot in own:
            worth[slot] = max(0.0, _below(known, program.slots[slot]) - less)
            for strip, limit in zip(program.strips, strips, strict=True):
                if less and strip == (program.slots[slot], height_class):
                    worth[slot] = min(worth[slot], max(0.0, limit - program.cut_cost))
        scale = _scale(program, height_class, own, worth, strips)
        for slot in own:
            worth[slot] *= scale
    contents = [value + program.cut_cost for value in worth]
    return Prices(pieces=[program.joint_cost + value for value in contents], contents=contents, strips=strips)


def _slots(program: Program, height_class: int) -> list[int]:
    """Slots of a height class."""
    return sorted(
        {program.slot_of[kind] for kind, at in enumerate(program.kinds.classes) if at == height_class}
    )


def _below(known: Sequence[tuple[int, float]], length: int) -> float:
    """Worth of a length: the most of any that is not longer, so that patterns stay within their strips."""
    return max((value for own, value in known[: bisect_left(known, (length + 1, -inf))]), default=0.0)


def _scale(
    program: Program, height_class: int, slots: Sequence[int], worth: Sequence[float], strips: Sequence[float]
) -> float:
    """Greatest factor, at most 1, at which no pattern of the height class is worth more than its strip."""
    strips_own = [
        (length, limit)
        for (length, own), limit in zip(program.strips, strips, strict=True)
        if own == height_class
    ]
    knapsack = StripKnapsack([length for length, _ in strips_own], program.kerf, slots, program.slots)
    scale = 1.0
    for flush in (False, True):
        filled = knapsack.filled(np.array(worth), flush=flush)
        for length, limit in strips_own:
            most = filled.most(length) if not flush or length in knapsack.even else 0.0
            if most > 0:
                scale = min(scale, max(0.0, limit - program.cut_cost * flush) / most)
    return scale


def bound_at(program: Program, prices: Prices) -> float:
    """Lower bound of the program at prices, with a joint for every piece [minor units of money].

    Parameters
    ----------
    program
        The whole program.
    prices
        Prices at which no pattern is worth more than its strip.
    """
    total = sum(cheapest_path(block, program.slot_of, prices.pieces)[0] for block in program.blocks)
    for supply in program.supplies:
        most = max(sum(n * prices.strips[strip] for strip, n in rip) for rip in supply.rips)
        over = most - supply.price
        if over > 0:
            total -= over * (inf if supply.count is None and over > MARGIN * most else supply.count or 0)
    if abs(total) == inf:
        return total
    return program.step * ceil(total * (1 - MARGIN) / program.step - 1e-6)


def prices_by_length(program: Program) -> Prices | None:
    """Return prices in proportion to length, set by the stock that is cheapest by length; None without unlimited stock."""
    rates = [
        supply.price / sum((program.strips[strip][0] + program.kerf) * n for strip, n in rip)
        for supply in program.supplies
        if supply.count is None
        for rip in supply.rips
    ]
    if not rates:
        return None
    contents = [min(rates) * (length + program.kerf) + program.cut_cost for length in program.slots]
    strips = [min(rates) * (length + program.kerf) for length, _ in program.strips]
    return Prices(pieces=[program.joint_cost + value for value in contents], contents=contents, strips=strips)


def plan_large(
    program: Program, sampled: Program, prices: Prices | None, effort: Effort
) -> tuple[Plan | None, float]:
    """Return a plan guided by the prices of a sample, or by length, and the best bound they give."""
    found = []
    if prices is not None:
        found = [carry_over(program, sampled, prices, less) for less in (0.0, program.cut_cost / 2)]
    even = prices_by_length(program)
    if even is not None:
        found.append(carry_over(program, program, even, 0.0))
    plans = [
        plan for plan in (guided_plan(program, carried, effort) for carried in found) if plan is not None
    ]
    plan = min(plans, key=lambda plan: plan.cost, default=None)
    return plan, max((bound_at(program, carried) for carried in found), default=-inf)
