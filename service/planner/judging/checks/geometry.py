"""Geometry: bows behind the wall, posts behind the board, the curtain and the openings above and beside it.

Rules of this file
------------------
- Every height is judged where it is worst; the advice names the place.
- Limits of set-back are a table of judgement; what a bow does is the circle's geometry.
- Where the spec gives no width, the check on it is not assessed.
"""

from collections.abc import Iterator
from functools import partial
from math import isqrt
from typing import Final

from service.planner.asked.changes import Changes
from service.planner.asked.parts import Baseboard
from service.planner.asked.sections import thicknesses
from service.planner.engineering.bow import SET_BACK_LIMITS, Remedy, remedy, set_back
from service.planner.engineering.hardware import screw_diameter
from service.planner.engineering.screw_strength import EDGE_DIAMETERS
from service.planner.fastening.window import screw_of
from service.planner.judging.checks.remedies import (
    closer_posts,
    other_glazing,
    other_height,
    top_at_most,
    widest_bay,
)
from service.planner.judging.checks.verdict import Check, Kind, Outcome, Words
from service.planner.judging.facts import Facts
from service.planner.messages import Length, Message, Number, Share, say
from service.planner.nouns import SIDES
from service.planner.rules import VENT_SHARE, WIDEST_BAY
from service.planner.units import INCH, METRE, MILLIMETRE, as_asked, cut_step, round_up, to_millimetres
from service.planner.wall.layout import Heights, Run

SET_BACK: Final = Kind("bow_set_back", "Curved bow behind the wall's fixings", "MMT", "bow-limits")
STAND_OFF: Final = Kind("bow_stand_off", "Step between post and bow", "MMT", "bow-limits")
POST_END: Final = Kind("post_end", "Screws from the post's top end", "MMT", "aisi-s100-12")
BOARD: Final = Kind("board_reach", "Posts behind the whole baseboard", "MMT", "board-on-post")
LAP: Final = Kind("curtain_lap", "Wall for the curtain to lap", "MMT", "curtain-lap")
VENT: Final = Kind("vent_opening", "Opening left for the air", "MTK", "vent-share")
OPENING: Final = Kind("opening_width", "Clear width of openings", "MMT", "opening-clear")
BAY: Final = Kind("bay_thickness", "Bays against the sheet's thickness", "MMT", "bay-by-thickness")

WINDY_LAP: Final = 12 * INCH
"""What a curtain laps the wall by where it is windy, common practice [nm]"""
REMEDIES: Final[dict[Remedy, tuple[Outcome, Message | None]]] = {
    "none": ("pass", None),
    "shim": ("caution", say("remedy.shim", "Shim the wall's fixings with washers.")),
    "stand_off": ("caution", say("remedy.stand_off", "Set stand-off blocks or brackets on every bow.")),
    "lower_the_wall": (
        "fail",
        say("remedy.lower_the_wall", "Lower the wall, or add a straight girt for it."),
    ),
}
"""What a distance between wall and bow calls for"""
SHIMMED: Final = say(
    "measure.shims", "The plan fills it with shims: the bill counts them, the steps place them."
)
"""What a plan contains where shims serve"""


def _ignored() -> int:
    """The set-back that is ignored [nm]."""
    return round(SET_BACK_LIMITS[0].up_to * MILLIMETRE)


