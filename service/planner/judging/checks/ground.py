"""Ground: the wall's foot against the grade at every support of a levelled side.

Rules of this file
------------------
- Levels count from the ground at a run's first support, where the board's underside is.
- A side without its levels is not assessed.
"""

from collections.abc import Iterator
from typing import Final

from service.planner.asked.changes import Changes
from service.planner.asked.parts import Baseboard
from service.planner.asked.settle import SHALLOWEST_TRENCH
from service.planner.judging.checks.remedies import other_height
from service.planner.judging.checks.verdict import Check, Kind, Words
from service.planner.judging.facts import Facts
from service.planner.messages import Length, say
from service.planner.units import as_asked, cut_step, round_up
from service.planner.wall.layout import Run, Support

FOOT: Final = Kind("foot_gap", "Gap under the wall's foot", "MMT", "icwdm-gaps")
BURIED: Final = Kind("foot_buried", "Ground against the baseboard", "MMT", "buried-edge")


def ground(facts: Facts) -> Iterator[Check]:
    """Judge the foot against the ground at every support of every run whose side was levelled."""
    walls = facts.layout.walls
    if any(wall.run.ground is None for wall in walls):
        yield FOOT.tell(
            "not_assessed",
            say(
                "advice.no_levels",
                "Give the ground's height at every post of each side that gets a wall to have the foot assessed.",
            ),
        )
        return
    places = [
        (wall.heights.foot - level, level, wall.run, support)
        for wall in walls
        for support, level in zip(wall.run.supports, wall.run.ground or (), strict=True)
    ]
    yield _foot_gap(facts, max(places, key=lambda place: place[0]))
    yield _foot_buried(facts, max(places, key=lambda place: place[1]))


def _foot_gap(facts: Facts, place: tuple[float, float, Run, Support]) -> Check:
    """Judge the widest gap under the foot."""
    gap, _, run, support = place
    limits = facts.job.limits
    return FOOT.lengths(
        gap,
        limits.mouse_gap,
        Words(
            say(
                "advice.foot_gap",
                "{run}, {label}: the foot is {gap} above the ground ({mouse} keeps mice out, {rat} rats).",
                run=run.id,
                label=support.label,
                gap=Length(round(gap)),
                mouse=Length(limits.mouse_gap),
                rat=Length(limits.rat_gap),
            ),
            remedy=say("remedy.foot_gap", "Fill the gap, step the foot, or bury it."),
        ),
        over="caution" if gap <= limits.rat_gap else "fail",
        changes=lambda: _deeper(facts, gap),
    )


def _deeper(facts: Facts, gap: float) -> Changes:
    """Bury the foot deeper and keep the wall's top where it is, with a trench that is deep enough."""
    job, units = facts.job, facts.job.units
    by = round_up(round(gap) - facts.job.limits.mouse_gap, cut_step(units))
    heights = other_height(facts, lambda run, _: run.height + by)
    if not heights:
        return ()
    bury = max(run.bury_depth for run in facts.layout.runs) + by
    depth = max(bury, job.spec.options.trench.depth if job.spec.options.trench else SHALLOWEST_TRENCH)
    deeper = dict.fromkeys((run.asked.bury_pointer for run in facts.layout.runs), as_asked(bury, units))
    # a top given above the post stays where it is by itself
    kept = [change for change in heights if not change[0].endswith("top_above_post")]
    return (*deeper.items(), ("/options/trench/depth", as_asked(depth, units)), *kept)


def _foot_buried(facts: Facts, place: tuple[float, float, Run, Support]) -> Check:
    """Judge the highest ground against the board: past half its face soil lies on it."""
    _, level, run, support = place
    face = facts.job.board.part.face
    return BURIED.lengths(
        level,
        face / 2,
        Words(
            say(
                "advice.foot_buried",
                "{run}, {label}: the ground stands {level} up the board of {face}.",
                run=run.id,
                label=support.label,
                level=Length(round(level)),
                face=Length(face),
            ),
            remedy=say(
                "remedy.foot_buried",
                "Let the board in, grade the ground or step the foot: wet soil against the sheet soaks its flutes, and"
                " frost lifts it.",
            ),
        ),
        over="caution" if level <= face else "fail",
        changes=lambda: _higher_board(facts, level),
    )


def _higher_board(facts: Facts, level: float) -> Changes:
    """Take the lowest stocked board whose half face the ground does not pass, where it still leaves clear height [nm]."""
    job = facts.job
    parts = (item.part for item in job.catalog.by_role["baseboard"])
    faces = [part.face for part in parts if isinstance(part, Baseboard) and part.face >= 2 * level]
    room = min(heights.channel_underside for heights in facts.layout.heights) - job.limits.clear_height
    return (
        (("/wall/baseboard_face", as_asked(min(faces), job.units)),) if faces and min(faces) <= room else ()
    )
