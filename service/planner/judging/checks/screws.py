"""Screws: length, drilling, threads, jacking and heads, over every row of the schedule.

Rules of this file
------------------
- Rows that pass the same layers with the same screw are judged once; the first of them names the place.
- A drill point has to go through all metal of its row, unless the outer metals get clearance holes.
- What the catalog does not stock no request can change: then there is advice and no change.
"""

from collections.abc import Iterator, Sequence
from functools import partial
from math import isqrt
from typing import Final, NamedTuple

from msgspec import Struct

from service.planner.asked.catalog import Catalog
from service.planner.asked.changes import Changes
from service.planner.engineering.hardware import DRILL_RANGES, SCREWS, DrillSource, drill_least
from service.planner.fastening.layers import METALS
from service.planner.fastening.window import capacity, point_length, screw_of, size_name
from service.planner.judging.checks.remedies import (
    other_height,
    top_at_most,
)
from service.planner.judging.checks.verdict import Check, Kind, Words
from service.planner.judging.facts import Facts
from service.planner.keeping import kept_with_catalog, remembered
from service.planner.messages import Bore, Length, Message, Number, Value, filled, say
from service.planner.rules import Place
from service.planner.units import INCH, MILLIMETRE
from service.planner.wall.layout import FastenerRow, Layer

LENGTH: Final = Kind("screw_length", "Screw lengths against what they pass", "MMT", "grip-length")
DRILL: Final = Kind("drill_capacity", "Steel that a drill point goes through", "MMT", "sae-j78")
THIN: Final = Kind("drill_least", "Steel that a drill point is meant for at least", "MMT", "sae-j78")
THREAD: Final = Kind("thread_engagement", "Threads held by the last steel", "MMT", "one-thread")
JACKING: Final = Kind("jacking", "Drill points against the distance between two metals", "MMT", "jacking")
HEAD: Final = Kind("head_contact", "Low heads where film rubs", "C62", "film-contact")

SOURCE_IDS: Final[dict[DrillSource, str]] = {
    "SAE J78": "sae-j78",
    "ISO 15480": "iso-15480",
    "trade charts": "drill-charts",
}
"""Whose drilling range goes by which source"""
LEAST_THREAD: Final = 0.5
"""Turns of thread in the last steel below which a screw strips, from memory [-]"""
SUPPORTS: Final = frozenset({"post", "bow"})
"""Layers that are the support's own steel"""
STEEL: Final = SUPPORTS | {"baseboard"}
"""Layers of steel; channels, plates and caps are aluminium"""
FILM_RUBS: Final[frozenset[Place]] = frozenset(
    {"board_upper", "locating", "field", "joint_profile", "top_channel", "jamb_cap"}
)
"""Places where film or curtain touches the heads, common practice"""
FINE: Final = 3
"""Decimals of an inch of thicknesses, finer than a tape reads [-]"""
SCREW_FITS: Final = say(
    "advice.screw_length",
    "{row}, {screw}: its {length} lie between {shortest}, for three threads and the point beyond the near wall, and"
    " {longest}, short of the far wall.",
)
NO_SCREW_FITS: Final = say(
    "advice.no_screw_length",
    "{row}: no stocked screw of its kind lies between {shortest} and {longest}; {screw} of {length} is nearest.",
)
POINT_DRILLS: Final = say("measure.point_drills", "so that the point drills the support alone")
NO_JACKING: Final = say("measure.no_jacking", "so that the threads do not push them off")


class Drill(NamedTuple):
    """What a numbered screw's point and thread do."""

    number: int
    """Screw number [-]"""
    kind: int
    """Drill point number [-]"""
    most: int
    """Most metal that it drills [nm]"""
    least: int
    """Least metal that it is meant for, 0 where no source says [nm]"""
    length: int
    """Length that drills before the thread bites [nm]"""
    pitch: int
    """One turn of thread [nm]"""


class Through(Struct, frozen=True, gc=False):
    """A row of the schedule as its drill point meets it."""

    row: FastenerRow
    """The first such row"""
    drill: Drill
    """Its screw's point"""
    metal: int
    """All metal together, aluminium and steel: as far as the point has to drill [nm]"""
    steel: int
    """Steel alone: board, post and bow [nm]"""
    support: int
    """Metal of the support alone, or the last metal where there is no support [nm]"""
    last: int
    """The metal that holds the thread [nm]"""
    apart: int
    """Greatest distance between two metals [nm]"""


