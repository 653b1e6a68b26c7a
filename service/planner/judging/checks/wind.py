"""Wind: what the governing screws are pulled with, against what steel and sheet hold.

Rules of this file
------------------
- Nothing is assessed without the site's wind.
- Pull-out and pull-over take the smaller of the older and the newer form of AISI S100, each with its own factor.
- The pull-over form is for steel under the head: aluminium and multiwall sheet are their makers' matter, and sheet
  is assessed only where the catalog gives its pull-through.
- An open tunnel is not assessed: neither standard's figures for walls hold for it.
- What else the wind pulls at is said not to be assessed, in one table.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Final

from service.planner.asked.changes import Changes
from service.planner.asked.parts import Sheet
from service.planner.asked.spec import Wind
from service.planner.engineering.hardware import SCREWS, ScrewSize, screw_diameter
from service.planner.engineering.quantities import MM_PER_INCH
from service.planner.engineering.screw_strength import (
    LEAST_HEAD_DIAMETER,
    ZINC_THICKNESS,
    Allowable,
    Form,
    HeadOnSteel,
    ThreadInSteel,
    allowable_pull_out,
    allowable_pull_over,
)
from service.planner.fastening.window import screw_of, size_name
from service.planner.judging.checks.remedies import closer_posts
from service.planner.judging.checks.verdict import Check, Kind
from service.planner.judging.checks.wind_actions import Pull, as_built, pulls, suction
from service.planner.judging.facts import Facts
from service.planner.keeping import remembered
from service.planner.messages import Message, Number, Share, say
from service.planner.units import METRE, MILLIMETRE

NOT_ASSESSED: Final = Kind("wind", "Wind on the wall's screws", "PAL", "asce-7-16-cladding")
PULL_OUT: Final = Kind("wind_pull_out", "Screws pulled out of post or bow by wind", "NEW", "aisi-s100-12")
PULL_OVER: Final = Kind(
    "wind_pull_over", "Baseboard pulled over the screws' heads by wind", "NEW", "aisi-s100-12"
)
PULL_THROUGH: Final = Kind(
    "wind_pull_through", "Sheet pulled over its washers by wind", "NEW", "sheet-pull-through"
)

ROPE: Final = Kind("wind_rope", "Pull of the curtain's rope on the hooks", "NEW", "asce-7-16-cladding")
FILM: Final = Kind("wind_film", "Pull of film on end battens and wind flaps", "NEW", "asce-7-16-cladding")
JAMB: Final = Kind("wind_jamb", "Screws in jamb studs pulled by wind", "NEW", "aisi-s100-12")
PROFILES: Final = Kind(
    "wind_profiles", "Heads and washers on profiles pulled over by wind", "NEW", "aisi-s100-12"
)
CLEARED: Final = Kind(
    "wind_clearance", "Heads over clearance holes pulled over by wind", "NEW", "aisi-s100-12"
)

FORMS: Final[dict[Form, str]] = {"older": "aisi-s100-12", "newer": "aisi-s100-16-s3"}
"""Source of each form of the strengths"""
LOAD_SOURCES: Final[dict[str, str]] = {
    "ASCE 7-16": "asce-7-16-cladding",
    "ASCE 7-22": "asce-7-22",
    "EN 1991-1-4": "en-1991-1-4",
}
"""Source of the load by each standard that may be asked for"""
BOARD_STRENGTH: Final = 310.0
"""Tensile strength taken for the baseboard's steel, 45 ksi, common practice [MPa]"""
PAN_HEADS: Final[dict[ScrewSize, float]] = {
    "No.6": 0.256,
    "No.8": 0.306,
    "No.10": 0.357,
    "No.12": 0.407,
    "1/4 in": 0.473,
}
"""Least diameter of a pan head, ASME B18.6.3, from memory [in]"""

Strength = Callable[[Facts, Pull], Allowable]

