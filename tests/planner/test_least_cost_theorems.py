"""What holds for every answer of the joint solver, whatever the problem."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.planner.solver.courses.least_cost import (
    Answer,
    CourseProblem,
    CourseRun,
    SpanTooLongError,
    Stock,
    StockShortageError,
    solve,
)
from tests.planner.course_cases import draw_problem

cases = st.integers(min_value=0, max_value=100_000)
thorough = settings(derandomize=True, max_examples=150, deadline=None)


def answered(seed: int) -> tuple[CourseProblem, Answer]:
    """Draw a problem and solve it; cases without a plan are no cases here."""
    problem = draw_problem(seed)
    try:
        return problem, solve(problem)
    except (SpanTooLongError, StockShortageError):
        assume(False)
        raise


def length_of(problem: CourseProblem, run: CourseRun, start: int, end: int) -> int:
    """Length of a piece by the rule: span less what each end loses, rounded down to the grid."""
    last = len(run.positions) - 1
    left = run.start_deduction if start == 0 else run.joint_deductions[start]
    right = run.end_deduction if end == last else run.joint_deductions[end]
    return (run.positions[end] - run.positions[start] - left - right) // problem.grid * problem.grid


@thorough
@given(cases)
def test_paths_run_from_end_to_end_over_allowed_supports(seed: int) -> None:
    """A path joins both ends, breaks where it must, never where it must not, and reaches no farther than allowed."""
    problem, answer = answered(seed)
    for run, path in zip(problem.runs, answer.paths, strict=True):
        assert (path[0], path[-1]) == (0, len(run.positions) - 1)
        assert run.forced <= set(path)
        assert not run.forbidden & set(path[1:-1])
        for start, end in pairwise(path):
            assert start < end
            assert problem.max_span is None or run.positions[end] - run.positions[start] <= problem.max_span


@thorough
@given(cases)
def test_every_piece_is_cut_exactly_once(seed: int) -> None:
    """The pieces of the strips are the pieces of the paths, each once and at its own length."""
    problem, answer = answered(seed)
    chosen = Counter(
        (index, start, end, length_of(problem, problem.runs[index], start, end))
        for index, path in enumerate(answer.paths)
        for start, end in pairwise(path)
    )
    cut = Counter(
        (piece.run, piece.start, piece.end, piece.length)
        for opened in answer.opened
        for strip in opened.strips
        for piece in strip.pieces
    )
    assert cut == chosen


@thorough
@given(cases)
def test_strips_fit_their_stock(seed: int) -> None:
    """Pieces and the kerfs between them fit the strip, and are of the strip's height class."""
    problem, answer = answered(seed)
    lengths = {stock.key: stock.length for stock in problem.stock}
    for opened in answer.opened:
        for strip in opened.strips:
            filled = sum(piece.length + problem.kerf for piece in strip.pieces) - problem.kerf
            assert filled <= lengths[opened.key]
            assert strip.crosscuts == len(strip.pieces) - (filled == lengths[opened.key])
            assert {problem.runs[piece.run].height_class for piece in strip.pieces} == {strip.height_class}


@thorough
@given(cases)
def test_sheets_fit_their_strips_and_no_stock_is_opened_twice(seed: int) -> None:
    """Strips and the kerfs between them fit the width; linear stock is one strip; counts are kept."""
    problem, answer = answered(seed)
    stock = {stock.key: stock for stock in problem.stock}
    for opened in answer.opened:
        width = stock[opened.key].width
        if width is None:
            assert len(opened.strips) == 1
        else:
            taken = sum(problem.heights[strip.height_class] + problem.kerf for strip in opened.strips)
            assert taken <= width + problem.kerf
    for key, used in Counter(opened.key for opened in answer.opened).items():
        limit = stock[key].count
        assert limit is None or used <= limit


@thorough
@given(cases)
def test_the_objective_is_the_cost_of_the_answer(seed: int) -> None:
    """Stock opened, a joint for every piece beyond one a run, and every crosscut; the bound is not above it."""
    problem, answer = answered(seed)
    prices = {stock.key: stock.price for stock in problem.stock}
    joints = sum(len(path) - 1 for path in answer.paths) - len(problem.runs)
    crosscuts = sum(strip.crosscuts for opened in answer.opened for strip in opened.strips)
    cost = sum(prices[opened.key] for opened in answer.opened)
    cost += problem.joint_cost * joints + problem.cut_cost * crosscuts
    assert answer.objective == cost
    assert answer.lower_bound <= answer.objective


