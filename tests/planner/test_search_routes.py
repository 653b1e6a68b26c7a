"""Every route of the search on small problems: bounds and plans enclose the cost that an independent solver finds.

The limits of effort are set so that a route is taken which small problems would not need.
"""

from collections import Counter
from collections.abc import Callable
from functools import cache
from math import inf
from types import ModuleType
from typing import Any

import pytest

from service.planner.solver.courses import (
    least_cost,
    priced_search,
    program,
    quick_bound,
    search,
    sub_program,
)
from service.planner.solver.courses.least_cost import SpanTooLongError, StockShortageError, solve
from service.planner.solver.courses.pattern_pricing import Pricer
from service.planner.solver.courses.priced_search import PricedSearch
from service.planner.solver.lp import relaxation
from service.planner.solver.lp.relaxation import Relaxation
from tests.planner.course_cases import draw_problem, in_two_widths
from tests.planner.oracle import least_cost as least_cost_of
from tests.planner.small_programs import model_of

Setting = tuple[ModuleType | type, str, Any]

NOT_FOUND = (-inf, inf)
"""No plan was found though there is one; only where hardly any effort is allowed."""

SEEDS = range(128)
COUNTED: Setting = (quick_bound, "TRIES", 0)
"""No bound by counting: everything is searched."""
PRICED: Setting = (program, "PATTERNS", 3)
"""Patterns are priced as they are needed."""
HOLD = Relaxation.hold
NO_INVERSES: Setting = (Relaxation, "hold", lambda own, _others=0: HOLD(own, 10**9))
"""Bases are kept without their inverses, as they are where programs are large."""
BY_NODES: tuple[Setting, ...] = (PRICED, (search, "SHORTLISTS", ()))
"""They are never listed later either."""
PLENTY: tuple[Setting, ...] = (
    (search, "NODES", 10**6),
    (search, "LISTED_NODES", 10**6),
    (least_cost, "UNITS", 10**12),
    (priced_search, "CUT_NODES", 10**5),
)

LIMITED: dict[str, tuple[tuple[Setting, ...], str]] = {
    "one listed node": ((COUNTED, (search, "LISTED_NODES", 1)), "explore"),
    "no room for open nodes": ((COUNTED, (relaxation, "ROOM", 0)), "explore"),
    "no node before the shortlist": ((PRICED, (search, "SHORTLISTS", ((0, 300),))), "shortlist"),
    "one node before the shortlist": ((PRICED, (search, "SHORTLISTS", ((1, 300),))), "shortlist"),
    "a long shortlist": ((PRICED, (search, "SHORTLISTS", ((6, 10**5),))), "explore"),
    "a short shortlist": ((PRICED, (search, "SHORTLISTS", ((6, 6),))), "shortlist"),
    "nodes with priced patterns": (BY_NODES, "_branch"),
    "one node to cut pieces alone": ((*BY_NODES, (priced_search, "CUT_NODES", 1)), "_cut"),
    "pieces alone not listed": ((*BY_NODES, (sub_program, "PATTERNS", 0)), "_cut"),
    "inverses made anew": ((*BY_NODES, NO_INVERSES), "_invert"),
    "few nodes": ((*BY_NODES, (search, "NODES", 3)), "last_try"),
    "no units": ((PRICED, (least_cost, "UNITS", 0)), "plan_large"),
    "few units": ((PRICED, (least_cost, "UNITS", 300)), "plan_large"),
    "a dive of one piece": ((*BY_NODES, (search, "NODES", 3), (priced_search, "DIVE", 1)), "_dive"),
}
"""Limits, and what has to be called on the way."""
PRICED_TO_THE_END: dict[str, tuple[tuple[Setting, ...], str]] = {
    "priced at every node": ((*BY_NODES, *PLENTY), "_close"),
    "priced, inverses made anew": ((*BY_NODES, *PLENTY, NO_INVERSES), "_invert"),
}
THOROUGH: dict[str, tuple[tuple[Setting, ...], str]] = {
    "listed": ((COUNTED, *PLENTY), "explore"),
    "listed after the first node": ((PRICED, *PLENTY, (search, "SHORTLISTS", ((1, 10**5),))), "shortlist"),
}
PLACES = (
    (Relaxation, "explore"),
    (Relaxation, "_invert"),
    (Pricer, "shortlist"),
    (PricedSearch, "_branch"),
    (PricedSearch, "_close"),
    (PricedSearch, "_cut"),
    (PricedSearch, "_dive"),
    (PricedSearch, "last_try"),
    (search, "plan_large"),
)


