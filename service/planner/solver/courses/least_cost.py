"""Layout and cutting decided together: the least-cost pieces of a material, with a bound and a proof.

No money formatting, no trade parts, no input or output lives here; effort is limited by counts alone.
"""

from dataclasses import replace
from itertools import accumulate
from math import inf

import numpy as np

from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.courses.laying import Path, paths_of
from service.planner.solver.courses.naming import cost_of, realise
from service.planner.solver.courses.offcuts import concentrate
from service.planner.solver.courses.pieces import Block, Kinds, gap_in, is_even, make_block
from service.planner.solver.courses.problem import (
    Answer,
    CourseProblem,
    CutPiece,
    CutStrip,
    OpenedStock,
    SpanTooLongError,
    Stock,
    StockShortageError,
    TooManyPiecesError,
)
from service.planner.solver.courses.program import Chosen, Plan, Program, make_program
from service.planner.solver.courses.runs import CourseRun, piece_length
from service.planner.solver.courses.sampling import SAMPLE, is_large, plan_large, sample, sample_size
from service.planner.solver.courses.search import Found, root_prices, search
from service.planner.solver.courses.sections import Group, group_sections
from service.planner.solver.effort import Effort

__all__ = [
    "Answer",
    "CourseProblem",
    "CourseRun",
    "CutPiece",
    "CutStrip",
    "OpenedStock",
    "SpanTooLongError",
    "Stock",
    "StockShortageError",
    "TooManyPiecesError",
    "solve",
    "warm_up",
]


PIECES = 200_000
"""How many possible pieces are listed at most; about 100 MB [-]"""
UNITS = 3_000_000
"""What a course may take where nothing else is said [units]."""


def solve(problem: CourseProblem, effort: Effort | None = None) -> Answer:
    """Find the least-cost pieces and cutting of a material.

    Parameters
    ----------
    problem
        Runs, stock and costs.
    effort
        Counter of units.

    Returns
    -------
    Answer
        The best plan found, with a lower bound that holds for every plan.

    Raises
    ------
    SpanTooLongError
        When a run has no path of admissible pieces.
    StockShortageError
        When limited stock does not suffice.
    TooManyPiecesError
        When there are more possible pieces than may be listed.
    """
    groups = group_sections(problem.runs)
    effort = Effort(UNITS) if effort is None else effort
    answer, bound = _solve_groups(problem, groups, effort, -inf)
    if answer is None:
        apart = [part for group in groups for part in group.apart()]
        answer, _ = _solve_groups(problem, apart, effort, bound)
    if answer is None:
        raise AssertionError("single sections always have a path")
    return answer


def warm_up() -> None:
    """Solve two small courses, the second by all that may be compiled, so that nothing is left to be when the first question comes."""
    stock = (Stock(key="short", length=300, price=310), Stock(key="long", length=430, price=405))
    steps = [(83, 101, 121)[at % 3] + 7 * at % 11 for at in range(30)]
    for positions in (tuple(range(0, 2_200, 100)), tuple(accumulate(steps, initial=0))):
        run = CourseRun(positions=positions, joint_deductions=(2,) * len(positions))
        solve(CourseProblem(runs=(run,), stock=stock, kerf=3, grid=1, joint_cost=20, cut_cost=15))


def _solve_groups(
    problem: CourseProblem, groups: list[Group], effort: Effort, floor: float
) -> tuple[Answer | None, float]:
    """Solve with these groups, given a bound; no answer when pieces cannot be shared out to equal sections."""
    kinds = Kinds(_longest(problem), problem.grid, problem.max_span)
    _check_size(groups, kinds)
    blocks = [make_block(group, kinds) for group in groups]
    effort.charge(5 * sum(len(block.pieces) for block in blocks) + 50 * len(problem.stock))
    _check_paths(problem, kinds, blocks)
    program = make_program(problem, kinds, blocks)
    plan, bound = None, floor
    most = sample_size(program, effort)
    if is_large(blocks) or most is not None:
        plan, bound = _plan_by_sample(problem, program, sample(groups, most or SAMPLE), effort)
    found = Found(chosen=None if plan is None else plan.chosen, bound=bound)
    if not is_large(blocks):
        found = search(program, effort, max(floor, bound), plan)
    if found.chosen is None:
        raise StockShortageError(height_class=0)
    return _answer(problem, program, found.chosen, found.bound), found.bound


