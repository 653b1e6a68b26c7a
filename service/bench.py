"""Measurements of the planner's solvers, printed as tables.

Stages, each optional: realistic structures (three course problems each), rough ones (no two bays alike), the plain
route side by side, growth with the number of bays, cutting instances from a folder, and what whole plans are told. Times are of this process on
this machine, both on the wall and of the processor, with everything compiled before; all counts are exact and
repeat. Structures come from `bench_structures`.
"""

import argparse
import gc
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from statistics import median
from time import perf_counter, process_time
from typing import TypeVar

from service.bench_instances import report
from service.bench_outcomes import outcomes
from service.bench_paper import paper
from service.bench_sales import sales
from service.bench_sizes import sizes
from service.bench_structures import INCH, SIXTEENTH, Structure, make_structures
from service.planner.solver.courses.least_cost import solve, warm_up
from service.planner.solver.courses.problem import Answer, CourseProblem, Stock
from service.planner.solver.courses.runs import CourseRun

COURSES = ("panels", "boards", "channels")
GROWTH = (10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000)
SIDES = 4
Question = TypeVar("Question")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True, kw_only=True)
class Timed:
    """What a call gave and how long it took.

    Parameters
    ----------
    wall
        Time on the wall [ms].
    processor
        Time of the processor [ms].
    """

    wall: float
    processor: float


def run(arguments: Sequence[str]) -> int:
    """Run the stages asked for; all that need no folder when none is named."""
    parser = argparse.ArgumentParser(prog="python -m service bench", description=__doc__.partition("\n")[0])
    parser.add_argument("--structures", type=int, metavar="COUNT", help="solve so many realistic structures")
    parser.add_argument("--rough", type=int, metavar="COUNT", help="solve so many with bays that all differ")
    parser.add_argument("--plain", type=int, metavar="COUNT", help="compare so many with the plain route")
    parser.add_argument(
        "--outcomes", type=int, metavar="COUNT", help="plan so many whole and print what they are told"
    )
    parser.add_argument(
        "--sales", type=int, metavar="COUNT", help="quote and order so many realistic structures"
    )
    parser.add_argument("--paper", action="store_true", help="draw and typeset walls of several lengths")
    parser.add_argument("--sizes", action="store_true", help="print the bytes of the standard answer by part")
    parser.add_argument("--growth", action="store_true", help="solve ever longer runs")
    parser.add_argument(
        "--cutting", type=Path, metavar="FOLDER", help="solve the cutting instances of a folder"
    )
    parser.add_argument("--seed", type=int, default=0, help="seed of the structures")
    chosen = parser.parse_args([word for word in arguments if word != "--"])
    stages = (chosen.structures, chosen.rough, chosen.plain, chosen.cutting, chosen.outcomes, chosen.sales)
    everything = not (chosen.growth or chosen.paper or chosen.sizes) and all(
        stage is None for stage in stages
    )
    warm_up()
    if everything or chosen.structures:
        _structures("realistic", make_structures(chosen.structures or 2_000, chosen.seed))
    if everything or chosen.rough:
        _structures("rough", make_structures(chosen.rough or 200, chosen.seed, rough=True))
    if everything or chosen.plain:
        _plain(chosen.plain or 100, chosen.seed)
    if everything or chosen.growth:
        _growth()
    _lists(chosen)
    return 0


def _lists(chosen: argparse.Namespace) -> None:
    """Print what other modules write."""
    for line in outcomes(chosen.outcomes, chosen.seed) if chosen.outcomes else ():
        _say(line)
    for line in sales(chosen.sales, chosen.seed) if chosen.sales else ():
        _say(line)
    for line in paper() if chosen.paper else ():
        _say(line)
    for line in sizes() if chosen.sizes else ():
        _say(line)
    for line in report(chosen.cutting) if chosen.cutting else ():
        _say(line)


def _say(*words: object) -> None:
    """Print a line at once."""
    sys.stdout.write(" ".join(map(str, words)) + "\n")
    sys.stdout.flush()


def _timed(call: Callable[[Question], Result], question: Question) -> tuple[Result, Timed]:
    """Call and take the time."""
    wall, processor = perf_counter(), process_time()
    result = call(question)
    return result, Timed(wall=1e3 * (perf_counter() - wall), processor=1e3 * (process_time() - processor))


