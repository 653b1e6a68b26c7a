"""Bounds and the last steps of a cut list: true for any prices, and complete, against the oracle on small cases."""

from collections import Counter
from fractions import Fraction
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.solver.cuts.closing import patterns_within
from service.planner.solver.cuts.cut_model import Bin, CutModel, Scope, safe_dual
from service.planner.solver.cuts.diving import Search, StockColumn, first_patterns
from service.planner.solver.cuts.master import Master
from service.planner.solver.cuts.pattern_choice import PatternChoice
from service.planner.solver.cuts.patterns import Column, Pricing, Shape, StripCut
from service.planner.solver.cuts.sheets import best_pattern
from service.planner.solver.cuts.stock_counts import branch_on_stock
from tests.planner.cut_list_oracle import oracle, sticks
from tests.planner.small_programs import endless

PROPERTY = settings(max_examples=150, deadline=None, derandomize=True)


@given(st.lists(st.integers(1, 30), min_size=1, max_size=4), st.integers(0, 120))
@PROPERTY
def test_the_next_attainable_total(parts: list[int], start: int) -> None:
    """The smallest sum of any number of the parts that is at least the start."""
    sums = {0}
    for part in parts:
        sums |= {known + part * count for known in sums for count in range(160 // part + 1)}
    bins = tuple(Bin(5, 0, 7 * part, None) for part in parts)
    model = CutModel(Shape((5,), (0,), (0,), trim=False), (1,), bins)
    wanted = Fraction(7 * start) - Fraction(3, 2)
    assert model.next_total(wanted) == 7 * min(number for number in sums if 7 * number >= wanted)


def stick_model(seed: int, *, limited: bool) -> tuple[CutModel, int | None]:
    """Make a random stick problem as the solver sees it, and its least cost by the oracle."""
    problem = sticks(seed, limited=limited)
    sizes = sorted({piece.length for piece in problem.demand})
    counts = [sum(piece.count for piece in problem.demand if piece.length == size) for size in sizes]
    shape = Shape(tuple(size + problem.kerf for size in sizes), (0,), (0,) * len(sizes), trim=False)
    bins = tuple(Bin(item.length + problem.kerf, 0, item.price, item.count) for item in problem.stock)
    return CutModel(shape, tuple(counts), bins), oracle(problem)


@pytest.mark.parametrize("seed", range(15))
def test_no_prices_prove_more_than_the_least_cost(seed: int) -> None:
    """Whatever prices are guessed, the bound made from their caps is true, with and without limits on stock."""
    model, least = stick_model(seed, limited=seed % 2 == 1)
    chance = Random(seed)  # noqa: S311 - repeatable cases, no secrets
    for _ in range(20):
        prices = [chance.randint(0, 1000) for _ in model.demand]
        caps = [
            best_pattern(Pricing(model.shape, item.length, 0, endless()), prices, model.demand, 0)[0]
            for item in model.bins
        ]
        bound = safe_dual(model, model.whole, prices, caps).bound
        assert least is None or bound <= least


def test_stock_that_must_be_opened_counts_in_the_bound() -> None:
    """Pieces worth 4 each and a stock of 10 that holds one of them: three opened cost 30, whatever is wanted."""
    model = CutModel(Shape((5,), (0,), (0,), trim=False), (1,), (Bin(5, 0, 10, None),))
    forced = Scope((1,), (3,), (None,))
    assert safe_dual(model, forced, [4], [4]).bound == 30
    assert safe_dual(model, model.whole, [4], [4]).bound == 10


def test_limited_stock_is_charged_for_what_it_is_worth() -> None:
    """One cheap stock of 1 and unlimited ones of 10, each for one piece: two pieces cost 11."""
    model = CutModel(Shape((5,), (0,), (0,), trim=False), (2,), (Bin(5, 0, 1, 1), Bin(5, 0, 10, None)))
    assert safe_dual(model, model.whole, [1], [1, 1]).bound == 11


class WithoutDives(Search):
    """A search that never betters its plan, so that only the bound can move."""

    def dive(self, scope: Scope, depth: int, skip: int) -> None:
        """Leave the plan as it is."""


@pytest.mark.parametrize("seed", range(40))
def test_decisions_on_stock_never_prove_too_much(seed: int) -> None:
    """From a plan that cuts every piece from a stock of its own, the bound rises to the least cost at most."""
    model, least = stick_model(seed, limited=False)
    assert least is not None
    master = Master(model, endless())
    alone = Counter(
        {
            (
                0,
                Column(
                    (StripCut(0, ((piece, 1),)),),
                    tuple(int(other == piece) for other in range(len(model.demand))),
                ),
            ): count
            for piece, count in enumerate(model.demand)
        }
    )
    search = WithoutDives(master, alone)
    branch_on_stock(search, 1 + 4 * (seed % 5))
    assert search.bound <= least


def choice(seed: int, target: int) -> PatternChoice:
    """Choice among all full patterns of a random stick problem."""
    model, _ = stick_model(seed, limited=False)
    patterns: list[StockColumn] = []
    for stock, item in enumerate(model.bins):
        pricing = Pricing(model.shape, item.length, 0, endless())
        listed = pricing.strip.near([0] * len(model.demand), model.demand, 0, 10_000)
        assert listed is not None
        patterns.extend((stock, pricing.column([StripCut(0, cuts)], model.demand)) for _, cuts in listed)
    return PatternChoice(model, patterns, target, endless())


@pytest.mark.parametrize("seed", range(10))
def test_branching_finds_the_least_cost_and_proves_that_there_is_no_less(seed: int) -> None:
    """At the oracle's least cost a plan is found; one unit below, the search ends without one."""
    _, least = stick_model(seed, limited=False)
    assert least is not None
    found = choice(seed, least).search(10_000)
    assert found.finished
    assert found.repeats is not None
    below = choice(seed, least - 1).search(10_000)
    assert below.finished
    assert below.repeats is None


@pytest.mark.parametrize("seed", range(10))
def test_no_guessed_duals_close_a_node_that_holds_a_plan(seed: int) -> None:
    """The exact bound of the root is true for any duals, even negative ones."""
    _, least = stick_model(seed, limited=False)
    assert least is not None
    search = choice(seed, least)
    chance = Random(seed)  # noqa: S311 - repeatable cases, no secrets
    root = tuple((stock, 0, search.most_any) for stock in range(len(search.model.bins)))
    for _ in range(20):
        duals = [chance.randint(-(2**20), 2**40) for _ in range(len(search.demand) + len(root))]
        assert search.bound(np.array(duals, dtype=np.int64), root) <= Fraction(least)


@pytest.mark.parametrize("rounds", [1, 100])
@pytest.mark.parametrize("seed", range(12))
def test_patterns_left_out_are_in_no_plan_within_the_target(seed: int, rounds: int) -> None:
    """However good the bound, the patterns that remain still make a plan of the oracle's least cost."""
    model, least = stick_model(seed, limited=False)
    assert least is not None
    master = Master(model, endless())
    first_patterns(master)
    dual = master.relax(model.whole, rounds, None).dual
    patterns = patterns_within(master, dual, least)
    assert patterns is not None
    assert PatternChoice(model, patterns, least, endless()).search(10_000).repeats is not None
