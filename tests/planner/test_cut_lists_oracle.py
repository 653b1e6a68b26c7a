"""The cutting solver against an independent oracle: a constraint solver on its own formulation of small cases."""

from collections.abc import Iterator

import pytest

from service.planner.solver.cuts import cut_lists, small_demand
from service.planner.solver.cuts.cut_lists import CutListProblem, StockRunsOut, solve_cut_list
from service.planner.solver.cuts.problem import CutDemand, CutStock
from tests.planner.cut_list_oracle import assert_cuts_exactly, oracle, sheets, sticks


def assert_least(problem: CutListProblem) -> bool:
    """Compare with the oracle; says whether the solver proved its answer."""
    least = oracle(problem)
    if least is None:
        with pytest.raises(StockRunsOut):
            solve_cut_list(problem)
        return True
    answer = solve_cut_list(problem)
    assert_cuts_exactly(problem, answer)
    assert answer.lower_bound <= least <= answer.objective
    assert answer.objective == least
    return answer.proven_optimal


@pytest.fixture
def searched(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Leave small demands to the general search too."""
    with monkeypatch.context() as patch:
        patch.setattr(small_demand, "MOST_PARTS", 0)
        yield


@pytest.mark.parametrize("seed", range(40))
def test_small_demands_cost_what_the_oracle_says(seed: int) -> None:
    """A table answers these: least cost, proven, by whatever sticks there are."""
    assert assert_least(sticks(seed, limited=False))


def test_the_least_cost_of_a_small_demand_can_be_followed_by_hand() -> None:
    """Two sticks hold 20 at most of the 22 wanted, three of 7 hold 21 for 12; two of 7 and one of 10 do it, for 13."""
    problem = CutListProblem(
        stock=(CutStock(length=10, price=5), CutStock(length=7, price=4)),
        demand=(CutDemand(length=4, count=4), CutDemand(length=3, count=2)),
        kerf=0,
    )
    answer = solve_cut_list(problem)
    assert_cuts_exactly(problem, answer)
    assert (answer.objective, answer.proven_optimal, answer.stock_used) == (13, True, (1, 2))


@pytest.mark.usefixtures("searched")
@pytest.mark.parametrize("seed", range(12))
def test_sticks_of_several_lengths_cost_what_the_oracle_says(seed: int) -> None:
    """Stock lengths with their own prices, kerf between pieces: least cost, proven."""
    assert assert_least(sticks(seed, limited=False))


@pytest.mark.parametrize("seed", range(12))
def test_limited_sticks_cost_what_the_oracle_says(seed: int) -> None:
    """Limited stock: least cost, or a named error where the oracle finds nothing either."""
    assert assert_least(sticks(seed, limited=True))


@pytest.mark.parametrize("seed", range(25))
def test_ripped_sheets_cost_what_the_oracle_says(seed: int) -> None:
    """Sheets of one or two sizes, strips of one width each: least cost, proven."""
    assert assert_least(sheets(seed, trim=False, kinds=1 + seed % 2))


@pytest.mark.parametrize("seed", range(25))
def test_trimmed_strips_cost_what_the_oracle_says(seed: int) -> None:
    """Strips that also hold narrower pieces: least cost, proven."""
    assert assert_least(sheets(seed, trim=True))


@pytest.mark.usefixtures("searched")
@pytest.mark.parametrize("seed", range(30))
def test_a_complete_list_of_patterns_closes_the_gap_by_itself(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    """Without dives and decisions on stock, the greedy plan is improved and proven by the last step alone."""
    problem = sticks(seed, limited=False) if seed % 2 else sheets(seed, trim=seed % 4 == 0, kinds=1)
    monkeypatch.setattr(cut_lists, "DIVES", 0)
    monkeypatch.setattr(cut_lists, "SCOPES", 0)
    answer = solve_cut_list(problem)
    assert_cuts_exactly(problem, answer)
    assert (answer.objective, answer.proven_optimal) == (oracle(problem), True)


@pytest.mark.usefixtures("searched")
@pytest.mark.parametrize("seed", range(30))
def test_decisions_on_stock_alone_never_prove_too_much(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    """With nothing but a few decisions on stock the bound may stay below the least cost, never above."""
    problem = sticks(seed, limited=False) if seed % 2 else sheets(seed, trim=False, kinds=3)
    for name, most in (("DIVES", 0), ("NODES", 0), ("SCOPES", 1 + seed % 7)):
        monkeypatch.setattr(cut_lists, name, most)
    answer = solve_cut_list(problem)
    assert_cuts_exactly(problem, answer)
    least = oracle(problem)
    assert least is not None
    assert answer.lower_bound <= least <= answer.objective