def bow_set_back(facts: Facts) -> Iterator[Check]:
    """Judge a curved bow at the highest fixing of every run, its step behind the post included: one distance."""
    job, structure = facts.job, facts.job.spec.structure
    bow, post = structure.bow, structure.post.height_above_grade
    if bow.profile == "straight" or bow.radius is None:
        return
    radius = bow.radius
    run, heights = max(_lines(facts), key=lambda pair: pair[1].flange_line)
    rise = min(max(heights.flange_line - post, 0), radius)
    step = max(0, structure.post.width - bow.width) // 2 if rise else 0
    back = step + round(set_back(radius / MILLIMETRE, rise / MILLIMETRE) * MILLIMETRE)
    ignored, serves = max(0, _ignored() - step), remedy(back / MILLIMETRE)
    outcome, words = REMEDIES[serves]
    # up to the ignored set-back s the bow rises by the root of 2 R s - s squared
    most = post + isqrt(ignored * (2 * radius - ignored)) - job.channel.part.flange
    yield SET_BACK.lengths(
        back,
        _ignored(),
        Words(
            say(
                "advice.bow_set_back",
                "{run}: {rise} above the post's top the bow stands {back} behind the posts.",
                run=run.id,
                rise=Length(rise),
                back=Length(back),
            ),
            remedy=words,
            measure=SHIMMED if serves == "shim" else None,
        ),
        over=outcome,
        changes=lambda: other_height(facts, top_at_most(job, most)),
    )


def _lines(facts: Facts) -> Iterator[tuple[Run, Heights]]:
    """Give every run with its heights."""
    return zip(facts.layout.runs, facts.layout.heights, strict=True)


def bow_stand_off(facts: Facts) -> Iterator[Check]:
    """Judge the step where the wall passes from post to bow; a wall that stays on the posts has none."""
    job, structure = facts.job, facts.job.spec.structure
    above = any(heights.flange_line > heights.post_top for heights in facts.layout.heights)
    step = abs(structure.post.width - structure.bow.width) // 2 if above else 0
    serves = remedy(step / MILLIMETRE)
    outcome, words = REMEDIES[serves]
    behind = structure.bow.width <= structure.post.width
    most = structure.post.height_above_grade - job.channel.part.flange
    yield STAND_OFF.lengths(
        step,
        _ignored(),
        Words(
            _stands_off(step, behind=behind)
            if above
            else say("advice.on_posts", "The wall stays on the posts."),
            remedy=words,
            measure=SHIMMED if behind and serves == "shim" else None,
        ),
        over=outcome,
        changes=lambda: other_height(facts, top_at_most(job, most)),
    )


def _stands_off(step: int, *, behind: bool) -> Message:
    """Say where the bows' faces lie."""
    if behind:
        return say(
            "advice.bow_behind",
            "Above the posts' tops the bows' faces lie {step} behind the posts'.",
            step=Length(step),
        )
    return say(
        "advice.bow_in_front",
        "Above the posts' tops the bows' faces lie {step} in front of the posts'.",
        step=Length(step),
    )


def post_end(facts: Facts) -> Iterator[Check]:
    """Judge the screw nearest below a post's top: too near, it splits the tube's end."""
    job = facts.job
    post = job.spec.structure.post.height_above_grade
    below = [row for row in facts.rows if row.z <= post and row.layers[-1].part in {"post", "bow"}]
    if not below:
        return
    nearest = max(below, key=lambda row: row.z)
    least = EDGE_DIAMETERS * screw_diameter(screw_of(nearest.screw).number)
    yield POST_END.lengths(
        least,
        post - nearest.z,
        Words(
            say(
                "advice.post_end",
                "{row} sits {distance} below the post's top end; {diameters} diameters are {least}.",
                row=nearest.id,
                distance=Length(post - nearest.z),
                diameters=Number(EDGE_DIAMETERS),
                least=Length(round(least)),
            ),
            remedy=say(
                "remedy.post_end", "Nearer the end it can tear out: a wall a little higher or lower moves it."
            ),
        ),
        over="caution",
        changes=lambda: _moved_line(facts, nearest.run, nearest.z, round(least)),
    )


def _moved_line(facts: Facts, run: int, z: int, least: int) -> Changes:
    """Lower the wall until its top line clears the post's end, where that line is the one too near."""
    heights = facts.layout.heights[run]
    if z != heights.flange_line:
        return ()
    most = heights.post_top - least - (heights.flange_line - heights.panel_top)
    return other_height(facts, top_at_most(facts.job, most))


