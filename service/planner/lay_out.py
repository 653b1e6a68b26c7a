"""From runs to the laid-out wall: courses at least cost, sheets left whole, heights, details and cutting.

Rules of this file
------------------
- It puts the stages in order and hands values on; every rule stands in the stage that it belongs to.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from service.planner.catalog import Sheet
from service.planner.course_cutting import cutting_of
from service.planner.details import Courses, hang_details
from service.planner.errors import FieldProblem, HeightUnbuildable
from service.planner.factory_lengths import LaidPanel, bearing_tolerance, leave_whole
from service.planner.heights import across, ripped_height, run_heights, size_words
from service.planner.layout import Layout, Movement, PanelJoint, Piece, Run
from service.planner.materials import (
    LaidCourse,
    lay_boards,
    lay_channels,
    lay_panels,
    places,
    sheet_stock,
)  # fmt: skip
from service.planner.movement import plan_movement
from service.planner.part_cutting import cut_parts
from service.planner.settle import Job
from service.planner.units import cut_step, to_millimetres


def lay_out(job: Job, runs: tuple[Run, ...]) -> Layout:
    """Lay out a wall.

    Parameters
    ----------
    job
        The settled job.
    runs
        Its runs.

    Raises
    ------
    NoPieceFits
        When stock does not reach between two supports.
    HeightUnbuildable
        When the heights leave no room for the wall's parts, or no sheet gives a strip.
    """
    stock = sheet_stock(job)
    if not stock:
        raise _too_high(job)
    movement = plan_movement(job, runs, max(piece.length for piece in stock))
    laid = _placed(job, lay_panels(job, runs, movement, stock))
    ripped = tuple(ripped_height(job, height, _sheets_used(job, laid)) for height in job.heights)
    heights = tuple(run_heights(job, run, ripped[run.height_class]) for run in runs)
    boards, channels = lay_boards(job, runs), lay_channels(job, runs)
    courses = Courses(
        runs=runs,
        heights=heights,
        movement=movement,
        panels=laid.pieces,
        joints=tuple(
            _joints(job, run, pieces, movement) for run, pieces in zip(runs, laid.pieces, strict=True)
        ),
        boards=boards.pieces,
        channels=channels.pieces,
    )
    details = hang_details(job, courses)
    cuttings = (
        cutting_of("sheet", laid, job.limits.kerf, ripped),
        cutting_of("baseboard", boards, job.limits.metal_kerf, [None]),
        cutting_of("top_channel", channels, job.limits.metal_kerf, [None]),
        *cut_parts(job, details.parts),
    )
    return Layout(
        runs=runs, heights=heights, movement=movement, panels=courses.panels, joints=courses.joints,
        boards=courses.boards, channels=courses.channels, parts=details.parts, plates=details.plates,
        hooks=details.hooks, tapes=details.tapes, cuttings=cuttings,
    )  # fmt: skip


def _too_high(job: Job) -> HeightUnbuildable:
    """Refuse a wall that no sheet gives a strip for."""
    widest = max(across(job, item.part) for item in job.sheets if isinstance(item.part, Sheet))
    detail = f"{job.text(min(job.heights))} does not come out of the {size_words(job, across)} sheet, {job.text(widest)}"
    problem = FieldProblem(pointer="/wall/height", detail=detail, suggestion=to_millimetres(widest))
    return HeightUnbuildable("No stocked sheet gives a strip of the wall's height.", [problem])


def _sheets_used(job: Job, laid: LaidCourse) -> list[tuple[int, tuple[int, ...]]]:
    """List the sheets used: width across the strips, and nominal height of each strip taken [nm]."""
    return [
        (
            laid.stock[int(opened.key)].width or 0,
            tuple(job.heights[strip.height_class] for strip in opened.strips),
        )
        for opened in laid.answer.opened
    ]


def _placed(job: Job, laid: LaidCourse) -> LaidCourse:
    """Leave sheets whole where their joints may drift, run by run."""
    alone = {
        (strip.pieces[0].run, strip.pieces[0].start, strip.pieces[0].end): laid.stock[int(opened.key)].length
        for opened in laid.answer.opened
        for strip in opened.strips
        if len(strip.pieces) == 1
    }
    runs = range(len(laid.pieces))
    return replace(laid, pieces=tuple(_placed_run(job, laid, run, alone) for run in runs))


def _placed_run(
    job: Job, laid: LaidCourse, run: int, alone: dict[tuple[int, int, int], int]
) -> tuple[Piece, ...]:
    """Place one run's panels from its first end."""
    pieces = laid.pieces[run]
    path = (0, *(piece.end for piece in pieces))
    spots = places(laid.course_runs[run], path)
    tolerance = bearing_tolerance(job)
    forward = job.spec.options.lay_from == "front"
    panels = [
        LaidPanel(
            room=spot.right - spot.left, length=piece.length, sheet=alone.get((run, piece.start, piece.end)),
            tolerance=tolerance,
        )
        for spot, piece in zip(spots, pieces, strict=True)
    ]  # fmt: skip
    placed = leave_whole(panels if forward else panels[::-1], cut_step(job.units))
    placed = placed if forward else placed[::-1]
    result = []
    for number, (piece, panel) in enumerate(zip(pieces, placed, strict=True)):
        if forward:
            x_start = spots[number].left + (placed[number - 1].drift if number else 0)
        else:
            x_start = (
                spots[number].right
                - (placed[number + 1].drift if number + 1 < len(placed) else 0)
                - panel.length
            )
        if (panel.whole, panel.length, x_start) == (False, piece.length, piece.x_start):
            result.append(piece)
            continue
        x_end = x_start + panel.length
        result.append(
            replace(piece, x_start=x_start, x_end=x_end, length=panel.length, factory_length=panel.whole)
        )
    return tuple(result)


def _joints(job: Job, run: Run, pieces: Sequence[Piece], movement: Movement) -> tuple[PanelJoint, ...]:
    """Find where two panels meet: half a gap from the end that was placed against it."""
    forward = job.spec.options.lay_from == "front"
    half = movement.gap // 2
    found = []
    for before, after in pairwise(pieces):
        x = after.x_start - half if forward else before.x_end + (movement.gap - half)
        found.append(
            PanelJoint(run=run.index, support=after.start, x=x, drift=x - run.supports[after.start].x)
        )
    return tuple(found)
