"""What hangs on the courses: joint profiles, battens, caps, uprights, splice plates, hooks and tape.

Rules of this file
------------------
- One joint profile a panel joint; one end part a run end, by what stands there; one upright a wind flap.
- One splice plate a channel joint, behind every upright and at every end post; none at jambs.
- Everything is cut short or long by the limits in force and rounded down to a cut length.
- Screws belong to ``fastening/``, hooks and tape to files of their own.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final, Literal

from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.errors import HeightUnbuildable
from service.planner.messages import Length, Noun, say
from service.planner.units import cut_step, round_down, round_up
from service.planner.wall.courses import end_line_offset
from service.planner.wall.hooks import hang_hooks
from service.planner.wall.layout import (
    EndKind,
    Heights,
    Part,
    Piece,
    Plate,
    Run,
    RunEnd,
    RunWall,
)
from service.planner.wall.tape import panel_tapes

PlateKind = Literal["joint", "upright", "end"]
"""Where a splice plate is."""
ENDS: Final[tuple[RunEnd, ...]] = ("front", "back")
"""Both ends of a run."""


_END_PARTS: Final[Mapping[EndKind, str]] = {
    "end_film": "end_batten",
    "end_open": "end_batten",
    "end_rigid": "corner_cap",
    "jamb": "end_cap",
}
"""Role of what holds or closes the panel's end, by what stands there."""


def hang_details(job: Job, wall: RunWall) -> RunWall:
    """Hang everything that follows from a run's courses.

    Parameters
    ----------
    job
        The settled question.
    wall
        The run with its courses as laid.

    Returns
    -------
        The same with parts, plates, hooks and tapes.

    Raises
    ------
    HeightUnbuildable
        When a part would have no length.
    """
    plates = _plates(wall.run, wall.channels)
    return replace(
        wall,
        parts=tuple([part for geometry in GEOMETRY for part in geometry(job, wall)]),
        plates=tuple(plates),
        hooks=tuple(hang_hooks(job, wall.run, wall.boards, plates)),
        tapes=tuple(panel_tapes(job, wall.heights.ripped, wall.panels)),
    )


def screw_line(job: Job, run: Run, support: int) -> int:
    """Return the line on a support that its screws sit on, from the run's zero [nm].

    The panel ends on an end post's centre, so the screws there sit to the panel's side of it.

    Parameters
    ----------
    job
        The settled question.
    run
        The run.
    support
        Index of the support [-].
    """
    x = run.supports[support].x
    if support == 0 and run.front_end != "jamb":
        return x + end_line_offset(job)
    if support == run.last and run.back_end != "jamb":
        return x - end_line_offset(job)
    return x


def _profiles(job: Job, wall: RunWall) -> Iterable[Part]:
    """Close every panel joint of a run."""
    run, heights, joints = wall.run, wall.heights, wall.joints
    if not joints:
        return
    full = job.spec.wall.joint_profile_extent == "full_height"
    bottom = heights.foot if full else heights.board_top
    length = _cut(job, heights.channel_underside - bottom - job.limits.profile_clearance)
    if length <= 0:
        raise _too_low(job, run, ROLES["joint_profile"].noun, length)
    named, index = f"{run.id}-{ROLES['joint_profile'].word}-", run.index
    for number, joint in enumerate(joints, start=1):
        yield Part(
            id=f"{named}{number}",
            role="joint_profile",
            run=index,
            support=joint.support,
            end=None,
            x=joint.x,
            bottom=bottom,
            length=length,
        )


def _end_parts(job: Job, wall: RunWall) -> Iterable[Part]:
    """Hold or close the panels' ends of a run."""
    return [_end_part(job, wall.run, wall.heights, end) for end in ENDS]


def _end_part(job: Job, run: Run, heights: Heights, end: RunEnd) -> Part:
    """Hold or close the panel's end at one end of a run."""
    support, role = 0 if end == "front" else run.last, _END_PARTS[run.end_kind(end)]
    length = heights.channel_top - heights.board_top
    if role == "end_cap":
        length = heights.clear - job.limits.profile_clearance
    length = _cut(job, length)
    if length <= 0:
        raise _too_low(job, run, ROLES["end_cap"].noun, length)
    return Part(
        id=f"{run.id}-{ROLES[role].word}-{end}",
        role=role,
        run=run.index,
        support=support,
        end=end,
        x=screw_line(job, run, support),
        bottom=heights.board_top,
        length=length,
    )


def _uprights(job: Job, wall: RunWall) -> Iterable[Part]:
    """Stand the wind-flap uprights of a run on their bows."""
    run, heights = wall.run, wall.heights
    length = _cut(job, heights.hip - heights.board_top)
    for support in run.uprights:
        end: RunEnd = "front" if run.front_upright and support == 1 else "back"
        yield Part(
            id=f"{run.id}-{ROLES['upright'].word}-{end}",
            role="upright",
            run=run.index,
            support=support,
            end=end,
            x=run.supports[support].x,
            bottom=heights.board_top,
            length=length,
        )


GEOMETRY: Final[tuple[Callable[[Job, RunWall], Iterable[Part]], ...]] = (
    _profiles,
    _end_parts,
    _uprights,
)
"""Where the cut parts of a run stand, in the order in which they are listed: one function for what stands alike."""


def _plates(run: Run, channels: Sequence[Piece]) -> list[Plate]:
    """Put a splice plate behind every joint of the top channel and at every end post."""
    uprights = run.uprights
    places: list[tuple[PlateKind, int]] = [("end", 0)] if run.front_end != "jamb" else []
    places += (("upright" if piece.end in uprights else "joint", piece.end) for piece in channels[:-1])
    if run.back_end != "jamb":
        places.append(("end", run.last))
    named, index = f"{run.id}-{ROLES['splice_plate'].word}-", run.index
    return [
        Plate(id=f"{named}{number}", kind=kind, run=index, support=support)
        for number, (kind, support) in enumerate(places, start=1)
    ]


def _cut(job: Job, length: int) -> int:
    """Round a length down to a cut length [nm]."""
    return round_down(length, cut_step(job.units))


def _too_low(job: Job, run: Run, part: Noun, length: int) -> HeightUnbuildable:
    """Say which height would give a part at least one step of length."""
    step = cut_step(job.units)
    short = round_up(step - length + job.limits.rip_tolerance, step)
    wanted = run.height + short
    detail = say(
        "spec.no_length_for",
        "no length is left for {part}, {short} short of the clear height; {height} of wall would do",
        part=part,
        short=Length(job.limits.profile_clearance),
        height=Length(wanted),
    )
    return HeightUnbuildable(
        say("spec.leaves_no_length", "The wall leaves no length for {part}.", part=part),
        [run.asked.problem(run.height, wanted, job.units, detail)],
    )
