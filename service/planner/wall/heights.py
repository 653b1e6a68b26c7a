"""Heights of every line of a run, from the strip as it is ripped up to the hip rail.

Rules of this file
------------------
- Heights are above finished grade at the run's first support, where the baseboard's underside is.
- A strip may lack the rip tolerance of its nominal height, so that one more comes out of a sheet.
- Heights that leave no room for the wall's parts are refused with what would do.
"""

from collections.abc import Iterable
from typing import Final

from service.planner.asked.parts import Sheet
from service.planner.asked.settle import Job
from service.planner.errors import FieldProblem, HeightUnbuildable
from service.planner.messages import Length, Value, filled, say
from service.planner.units import as_asked, cut_step, round_down, round_up
from service.planner.wall.layout import Heights, Run


def strips_per_sheet(width: int, height: int, kerf: int, tolerance: int) -> int:
    """Count the strips of one height that a sheet gives: floor((W + k) / (h - r + k)), all [nm]."""
    return (width + kerf) // (height - tolerance + kerf)


def across(job: Job, sheet: Sheet) -> int:
    """Return the side of a sheet that strips are taken from: its width, or its length where flutes stand upright [nm]."""
    return sheet.length if job.upright_flutes else sheet.width


def rip_tolerance(job: Job) -> int:
    """Return what a strip may lack of its nominal height; nothing where bands are crosscut [nm]."""
    return 0 if job.upright_flutes else job.limits.rip_tolerance


