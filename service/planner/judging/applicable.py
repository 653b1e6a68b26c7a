"""Whether a request with some changes could be built: what advice has to pass before it is given.

Rules of this file
------------------
- The stages themselves are asked, up to the heights of every run and the reach of its panels; what needs the solver is left to the rule that advises.
- An advice that cannot be applied is not given.
"""

from collections.abc import Sequence
from itertools import pairwise

from service.planner.asked.changes import Changes, changed
from service.planner.asked.settle import Job, settle
from service.planner.errors import SpecError
from service.planner.judging.facts import Facts
from service.planner.solver.courses.runs import CourseRun, piece_length
from service.planner.units import cut_step, round_down
from service.planner.wall.courses import StockPiece, panel_runs, sheet_stock
from service.planner.wall.heights import rip_tolerance, run_heights
from service.planner.wall.layout import Run
from service.planner.wall.movement import plan_movement
from service.planner.wall.runs import lay_runs


def applicable(facts: Facts, changes: Changes) -> Changes:
    """Changes that can be applied to the request, and none where they cannot.

    Parameters
    ----------
    facts
        The plan.
    changes
        Changes to its request.
    """
    return changes if changes and _holds(facts, changes) else ()


def _holds(facts: Facts, changes: Changes) -> bool:
    """Try changes on the stages before the solver."""
    try:
        job = settle(changed(facts.job.spec, changes), facts.job.catalog)
        runs, _ = lay_runs(job)
        stock = sheet_stock(job, job.spec.wall.panel_thickness)
        movement = plan_movement(job, runs, max([piece.length for piece in stock], default=0))
        widest = max([piece.width or 0 for piece in stock], default=0)
        for run in runs:
            # the saw leaves something between these two
            for lacking in (0, rip_tolerance(job)):
                run_heights(job, run, round_down(min(run.height, widest) - lacking, cut_step(job.units)))
        if max(job.heights) - rip_tolerance(job) > widest:
            return False
        spanned = zip(runs, panel_runs(job, runs, movement), strict=True)
        return all(_panels_reach(job, run, course, movement.span, stock) for run, course in spanned)
    except (SpecError, ValueError):
        return False


def _panels_reach(job: Job, run: Run, course: CourseRun, span: int, stock: Sequence[StockPiece]) -> bool:
    """Tell whether a panel reaches from every support where one may end to the next such support."""
    longest = max(
        [piece.length for piece in stock if (piece.width or 0) >= run.height - rip_tolerance(job)], default=0
    )
    ends = [support for support in range(run.last + 1) if support not in course.forbidden]
    return all(
        course.positions[there] - course.positions[here] <= span
        and 0 < piece_length(course, here, there, cut_step(job.units)) <= longest
        for here, there in pairwise(ends)
    )
