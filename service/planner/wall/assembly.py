"""From runs to the laid-out wall: courses at least cost, sheets left whole, heights, details and cutting.

Rules of this file
------------------
- It puts the stages in order and hands values on; every rule stands in the stage that it belongs to.
"""

from service.planner.asked.settle import Job
from service.planner.errors import HeightUnbuildable
from service.planner.solver.effort import Effort
from service.planner.wall.course_cutting import cutting_of
from service.planner.wall.courses import LaidCourse, lay_boards, lay_channels, lay_panels, sheet_stock
from service.planner.wall.details import hang_details
from service.planner.wall.heights import NO_STRIP, no_strip, ripped_height, run_heights
from service.planner.wall.layout import Layout, Run, RunWall
from service.planner.wall.movement import plan_movement
from service.planner.wall.packing import pack
from service.planner.wall.part_cutting import cut_parts
from service.planner.wall.placing import panel_joints, place_metal, place_panels


def lay_out(job: Job, runs: tuple[Run, ...], effort: Effort) -> Layout:
    """Lay out a wall.

    Parameters
    ----------
    job
        The settled job.
    runs
        Its runs.
    effort
        Counter of units.

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
    sheets = lay_panels(job, runs, movement, stock, effort)
    used = _sheets_used(job, sheets)
    ripped = tuple([ripped_height(job, height, used) for height in job.heights])
    heights = [run_heights(job, run, ripped[run.height_class]) for run in runs]
    boards, channels = lay_boards(job, runs, effort), lay_channels(job, runs, effort)
    courses = (
        place_panels(job, runs, sheets),
        place_metal(job, runs, boards),
        place_metal(job, runs, channels),
    )
    walls = tuple(
        [
            hang_details(
                job,
                RunWall(
                    run=run,
                    heights=lines,
                    panels=panels,
                    joints=panel_joints(job, run, panels, movement),
                    boards=own_boards,
                    channels=own_channels,
                ),
            )
            for run, lines, panels, own_boards, own_channels in zip(runs, heights, *courses, strict=True)
        ]
    )
    cuttings = (
        cutting_of("sheet", sheets, courses[0], job.limits.kerf, ripped),
        cutting_of("baseboard", boards, courses[1], job.limits.metal_kerf, [None]),
        cutting_of("top_channel", channels, courses[2], job.limits.metal_kerf, [None]),
        *cut_parts(job, [part for wall in walls for part in wall.parts], effort),
    )
    return Layout(walls=pack(job, walls, cuttings[0]), movement=movement, cuttings=cuttings)


def _too_high(job: Job) -> HeightUnbuildable:
    """Refuse a wall that no sheet gives a strip for."""
    return HeightUnbuildable(NO_STRIP, no_strip(job, job.heights))


def _sheets_used(job: Job, laid: LaidCourse) -> set[tuple[int, tuple[int, ...]]]:
    """Return the sheets used: width across the strips, and nominal height of each strip taken [nm]."""
    return {
        (
            laid.stock[opened.key].width or 0,
            tuple([job.heights[strip.height_class] for strip in opened.strips]),
        )
        for opened in laid.answer.opened
    }