def board_reach(facts: Facts) -> Iterator[Check]:
    """Judge whether the posts stand behind both screw lines of the board."""
    job = facts.job
    post, line = job.spec.structure.post.height_above_grade, job.board.part.upper_line
    yield BOARD.lengths(
        line,
        post,
        Words(
            say(
                "advice.board_reach",
                "The board's upper screws sit at {line}, the posts end at {post}.",
                line=Length(line),
                post=Length(post),
            ),
            remedy=say(
                "remedy.board_reach", "Above the posts the board would bear on the bows: take a lower board."
            ),
        ),
        over="caution",
        changes=lambda: _lower_board(facts, post),
    )


def _lower_board(facts: Facts, post: int) -> Changes:
    """Take the highest stocked board whose upper line the posts reach [nm]."""
    parts = (item.part for item in facts.job.catalog.by_role["baseboard"])
    faces = [part.face for part in parts if isinstance(part, Baseboard) and part.upper_line <= post]
    return (("/wall/baseboard_face", as_asked(max(faces), facts.job.units)),) if faces else ()


def curtain_lap(facts: Facts) -> Iterator[Check]:
    """Judge the wall that a rolled-down curtain can lap before its pipe meets the board."""
    if not facts.job.spec.structure.roll_up_sides:
        return
    run, heights = min(_lines(facts), key=lambda pair: pair[1].channel_top - pair[1].board_top)
    room = heights.channel_top - heights.board_top
    yield LAP.lengths(
        facts.job.limits.curtain_lap,
        room,
        Words(
            say(
                "advice.curtain_lap",
                "{run}: {room} of wall above the board for the curtain to lap; {usual} are usual.",
                run=run.id,
                room=Length(room),
                usual=Length(facts.job.limits.curtain_lap),
            ),
            remedy=say(
                "remedy.curtain_lap",
                "{least} are the least; where it is windy take {windy}.",
                least=Length(facts.job.limits.least_curtain_lap),
                windy=Length(WINDY_LAP),
            ),
        ),
        over="caution" if room >= facts.job.limits.least_curtain_lap else "fail",
        changes=lambda: other_height(
            facts, lambda run, _: run.height + _up(facts, facts.job.limits.curtain_lap - room)
        ),
    )


def _up(facts: Facts, by: int) -> int:
    """Round a raise up to a cut step, with the rip tolerance that a strip may lack [nm]."""
    return round_up(by + facts.job.limits.rip_tolerance, cut_step(facts.job.units))


def vent_opening(facts: Facts) -> Iterator[Check]:
    """Judge the side opening above the wall against the floor, both sides together."""
    job, structure = facts.job, facts.job.spec.structure
    if not structure.roll_up_sides:
        return
    if structure.width is None:
        yield VENT.tell(
            "not_assessed",
            say("advice.no_width", "Give the tunnel's width to have the opening compared with the floor."),
        )
        return
    length = job.stations[-1]
    tops = {run.side: heights.panel_top for run, heights in _lines(facts)}
    free = structure.hip_height - job.limits.curtain_allowance
    # a side without a wall opens from the ground
    opens = [max(0, free - tops.get(side, 0)) for side in ("left", "right")]
    needed = VENT_SHARE * structure.width
    area = length / METRE / METRE
    yield VENT.compare(
        needed * area,
        sum(opens) * area,
        Words(
            say(
                "advice.vent_opening",
                "Above the wall {area} m2 open, {share} of the floor; {usual} is the rule of thumb for side vents.",
                area=Number(sum(opens) * area, 1),
                share=Share(100 * sum(opens) / structure.width, 1),
                usual=Share(100 * VENT_SHARE),
            ),
            remedy=say("remedy.vent_opening", "A lower wall or a higher hip rail opens more."),
        ),
        over="caution",
        changes=lambda: _more_air(facts, round(needed)),
    )