PROFILE_LAYERS: Final = frozenset(
    {"joint_profile", "top_channel", "splice_plate", "film_channel", "corner_cap", "end_cap"}
)
"""Layers of aluminium or plastic that a head or washer may lie on"""
UNASSESSED: Final[tuple[tuple[Kind, Callable[[Facts], bool], Message], ...]] = (
    # kind, when it applies, what is said
    (ROPE, lambda facts: bool(facts.layout.hooks),
     say("advice.wind_rope",
         "The curtain's rope hangs on the hooks and so on the board's screws. Its pull depends on how it is tied: the"
         " frame's maker or an engineer has to say it.")),
    (FILM, lambda facts: any(row.layers[0].part == "film_channel" for row in facts.rows),
     say("advice.wind_film",
         "The film of end wall and wind flap pulls at the channel that grips it, and at its screws. The frame's maker or an"
         " engineer has to say how much.")),
    (JAMB, lambda facts: any(row.layers[-1].part == "jamb" for row in facts.rows),
     say("advice.wind_jamb",
         "The withdrawal of screws from a timber stud depends on its wood: whoever sizes the door's frame has to assess it.")),
    (PROFILES, lambda facts: any(row.layers[0].part in PROFILE_LAYERS for row in facts.rows),
     say("advice.wind_profiles",
         "The pull-over form of AISI S100 is for steel under the head. What aluminium and plastic profiles hold under a head"
         " or a washer is their makers' figure.")),
    (CLEARED, lambda facts: any(row.clearance and row.layers[0].part == "baseboard" for row in facts.rows),
     say("advice.wind_clearance",
         "The pull-over form of AISI S100 takes no account of the clearance holes under the board's heads: what they cost an"
         " engineer has to assess.")),
)  # fmt: skip
# the table is read in rows
"""What the wind pulls at and nobody assesses here, with who can"""


def wind(facts: Facts) -> Iterator[Check]:
    """Judge every different screw that the wind pulls, and give the governing one of each mode."""
    asked = facts.job.spec.site.wind
    for check in _judged(facts, asked):
        yield check if asked is None else replace(check, load_source=LOAD_SOURCES[asked.standard])


def _judged(facts: Facts, asked: Wind | None) -> Iterator[Check]:
    """Judge the screws, with the wind where it is given."""
    if asked is None:
        yield NOT_ASSESSED.tell(
            "not_assessed",
            say("advice.no_wind", "Give the site's basic wind speed to have the screws assessed."),
        )
        return
    asked = as_built(facts.job, asked)
    if asked.enclosure == "open":
        yield NOT_ASSESSED.tell(
            "not_assessed",
            say(
                "advice.wind_open",
                "The figures of {standard} for walls do not hold for an open tunnel, or for one with two sides more than"
                " 30 percent open: an engineer has to assess it.",
                standard=asked.standard,
            ),
        )
        return
    pulled = list(pulls(facts, asked))
    in_steel = [pull for pull in pulled if pull.row.layers[-1].part in {"post", "bow"}]
    under_board = [pull for pull in pulled if pull.row.layers[0].part == "baseboard"]
    yield from _governing(facts, asked, PULL_OUT, in_steel, _pull_out)
    yield from _pull_over_check(facts, asked, under_board)
    yield from _pull_through(facts, asked, [pull for pull in pulled if pull.row.layers[0].part == "panel"])
    for kind, applies, words in UNASSESSED:
        if applies(facts):
            yield kind.tell("not_assessed", words)


def _governing(
    facts: Facts, asked: Wind, kind: Kind, pulled: Sequence[Pull], strength: Strength
) -> Iterator[Check]:
    """Judge the pull nearest to, or farthest past, its strength."""
    if not pulled:
        return
    held = [(pull, strength(facts, pull)) for pull in pulled]
    worst, allowed = max(held, key=lambda pair: pair[0].force / pair[1].force)
    yield kind.compare(
        worst.force,
        allowed.force,
        _words(asked, worst, allowed),
        changes=partial(_closer, facts, asked, held),
        source=FORMS[allowed.form],
    )


OLDER: Final = say("advice.older_form", "the older form of AISI S100")
NEWER: Final = say("advice.newer_form", "the newer form of AISI S100")


def _words(asked: Wind, pull: Pull, allowed: Allowable) -> Message:
    """Say what pulls and what holds."""
    return say(
        "advice.wind_pull",
        "{row} at {label}: {pressure} Pa of suction after {standard} on {area} m2 ({ends} in the end zone) pull with"
        " {force} N; {allowed} N are allowed by {form}.",
        row=pull.row.id,
        label=pull.run.supports[pull.support].label,
        pressure=Number(pull.pressure, 0),
        standard=asked.standard,
        area=Number(pull.area, 3),
        ends=Share(100 * pull.ends),
        force=Number(pull.force, 0),
        allowed=Number(allowed.force, 0),
        form=OLDER if allowed.form == "older" else NEWER,
    )


