"""What is left of the strips: the pieces shared anew leave longer offcuts and change nothing else.

That a long offcut is worth more than two short ones is common practice, no source.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.bench import COURSES
from service.bench_structures import make_structures
from service.planner.solver.courses import least_cost
from service.planner.solver.courses.least_cost import solve
from service.planner.solver.courses.offcuts import concentrate
from service.planner.solver.courses.problem import (
    Answer,
    CourseProblem,
    CutPiece,
    CutStrip,
    OpenedStock,
    SpanTooLongError,
    Stock,
    StockShortageError,
)
from service.planner.solver.courses.runs import CourseRun
from tests.planner.course_cases import draw_problem

Lengths = list[list[list[int]]]
"""Lengths of the pieces of every strip of every piece of stock opened."""


def single_bays(lengths: Sequence[int], stock: Stock, classes: Sequence[int] = ()) -> CourseProblem:
    """Return runs of one bay and no deduction, so that every piece is given; kerf 2, strips of height 9."""
    runs = [
        CourseRun(positions=(0, length), joint_deductions=(0, 0), height_class=height_class)
        for length, height_class in zip(lengths, classes or [0] * len(lengths), strict=True)
    ]
    heights = (9,) * (max(classes, default=0) + 1) if stock.width else ()
    return CourseProblem(
        runs=tuple(runs), heights=heights, stock=(stock,), kerf=2, grid=1, joint_cost=20, cut_cost=15
    )


def cut_as(problem: CourseProblem, cutting: Lengths) -> tuple[OpenedStock, ...]:
    """Cut the runs' pieces, in their order, as the lengths say."""
    runs = iter(range(len(problem.runs)))
    opened = []
    for sheet in cutting:
        strips = []
        for lengths in sheet:
            pieces = tuple([CutPiece(run=next(runs), start=0, end=1, length=length) for length in lengths])
            flush = sum(lengths) + problem.kerf * (len(lengths) - 1) == problem.stock[0].length
            height_class = problem.runs[pieces[0].run].height_class
            strips.append(CutStrip(height_class=height_class, pieces=pieces, crosscuts=len(pieces) - flush))
        opened.append(OpenedStock(key=problem.stock[0].key, strips=tuple(strips)))
    return tuple(opened)


def lengths_of(opened: Sequence[OpenedStock]) -> Lengths:
    """Lengths as they are cut."""
    return [[[piece.length for piece in strip.pieces] for strip in stock.strips] for stock in opened]


