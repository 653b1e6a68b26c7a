"""Branch and bound on programs whose columns are all listed, against the mixed-integer solver of HiGHS."""

from dataclasses import replace
from math import gcd, inf

import numpy as np

from service.bench_structures import make_structures
from service.planner.solver.compiling import Floats
from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.lp.branching import Terms, branch_and_bound
from service.planner.solver.lp.simplex import OPTIMAL
from tests.planner.course_cases import draw_problem
from tests.planner.small_programs import (
    Small,
    ask_highs,
    columns_of,
    draw_program,
    endless,
    first_basis,
    highs_of,
    model_of,
    program_of,
    relaxation_of,
    solve_from,
    within,
)

PLENTY = 100_000
FEW = (1, 2, 3, 5, 9, 17, 33)
TRIFLE = 1e-6


def whole_program(seed: int) -> Small:
    """Draw a program whose columns all have an end, so that a tree of whole values has one."""
    small = draw_program(seed)
    return replace(small, highs=np.minimum(small.highs, small.lows + 5.0), costs=np.rint(small.costs))


def branched(small: Small, known: float, most: int) -> tuple[float, Floats, float, int] | None:
    """Branch and bound on a program, its costs raised by trifles as in a relaxation; None when that has no solution."""
    columns, size = columns_of(small), len(small.row_lows)
    trifles = TRIFLE * (1.0 + np.arange(columns.number) * 0.618 % 1.0)
    columns.costs[size:] += trifles[size:]
    basis = first_basis(columns, size)
    if solve_from(columns, basis)[0] != OPTIMAL:
        return None
    terms = Terms(
        groups=(np.arange(len(small.costs) // 3), np.arange(len(small.costs))),
        worth=np.ones(len(small.costs)),
        step=float(gcd(*map(int, small.costs)) or 1),
        slack=float(trifles[size:] @ np.maximum(np.abs(small.lows), small.highs)),
        end=100.0,
        most=most,
        places=most + 2,
    )
    return branch_and_bound(columns, basis, terms, known, endless().cells)


def keeps(small: Small, values: Floats, cost: float) -> bool:
    """Whether values are whole, keep bounds and rows, and cost so much."""
    whole = np.rint(values)
    return (
        bool(np.all(np.abs(values - whole) <= 1e-6))
        and within(whole, small.lows, small.highs)
        and within(small.matrix @ whole, small.row_lows, small.row_highs)
        and small.costs @ whole == cost
    )


def test_whole_values_cost_what_an_independent_solver_finds() -> None:
    """400 programs of few whole columns: the optimum by HiGHS, values that keep all rows, nothing left below; or none."""
    found = none = fractional = 0
    for seed in range(400):
        small = whole_program(seed)
        best, ended = ask_highs(program_of(small, integer=True)), branched(small, inf, PLENTY)
        if ended is None:
            assert best is None, f"seed {seed}"
            continue
        known, values, bound, looked = ended
        assert bound >= known, f"seed {seed}"
        assert looked < PLENTY
        if best is None:
            none += 1
            assert (known, bound) == (inf, inf), f"seed {seed}"
            continue
        found, fractional = found + 1, fractional + (looked > 0)
        assert known == best, f"seed {seed}"
        assert keeps(small, values[len(small.row_lows) :], known), f"seed {seed}"
    assert min(found - fractional, fractional) >= 30
    assert none >= 5


def test_a_bound_of_few_nodes_is_never_above_the_optimum() -> None:
    """However soon the branching ends, what is known is a plan or none, and bound and plan enclose the optimum by HiGHS."""
    unfinished = 0
    for seed in range(200):
        small = whole_program(seed)
        best = ask_highs(program_of(small, integer=True))
        for most in FEW:
            ended = branched(small, inf, most)
            if ended is None:
                break
            known, values, bound, looked = ended
            assert min(known, bound) <= (inf if best is None else best) <= known, f"seed {seed}"
            assert looked <= most + 1
            assert known == inf or keeps(small, values[len(small.row_lows) :], known)
            unfinished += bound < known
    assert unfinished >= 100


def test_nothing_better_than_the_optimum_is_found() -> None:
    """The optimum being known, it comes back with a bound that proves it; one step dearer, the optimum is found."""
    tried = 0
    for seed in range(200):
        small = whole_program(seed)
        best = ask_highs(program_of(small, integer=True))
        if best is None:
            continue
        step = gcd(*map(int, small.costs)) or 1
        same, dearer = branched(small, best, PLENTY), branched(small, best + step, PLENTY)
        assert same is not None
        assert dearer is not None
        assert same[0] == best <= same[2], f"seed {seed}"
        assert not same[1].any()
        assert dearer[0] == best <= dearer[2], f"seed {seed}"
        assert keeps(small, dearer[1][len(small.row_lows) :], best)
        tried += 1
    assert tried >= 80


def test_what_no_whole_values_add_up_to_is_not_claimed() -> None:
    """2x + 2y + 2z = 7 has solutions in halves alone."""
    small = Small(
        costs=np.ones(3),
        lows=np.zeros(3),
        highs=np.full(3, 5.0),
        row_lows=np.array([7.0]),
        row_highs=np.array([7.0]),
        matrix=np.full((1, 3), 2.0),
    )
    ended = branched(small, inf, PLENTY)
    assert ended is not None
    assert (ended[0], ended[2]) == (inf, inf)


def listed_models() -> list[Formulation]:
    """The models of drawn problems and of invented structures whose patterns are all listed."""
    problems = [draw_problem(seed) for seed in range(160)]
    problems += [getattr(own, name) for own in make_structures(12) for name in ("panels", "boards")]
    models = []
    for problem in problems:
        try:
            model = model_of(problem)
        except ValueError:
            continue
        if model.program.listed and relaxation_of(model).solve() == OPTIMAL:
            models.append(model)
    return models


def explored(model: Formulation, known: float, most: int) -> tuple[float, Floats, float]:
    """Branch and bound on a model from its relaxation."""
    own = relaxation_of(model)
    assert own.solve() == OPTIMAL
    groups = np.array(model.totals), np.arange(len(model.lp.costs))
    return own.explore(groups, model.worth(), model.program.step, known, most)


def test_course_programs_cost_what_an_independent_solver_finds() -> None:
    """Plans of listed models cost as HiGHS says, however many nodes are looked at the bound is below; no plan beats the optimum."""
    models = listed_models()
    assert len(models) >= 120
    finished = cut_short = 0
    for at, model in enumerate(models):
        best = ask_highs(highs_of(model, integer=True))
        for most in (1, 4, 12, 3_000):
            known, values, bound = explored(model, inf, most)
            assert min(known, bound) <= (inf if best is None else best) <= known, f"model {at}"
            cut_short += bound < known
            if known < inf:
                plan = model.plan([round(value) for value in values.tolist()])
                assert plan.cost == known, f"model {at}"
        finished += bound >= known
        if best is not None and bound >= known:
            known, _, bound = explored(model, best, 3_000)
            assert (known, bound >= known) == (best, True), f"model {at}"
    assert finished >= len(models) * 0.95
    assert cut_short >= 20


def test_costs_differ_by_the_step_of_a_program() -> None:
    """A bound of a branching that is cut short is rounded up to a cost that plans can have."""
    rounded = 0
    for model in listed_models():
        _, _, bound = explored(model, inf, 3)
        if abs(bound) < inf and model.program.step > 1:
            assert bound % model.program.step == 0
            rounded += 1
    assert rounded >= 5
