"""Pieces placed: where on its run each piece of a course begins and ends, and where panels meet.

Rules of this file
------------------
- What rounding takes off a piece goes to the side away from the end that is laid first.
- Joints are centred. Where whole sheets are asked for, panels are left whole where their joints may drift, run by run.
- Every piece is placed once.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.keeping import remembered
from service.planner.solver.courses.runs import CourseRun
from service.planner.units import cut_step
from service.planner.wall.courses import LaidCourse
from service.planner.wall.layout import Movement, PanelJoint, Piece, Run
from service.planner.wall.movement import bearing_tolerance
from service.planner.wall.whole_sheets import LaidPanel, PlacedPanel, leave_whole

Spot = tuple[int, int]
"""Both ends of a piece before its length is rounded down [nm]"""
Pieces = tuple[tuple[Piece, ...], ...]
"""Pieces of every run, front to back"""

_left_whole = remembered("side")(leave_whole)
"""Both sides of a tunnel often ask the same"""


def place_metal(job: Job, runs: Sequence[Run], laid: LaidCourse) -> Pieces:
    """Place baseboards or top channel.

    Parameters
    ----------
    job
        The settled job.
    runs
        The runs.
    laid
        The course.
    """
    step = cut_step(job.units)
    found = []
    for run, spots, path in _along(runs, laid):
        lengths = [PlacedPanel((right - left) // step * step, False, 0) for left, right in spots]
        found.append(_placed(job, laid, run, spots, path, lengths))
    return tuple(found)


def place_panels(job: Job, runs: Sequence[Run], laid: LaidCourse) -> Pieces:
    """Place the panels, joints centred; where it is asked for leave sheets whole whose joints may drift.

    Parameters
    ----------
    job
        The settled job.
    runs
        The runs.
    laid
        The course.
    """
    step, alone = cut_step(job.units), _alone_in_its_strip(laid)
    # a joint that may not drift stays on its support's centre
    tolerance = bearing_tolerance(job) if job.spec.options.whole_sheets else 0
    # seen from the end that is laid first, and back again
    way = 1 if job.spec.options.lay_from == "front" else -1
    found = []
    for run, spots, path in _along(runs, laid):
        panels = tuple(
            [
                LaidPanel(
                    right - left, (right - left) // step * step, alone.get((run.index, start)), tolerance
                )
                for (left, right), start in zip(spots, path[:-1], strict=True)
            ]
        )
        found.append(_placed(job, laid, run, spots, path, _left_whole(panels[::way], step)[::way]))
    return tuple(found)


def _along(runs: Iterable[Run], laid: LaidCourse) -> Iterable[tuple[Run, list[Spot], tuple[int, ...]]]:
    """Go along every run of a course: the run, where its pieces may lie, and the supports where they end."""
    for run, course_run, path in zip(runs, laid.runs, laid.answer.paths, strict=True):
        yield run, _spots(course_run, path), path


def _spots(course_run: CourseRun, path: Sequence[int]) -> list[Spot]:
    """List where each of a run's pieces may lie, front to back."""
    positions, deductions = course_run.positions, course_run.joint_deductions
    found = [
        (positions[start] + deductions[start], positions[end] - deductions[end])
        for start, end in pairwise(path)
    ]
    first, last = path[0], path[-1]
    found[0] = (positions[first] + course_run.start_deduction, found[0][1])
    found[-1] = (found[-1][0], positions[last] - course_run.end_deduction)
    return found


def _alone_in_its_strip(laid: LaidCourse) -> Mapping[tuple[int, int], int]:
    """Tell the stock length of every panel that shares its strip with no other, by run and first support [nm]."""
    return {
        (strip.pieces[0].run, strip.pieces[0].start): laid.stock[opened.key].length
        for opened in laid.answer.opened
        for strip in opened.strips
        if len(strip.pieces) == 1
    }


def _placed(
    job: Job,
    laid: LaidCourse,
    run: Run,
    spots: Sequence[Spot],
    path: Sequence[int],
    lengths: Sequence[PlacedPanel],
) -> tuple[Piece, ...]:
    """Name and place the pieces of one run."""
    named, index, role = f"{run.id}-{ROLES[laid.course].word}-", run.index, laid.course
    forward = job.spec.options.lay_from == "front"
    drifts = [piece.drift for piece in lengths]
    before = [0, *drifts[:-1]] if forward else [*drifts[1:], 0]
    pieces = []
    rows = zip(pairwise(path), spots, lengths, before, strict=True)
    for number, ((start, end), (left, right), (length, whole, _), drift) in enumerate(rows, start=1):
        x_start = left + drift if forward else right - drift - length
        pieces.append(
            Piece(
                id=f"{named}{number}",
                role=role,
                run=index,
                start=start,
                end=end,
                x_start=x_start,
                x_end=x_start + length,
                length=length,
                uncut=whole,
            )
        )
    return tuple(pieces)


def panel_joints(job: Job, run: Run, panels: Sequence[Piece], movement: Movement) -> tuple[PanelJoint, ...]:
    """Find where two panels meet: half a gap from the end that was placed against it.

    Parameters
    ----------
    job
        The settled job.
    run
        The run.
    panels
        Its panels, front to back.
    movement
        Movement of the panels.
    """
    forward = job.spec.options.lay_from == "front"
    half = movement.gap // 2
    found = []
    for before, after in pairwise(panels):
        x = after.x_start - half if forward else before.x_end + (movement.gap - half)
        found.append(
            PanelJoint(run=run.index, support=after.start, x=x, drift=x - run.supports[after.start].x)
        )
    return tuple(found)