def ripped_height(job: Job, height: int, sheets: Iterable[tuple[int, tuple[int, ...]]]) -> int:
    """Find the height that strips of one nominal height are ripped to.

    Parameters
    ----------
    job
        The settled job.
    height
        Nominal height [nm].
    sheets
        For every kind of sheet used: its width across the strips and the nominal heights of the strips taken [nm].

    Returns
    -------
        The least height over the sheets used, rounded down to a cut step [nm].
    """
    kerf, step = job.limits.kerf, cut_step(job.units)
    best = height
    for width, taken in sheets:
        if height not in taken:
            continue
        number = max(1, strips_per_sheet(width, height, kerf, rip_tolerance(job)))
        over = sum(taken) + (len(taken) - 1) * kerf - width
        mixed = height - max(0, -(-over // len(taken)))
        best = min(best, (width - (number - 1) * kerf) // number, mixed)
    return round_down(best, step)


def run_heights(job: Job, run: Run, ripped: int) -> Heights:
    """Return the height of every line of a run.

    Parameters
    ----------
    job
        The settled job.
    run
        The run.
    ripped
        Height of its strips as ripped [nm].

    Raises
    ------
    HeightUnbuildable
        When the lower screws would miss the panel, the clear height is too little or the hip rail is in the way.
    """
    board, channel, limits = job.board.part, job.channel.part, job.limits
    top = ripped - run.bury_depth
    underside = top - channel.slot_depth
    clear = underside - board.face
    if -run.bury_depth > board.lower_line - limits.foot_below_line:
        raise _foot_too_high(job, run)
    if clear < limits.clear_height:
        raise _too_low(job, run, limits.clear_height - clear)
    _check_hip(job, run, top + channel.flange)
    locating = board.face + limits.locating_above_board
    thirds = (
        () if clear < limits.short_clear_height else (board.face + clear // 3, board.face + 2 * clear // 3)
    )
    return Heights(
        ripped=ripped,
        foot=-run.bury_depth,
        lower_line=board.lower_line,
        upper_line=board.upper_line,
        board_top=board.face,
        locating=locating,
        field=tuple(z for z in thirds if abs(z - locating) >= limits.locating_near_field),
        channel_underside=underside,
        panel_top=top,
        flange_line=top + channel.flange // 2,
        channel_top=top + channel.flange,
        post_top=job.spec.structure.post.height_above_grade,
        hip=job.spec.structure.hip_height,
    )


def _check_hip(job: Job, run: Run, channel_top: int) -> None:
    """Refuse a channel too near the hip rail: the curtain rolls up there, and an upright stands up to it."""
    step, hip = cut_step(job.units), job.spec.structure.hip_height
    if job.spec.structure.roll_up_sides:
        keeps, why = job.limits.hip_clearance, _ROLLS_UP
    elif run.uprights:
        keeps, why = step, _UPRIGHT_STANDS
    else:
        return
    if channel_top + keeps <= hip:
        return
    highest = round_down(hip - keeps - job.channel.part.flange + run.bury_depth, step)
    rail = round_up(channel_top + keeps, step)
    near: dict[str, Value] = {
        "channel": Length(channel_top),
        "hip": Length(hip),
        "keeps": Length(keeps),
        "why": why,
        "highest": Length(highest),
        "rail": Length(rail),
    }
    raise HeightUnbuildable(
        say("spec.near_hip", "{run}: the top channel comes too near the hip rail.", run=run.id),
        [
            run.asked.problem(run.height, highest, job.units, filled(_LOWER_WALL, near)),
            FieldProblem(
                pointer="/structure/hip_height",
                detail=filled(_HIGHER_RAIL, near),
                suggestion=as_asked(rail, job.units),
            ),
        ],
    )


_ROLLS_UP: Final = say("spec.sides_roll_up", "where the sides roll up")
_UPRIGHT_STANDS: Final = say(
    "spec.upright_stands", "so that a wind-flap upright can stand from the baseboard to the hip rail"
)
_LOWER_WALL: Final = say(
    "spec.lower_wall",
    "the top channel would end at {channel}, the hip rail lies at {hip}: the channel stays {keeps} under it {why};"
    " {highest} is the highest wall that fits",
)
_HIGHER_RAIL: Final = say(
    "spec.higher_rail",
    "the top channel would end at {channel}, the hip rail lies at {hip}: the channel stays {keeps} under it {why}; a rail"
    " at {rail} would do",
)
NO_STRIP: Final = say("spec.no_strip", "No stocked sheet gives a strip of the wall's height.")
"""What is said of a wall higher than any sheet"""
_WIDEST: Final = say("spec.widest_sheet", "{height} does not come out of the widest sheet, {sheet}")
_LONGEST: Final = say("spec.longest_sheet", "{height} does not come out of the longest sheet, {sheet}")


def no_strip(job: Job, heights: Iterable[int]) -> tuple[FieldProblem, ...]:
    """Say of every height [nm] that no sheet gives a strip for what the tallest strip would be, field by field."""
    widest = max((across(job, item.part) for item in job.sheets if isinstance(item.part, Sheet)), default=0)
    wanted, refused = round_down(widest, cut_step(job.units)), set(heights)
    found = {
        side.asked.pointer: side.asked.problem(
            side.height,
            wanted or None,
            job.units,
            filled(
                _LONGEST if job.upright_flutes else _WIDEST,
                {"height": Length(side.height), "sheet": Length(widest)},
            ),
        )
        for side in job.sides.values()
        if side.height in refused
    }
    return tuple(found.values())


def _foot_too_high(job: Job, run: Run) -> HeightUnbuildable:
    """Refuse a foot that the board's lower screws would miss."""
    needed = job.limits.foot_below_line - job.board.part.lower_line
    detail = say(
        "spec.bury_foot",
        "the foot must reach {below} below the board's lower screw line at {line}: bury it by {needed}",
        below=Length(job.limits.foot_below_line),
        line=Length(job.board.part.lower_line),
        needed=Length(needed),
    )
    problem = FieldProblem(
        pointer=run.asked.bury_pointer, detail=detail, suggestion=as_asked(needed, job.units)
    )
    return HeightUnbuildable(
        say("spec.foot_too_high", "{run}: the board's lower screws would miss the panel.", run=run.id),
        [problem],
    )


def _too_low(job: Job, run: Run, missing: int) -> HeightUnbuildable:
    """Refuse a clear height that is too little, with the wall or the board that would do."""
    height = round_up(run.height + missing + rip_tolerance(job), cut_step(job.units))
    detail = say(
        "spec.clear_height",
        "leaves less than {least} clear between board and channel; {height} of wall would do",
        least=Length(job.limits.clear_height),
        height=Length(height),
    )
    problems = [run.asked.problem(run.height, height, job.units, detail)]
    lower = [p for p in _faces(job) if p <= job.board.part.face - missing]
    if lower:
        detail = say("spec.lower_board", "or a board of {face} face", face=Length(max(lower)))
        problems.append(
            FieldProblem(
                pointer="/wall/baseboard_face", detail=detail, suggestion=as_asked(max(lower), job.units)
            )
        )
    return HeightUnbuildable(
        say("spec.too_low", "{run}: the wall is too low for its board and channel.", run=run.id), problems
    )


def _faces(job: Job) -> set[int]:
    """Return the faces that the catalog's boards have."""
    return {item.part.face for item in job.catalog.by_role["baseboard"] if hasattr(item.part, "face")}