@thorough
@given(cases, st.integers(min_value=100, max_value=260), st.integers(min_value=0, max_value=900))
def test_more_stock_never_costs_more(seed: int, length: int, price: int) -> None:
    """A further kind of stock can be left alone, so a proven plan never gets dearer by it."""
    problem, answer = answered(seed)
    width = problem.stock[0].width
    more = Stock(key="further", length=length, width=width, price=price)
    wider = solve(replace(problem, stock=(*problem.stock, more)))
    assert answer.proven_optimal
    assert wider.proven_optimal
    assert wider.objective <= answer.objective


@thorough
@given(cases)
def test_the_same_problem_has_the_same_answer(seed: int) -> None:
    """The solver keeps nothing between calls and draws nothing."""
    problem, answer = answered(seed)
    assert solve(problem) == answer


@thorough
@given(cases)
def test_a_run_laid_backwards_costs_the_same(seed: int) -> None:
    """Turning every run end for end changes no length and so no cost."""
    problem, answer = answered(seed)
    turned = tuple(backwards(run) for run in problem.runs)
    assert solve(replace(problem, runs=turned)).objective == answer.objective


def backwards(run: CourseRun) -> CourseRun:
    """Return the run as seen from its other end."""
    last = len(run.positions) - 1
    return replace(
        run,
        positions=tuple(run.positions[-1] - x for x in reversed(run.positions)),
        joint_deductions=tuple(reversed(run.joint_deductions)),
        start_deduction=run.end_deduction,
        end_deduction=run.start_deduction,
        forbidden=frozenset(last - i for i in run.forbidden),
        forced=frozenset(last - i for i in run.forced),
    )


@pytest.mark.parametrize("bays", [5_000])
def test_thousands_of_even_bays_are_proven(bays: int) -> None:
    """5,000 bays of 48 on four runs, three to a piece: 4 x ceil(5000/3) pieces, and sticks for 20,000 bays.

    Stock 144, no gap and no kerf: 5000 = 1666 x 3 + 2, so 1667 pieces a run and 6668 in all, 6664 of them whole
    sticks. The four odd pieces of two bays take a stick each (96 + 96 > 144), or one of them is split into
    singles that go beside two others: 3 sticks, one more joint. Sticks at 1000, joint 200, cut 150:
    with four sticks 4 x 1000 + 4 x 150 = 4600; with three 3 x 1000 + 200 + cuts, where two strips (96 + 48) are
    used up (one cut each) and one holds 96 (one cut): 3 x 150 = 450; 3650 in all.
    """
    run = CourseRun(positions=tuple(48 * i for i in range(bays + 1)), joint_deductions=(0,) * (bays + 1))
    stock = (Stock(key="stick", length=144, price=1000),)
    answer = solve(CourseProblem(runs=(run,) * 4, stock=stock, kerf=0, grid=1, joint_cost=200, cut_cost=150))
    assert answer.objective == 6664 * 1000 + (6668 - 4) * 200 + 3650
    assert answer.proven_optimal


def test_a_problem_too_hard_to_finish_answers_with_an_honest_bound() -> None:
    """Sixty unequal bays a side, sides of two heights, twelve kinds of sheet: effort ends, the answer still holds."""
    random = Random(3)  # noqa: S311 - no secret
    sides = []
    for height_class in (0, 1):
        positions = [0]
        for _ in range(60):
            positions.append(positions[-1] + 768 + random.randint(-96, 96))
        sides.append(
            CourseRun(positions=tuple(positions), joint_deductions=(4,) * 61, height_class=height_class)
        )
    sheets = tuple(
        Stock(
            key=f"{width} x {length}",
            length=length,
            width=width,
            price=length * width // random.randint(150, 170),
        )
        for width in (768, 1152)
        for length in (1536, 1920, 2304, 3072, 3840, 4608)
    )
    problem = CourseProblem(
        runs=tuple(sides), heights=(382, 284), stock=sheets, kerf=2, grid=1, joint_cost=1800, cut_cost=150
    )
    answer = solve(problem)
    assert 0.9 * answer.objective < answer.lower_bound <= answer.objective
    cut = sum(len(strip.pieces) for opened in answer.opened for strip in opened.strips)
    assert cut == sum(len(path) - 1 for path in answer.paths)