def _check_size(groups: list[Group], kinds: Kinds) -> None:
    """Raise when there are more possible pieces than may be listed."""
    pieces = 0
    for group in groups:
        section = group.section
        if not is_even(section):
            x, reach = np.array(section.positions), kinds.longest[section.height_class] + kinds.grid
            reach = min(reach + 2 * max(0, *section.deductions), kinds.max_span or x[-1])
            pieces += int((np.searchsorted(x, x + reach, "right") - np.arange(len(x)) - 1).sum())
    if pieces > PIECES:
        raise TooManyPiecesError(pieces=pieces, most=PIECES)


def _plan_by_sample(
    problem: CourseProblem, program: Program, groups: list[Group], effort: Effort
) -> tuple[Plan | None, float]:
    """Plan and bound a program that takes too long to search, by the prices of a sample."""
    kinds = Kinds(_longest(problem), problem.grid, problem.max_span)
    sampled = make_program(problem, kinds, [make_block(group, kinds) for group in groups])
    with effort.within(effort.left / 2):
        prices = root_prices(Formulation(replace(sampled, listed=False)), effort)
    return plan_large(program, sampled, prices, effort)


def _longest(problem: CourseProblem) -> tuple[int, ...]:
    """Longest stock that is wide enough for each height class [nm]."""
    longest = []
    for height_class, height in enumerate(problem.heights or (0,)):
        usable = [s.length for s in problem.stock if s.count != 0 and (s.width is None or height <= s.width)]
        if not usable:
            raise StockShortageError(height_class=height_class)
        longest.append(max(usable))
    return tuple(longest)


def _check_paths(problem: CourseProblem, kinds: Kinds, blocks: list[Block]) -> None:
    """Raise when a section cannot be laid."""
    for block in blocks:
        gap = gap_in(block)
        if gap is not None:
            run, first = block.group.members[0]
            start, end = first + gap[0], first + gap[1]
            length = piece_length(problem.runs[run], start, end, problem.grid)
            longest = kinds.longest[block.group.section.height_class]
            raise SpanTooLongError(run=run, start=start, end=end, length=length, longest=longest)


def _answer(problem: CourseProblem, program: Program, chosen: Chosen, bound: float) -> Answer | None:
    """Turn a solution of the program into named pieces."""
    paths = _join(problem, program.blocks, chosen.pieces)
    if paths is None:
        return None
    kinds, slot_of = program.kinds, program.slot_of
    slots = {size: slot_of[kind] for kind, size in enumerate(kinds.sizes)}
    fillings = [(program.strips[at], pattern.counts) for at, pattern in chosen.strips]
    yields = {
        (at, rip): {program.strips[strip]: n for strip, n in program.supplies[at].rips[rip]}
        for at, rip in set(chosen.opened)
    }
    ripped = [(program.supplies[at].stock, yields[at, rip]) for at, rip in chosen.opened]
    opened = concentrate(problem, realise(problem, paths, slots, fillings, ripped))
    objective = cost_of(problem, paths, opened)
    constant = -problem.joint_cost * len(problem.runs)
    lower_bound = min(objective, round(bound) + constant)
    return Answer(paths=paths, opened=opened, objective=objective, lower_bound=lower_bound)


def _join(problem: CourseProblem, blocks: list[Block], pieces: list[list[int]]) -> tuple[Path, ...] | None:
    """Join the sections' paths to one path a run."""
    found: list[list[tuple[int, Path]]] = [[] for _ in problem.runs]
    for block, counts in zip(blocks, pieces, strict=True):
        paths = paths_of(block, counts)
        if paths is None:
            return None
        for (run, first), path in zip(block.group.members, paths, strict=True):
            found[run].append((first, path))
    joined = []
    for parts in found:
        stops = [0]
        for first, path in sorted(parts):
            stops += [first + support for support in path[1:]]
        joined.append(tuple(stops))
    return tuple(joined)
