"""Screws: length, drilling, threads, jacking and heads, over every row of the schedule.

Rules of this file
------------------
- Rows that pass the same layers with the same screw are judged once; the first of them names the place.
- A drill point has to go through all metal of its row, unless the outer metals get clearance holes.
- What the catalog does not stock no request can change: then there is advice and no change.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from math import isqrt
from typing import Final

from service.planner.checking.judging import Changes, Check, Kind
from service.planner.checking.remedies import other_height, other_sheets, thicknesses, top_at_most
from service.planner.facts import Facts
from service.planner.hardware import DRILL_RANGES, EXPOSED_THREADS, SCREWS, DrillSource, drill_least
from service.planner.layers import METALS
from service.planner.layout import FastenerRow
from service.planner.rules import Place
from service.planner.screw_window import capacity, screw_of, size_name, tail
from service.planner.units import INCH, MILLIMETRE, to_millimetres

LENGTH: Final = Kind("screw_length", "Screw lengths against what they pass", "MMT", "grip-length")
DRILL: Final = Kind("drill_capacity", "Steel that a drill point goes through", "MMT", "sae-j78")
THIN: Final = Kind("drill_least", "Steel that a drill point is meant for at least", "MMT", "sae-j78")
THREAD: Final = Kind("thread_engagement", "Threads held by the last steel", "MMT", "one-thread")
JACKING: Final = Kind("jacking", "Drill points against the distance between two metals", "MMT", "jacking")
HEAD: Final = Kind("head_contact", "Low heads where film rubs", "C62", "film-contact")

SOURCE_IDS: Final[dict[DrillSource, str]] = {
    "SAE J78": "sae-j78", "ISO 15480": "iso-15480", "trade charts": "drill-charts",
}  # fmt: skip
"""Whose drilling range goes by which source"""
LEAST_THREAD: Final = 0.5
"""Turns of thread in the last steel below which a screw strips, from memory [-]"""
FILM_RUBS: Final[frozenset[Place]] = frozenset(
    {"board_upper", "locating", "field", "joint_profile", "top_channel", "jamb_cap"}
)
"""Places where film or curtain touches the heads, common practice"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Through:
    """A row of the schedule as its drill point meets it."""

    row: FastenerRow
    """The first such row"""
    metal: int
    """All metal together [nm]"""
    support: int
    """Metal of the support alone, or the last metal where there is no support [nm]"""
    last: int
    """The metal that holds the thread [nm]"""
    apart: int
    """Greatest distance between two metals [nm]"""


def screw_length(facts: Facts) -> Iterator[Check]:
    """Judge the row whose screw misses its window the most, or comes nearest to missing it."""
    worst = min(facts.rows, key=_slack)
    job, length = facts.job, screw_of(worst.screw).length
    short = length - worst.shortest <= worst.longest - length
    demand, given = (worst.shortest, length) if short else (length, worst.longest)
    text = job.text
    yield LENGTH.lengths(
        demand, given,
        f"{worst.id}, {worst.screw.sku}: its {text(length)} lie between {text(worst.shortest)}, for three threads and the"
        f" point beyond the near wall, and {text(worst.longest)}, short of the far wall."
        if _slack(worst) >= 0
        else f"{worst.id}: no stocked screw of its kind lies between {text(worst.shortest)} and {text(worst.longest)};"
        f" {worst.screw.sku} of {text(length)} is nearest.",
        changes=partial(_screw_reaches, facts, worst),
    )  # fmt: skip


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
    yield _drill_least(facts, met)
    yield from _threads(facts, met)
    yield from _jacking(facts, met)


def _met(rows: Sequence[FastenerRow]) -> list[Through]:
    """Measure every different row."""
    found: dict[object, Through] = {}
    for row in rows:
        key = (row.place, row.layers, row.screw.sku)
        if key not in found:
            found[key] = _measure(row)
    return list(found.values())


def _measure(row: FastenerRow) -> Through:
    """Measure the metals of a row and the distances between them."""
    metal = support = last = apart = 0
    between: int | None = None
    for layer in row.layers:
        if layer.part not in METALS:
            between = None if between is None else between + layer.thickness
            continue
        if between is not None:
            apart = max(apart, between)
        between, last = 0, layer.thickness
        metal += last
        if layer.part in {"post", "bow"}:
            support += last
    return Through(row=row, metal=metal, support=support or last, last=last, apart=apart)


def _capacity(met: Through) -> int:
    """Give what a row's drill point goes through [nm]."""
    screw = screw_of(met.row.screw)
    return capacity(screw.number, screw.point)


def _drill_capacity(facts: Facts, met: Sequence[Through]) -> Check:
    """Judge the row whose metal goes farthest past its point: clearance holes help as far as the support allows."""
    worst = max(met, key=lambda each: each.metal - _capacity(each))
    most, text = _capacity(worst), _fine
    screw = screw_of(worst.row.screw)
    advice = f"{worst.row.id}: {text(facts, worst.metal)} of metal for a No.{screw.number} point {screw.point}, which drills {text(facts, most)}."
    if worst.metal > most:
        stronger = _stronger(facts, worst.metal)
        advice += (
            f" Drill clearance holes in the outer metals{stronger}."
            if worst.support <= most
            else f" The support alone, {text(facts, worst.support)}, is too thick: pre-drill it{stronger}."
        )
    return DRILL.lengths(
        worst.metal, most, advice, over="caution" if worst.support <= most else "fail",
        source=_careful_source(screw.number, screw.point),
    )  # fmt: skip


