"""From runs to the laid-out wall: courses at least cost, sheets left whole, heights, details and cutting.

Rules of this file
------------------
- It puts the stages in order and hands values on; every rule stands in the stage that it belongs to.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import pairwise

from service.planner.asked.parts import Sheet
from service.planner.asked.settle import Job
from service.planner.errors import FieldProblem, HeightUnbuildable
from service.planner.units import cut_step, to_millimetres
from service.planner.wall.course_cutting import cutting_of
from service.planner.wall.courses import (
    LaidCourse,
    lay_boards,
    lay_channels,
    lay_panels,
    places,
    sheet_stock,
)  # fmt: skip
from service.planner.wall.details import Courses, hang_details
from service.planner.wall.heights import across, ripped_height, run_heights, size_words
from service.planner.wall.layout import Layout, Movement, PanelJoint, Piece, Run
from service.planner.wall.movement import bearing_tolerance, plan_movement
from service.planner.wall.part_cutting import cut_parts
from service.planner.wall.whole_sheets import LaidPanel, PlacedPanel, leave_whole


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
    stock = sheet_stock(job, job.spec.wall.panel_thickness)
    if not stock:
        raise _too_high(job)
    movement = plan_movement(job, runs, max(piece.length for piece in stock))
    laid = _placed(job, lay_panels(job, runs, movement, stock))
    used = _sheets_used(job, laid)
    ripped = tuple([ripped_height(job, height, used) for height in job.heights])
    heights = tuple([run_heights(job, run, ripped[run.height_class]) for run in runs])
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
    detail = (
        f"{job.text(min(job.heights))} does not come out of the {size_words(job)} sheet, {job.text(widest)}"
    )
    problem = FieldProblem(pointer="/wall/height", detail=detail, suggestion=to_millimetres(widest))
    return HeightUnbuildable("No stocked sheet gives a strip of the wall's height.", [problem])


def _sheets_used(job: Job, laid: LaidCourse) -> set[tuple[int, tuple[int, ...]]]:
    """Give the sheets used: width across the strips, and nominal height of each strip taken [nm]."""
    return {
        (
            laid.stock[int(opened.key)].width or 0,
            tuple([job.heights[strip.height_class] for strip in opened.strips]),
        )
        for opened in laid.answer.opened
    }


_left_whole = lru_cache(maxsize=64)(leave_whole)
"""Both sides of a tunnel often ask the same"""


def _placed(job: Job, laid: LaidCourse) -> LaidCourse:
    """Leave sheets whole where their joints may drift, run by run."""
    alone = {
        (strip.pieces[0].run, strip.pieces[0].start): laid.stock[int(opened.key)].length
        for opened in laid.answer.opened
        for strip in opened.strips
        if len(strip.pieces) == 1
    }
    return LaidCourse(
        pieces=tuple([_placed_run(job, laid, run, alone) for run in range(len(laid.pieces))]),
        answer=laid.answer,
        stock=laid.stock,
        course_runs=laid.course_runs,
    )


def _placed_run(
    job: Job, laid: LaidCourse, run: int, alone: Mapping[tuple[int, int], int]
) -> tuple[Piece, ...]:
    """Place one run's panels from its first end."""
    pieces, tolerance = laid.pieces[run], bearing_tolerance(job)
    spots = places(laid.course_runs[run], (0, *[piece.end for piece in pieces]))
    # seen from the run's first end, and back again below
    way = 1 if job.spec.options.lay_from == "front" else -1
    panels = tuple([
        LaidPanel(right - left, piece.length, alone.get((run, piece.start)), tolerance)
        for (left, right), piece in zip(spots, pieces, strict=True)
    ])  # fmt: skip
    placed = _left_whole(panels[::way], cut_step(job.units))[::way]
    drifts = [panel.drift for panel in placed]
    before = [0, *drifts[:-1]] if way > 0 else [*drifts[1:], 0]
    return tuple([
        _placed_piece(piece, panel, left + drift if way > 0 else right - drift - panel.length)
        for piece, panel, (left, right), drift in zip(pieces, placed, spots, before, strict=True)
    ])  # fmt: skip


def _placed_piece(piece: Piece, panel: PlacedPanel, x_start: int) -> Piece:
    """Give a piece the place and the length that the second pass found for it."""
    length, whole, _ = panel
    if not whole and length == piece.length and x_start == piece.x_start:
        return piece
    return Piece(
        id=piece.id, role=piece.role, run=piece.run, start=piece.start, end=piece.end,
        x_start=x_start, x_end=x_start + length, length=length, factory_length=whole,
    )  # fmt: skip


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