def _closer(facts: Facts, asked: Wind, held: Sequence[tuple[Pull, Allowable]]) -> Changes:
    """Set posts so close that no screw is pulled past its strength, were it in the end zone on the smallest area."""
    worst = suction(asked, 0.0, 1.0)
    widths = [allowed.force / (worst * pull.share) for pull, allowed in held if pull.share]
    # the wall may come out a rip tolerance higher from another sheet
    return closer_posts(facts, int(0.99 * min(widths) * METRE)) if widths else ()


def _pull_out(facts: Facts, pull: Pull) -> Allowable:
    """What the last steel holds of a screw: the bow's wall where the bow sits inside the post."""
    structure, last = facts.job.spec.structure, pull.row.layers[-1]
    strength = (structure.post if last.part == "post" else structure.bow).steel_strength_mpa
    return _held_out(screw_of(pull.row.screw).number, last.thickness, strength)


@remembered("wind")
def _held_out(number: int, thickness: int, strength: float) -> Allowable:
    """The allowable pull-out of a numbered screw in steel of a thickness [nm] and strength [MPa]."""
    return allowable_pull_out(
        ThreadInSteel(
            diameter=screw_diameter(number) / MILLIMETRE,
            steel_thickness=thickness / MILLIMETRE,
            steel_strength=strength,
        )
    )


def _pull_over_check(facts: Facts, asked: Wind, pulled: Sequence[Pull]) -> Iterator[Check]:
    """Judge the baseboard under its heads, as far as the clause covers them."""
    small = [pull for pull in pulled if _head(pull) < LEAST_HEAD_DIAMETER]
    if small:
        yield PULL_OVER.tell(
            "not_assessed",
            say(
                "advice.small_head",
                "{screw}: a head of {head_mm} mm is under the 5/16 in that AISI S100 covers.",
                screw=small[0].row.screw.sku,
                head_mm=Number(_head(small[0]), 1),
            ),
        )
        return
    yield from _governing(facts, asked, PULL_OVER, pulled, _pull_over)


def _head(pull: Pull) -> float:
    """The diameter of a screw's head, or of its own washer [mm]."""
    screw = screw_of(pull.row.screw)
    size = size_name(screw.number)
    inches = PAN_HEADS[size] if screw.head == "pan" else SCREWS[size].integral_washer
    return inches * MM_PER_INCH


def _pull_over(_: Facts, pull: Pull) -> Allowable:
    """What the outer board, without its zinc, holds under a head."""
    steel = pull.row.layers[0].thickness / MILLIMETRE - ZINC_THICKNESS
    return _held_over(_head(pull), steel)


@remembered("wind")
def _held_over(head: float, steel: float) -> Allowable:
    """The allowable pull-over of steel of a thickness under a head, both [mm]."""
    return allowable_pull_over(
        HeadOnSteel(bearing_diameter=head, steel_thickness=steel, steel_strength=BOARD_STRENGTH)
    )


def _pull_through(facts: Facts, asked: Wind, pulled: Sequence[Pull]) -> Iterator[Check]:
    """Judge the sheet under its washers by its maker's figure."""
    if not pulled:
        return
    used = {pattern.sku for pattern in facts.layout.cutting("sheet").patterns}
    parts = [facts.job.catalog.by_sku[sku].part for sku in sorted(used)]
    given = [part.pull_through_n for part in parts if isinstance(part, Sheet)]
    allowed = min((force for force in given if force is not None), default=0.0)
    if None in given or not allowed:
        yield PULL_THROUGH.tell(
            "not_assessed",
            say(
                "advice.no_pull_through",
                "What multiwall sheet holds under a washer is its maker's figure, and the catalog does not give it; the"
                " pull-over form of AISI S100 is for steel under the head.",
            ),
        )
        return
    worst = max(pulled, key=lambda pull: pull.force)
    held = [(pull, Allowable(force=allowed, form="older")) for pull in pulled]
    yield PULL_THROUGH.compare(
        worst.force,
        allowed,
        say(
            "advice.wind_pull_through",
            "{row} at {label}: {pressure} Pa after {standard} on {area} m2 pull with {force} N; the sheet's maker allows"
            " {allowed} N for each washered screw.",
            row=worst.row.id,
            label=worst.run.supports[worst.support].label,
            pressure=Number(worst.pressure, 0),
            standard=asked.standard,
            area=Number(worst.area, 3),
            force=Number(worst.force, 0),
            allowed=Number(allowed, 0),
        ),
        changes=partial(_closer, facts, asked, held),
    )
