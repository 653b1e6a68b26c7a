"""Cut lists: boundaries worked by hand, errors with their data, and properties that every cut list has."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.planner.solver.cuts import cut_lists
from service.planner.solver.cuts.cut_lists import (
    CutDemand,
    CutListProblem,
    CutStock,
    PieceFitsNoStock,
    StockRunsOut,
    solve_cut_list,
)
from service.planner.solver.effort import Effort
from tests.planner.cut_list_oracle import assert_cuts_exactly

INCH = 25_400_000

PROPERTY = settings(max_examples=60, deadline=None, derandomize=True)


@st.composite
def problems(draw: st.DrawFn) -> CutListProblem:
    """Sticks or sheets, up to five kinds of pieces, stock without limit."""
    wide = draw(st.booleans())
    demand = tuple(
        CutDemand(
            length=draw(st.integers(3, 40)),
            width=draw(st.sampled_from([4, 7, 9])) if wide else None,
            count=draw(st.integers(1, 12)),
        )
        for _ in range(draw(st.integers(1, 5)))
    )
    stock = tuple(
        CutStock(
            length=draw(st.integers(40, 90)),
            width=draw(st.integers(9, 20)) if wide else None,
            price=draw(st.integers(1, 50)),
        )
        for _ in range(draw(st.integers(1, 2)))
    )
    return CutListProblem(
        stock=stock, demand=demand, kerf=draw(st.integers(0, 3)), trim=wide and draw(st.booleans())
    )


def resized(problem: CutListProblem, change: Callable[[int], int]) -> CutListProblem:
    """Change every length and width alike."""

    def width(own: int | None) -> int | None:
        return None if own is None else change(own)

    return replace(
        problem,
        stock=tuple(
            replace(item, length=change(item.length), width=width(item.width)) for item in problem.stock
        ),
        demand=tuple(
            replace(item, length=change(item.length), width=width(item.width)) for item in problem.demand
        ),
    )


def cost(problem: CutListProblem) -> int:
    """Least cost; the rare small problem that is left with a gap is no example."""
    answer = solve_cut_list(problem)
    assume(answer.proven_optimal)
    return answer.objective


@given(problems())
@PROPERTY
def test_every_piece_is_cut_exactly_once_and_fits(problem: CutListProblem) -> None:
    """Covers exactly, fits with kerf, costs what the stock costs, and the bound is not above the cost."""
    assert_cuts_exactly(problem, solve_cut_list(problem))


@given(problems())
@PROPERTY
def test_kerf_is_the_same_as_larger_pieces_from_larger_stock(problem: CutListProblem) -> None:
    """Since sum(l) + (n - 1) k <= L is sum(l + k) <= L + k, the cost is that of the kerf-free problem."""
    free = replace(resized(problem, lambda size: size + problem.kerf), kerf=0)
    assert cost(problem) == cost(free)


@given(problems(), st.integers(2, 10**9))
@PROPERTY
def test_scaling_all_lengths_keeps_the_cost(problem: CutListProblem, factor: int) -> None:
    """The unit of length does not matter."""
    larger = replace(resized(problem, lambda size: size * factor), kerf=problem.kerf * factor)
    assert cost(problem) == cost(larger)


@given(problems(), st.data())
@PROPERTY
def test_one_more_piece_never_costs_less(problem: CutListProblem, data: st.DataObject) -> None:
    """A plan for more pieces is also one for fewer."""
    index = data.draw(st.integers(0, len(problem.demand) - 1))
    more = list(problem.demand)
    more[index] = replace(more[index], count=more[index].count + 1)
    assert cost(replace(problem, demand=tuple(more))) >= cost(problem)


@given(problems())
@PROPERTY
def test_a_search_cut_short_is_still_honest(problem: CutListProblem) -> None:
    """With hardly any effort the plan is whole and the bound is true."""
    hasty = solve_cut_list(problem, Effort(0))
    assert_cuts_exactly(problem, hasty)
    assert hasty.lower_bound <= cost(problem) <= hasty.objective


@given(problems())
@PROPERTY
def test_trim_never_costs_more(problem: CutListProblem) -> None:
    """Strips that may hold narrower pieces include those that hold one width only."""
    assert cost(replace(problem, trim=True)) <= cost(replace(problem, trim=False))


def test_the_same_question_has_the_same_answer() -> None:
    """Repeated in one process, the whole answer is equal, not only its cost."""
    problem = CutListProblem(
        stock=(CutStock(length=288, price=81), CutStock(length=144, price=41)),
        demand=tuple(CutDemand(length=length, count=7) for length in (17, 23, 31, 59, 71, 95)),
        kerf=1,
    )
    assert solve_cut_list(problem) == solve_cut_list(problem)


def test_two_strips_and_a_kerf_fill_a_sheet_exactly() -> None:
    """2 x 23 15/16 in and one 1/8 in kerf are 48 in: one sheet; a nanometre more and it is two."""
    strip = 23 * INCH + 15 * INCH // 16
    problem = CutListProblem(
        stock=(CutStock(length=96 * INCH, width=48 * INCH, price=1),),
        demand=(CutDemand(length=96 * INCH, width=strip, count=2),),
        kerf=INCH // 8,
    )
    assert solve_cut_list(problem).stock_used == (1,)
    wider = replace(problem.demand[0], width=strip + 1)
    assert solve_cut_list(replace(problem, demand=(wider,))).stock_used == (2,)


def test_the_last_piece_costs_no_kerf() -> None:
    """Three of 30 with a kerf of 5 need 3 x 30 + 2 x 5 = 100, not 105."""
    demand = (CutDemand(length=30, count=3),)
    flush = CutListProblem(stock=(CutStock(length=100, price=1),), demand=demand, kerf=5)
    assert solve_cut_list(flush).stock_used == (1,)
    short = replace(flush, stock=(CutStock(length=99, price=1),))
    assert solve_cut_list(short).stock_used == (2,)


def test_free_stock_on_hand_is_used_before_stock_is_bought() -> None:
    """Two free sticks of 60 hold one piece of 50 each; the third piece is cut from a stick of 100 at 9."""
    problem = CutListProblem(
        stock=(CutStock(length=100, price=9), CutStock(length=60, price=0, count=2)),
        demand=(CutDemand(length=50, count=3),),
    )
    answer = solve_cut_list(problem)
    assert (answer.objective, answer.proven_optimal, answer.stock_used) == (9, True, (1, 2))


def test_demands_of_one_size_are_served_in_their_order() -> None:
    """Three pieces of one size for two demands: the cuts name both, each as often as asked for."""
    problem = CutListProblem(
        stock=(CutStock(length=30, price=1),),
        demand=(CutDemand(length=10, count=2), CutDemand(length=10, count=3), CutDemand(length=10, count=0)),
    )
    answer = solve_cut_list(problem)
    assert_cuts_exactly(problem, answer)
    assert answer.stock_used == (2,)


def test_nothing_wanted_costs_nothing() -> None:
    """No pieces: no patterns, and that is proven."""
    problem = CutListProblem(stock=(CutStock(length=30, price=7),), demand=())
    answer = solve_cut_list(problem)
    assert (answer.objective, answer.proven_optimal, answer.patterns, answer.stock_used) == (
        0,
        True,
        (),
        (0,),
    )


def test_a_piece_that_fits_no_stock_is_named() -> None:
    """The error says which demands: too long, and too wide."""
    problem = CutListProblem(
        stock=(CutStock(length=100, width=48, price=1),),
        demand=(
            CutDemand(length=101, width=10, count=1),
            CutDemand(length=100, width=48, count=1),
            CutDemand(length=10, width=49, count=1),
        ),
    )
    with pytest.raises(PieceFitsNoStock) as caught:
        solve_cut_list(problem)
    assert caught.value.pieces == (0, 2)
    assert [problem.pointer for problem in caught.value.errors] == ["/demand/0", "/demand/2"]


def test_stock_that_runs_out_is_proven_and_says_what_is_missing() -> None:
    """Two sticks of 100 hold one piece of 60 each: the third is left over."""
    problem = CutListProblem(
        stock=(CutStock(length=100, price=5, count=2),), demand=(CutDemand(length=60, count=3),)
    )
    with pytest.raises(StockRunsOut) as caught:
        solve_cut_list(problem)
    assert caught.value.missing == {0: 1}
    assert caught.value.proven
    assert [problem.pointer for problem in caught.value.errors] == ["/demand/0/count"]


def test_stock_counted_as_none_is_no_stock() -> None:
    """A stock with count 0 holds nothing, however long it is."""
    problem = CutListProblem(
        stock=(CutStock(length=100, price=5, count=0), CutStock(length=50, price=5)),
        demand=(CutDemand(length=60, count=1),),
    )
    with pytest.raises(PieceFitsNoStock):
        solve_cut_list(problem)


def test_large_counts_are_cut_in_few_patterns() -> None:
    """A million pieces: 333 334 sticks of three, counted rather than listed."""
    problem = CutListProblem(
        stock=(CutStock(length=30, price=1),), demand=(CutDemand(length=10, count=1_000_000),)
    )
    answer = solve_cut_list(problem)
    assert (answer.objective, answer.proven_optimal) == (333_334, True)
    assert [pattern.repeat for pattern in answer.patterns] == [333_333, 1]


def test_many_narrow_strips_from_one_sheet() -> None:
    """200 strips of 1 fill a width of 200: 450 pieces of full length need three sheets, and two are not enough."""
    problem = CutListProblem(
        stock=(CutStock(length=50, width=200, price=1),), demand=(CutDemand(length=50, width=1, count=450),)
    )
    answer = solve_cut_list(problem)
    assert_cuts_exactly(problem, answer)
    assert (answer.objective, answer.proven_optimal) == (3, True)


def test_the_last_step_cut_short_leaves_an_honest_gap(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fractions of patterns get by with four sheets, whole ones need five: one node does not prove it, more do."""
    problem = CutListProblem(
        stock=(CutStock(length=90, width=16, price=6),),
        demand=(
            CutDemand(length=18, width=4, count=12),
            CutDemand(length=39, width=7, count=5),
            CutDemand(length=10, width=4, count=10),
            CutDemand(length=15, width=7, count=3),
        ),
        kerf=3,
    )
    with monkeypatch.context() as patch:
        patch.setattr(cut_lists, "NODES", 1)
        hasty = solve_cut_list(problem)
    assert_cuts_exactly(problem, hasty)
    assert (hasty.objective, hasty.lower_bound, hasty.proven_optimal) == (30, 24, False)
    whole = solve_cut_list(problem)
    assert (whole.objective, whole.proven_optimal) == (30, True)
