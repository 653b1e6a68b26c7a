"""Budgets of units: what a question spends, what it answers when they end, and what is kept of it."""

from collections.abc import Callable
from functools import partial
from random import Random

import pytest

from service.planner.solver.courses.least_cost import CourseProblem, CourseRun, Stock, solve
from service.planner.solver.cuts.cut_lists import CutDemand, CutListProblem, CutStock, solve_cut_list
from service.planner.solver.effort import Cancelled, Effort
from service.planner.solver.kept import Kept

MM = 10**6
INCH = 25_400_000


def long_list(lengths: int, count: int, stocks: int, *, wide: bool = False) -> CutListProblem:
    """Draw as many lengths as a request may name, from stock limited in number but for one."""
    random = Random(lengths)  # noqa: S311 - no secret
    stock = tuple(
        CutStock(
            length=random.randint(2_000, 6_000) * MM,
            width=random.randint(900, 1_500) * MM if wide else None,
            price=random.randint(1_000, 9_000),
            count=random.randint(50, 500) if kind else None,
        )
        for kind in range(stocks)
    )
    demand = tuple(
        CutDemand(
            length=random.randint(14, 1_800) * MM,
            width=random.randint(20, 800) * MM if wide else None,
            count=count,
        )
        for _ in range(lengths)
    )
    return CutListProblem(stock=stock, demand=demand, kerf=3 * MM, trim=wide)


def uneven(bays: int, inches: tuple[int, int], kinds: int, on_hand: int) -> CourseProblem:
    """Draw two sides of uneven bays, so many kinds of sheet bought, and strips on hand."""
    random, positions = Random(bays), [0]  # noqa: S311 - no secret
    for _ in range(bays):
        positions.append(positions[-1] + random.randint(*inches) * INCH + random.randint(0, 15) * INCH // 16)
    run = CourseRun(positions=tuple(positions), joint_deductions=(7 * MM,) * (bays + 1))
    stock = [Stock(key="longest", length=288 * INCH, width=48 * INCH, price=9_600)]
    for kind in range(kinds):
        length, width = random.randint(96, 288) * INCH, random.choice((48, 60, 72)) * INCH
        stock.append(
            Stock(key=f"sheet {kind}", length=length, width=width, price=random.randint(3_000, 9_000))
        )
    for kind in range(on_hand):
        length, count = random.randint(40, 280) * INCH, random.randint(1, 9)
        stock.append(Stock(key=f"strip {kind}", length=length, width=24 * INCH, count=count))
    return CourseProblem(
        runs=(run, run),
        heights=(24 * INCH - 3 * MM,),
        stock=tuple(stock),
        kerf=INCH // 8,
        grid=INCH // 16,
        joint_cost=1_800,
        cut_cost=150,
    )


def test_the_same_question_charges_the_same_units() -> None:
    """Twice the same list, once a course: units are counted, not timed."""
    spent = []
    for _ in range(2):
        efforts = Effort(200_000), Effort(200_000)
        solve_cut_list(long_list(60, 5, 4), efforts[0])
        solve(uneven(40, (40, 60), 3, 2), efforts[1])
        spent.append([effort.spent for effort in efforts])
    assert spent[0] == spent[1]


@pytest.mark.parametrize(
    "ask", [partial(solve_cut_list, long_list(60, 5, 4)), partial(solve, uneven(60, (20, 30), 3, 2))]
)
def test_a_counter_that_is_cancelled_stops_its_work(ask: Callable[[Effort], object]) -> None:
    """Whoever charges a cancelled counter stops with a named error."""
    effort = Effort(10**9)
    effort.cancel()
    with pytest.raises(Cancelled):
        ask(effort)
    assert effort.spent < 100_000


def test_a_part_ends_before_the_whole() -> None:
    """Half of the units for a part: it ends there, and the other half is left."""
    effort = Effort(100)
    with effort.share(0.5):
        effort.charge(60)
        assert effort.ended
    assert (effort.ended, effort.left, effort.felt) == (False, 40, True)


def test_an_answer_that_is_kept_charges_what_finding_it_cost() -> None:
    """Found once and told twice, for the same units; one that felt the end of its units is found anew with more of them."""
    asked: list[int] = []

    def find(question: int, effort: Effort) -> int:
        asked.append(question)
        effort.charge(question)
        return 0 if effort.ended else question

    kept = Kept(find, lambda _question, _answer: 1)
    told = [(kept(30, effort), effort.spent) for effort in (Effort(100), Effort(1_000), Effort(100))]
    assert told == [(30, 30)] * 3
    assert asked == [30]
    told = [(kept(300, effort), effort.spent) for effort in (Effort(100), Effort(100), Effort(1_000))]
    assert told == [(0, 300), (0, 300), (300, 300)]
    assert asked == [30, 300, 300]


def test_the_oldest_answers_go_when_bytes_are_needed() -> None:
    """Room for three: the one used longest ago goes first, and what is too large is not kept at all."""
    asked: list[int] = []

    def find(question: int, effort: Effort) -> int:
        effort.charge(1)
        asked.append(question)
        return question

    kept = Kept(find, lambda question, _answer: 100 if question == 9 else 10, most=30)
    for question in (1, 2, 3, 1, 4, 9, 9, 1, 3, 2):
        assert kept(question, Effort(100)) == question
    assert asked == [1, 2, 3, 4, 9, 9, 2]