@cache
def independent(seed: int) -> int | None:
    """Return the least cost by the independent solver, asked once."""
    return least_cost_of(draw_problem(seed))


def take(monkeypatch: pytest.MonkeyPatch, settings: tuple[Setting, ...]) -> Counter[str]:
    """Set the limits of a route, and count what is called on the way; everything does what it always does."""
    for module, name, value in settings:
        monkeypatch.setattr(module, name, value)
    calls: Counter[str] = Counter()

    def counting(name: str, own: Callable[..., Any]) -> Callable[..., Any]:
        def called(*given: Any, **named: Any) -> Any:
            calls[name] += 1
            return own(*given, **named)

        return called

    for place, name in PLACES:
        monkeypatch.setattr(place, name, counting(name, getattr(place, name)))
    return calls


def enclosed(seed: int) -> tuple[float, float] | None:
    """Return bound and cost of a problem, None when it has no plan, as the independent solver has it."""
    best = independent(seed)
    try:
        answer = solve(draw_problem(seed))
    except SpanTooLongError:
        assert best is None, f"seed {seed}"
        return None
    except StockShortageError:
        return None if best is None else NOT_FOUND
    assert best is not None, f"seed {seed}"
    assert answer.lower_bound <= best <= answer.objective, f"seed {seed}"
    return answer.lower_bound, answer.objective


@pytest.mark.parametrize("route", LIMITED)
def test_a_route_that_is_cut_short_encloses_the_least_cost(
    monkeypatch: pytest.MonkeyPatch, route: str
) -> None:
    """However little effort is allowed, no bound is above the independent optimum and no plan below it."""
    settings, way = LIMITED[route]
    calls = take(monkeypatch, settings)
    found = [enclosed(seed) for seed in SEEDS]
    assert calls[way] >= 10, calls
    assert found.count(NOT_FOUND) <= 2
    assert len([ends for ends in found if ends]) >= 110


@pytest.mark.parametrize("route", THOROUGH)
def test_a_route_that_is_gone_to_its_end_proves_the_least_cost(
    monkeypatch: pytest.MonkeyPatch, route: str
) -> None:
    """With effort enough every route by itself finds and proves the independent optimum of all problems."""
    settings, way = THOROUGH[route]
    calls = take(monkeypatch, settings)
    for seed in SEEDS:
        best, ends = independent(seed), enclosed(seed)
        assert ends == (None if best is None else (best, best)), f"seed {seed}"
    assert calls[way] >= 10, calls


@pytest.mark.parametrize("route", PRICED_TO_THE_END)
def test_priced_patterns_prove_nearly_all(monkeypatch: pytest.MonkeyPatch, route: str) -> None:
    """Without any listing nothing false is said and nearly all is proven.

    Not all: a node is put aside with its bound where the best patterns at its prices are known ones.
    """
    settings, way = PRICED_TO_THE_END[route]
    calls = take(monkeypatch, settings)
    found = [enclosed(seed) for seed in SEEDS]
    assert calls[way] >= 10, calls
    assert len([ends for ends in found if ends is None or ends[0] == ends[1]]) >= len(SEEDS) - 3


WIDE = range(96)


@cache
def independent_in_two_widths(seed: int) -> int | None:
    """Return the least cost by the independent solver of a problem whose sheets come in two widths, asked once."""
    return least_cost_of(in_two_widths(draw_problem(seed), seed))


@pytest.mark.parametrize("settings", [(), (COUNTED,), (PRICED, COUNTED)], ids=["usual", "listed", "priced"])
def test_strips_that_several_kinds_of_stock_give_cost_least(
    monkeypatch: pytest.MonkeyPatch, settings: tuple[Setting, ...]
) -> None:
    """Sheets of one length in two widths: their strips are counted together and branched on, and the least cost is proven."""
    for module, name, value in settings:
        monkeypatch.setattr(module, name, value)
    shared = 0
    for seed in WIDE:
        problem, best = in_two_widths(draw_problem(seed), seed), independent_in_two_widths(seed)
        if best is not None and problem.heights:
            answer = solve(problem)
            assert (answer.lower_bound, answer.objective) == (best, best), f"seed {seed}"
            model = model_of(problem)
            shared += model.stock_rows != model.supply_rows
    assert shared >= 15
