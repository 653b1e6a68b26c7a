"""Walls laid by hand: courses from the supports where their pieces end, without solving anything.

What hangs on the courses and what screws them can so be tested against layouts that the test itself chose.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Literal

from service.planner.asked.catalog import Catalog
from service.planner.asked.settle import Job, settle
from service.planner.asked.spec import Options, Spec, Structure, Wall
from service.planner.units import FOOT, INCH, MILLIMETRE
from service.planner.wall.details import Courses, hang_details
from service.planner.wall.heights import run_heights
from service.planner.wall.layout import Heights, Layout, Movement, PanelJoint, Piece, Run
from service.planner.wall.runs import lay_runs
from tests.planner.scenarios import example_a_catalog

Role = Literal["panel", "baseboard", "top_channel"]
Stops = Callable[[Run], Sequence[int]]
"""Gives the supports of a run where the pieces of a course end, both ends of the run included."""

GAP = 9 * INCH // 16
"""Joint gap of the hand-solved tunnel [nm]"""
RIPPED = 383 * INCH // 16
"""Ripped height of the hand-solved tunnel, 23 15/16 in [nm]"""


def example_a_job(
    structure: Structure | None = None, options: Options | None = None, catalog: Catalog | None = None
) -> Job:
    """Settle the hand-solved tunnel: 22 bays of 4 ft, left and right, 24 in wall of 8 mm sheet, film end walls."""
    spec = Spec(
        structure=structure or Structure(bays=22, bay_spacing=4 * FOOT),
        wall=Wall(panel_thickness=8 * MILLIMETRE),
        options=options or Options(),
    )
    return settle(spec, catalog or example_a_catalog())


def every(count: int) -> Stops:
    """End pieces at every so many supports; the odd rest lies at the back."""
    return lambda run: [*range(0, run.last, count), run.last]


def lay_courses(job: Job, panels: Stops, boards: Stops, channels: Stops, ripped: int = RIPPED) -> Courses:
    """Lay the three courses of every run of a job."""
    runs, _ = lay_runs(job)
    lap = job.board.part.lap
    return Courses(
        runs=runs,
        heights=tuple(run_heights(job, run, ripped) for run in runs),
        movement=_movement(),
        panels=tuple(_pieces(run, "panel", panels(run), lambda _: GAP) for run in runs),
        joints=tuple(_joints(run, panels(run)) for run in runs),
        boards=tuple(_pieces(run, "baseboard", boards(run), lambda _: -lap) for run in runs),
        channels=tuple(_channels(job, run, channels(run)) for run in runs),
    )


def lay_wall(job: Job, courses: Courses) -> Layout:
    """Hang the details on courses."""
    details = hang_details(job, courses)
    return Layout(
        runs=courses.runs,
        heights=courses.heights,
        movement=courses.movement,
        panels=courses.panels,
        joints=courses.joints,
        boards=courses.boards,
        channels=courses.channels,
        parts=details.parts,
        plates=details.plates,
        hooks=details.hooks,
        tapes=details.tapes,
        cuttings=(),
    )


def example_a_wall(job: Job | None = None) -> Layout:
    """Lay the hand-solved tunnel: seven pieces of three bays and one of one bay in every course of a side."""
    job = job or example_a_job()
    return lay_wall(job, lay_courses(job, every(3), every(3), every(3)))


def heights_of(layout: Layout) -> Heights:
    """Give the heights of the first run."""
    return layout.heights[0]


def _movement() -> Movement:
    """Movement of the hand-solved tunnel: 12 ft spans, 15 / 50 / -25 degC."""
    return Movement(
        expansion=65e-6,
        warming=35.0,
        cooling=40.0,
        span=12 * FOOT,
        growth=8_321_040,
        side_gap=INCH // 4,
        gap=GAP,
        end_room=3 * INCH // 16,
        screw_in_gap=4_826_000,
    )


def _pieces(run: Run, role: Role, stops: Sequence[int], gap: Callable[[int], int]) -> tuple[Piece, ...]:
    """Lay pieces from stop to stop, each half the gap short of its joints."""
    return tuple(
        Piece(
            id=f"{run.id}-{role}-{number}",
            role=role,
            run=run.index,
            start=start,
            end=end,
            x_start=run.supports[start].x + gap(start) // 2,
            x_end=run.supports[end].x - gap(end) // 2,
            length=run.supports[end].x - run.supports[start].x - gap(start) // 2 - gap(end) // 2,
        )
        for number, (start, end) in enumerate(pairwise(stops), start=1)
    )


def _channels(job: Job, run: Run, stops: Sequence[int]) -> tuple[Piece, ...]:
    """Lay top channel: broken at uprights, and at end posts from the batten's inner edge."""
    batten = job.film_channel.part.width
    ends = {0: run.front_end, run.last: run.back_end}

    def gap(support: int) -> int:
        if support in run.uprights:
            return batten
        return job.limits.channel_gap if support not in ends else 0 if ends[support] == "jamb" else 4 * INCH

    return _pieces(run, "top_channel", sorted({*stops, *run.uprights}), gap)


def _joints(run: Run, stops: Sequence[int]) -> tuple[PanelJoint, ...]:
    """Find the panel joints."""
    return tuple(PanelJoint(run=run.index, support=s, x=run.supports[s].x, drift=0) for s in stops[1:-1])