def offcuts(problem: CourseProblem, opened: Sequence[OpenedStock], height_class: int) -> list[int]:
    """Every offcut of a height class, longest first, by the rule: what pieces and a kerf each leave; whole strips too."""
    found = []
    for one in opened:
        stock = next(stock for stock in problem.stock if stock.key == one.key)
        own = [strip for strip in one.strips if strip.height_class == height_class]
        found += [
            max(0, stock.length - sum(piece.length + problem.kerf for piece in strip.pieces)) for strip in own
        ]
        if stock.width is not None:
            left = stock.width + problem.kerf
            left -= sum(problem.heights[strip.height_class] + problem.kerf for strip in one.strips)
            found += [stock.length] * (left // (problem.heights[height_class] + problem.kerf))
    return sorted(found, reverse=True)


def assert_no_worse(
    problem: CourseProblem, before: Sequence[OpenedStock], after: Sequence[OpenedStock]
) -> None:
    """Find the same stock and pieces, strips that fit, no crosscut more and no longest offcut shorter."""
    assert [one.key for one in before] == [one.key for one in after]
    assert Counter(pieces_of(before)) == Counter(pieces_of(after))
    stock = {stock.key: stock for stock in problem.stock}
    for one in after:
        assert one.strips
        for strip in one.strips:
            filled = sum(piece.length + problem.kerf for piece in strip.pieces) - problem.kerf
            assert strip.pieces
            assert filled <= stock[one.key].length
            assert strip.crosscuts == len(strip.pieces) - (filled == stock[one.key].length)
            assert {problem.runs[piece.run].height_class for piece in strip.pieces} == {strip.height_class}
            assert list(strip.pieces) == sorted(strip.pieces, key=lambda piece: -piece.length)
        width = stock[one.key].width
        taken = sum((problem.heights or (0,))[strip.height_class] + problem.kerf for strip in one.strips)
        assert len(one.strips) == 1 if width is None else taken <= width + problem.kerf
    assert crosscuts(after) <= crosscuts(before)
    for height_class in range(len(problem.heights or (0,))):
        old, new = (offcuts(problem, opened, height_class) for opened in (before, after))
        assert max(new, default=0) >= max(old, default=0)


def pieces_of(opened: Sequence[OpenedStock]) -> list[CutPiece]:
    """All pieces cut."""
    return [piece for one in opened for strip in one.strips for piece in strip.pieces]


def crosscuts(opened: Sequence[OpenedStock]) -> int:
    """All cuts across strips."""
    return sum(strip.crosscuts for one in opened for strip in one.strips)


def test_the_longest_offcut_of_two_sticks() -> None:
    """Pieces of 70, 40, 40 and 20 from two sticks of 110, kerf 2.

    70 + 20 and 40 + 40 leave 110 - 94 = 16 and 110 - 84 = 26. With the 20 beside the two of 40 it is
    110 - 106 = 4 and 110 - 72 = 38: one crosscut a piece either way, and the longest offcut is 38.
    """
    problem = single_bays((70, 40, 40, 20), Stock(key="stick", length=110, price=100))
    answer = solve(problem)
    assert answer.proven_optimal
    assert answer.objective == 2 * 100 + 4 * 15
    assert sorted(lengths_of(answer.opened)) == [[[40, 40, 20]], [[70]]]
    assert offcuts(problem, answer.opened, 0) == [38, 4]


def test_a_strip_of_a_sheet_is_left_whole_where_the_pieces_fit_another() -> None:
    """Strips of 9 from a sheet of 20, two of them (9 + 2 + 9): 58 + 2 + 40 fill one exactly, the other stays whole."""
    problem = single_bays((58, 40), Stock(key="sheet", length=100, width=20, price=100))
    opened = concentrate(problem, cut_as(problem, [[[58], [40]]]))
    assert lengths_of(opened) == [[[58, 40]]]
    assert crosscuts(opened) == 1
    assert offcuts(problem, opened, 0) == [100, 0]


def test_a_whole_strip_is_begun_where_a_longer_one_becomes_whole_by_it() -> None:
    """A sheet of 100 has a whole strip left; the 90 goes there, and a strip of the sheet of 200 stays whole instead."""
    long, short = (Stock(key=str(length), length=length, width=20, price=100) for length in (200, 100))
    problem = replace(single_bays((150, 40, 90, 95), long), stock=(long, short))
    in_long, in_short = cut_as(problem, [[[150, 40], [90]], [[95]]])
    opened = concentrate(problem, (in_long, replace(in_short, key="100")))
    assert lengths_of(opened) == [[[150, 40]], [[95], [90]]]
    assert offcuts(problem, opened, 0) == [200, 8, 6, 3]


def test_no_stock_opened_is_left_unused() -> None:
    """Two sheets of two strips, and 60, 60 and 30: all would fit the first sheet, but the second is opened too."""
    problem = single_bays((60, 60, 30), Stock(key="sheet", length=100, width=20, price=100))
    cut = cut_as(problem, [[[60], [60]], [[30]]])
    assert concentrate(problem, cut) == cut


def test_a_strip_used_up_keeps_its_pieces() -> None:
    """40, 40 and 16 fill a stick of 100 and save a crosscut: they stay, and 30 and 20 change places beside them.

    60 + 30 leave 6 and 50 + 20 leave 26, where 60 + 20 and 50 + 30 left 16 each.
    """
    problem = single_bays((40, 40, 16, 60, 20, 50, 30), Stock(key="stick", length=100, price=100))
    opened = concentrate(problem, cut_as(problem, [[[40, 40, 16]], [[60, 20]], [[50, 30]]]))
    assert lengths_of(opened) == [[[40, 40, 16]], [[60, 30]], [[50, 20]]]
    assert crosscuts(opened) == 6


def test_a_sharing_that_leaves_less_is_not_taken() -> None:
    """40, 28 and 25 leave 1 and 50 leaves 48; longest first, 50 and 40 leave 6 and 28 and 25 only 43."""
    problem = single_bays((40, 28, 25, 50), Stock(key="stick", length=100, price=100))
    cut = cut_as(problem, [[[40, 28, 25]], [[50]]])
    assert concentrate(problem, cut) == cut


def test_of_equal_longest_offcuts_the_fewer_ways_to_cut_win() -> None:
    """Two sticks cut alike and one other leave 4, 4 and 16; three unlike ones would leave 2, 6 and 16.

    The latter are 60 + 30, 40 + 40 and 30 + 20 + 20 + 20: 100 - 94, 100 - 84 and 100 - 98.
    """
    problem = single_bays((40, 30, 20, 40, 30, 20, 60, 20), Stock(key="stick", length=100, price=100))
    cut = cut_as(problem, [[[40, 30, 20]], [[40, 30, 20]], [[60, 20]]])
    assert offcuts(problem, cut, 0) == [16, 4, 4]
    assert concentrate(problem, cut) == cut


def test_pieces_stay_in_their_height_class() -> None:
    """Two classes of one height on one sheet: their strips would hold each other's pieces, and must not."""
    problem = single_bays((50, 40), Stock(key="sheet", length=100, width=20, price=100), classes=(0, 1))
    cut = cut_as(problem, [[[50], [40]]])
    assert concentrate(problem, cut) == cut


@st.composite
def cuttings(draw: st.DrawFn) -> tuple[CourseProblem, tuple[OpenedStock, ...]]:
    """Pieces put into strips and strips into sheets as they come, well or badly."""
    room, strips_a_sheet = 102, draw(st.integers(0, 3))
    lengths = draw(st.lists(st.integers(5, 100), min_size=2, max_size=14))
    strips: list[list[int]] = []
    for length in lengths:
        joined = draw(st.booleans())
        if joined and strips and sum(strips[-1]) + 2 * len(strips[-1]) + length + 2 <= room:
            strips[-1].append(length)
        else:
            strips.append([length])
    strips = [sorted(strip, reverse=True) for strip in strips]
    size = draw(st.integers(1, max(1, strips_a_sheet)))
    sheets = [strips[at : at + size] for at in range(0, len(strips), size)]
    width = strips_a_sheet * 11 - 2 if strips_a_sheet else None
    ordered = [length for strip in strips for length in strip]
    problem = single_bays(ordered, Stock(key="one", length=100, width=width, price=100))
    return problem, cut_as(problem, sheets)


@settings(derandomize=True, max_examples=400, deadline=None)
@given(cuttings())
def test_any_cutting_is_left_no_worse(case: tuple[CourseProblem, tuple[OpenedStock, ...]]) -> None:
    """However badly pieces are shared, what comes out fits, is the same stock and leaves no shorter longest offcut."""
    problem, cut = case
    assert_no_worse(problem, cut, concentrate(problem, cut))


def both(problem: CourseProblem, patch: pytest.MonkeyPatch) -> tuple[Answer, Answer]:
    """Solve without and with the last step."""
    with patch.context() as without:
        without.setattr(least_cost, "concentrate", lambda _, opened: tuple(opened))
        plain = solve(problem)
    return plain, solve(problem)


def assert_same_plan(problem: CourseProblem, plain: Answer, answer: Answer) -> None:
    """Two answers lay the same pieces from the same stock at the same cost; the second leaves longer offcuts."""
    assert answer.paths == plain.paths
    assert (answer.objective, answer.lower_bound) == (plain.objective, plain.lower_bound)
    assert_no_worse(problem, plain.opened, answer.opened)


@settings(derandomize=True, max_examples=150, deadline=None)
@given(st.integers(min_value=0, max_value=100_000))
def test_small_plans_cost_the_same_and_leave_no_shorter_offcut(seed: int) -> None:
    """Small problems of every shape, limited and on-hand stock among them."""
    problem = draw_problem(seed)
    with pytest.MonkeyPatch.context() as patch:
        try:
            plain, answer = both(problem, patch)
        except (SpanTooLongError, StockShortageError):
            assume(False)
            raise
    assert_same_plan(problem, plain, answer)


def test_realistic_plans_cost_the_same_and_some_leave_longer_offcuts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sixty invented structures, three courses each."""
    grown = 0
    for structure in make_structures(60):
        for course in COURSES:
            problem = getattr(structure, course)
            plain, answer = both(problem, monkeypatch)
            assert_same_plan(problem, plain, answer)
            grown += offcuts(problem, answer.opened, 0)[0] > offcuts(problem, plain.opened, 0)[0]
    assert grown
