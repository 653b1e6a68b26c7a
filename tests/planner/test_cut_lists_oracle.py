"""The cutting solver against an independent oracle: a constraint solver on its own formulation of small cases."""

import pytest

from service.planner.cut_lists import CutListProblem, Effort, StockRunsOut, solve_cut_list
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


@pytest.mark.parametrize("seed", range(30))
def test_a_complete_list_of_patterns_closes_the_gap_by_itself(seed: int) -> None:
    """Without dives and decisions on stock, the greedy plan is improved and proven by the last step alone."""
    problem = sticks(seed, limited=False) if seed % 2 else sheets(seed, trim=seed % 4 == 0, kinds=1)
    answer = solve_cut_list(problem, Effort(dives=0, scopes=0))
    assert_cuts_exactly(problem, answer)
    assert (answer.objective, answer.proven_optimal) == (oracle(problem), True)


@pytest.mark.parametrize("seed", range(30))
def test_decisions_on_stock_alone_never_prove_too_much(seed: int) -> None:
    """With nothing but a few decisions on stock the bound may stay below the least cost, never above."""
    problem = sticks(seed, limited=False) if seed % 2 else sheets(seed, trim=False, kinds=3)
    answer = solve_cut_list(problem, Effort(dives=0, nodes=0, scopes=1 + seed % 7))
    assert_cuts_exactly(problem, answer)
    least = oracle(problem)
    assert least is not None
    assert answer.lower_bound <= least <= answer.objective
