"""The joint solver against hand arithmetic and against an independent solver."""

import pytest

from service.planner.solver.courses import program, sampling
from service.planner.solver.courses.least_cost import (
    CourseProblem,
    CourseRun,
    SpanTooLongError,
    Stock,
    StockShortageError,
    solve,
)
from tests.planner.course_cases import draw_problem
from tests.planner.oracle import least_cost

INCH = 25_400_000


def inches(value: float) -> int:
    """Inches in whole nanometres; every value used here is a multiple of 1/32 in or 1/100 in, so exact."""
    return round(value * INCH)


def worked_example(
    joint_deduction: float, end_deduction: float, stock: Stock, joint_cost: int, heights: tuple[int, ...] = ()
) -> CourseProblem:
    """Two sides of 22 bays of 4 ft; deductions [in]."""
    run = CourseRun(
        positions=tuple(inches(48) * i for i in range(23)),
        joint_deductions=(inches(joint_deduction),) * 23,
        start_deduction=inches(end_deduction),
        end_deduction=inches(end_deduction),
    )
    return CourseProblem(
        runs=(run, run),
        heights=heights,
        stock=(stock,),
        kerf=inches(0.125),
        grid=inches(0.0625),
        joint_cost=joint_cost,
        cut_cost=150,
    )


def test_panels_of_the_worked_example() -> None:
    """Two strips a sheet, three bays a strip; gap 9/16 in.

    22 bays a side need 8 panels and 7 joints; 44 bays need ceil(44/3) = 15 strips, so 8 sheets. No piece fills
    a strip (143 11/16 < 144), so 16 crosscuts. 8 x 48.00 + 14 x 18.00 + 16 x 1.50 = 384 + 252 + 24 = 660.00.
    """
    sheet = Stock(key="sheet", length=inches(144), width=inches(48), price=4800)
    answer = solve(worked_example(9 / 32, 0, sheet, 1800, (inches(24 - 0.125),)))
    assert (answer.objective, answer.lower_bound, answer.proven_optimal) == (66000, 66000, True)
    assert len(answer.opened) == 8


def test_boards_of_the_worked_example() -> None:
    """Lap 3 in, stock 147 in, boards run 0.95 in past the end posts' centres.

    Three bays between laps are 147 in: the whole stick, no crosscut. 16 boards, the two odd bays share a stick:
    15 sticks, 14 laps. Cuts are least with the odd bay at an end of each side: two cuts for the stick that the
    odd bays share, one each for the two long end pieces: 4. 15 x 24.00 + 14 x 2.00 + 4 x 1.50 = 394.00.
    """
    board = Stock(key="board", length=inches(147), price=2400)
    answer = solve(worked_example(-1.5, -0.95, board, 200))
    assert (answer.objective, answer.proven_optimal) == (39400, True)
    assert len(answer.opened) == 15


def test_channel_of_the_worked_example() -> None:
    """Gap 1/8 in, ends 1 1/16 in short of the end posts' centres.

    No piece fills a stick, so 16 crosscuts: 15 x 18.00 + 14 x 2.00 + 16 x 1.50 = 270 + 28 + 24 = 322.00.
    """
    channel = Stock(key="channel", length=inches(144), price=1800)
    answer = solve(worked_example(1 / 16, 17 / 16, channel, 200))
    assert (answer.objective, answer.proven_optimal) == (32200, True)


def solved(problem: CourseProblem) -> int | None:
    """Return the objective, proven; None when there is no plan."""
    try:
        answer = solve(problem)
    except (SpanTooLongError, StockShortageError):
        return None
    assert answer.proven_optimal
    return answer.objective


@pytest.mark.parametrize("first", range(0, 400, 8))
def test_agrees_with_an_independent_solver(first: int) -> None:
    """Eight shapes of small problem a time, 400 in all, cost the same by a general solver's own formulation."""
    for seed in range(first, first + 8):
        problem = draw_problem(seed)
        assert solved(problem) == least_cost(problem), f"seed {seed}"


def test_a_bound_holds_where_patterns_are_not_all_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Patterns priced as they are needed: no bound above the independent optimum, no plan below it."""
    monkeypatch.setattr(program, "PATTERNS", 3)
    proven = 0
    for seed in range(120):
        problem = draw_problem(seed)
        best = least_cost(problem)
        if best is not None:
            answer = solve(problem)
            assert answer.lower_bound <= best <= answer.objective, f"seed {seed}"
            proven += answer.proven_optimal
    assert proven >= 90


def test_a_bound_holds_where_a_sample_sets_the_prices(monkeypatch: pytest.MonkeyPatch) -> None:
    """A course treated as too large to search keeps its bound below the independent optimum, its plan above."""
    monkeypatch.setattr(sampling, "PLACES", 0)
    monkeypatch.setattr("service.planner.solver.courses.least_cost.SAMPLE", 3)
    for seed in range(1, 401, 8):
        problem = draw_problem(seed)
        best = least_cost(problem)
        assert best is not None
        answer = solve(problem)
        assert answer.lower_bound <= best <= answer.objective, f"seed {seed}"


def test_a_span_longer_than_any_piece_is_named() -> None:
    """The error carries the run, the two supports, the length that would be needed and the longest piece."""
    short = CourseRun(positions=(0, 50, 100), joint_deductions=(1, 1, 1))
    long = CourseRun(positions=(0, 50, 170, 220), joint_deductions=(1, 1, 1, 1))
    stock = (Stock(key="stick", length=110, price=5),)
    problem = CourseProblem(runs=(short, long), stock=stock, kerf=1, grid=1, joint_cost=1, cut_cost=1)
    with pytest.raises(SpanTooLongError) as caught:
        solve(problem)
    error = caught.value
    assert (error.run, error.start, error.end, error.length, error.longest) == (1, 1, 2, 118, 110)


def test_a_longer_piece_may_fit_where_a_shorter_one_does_not() -> None:
    """The far end takes 150 off: a piece over both spans is 50 long, while none of 100 over the first comes out of 90."""
    run = CourseRun(positions=(0, 100, 200), joint_deductions=(0, 0, 0), end_deduction=150)
    stock = (Stock(key="stick", length=90, price=7),)
    answer = solve(CourseProblem(runs=(run,), stock=stock, kerf=3, grid=1, joint_cost=2, cut_cost=1))
    assert answer.paths == ((0, 2),)
    assert (answer.lower_bound, answer.objective) == (8, 8)


def test_stock_that_runs_out_is_named() -> None:
    """Two sticks cannot give three pieces that each need one."""
    run = CourseRun(positions=(0, 60, 120, 180), joint_deductions=(0, 0, 0, 0))
    stock = (Stock(key="stick", length=100, price=5, count=2),)
    with pytest.raises(StockShortageError):
        solve(CourseProblem(runs=(run,), stock=stock, kerf=1, grid=1, joint_cost=1, cut_cost=1))


def test_a_sheet_too_narrow_for_the_wall_is_a_shortage() -> None:
    """No stock is wide enough for the second height class."""
    run = CourseRun(positions=(0, 60), joint_deductions=(0, 0), height_class=1)
    stock = (Stock(key="sheet", length=100, width=20, price=5),)
    with pytest.raises(StockShortageError) as caught:
        solve(
            CourseProblem(
                runs=(run,), heights=(20, 21), stock=stock, kerf=1, grid=1, joint_cost=1, cut_cost=1
            )
        )
    assert caught.value.height_class == 1