def screw_length(facts: Facts) -> Iterator[Check]:
    """Judge the row whose screw misses its window the most, or comes nearest to missing it."""
    worst = min(facts.rows, key=_slack)
    length = screw_of(worst.screw).length
    short = length - worst.shortest <= worst.longest - length
    demand, given = (worst.shortest, length) if short else (length, worst.longest)
    said: dict[str, Value] = {
        "row": worst.id,
        "screw": worst.screw.sku,
        "length": Length(length),
        "shortest": Length(worst.shortest),
        "longest": Length(worst.longest),
    }
    yield LENGTH.lengths(
        demand,
        given,
        filled(SCREW_FITS if _slack(worst) >= 0 else NO_SCREW_FITS, said),
        changes=partial(_screw_reaches, facts, worst),
    )


def _slack(row: FastenerRow) -> int:
    """Tell how far a screw lies inside its window [nm]."""
    length = screw_of(row.screw).length
    return min(length - row.shortest, row.longest - length)


def _screw_reaches(facts: Facts, row: FastenerRow) -> Changes:
    """Lower the wall until the bow is near enough for the longest screw of the row's kind, or to the post's top."""
    away = {layer.part: layer.thickness for layer in row.layers if layer.part in {"stand_off", "set_back"}}
    if not away:
        return ()
    job, screw = facts.job, screw_of(row.screw)
    kind = (screw.number, screw.head, screw.drive)
    stocked = (screw_of(item) for item in job.catalog.by_role["screw"])
    longest = max(other.length for other in stocked if (other.number, other.head, other.drive) == kind)
    allowed = away.get("set_back", 0) - (row.shortest - longest)
    radius, rise = job.spec.structure.bow.radius, 0
    if radius is not None and allowed > 0:
        rise = isqrt(radius**2 - (radius - allowed) ** 2)
    flange = job.channel.part.flange
    top = job.spec.structure.post.height_above_grade + (rise - flange if rise else -(flange // 2))
    return other_height(facts, top_at_most(job, top))


def drilling(facts: Facts) -> Iterator[Check]:
    """Judge what drill points go through, row by row of the schedule."""
    met = _met(facts.rows)
    yield _drill_capacity(facts, met)
    yield _drill_least(met)
    yield from _threads(met)
    yield from _jacking(met)


def _met(rows: Sequence[FastenerRow]) -> list[Through]:
    """Measure every different row."""
    found: dict[object, FastenerRow] = {}
    for row in rows:
        found.setdefault((row.layers, row.screw.sku), row)
    return [_measure(row) for row in found.values()]


def _measure(row: FastenerRow) -> Through:
    """Measure a row."""
    screw = screw_of(row.screw)
    return Through(row, _drill(screw.number, screw.point), *_metals(row.layers))


@remembered("layers")
def _metals(layers: tuple[Layer, ...]) -> tuple[int, int, int, int, int]:
    """Measure the metals of a row and the distances between them: metal, steel, support, last and apart of a `Through`."""
    metal = steel = support = last = apart = between = 0
    for part, thickness in layers:
        if part not in METALS:
            between += thickness
            continue
        # what lies outside the first metal is under the head, not between metals
        apart, between, last = max(apart, between if metal else 0), 0, thickness
        metal += thickness
        steel += thickness if part in STEEL else 0
        support += thickness if part in SUPPORTS else 0
    return metal, steel, support or last, last, apart


@remembered("figures")
def _drill(number: int, point: int) -> Drill:
    """Look a numbered screw's point and thread up."""
    size = size_name(number)
    pitch = INCH // SCREWS[size].threads_per_inch
    known = (size, point) in DRILL_RANGES
    least = round(drill_least(size, point) * MILLIMETRE) if known else 0
    return Drill(number, point, capacity(number, point), least, point_length(number, point), pitch)


def _drill_capacity(facts: Facts, met: Sequence[Through]) -> Check:
    """Judge the row whose metal goes farthest past its point: clearance holes help as far as the support allows."""
    worst = max(met, key=_past)
    drill = worst.drill
    drills_support = worst.support <= drill.most
    return DRILL.lengths(
        worst.metal,
        drill.most,
        Words(
            say(
                "advice.drill_capacity",
                "{row}: {metal} of metal for a No.{number} point {point}, which drills {most}.",
                row=worst.row.id,
                metal=Length(worst.metal, FINE),
                number=drill.number,
                point=drill.kind,
                most=Length(drill.most, FINE),
            ),
            remedy=_stronger(facts, worst.support),
            measure=_cleared(worst, POINT_DRILLS) if drills_support else None,
        ),
        source=_careful_source(drill.number, drill.kind),
    )


def _past(each: Through) -> tuple[bool, int]:
    """Rank a row by whether even the support alone is past its point, and how far past all metal is."""
    return each.support > each.drill.most, each.metal - each.drill.most


def _cleared(each: Through, does: Message) -> Message | None:
    """Name the clearance hole of a row, where it has one, and what it does."""
    hole = each.row.clearance
    if hole is None:
        return None
    return say(
        "measure.clearance",
        "The plan drills {drill} in the outer metals first, {does}.",
        drill=Bore(hole),
        does=does,
    )


@remembered("figures")
def _careful_source(number: int, point: int) -> str:
    """Name the source that lets a point drill the least."""
    ranges = DRILL_RANGES.get((size_name(number), point))
    return SOURCE_IDS[min(ranges, key=lambda each: each.most).source] if ranges else "drill-charts"


def _stronger(facts: Facts, metal: int) -> Message:
    """Say what serves: a pilot in the support, or the least screw that the catalog stocks which drills so much metal."""
    found = next((drill for drill in _stocked(facts.job.catalog) if capacity(*drill) >= metal), None)
    if found is None:
        return say("remedy.drill_capacity", "Pre-drill the support itself.")
    return say(
        "remedy.stronger_point",
        "Pre-drill the support itself, or use No.{number} with point {point}.",
        number=found[0],
        point=found[1],
    )


@kept_with_catalog("sections")
def _stocked(catalog: Catalog) -> list[tuple[int, int]]:
    """List the screws that a catalog has by number and point, the least first."""
    return sorted({(screw.number, screw.point) for screw in map(screw_of, catalog.by_role["screw"])})


def _drill_least(met: Sequence[Through]) -> Check:
    """Tell the thinnest steel against the least that its point is meant for."""
    worst = max((each for each in met if each.steel), key=lambda each: each.drill.least - each.steel)
    drill = worst.drill
    return THIN.lengths(
        drill.least,
        worst.steel,
        Words(
            say(
                "advice.drill_least",
                "{row}: {steel} of steel for a No.{number} point {point}, meant for {least} and more.",
                row=worst.row.id,
                steel=Length(worst.steel, FINE),
                number=drill.number,
                point=drill.kind,
                least=Length(drill.least, FINE),
            ),
            measure=say(
                "measure.clutch",
                "The driver's clutch, among the step's tools, stops it before the thread strips.",
            ),
        ),
    )


def _threads(met: Sequence[Through]) -> Iterator[Check]:
    """Judge the thinnest last steel against one turn of thread."""
    in_steel = [each for each in met if each.row.layers[-1].part in SUPPORTS]
    if not in_steel:
        return
    worst = max(in_steel, key=lambda each: each.drill.pitch / each.last)
    pitch = worst.drill.pitch
    yield THREAD.lengths(
        pitch,
        worst.last,
        Words(
            say(
                "advice.thread_engagement",
                "{row}: the wall of {wall} holds {turns} turns of thread.",
                row=worst.row.id,
                wall=Length(worst.last, FINE),
                turns=Number(worst.last / pitch, 2),
            ),
            remedy=say(
                "remedy.thread_engagement",
                "Under one turn drive it by hand; under {least} of a turn use a bolt or a rivet nut.",
                least=Number(LEAST_THREAD),
            ),
        ),
        over="caution" if worst.last >= LEAST_THREAD * pitch else "fail",
    )


def _jacking(met: Sequence[Through]) -> Iterator[Check]:
    """Judge the row where the threads bite the outer metal before the point has drilled the inner one."""
    apart = [each for each in met if each.apart]
    if not apart:
        return
    worst = max(apart, key=lambda each: each.apart - each.drill.length)
    yield JACKING.lengths(
        worst.apart,
        worst.drill.length,
        Words(
            say(
                "advice.jacking",
                "{row}: {apart} between two metals, and a drill point of {point}.",
                row=worst.row.id,
                apart=Length(worst.apart, FINE),
                point=Length(worst.drill.length, FINE),
            ),
            measure=_cleared(worst, NO_JACKING),
        ),
    )


def head_contact(facts: Facts) -> Iterator[Check]:
    """Count the screws with a high head where film rubs."""
    rows = [row for row in facts.rows if row.place in FILM_RUBS and screw_of(row.screw).head != "pan"]
    advice = (
        say(
            "advice.head_contact",
            "{row} and others like it: {screw} would chafe the film; the dealer's fastening rules set it.",
            row=rows[0].id,
            screw=rows[0].screw.sku,
        )
        if rows
        else say("advice.low_heads", "Pan heads wherever film or curtain touches.")
    )
    yield HEAD.compare(sum(row.count for row in rows), 0, advice)
