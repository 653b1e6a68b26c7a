"""Walls laid by hand: courses from the supports where their pieces end, without solving anything.

What hangs on the courses and what screws them can so be tested against layouts that the test itself chose.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any, Literal

from service.planner.asked.catalog import Catalog
from service.planner.asked.settle import Job, settle
from service.planner.asked.spec import Options, Spec, Structure, Wall
from service.planner.units import FOOT, INCH, MILLIMETRE
from service.planner.wall.details import hang_details
from service.planner.wall.heights import run_heights
from service.planner.wall.layout import Heights, Layout, Movement, PanelJoint, Piece, Run, RunWall
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


def lay_courses(job: Job, panels: Stops, boards: Stops, channels: Stops, ripped: int = RIPPED) -> Layout:
    """Lay the three courses of every run of a job; nothing hangs on them yet."""
    lap = job.board.part.lap
    walls = [
        RunWall(
            run=run,
            heights=run_heights(job, run, ripped),
            panels=_pieces(run, "panel", panels(run), lambda _: GAP),
            joints=_joints(run, panels(run)),
            boards=_pieces(run, "baseboard", boards(run), lambda _: -lap),
            channels=_channels(job, run, channels(run)),
        )
        for run in lay_runs(job)[0]
    ]
    return Layout(walls=tuple(walls), movement=_movement(), cuttings=())


def lay_wall(job: Job, courses: Layout) -> Layout:
    """Hang the details on courses."""
    return replace(courses, walls=tuple(hang_details(job, wall) for wall in courses.walls))


def with_wall(layout: Layout, index: int = 0, **changes: Any) -> Layout:
    """Change what stands on one run."""
    changed = [replace(wall, **changes) if at == index else wall for at, wall in enumerate(layout.walls)]
    return replace(layout, walls=tuple(changed))


def example_a_wall(job: Job | None = None) -> Layout:
    """Lay the hand-solved tunnel: seven pieces of three bays and one of one bay in every course of a side."""
    job = job or example_a_job()
    return lay_wall(job, lay_courses(job, every(3), every(3), every(3)))


def heights_of(layout: Layout) -> Heights:
    """The heights of the first run."""
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
