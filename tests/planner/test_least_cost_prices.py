"""Prices that bound a course too large to search: no way to cut a strip may be worth more than the strip."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.courses.pieces import Kinds, make_block
from service.planner.solver.courses.problem import CourseProblem
from service.planner.solver.courses.program import Program, make_program
from service.planner.solver.courses.sampling import carry_over, sample
from service.planner.solver.courses.search import root_prices
from service.planner.solver.courses.sections import Group, group_sections
from tests.planner.course_cases import draw_problem
from tests.planner.small_programs import endless


def program_of(problem: CourseProblem, groups: list[Group]) -> Program:
    """Return the integer program of some sections."""
    longest = max(stock.length for stock in problem.stock)
    kinds = Kinds((longest,) * max(1, len(problem.heights)), problem.grid, problem.max_span)
    return make_program(problem, kinds, [make_block(group, kinds) for group in groups])


def fillings(sizes: list[int], room: int) -> Iterator[tuple[tuple[int, ...], int]]:
    """Go through every choice of how many of each size fit, and the room that is left."""
    if not sizes:
        yield (), room
        return
    for count in range(room // sizes[0] + 1):
        for counts, rest in fillings(sizes[1:], room - count * sizes[0]):
            yield (count, *counts), rest


@pytest.mark.parametrize("less", [0.0, 7.5])
@pytest.mark.parametrize("seed", range(1, 161, 8))
def test_no_filling_is_worth_more_than_its_strip(seed: int, less: float) -> None:
    """Every filling of every strip, tried one by one; a full one gives a crosscut back.

    The price of a piece includes its crosscut, so a filling is worth its pieces less the crosscuts it needs.
    """
    problem = draw_problem(seed)
    groups = group_sections(problem.runs)
    whole, sampled = program_of(problem, groups), program_of(problem, sample(groups, 2))
    found = root_prices(Formulation(replace(sampled, listed=False)), endless())
    assert found is not None
    prices = carry_over(whole, sampled, found, less)
    for (length, _), limit in zip(whole.strips, prices.strips, strict=True):
        room = length + problem.kerf
        sizes = [size + problem.kerf for size in whole.slots]
        for counts, rest in fillings(sizes, room):
            if any(counts):
                crosscuts = sum(counts) - (rest == 0)
                worth = sum(n * value for n, value in zip(counts, prices.contents, strict=True))
                assert worth - problem.cut_cost * crosscuts <= limit + 1e-6