def _careful_source(number: int, point: int) -> str:
    """Name the source that lets a point drill the least."""
    ranges = DRILL_RANGES.get((size_name(number), point))
    return SOURCE_IDS[min(ranges, key=lambda each: each.most).source] if ranges else "drill-charts"


def _stronger(facts: Facts, metal: int) -> str:
    """Name the least screw that the catalog stocks which drills so much metal."""
    screws = [screw_of(item) for item in facts.job.catalog.by_role["screw"]]
    found = sorted({(s.number, s.point) for s in screws if capacity(s.number, s.point) >= metal})
    return f", or use No.{found[0][0]} with point {found[0][1]}" if found else ""


def _drill_least(facts: Facts, met: Sequence[Through]) -> Check:
    """Tell the thinnest steel against the least that the point is meant for."""

    def least(each: Through) -> int:
        screw = screw_of(each.row.screw)
        return _least(screw.number, screw.point)

    drilled = [each for each in met if each.metal]
    worst = max(drilled, key=lambda each: least(each) - each.metal)
    screw = screw_of(worst.row.screw)
    return THIN.lengths(
        least(worst), worst.metal,
        f"{worst.row.id}: {_fine(facts, worst.metal)} of metal for a No.{screw.number} point {screw.point}, meant for"
        f" {_fine(facts, least(worst))} and more. In thinner steel let the driver's clutch stop it: the thread strips soon.",
        over="caution",
    )  # fmt: skip


def _least(number: int, point: int) -> int:
    """Give the least metal a point is meant for; none where no source says [nm]."""
    try:
        return round(drill_least(size_name(number), point) * MILLIMETRE)
    except KeyError:
        return 0


def _threads(facts: Facts, met: Sequence[Through]) -> Iterator[Check]:
    """Judge the thinnest last steel against one turn of thread."""
    in_steel = [each for each in met if each.row.layers[-1].part in {"post", "bow"}]
    if not in_steel:
        return
    worst = max(in_steel, key=lambda each: _pitch(each) / each.last)
    pitch = _pitch(worst)
    yield THREAD.lengths(
        pitch, worst.last,
        f"{worst.row.id}: the wall of {_fine(facts, worst.last)} holds {worst.last / pitch:.1f} turns of thread; under one"
        f" turn drive by hand, under {LEAST_THREAD:g} use a bolt or a rivet nut.",
        over="caution" if worst.last >= LEAST_THREAD * pitch else "fail",
    )  # fmt: skip


def _pitch(each: Through) -> int:
    """Give a screw's thread pitch [nm]."""
    return INCH // SCREWS[size_name(screw_of(each.row.screw).number)].threads_per_inch


def _jacking(facts: Facts, met: Sequence[Through]) -> Iterator[Check]:
    """Judge the row where the threads bite the outer metal before the point has drilled the inner one."""
    apart = [each for each in met if each.apart]
    if not apart:
        return
    worst = max(apart, key=lambda each: each.apart - _point(each))
    point, screw = _point(worst), screw_of(worst.row.screw)
    others = sum(each.apart > _point(each) for each in apart) - 1
    yield JACKING.lengths(
        worst.apart, point,
        f"{worst.row.id}: {_fine(facts, worst.apart)} between two metals, and a drill point of {_fine(facts, point)}."
        + (
            f" The threads would bite the outer metal first and jack it off: drill a clearance hole, wider than the"
            f" No.{screw.number} thread, in the outer metal, here and in {others} other kind(s) of row."
            if worst.apart > point
            else " The point drills the inner metal before the threads bite the outer one."
        ),
        over="caution",
        changes=partial(_thinner, facts, worst.apart - point),
    )  # fmt: skip


def _point(each: Through) -> int:
    """Give a screw's drill point length: its tail without the threads to show [nm]."""
    screw = screw_of(each.row.screw)
    threads = round(EXPOSED_THREADS * INCH / SCREWS[size_name(screw.number)].threads_per_inch)
    return tail(screw) - threads


def _thinner(facts: Facts, by: int) -> Changes:
    """Take the thickest sheet that is thinner by so much [nm]."""
    now = facts.job.spec.wall.panel_thickness
    thinner = [thickness for thickness in thicknesses(facts.job) if thickness <= now - by]
    found = next(other_sheets(facts.job, reversed(thinner)), None)
    return (
        () if found is None else (("/wall/panel_thickness", to_millimetres(found.spec.wall.panel_thickness)),)
    )


def head_contact(facts: Facts) -> Iterator[Check]:
    """Count the screws with a high head where film rubs."""
    rows = [row for row in facts.rows if row.place in FILM_RUBS and screw_of(row.screw).head != "pan"]
    advice = (
        f"{rows[0].id} and others like it: {rows[0].screw.sku} would chafe the film; the dealer's fastening rules set it."
        if rows
        else "Pan heads wherever film or curtain touches."
    )
    yield HEAD.compare(sum(row.count for row in rows), 0, advice)


def _fine(facts: Facts, length: int) -> str:
    """Write a thickness finer than a tape reads, in inches to the thousandth or millimetres to the hundredth."""
    if facts.job.units == "imperial":
        return f"{length / INCH:.3f} in"
    return f"{length / MILLIMETRE:.2f} mm"