def _solve_structure(structure: Structure) -> list[Answer]:
    """Solve the three courses of a structure."""
    return [solve(getattr(structure, course)) for course in COURSES]


def _quantiles(values: Sequence[float]) -> str:
    """Median, 90th and 99th percentile and greatest of some times."""
    ordered = sorted(values)
    shares = (("median", 0.5), ("p90", 0.9), ("p99", 0.99))
    texts = [f"{name} {ordered[int(share * (len(ordered) - 1))]:.2f}" for name, share in shares]
    return ", ".join([*texts, f"most {ordered[-1]:.2f} ms"])


def _structures(name: str, structures: Sequence[Structure]) -> None:
    """Structures of a kind: time of each and share proven."""
    count = len(structures)
    _say(f"{name} structures: {count}; three solves each (panels, boards, channels)")
    gc.collect()
    gc.freeze()  # the structures that wait here are not looked through at every collection
    times, proven, gaps = [], 0, []
    for structure in structures:
        answers, timed = _timed(_solve_structure, structure)
        times.append(timed)
        proven += all(answer.proven_optimal for answer in answers)
        gaps += [1 - a.lower_bound / a.objective for a in answers if not a.proven_optimal]
    _say("  wall:     ", _quantiles([timed.wall for timed in times]))
    _say("  processor:", _quantiles([timed.processor for timed in times]))
    _say(f"  every course proven optimal: {proven} of {count} ({proven / count:.2%})")
    if gaps:
        _say(f"  courses not proven: {len(gaps)}; gap at most {max(gaps):.3%}")


def _plain(count: int, seed: int) -> None:
    """Compare with the plain route: arcs and all patterns as one integer program."""
    from service.bench_plain import (  # noqa: PLC0415  # its solver comes with the test extra
        TooManyPatternsError,
        solve_plainly,
    )

    _say(f"plain route side by side: the first {count} structures, {3 * count} courses")
    ours, plains, ratios, unfinished, dearer = [], [], [], 0, 0
    for structure in make_structures(count, seed):
        for course in COURSES:
            problem = getattr(structure, course)
            answer, own = _timed(solve, problem)
            try:
                plain, other = _timed(solve_plainly, problem)
            except TooManyPatternsError:
                unfinished += 1
                continue
            unfinished += plain is None
            dearer += plain is not None and answer.objective > plain
            ours.append(own.processor)
            plains.append(other.processor)
            ratios.append(other.processor / own.processor)
    _say("  this solver, processor:", _quantiles(ours))
    _say("  plain route, processor:", _quantiles(plains))
    _say(
        f"  ratio in the median: {median(ratios):.1f}; plain route unfinished: {unfinished}; dearer than it: {dearer}"
    )


def _growth() -> None:
    """Ever longer runs, even and uneven, on four sides."""
    _say(
        f"growth: {SIDES} runs of 4 ft bays (uneven: each 6 in more or less), sheets 48 x 144 in, two strips a sheet"
    )
    for uneven in (False, True):
        for bays in GROWTH:
            answer, timed = _timed(solve, _long_problem(bays, uneven=uneven))
            gap = 1 - answer.lower_bound / answer.objective
            name = "uneven" if uneven else "even"
            _say(
                f"  {name:6} {bays:5} bays: wall {timed.wall:9.1f} ms, processor {timed.processor:9.1f} ms, gap {gap:.3%}"
            )


def _long_problem(bays: int, *, uneven: bool) -> CourseProblem:
    """Panels of four equal sides."""
    random = Random(bays)  # noqa: S311 - no secret
    positions = [0]
    for _ in range(bays):
        positions.append(positions[-1] + 48 * INCH + (random.randint(-96, 96) * SIXTEENTH if uneven else 0))
    gap = 9 * INCH // 32
    side = CourseRun(positions=tuple(positions), joint_deductions=(gap,) * (bays + 1))
    return CourseProblem(
        runs=(side,) * SIDES,
        heights=(24 * INCH - INCH // 8,),
        stock=(Stock(key="sheet", length=144 * INCH, width=48 * INCH, price=4800),),
        kerf=INCH // 8,
        grid=SIXTEENTH,
        joint_cost=1800,
        cut_cost=150,
    )
