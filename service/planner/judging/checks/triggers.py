"""When to call a licensed engineer, and what to ask about a permit.

Rules of this file
------------------
- A trigger names what set it off; it never says that without it no engineer is needed.
- Limits are judgement: the planner checks a cladding and never the frame behind it.
- Permit questions are asked, never answered.
"""

from collections.abc import Iterator
from typing import Final

from service.planner.engineering.quantities import MILE_PER_HOUR
from service.planner.judging.checks.remedies import widest_bay
from service.planner.judging.checks.verdict import Check, Kind, Words
from service.planner.judging.facts import Facts
from service.planner.messages import Counted, Length, Message, Number, noun, say
from service.planner.units import MILLIMETRE

_LIMITS: Final = "engineer-limits"
HEIGHT: Final = Kind("engineer_wall_height", "Height from which to ask an engineer", "MMT", _LIMITS)
BAY: Final = Kind("engineer_bay", "Bay from which to ask an engineer", "MMT", _LIMITS)
WIND: Final = Kind("engineer_wind", "Wind from which to ask an engineer", "MTS", _LIMITS)
THIN: Final = Kind("engineer_thin_post", "Post wall below which to ask an engineer", "MMT", _LIMITS)
EMBED: Final = Kind("engineer_embedment", "Embedment below which to ask an engineer", "MMT", _LIMITS)
OPENING: Final = Kind("engineer_opening", "Openings in the side of the frame", "C62", _LIMITS)
RETROFIT: Final = Kind("engineer_retrofit", "Wall added to a tunnel that stands", "C62", _LIMITS)
SOIL: Final = Kind("engineer_retained_soil", "Ground held back by the wall", "MMT", _LIMITS)
RIGID: Final = Kind("permit_rigid_wall", "Permit of a tunnel that gets rigid walls", "C62", "permit-wording")
DIGGING: Final = Kind("permit_digging", "Buried services before anything is dug", "C62", "29-cfr-1926-651")

WINDIEST: Final = 115 * MILE_PER_HOUR
"""Basic wind speed of ASCE 7 above which to ask, judgement [m/s]"""
WINDIEST_MEAN: Final = WINDIEST / 1.5
"""The same as a 10 minute mean of EN 1991-1-4: about two thirds of a strength-level gust, judgement [m/s]"""
OPENINGS: Final = noun("noun.opening", "opening", "openings")


def engineer(facts: Facts) -> Iterator[Check]:
    """Judge the numbers from which to ask a licensed engineer."""
    job, structure = facts.job, facts.job.spec.structure
    limits = job.limits
    height, bay = max(run.height - run.bury_depth for run in facts.layout.runs), widest_bay(job)
    yield HEIGHT.lengths(
        height,
        limits.engineer_height,
        Words(
            say("advice.engineer_wall_height", "The wall stands {height} high.", height=Length(height)),
            remedy=_past(limits.engineer_height),
        ),
        over="caution",
    )
    yield BAY.lengths(
        bay,
        limits.engineer_bay,
        Words(
            say("advice.engineer_bay", "The widest bay is {bay}.", bay=Length(bay)),
            remedy=say(
                "remedy.engineer_bay",
                "Past {most} ask an engineer or add a post.",
                most=Length(limits.engineer_bay),
            ),
        ),
        over="caution",
    )
    yield THIN.lengths(
        limits.engineer_post_wall,
        structure.post.wall_thickness,
        Words(
            say(
                "advice.engineer_thin_post",
                "The posts' walls are {wall} thick.",
                wall=Length(structure.post.wall_thickness, 3),
            ),
            remedy=say(
                "remedy.engineer_thin_post",
                "Posts with a wall under {least} carry little beside the roof: measure them, and ask an engineer.",
                least=Length(limits.engineer_post_wall, 3),
            ),
        ),
        over="caution",
    )
    yield _embedment(facts)
    yield from _wind(facts)


def _past(most: int) -> Message:
    return say("remedy.engineer_past", "Past {most} ask an engineer.", most=Length(most))


def _embedment(facts: Facts) -> Check:
    """Judge how deep the posts stand, where it is known."""
    depth, least = facts.job.spec.structure.post.embed_depth, facts.job.limits.engineer_embedment
    if depth is None:
        return EMBED.tell(
            "not_assessed",
            say(
                "advice.embedment_unknown",
                "Find out how deep the posts stand; under {least} ask an engineer.",
                least=Length(least),
            ),
        )
    return EMBED.lengths(
        least,
        depth,
        Words(
            say("advice.engineer_embedment", "The posts stand {depth} deep.", depth=Length(depth)),
            remedy=say("remedy.engineer_embedment", "Under {least} ask an engineer.", least=Length(least)),
        ),
        over="caution",
    )


def _wind(facts: Facts) -> Iterator[Check]:
    """Judge the basic wind speed, where it is given."""
    wind = facts.job.spec.site.wind
    if wind is None:
        return
    most = WINDIEST_MEAN if wind.standard == "EN 1991-1-4" else WINDIEST
    yield WIND.compare(
        wind.basic_speed,
        most,
        Words(
            say(
                "advice.engineer_wind",
                "{speed} m/s after {standard}.",
                speed=Number(wind.basic_speed),
                standard=wind.standard,
            ),
            remedy=say("remedy.engineer_wind", "Past {most} m/s ask an engineer.", most=Number(most, 1)),
        ),
        over="caution",
    )


def told(facts: Facts) -> Iterator[Check]:
    """Tell what sets off a question by merely being there."""
    options = facts.job.spec.options
    if facts.openings:
        yield OPENING.tell(
            "caution",
            say(
                "advice.engineer_opening",
                "{openings}: no post is cut here, but what braces the side ends at each. Where a post has to move or a door"
                " leans on the frame, ask an engineer. Count the ways out: a rigid wall no longer lifts like film.",
                openings=Counted(len(facts.openings), OPENINGS),
            ),
            demand=len(facts.openings),
        )
    if options.existing_tunnel:
        yield RETROFIT.tell(
            "caution",
            say(
                "advice.engineer_retrofit",
                "The wall goes on a tunnel that stands: where its frame is damaged, or was stamped, ask an engineer first.",
            ),
        )
        yield RIGID.tell(
            "caution",
            say(
                "advice.permit_rigid_wall",
                "Ask the building office, and the office that shared the cost: exemptions often lean on words such as"
                " temporary or film-covered, and a rigid wall may change the answer.",
            ),
        )
    if options.trench is not None or any(s.post is None for run in facts.layout.runs for s in run.supports):
        yield DIGGING.tell(
            "caution",
            say(
                "advice.permit_digging",
                "Have buried services located before the trench is dug or a stud is set; private lines are not marked by"
                " the service.",
            ),
        )
    yield from _soil(facts)


def _soil(facts: Facts) -> Iterator[Check]:
    """Tell where the ground stands higher than the board, so that the sheet would hold it back."""
    job = facts.job
    face = job.board.part.face
    for run in facts.layout.runs:
        highest = max(run.ground or (0,))
        if highest > face:
            yield SOIL.tell(
                "caution",
                say(
                    "advice.engineer_retained_soil",
                    "{run}: the ground stands {highest} high, above the board of {face}. A wall that holds back soil or"
                    " snow is an engineer's matter.",
                    run=run.id,
                    highest=Length(round(highest)),
                    face=Length(face),
                ),
                demand=highest / MILLIMETRE,
            )
            return