def _more_air(facts: Facts, needed: int) -> Changes:
    """Lower the wall until its sides open enough; where it cannot be that low, raise the hip rail of a new tunnel."""
    job = facts.job
    free = job.spec.structure.hip_height - job.limits.curtain_allowance
    walled = len(job.sides)
    each = -(-(needed - (2 - walled) * free) // walled)
    lower = other_height(facts, top_at_most(job, free - each))
    if lower or job.spec.options.existing_tunnel:
        return lower
    tops = sum(heights.panel_top for heights in {run.side: h for run, h in _lines(facts)}.values())
    hip = -(-(needed + tops) // 2) + job.limits.curtain_allowance
    hip = round_up(hip, cut_step(job.units))
    return (("/structure/hip_height", as_asked(hip, job.units)),) if hip <= 4 * METRE else ()


def opening_width(facts: Facts) -> Iterator[Check]:
    """Judge the opening that comes out narrower than it was asked for by the most."""
    if not facts.openings:
        return
    job = facts.job
    asked = job.spec.structure.openings
    worst = max(facts.openings, key=lambda opening: asked[opening.number].width - opening.clear_width)
    wanted = asked[worst.number].width
    yield OPENING.lengths(
        wanted,
        worst.clear_width,
        Words(
            say(
                "advice.opening_width",
                "Opening {opening} on the {side}: {clear} clear of {wanted} asked for.",
                opening=worst.number + 1,
                side=SIDES[worst.side],
                clear=Length(worst.clear_width),
                wanted=Length(wanted),
            ),
            remedy=say(
                "remedy.opening_width",
                "It ends on a post's face: take a door of that width, or move the opening.",
            ),
        ),
        over="caution",
        changes=partial(_as_built, facts),
    )


def _as_built(facts: Facts) -> Changes:
    """Ask for the openings that come out narrower as they will be built."""
    asked, units = facts.job.spec.structure.openings, facts.job.units
    narrower = [opening for opening in facts.openings if opening.clear_width < asked[opening.number].width]
    return tuple(
        change
        for opening in narrower
        for change in (
            (f"/structure/openings/{opening.number}/offset", as_asked(opening.near.face, units)),
            (f"/structure/openings/{opening.number}/width", as_asked(opening.clear_width, units)),
        )
    )


def bay_thickness(facts: Facts) -> Iterator[Check]:
    """Judge the widest bay against what is advised for the sheet's thickness."""
    job = facts.job
    thickness, bay = job.spec.wall.panel_thickness, widest_bay(job)
    most = _widest_for(thickness)
    if most is None:
        yield BAY.tell(
            "not_assessed",
            say(
                "advice.no_bay_for_thickness",
                "There is no advice here for sheet as thin as {thickness_mm} mm.",
                thickness_mm=Number(to_millimetres(thickness)),
            ),
        )
        return
    yield BAY.lengths(
        bay,
        most,
        Words(
            say(
                "advice.bay_thickness",
                "The widest bay is {bay}; sheet of {thickness_mm} mm is advised up to {most} (judgement, not structural).",
                bay=Length(bay),
                thickness_mm=Number(to_millimetres(thickness)),
                most=Length(most),
            ),
            remedy=say("remedy.bay_thickness", "Ask the sheet's maker, take thicker sheet or closer posts."),
        ),
        over="caution",
        changes=partial(_stiffer, facts, bay, most),
    )


def _widest_for(thickness: int) -> int | None:
    """The widest bay that is advised for a thickness; none for thinner sheet than the table's [nm]."""
    return max((bay for sheet, bay in WIDEST_BAY if sheet <= thickness), default=None)


def _stiffer(facts: Facts, bay: int, most: int) -> Changes:
    """Take the thinnest sheet that serves the bay, else set the posts closer."""
    job = facts.job
    serving = [t for t in thicknesses(job.catalog) if (_widest_for(t) or 0) >= bay]
    found = next(other_glazing(job, serving), None)
    return closer_posts(facts, most) if found is None else found.changes
