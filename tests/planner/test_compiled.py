"""Answers do not depend on the compiler, and nothing is left to compile once the service is warm.

Both are asked of processes of their own: what was compiled here already would hide what they look for.
"""

import os
import subprocess
import sys
from pathlib import Path

from service.bench_structures import make_structures
from service.planner.solver.courses.least_cost import solve

ROOT = Path(__file__).parents[2]
STRUCTURES = 9
"""Six of them need branch and bound."""

PLAIN = f"""
from service.bench_structures import make_structures
from service.planner.solver.lp.simplex import solve as solve_program
from service.planner.solver.courses.least_cost import solve
assert not hasattr(solve_program, "signatures")
for own in make_structures({STRUCTURES}):
    for problem in (own.panels, own.boards, own.channels):
        print(solve(problem))
"""

WARM = """
import pkgutil
from importlib import import_module

from numba.core.dispatcher import Dispatcher

from service.bench_structures import make_structures
from service.planner import solver
from service.planner.wall import whole_sheets
from service.planner.solver.courses import sampling, program, search
from service.planner.solver.lp import relaxation
from service.planner.wall.whole_sheets import LaidPanel, leave_whole
from service.planner.solver.courses.least_cost import SpanTooLongError, StockShortageError, solve
from service.planner.plan import warm_up
from tests.planner.course_cases import draw_problem


def compiled():
    found = {}
    owns = pkgutil.walk_packages(solver.__path__, solver.__name__ + ".")
    for module in (whole_sheets, *(import_module(own.name) for own in owns)):
        for value in vars(module).values():
            if isinstance(value, Dispatcher):
                found[value.py_func.__module__.rpartition(".")[2] + "." + value.__name__] = value
    return found


def made_anew():
    return sum(sum(value.stats.cache_misses.values()) for value in compiled().values())


def tried(problem):
    try:
        solve(problem)
    except (SpanTooLongError, StockShortageError):
        pass


called = (
    "basis.price_columns basis.settle branching.branch_and_bound span_totals.count "
    "whole_sheets.best_way filling.fill filling.list_fillings filling.maximal "
    "column_generation.solve_with_patterns greedy_plan.guide knapsack.put_all knapsack.trace patterns.fill_greedily "
    "paths.cheapest_pieces pseudo_costs.choose pseudo_costs.empty_gains pseudo_costs.learn simplex.solve "
    "small_demand.pattern_of_part sheets.strips_together start.begin"
)
warm_up()
cold = [name for name in called.split() if not compiled()[name].signatures]
before = made_anew()
for own in make_structures(40):
    for problem in (own.panels, own.boards, own.channels):
        tried(problem)
leave_whole([LaidPanel(97 + at, 97, 99, at) for at in range(6)], 2)
kept = program.PATTERNS, relaxation.ROOM, search.SHORTLISTS, sampling.PLACES
listed = ((1, 2_500),)
for settings in (kept, (3, 0, listed, 1_500), (3, 10**6, (), 1_500), (150, 10**6, listed, 0)):
    program.PATTERNS, relaxation.ROOM, search.SHORTLISTS, sampling.PLACES = settings
    for seed in range(48):
        tried(draw_problem(seed))
for name in called.split():
    print(name, len(compiled()[name].signatures))
print("cold", *cold)
print("later", made_anew() - before)
"""


def output_of(script: str, **environment: str) -> list[str]:
    """Run a script from the project's folder; the lines that it prints."""
    given = {**os.environ, "PYTHONPATH": str(ROOT), **environment}
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, env=given, check=True, capture_output=True, text=True
    )
    return done.stdout.splitlines()


def test_answers_are_the_same_without_the_compiler() -> None:
    """Paths, stock opened, cost and bound of the courses of some structures, by the same code interpreted."""
    structures = make_structures(STRUCTURES)
    answers = [
        str(solve(problem)) for own in structures for problem in (own.panels, own.boards, own.channels)
    ]
    assert output_of(PLAIN, NUMBA_DISABLE_JIT="1") == answers


def test_nothing_is_compiled_after_the_warm_up() -> None:
    """Whatever the route, compiled functions that are called from outside have one signature, and none is compiled after warming up."""
    *lines, cold, later = output_of(WARM)
    assert [line.split()[1] for line in lines] == ["1"] * 21, lines
    assert (cold, later) == ("cold", "later 0")
