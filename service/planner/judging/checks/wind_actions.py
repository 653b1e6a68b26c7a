"""Wind on the wall's fasteners: the pressure by the standard asked for, and what of it each screw carries.

Rules of this file
------------------
- A screw carries half the way to its neighbours along the wall and up its support; the buried foot carries none.
- What a screw carries is shared between the end zone at the tunnel's corners and the field of the wall, as it lies.
- ASCE 7 pressures are brought to the level of allowable strengths by 0.6; those of EN 1991-1-4 are characteristic
  and taken whole.
- Supports that carry the same screws at the same heights and widths are worked out once.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt
from typing import Final

from service.planner.asked.settle import Job
from service.planner.asked.spec import Wind
from service.planner.engineering.wind import (
    ALLOWABLE_STRESS_FACTOR,
    Enclosure,
    WallZone,
    WindSite,
    cladding_suction,
    cladding_velocity_pressure,
    end_zone_width,
)
from service.planner.engineering.wind_eurocode import (
    DOMINANT_PUSH,
    INTERNAL_PUSH,
    WallArea,
    net_pressure,
    peak_velocity_pressure,
)
from service.planner.judging.facts import Facts
from service.planner.keeping import remembered
from service.planner.records import record
from service.planner.units import METRE
from service.planner.wall.layout import FastenerRow, Run

SQUARE_METRE: Final = METRE**2
"""One square metre [nm2]"""


@record
class Pull:
    """Outward pull of the wind on one screw."""

    row: FastenerRow
    """The screw's row"""
    run: Run
    """Its run"""
    support: int
    """The first support that is pulled so [-]"""
    force: float
    """Pull on one screw, at the level of an allowable strength [N]"""
    pressure: float
    """Outward pressure, at the same level [Pa]"""
    area: float
    """What the screw carries [m2]"""
    share: float
    """Height of the wall that it carries [m]"""
    ends: float
    """Share of it that lies in the end zone [-]"""


def suction(wind: Wind, area: float, ends: float) -> float:
    """The mean outward pressure on what a screw carries, at the level of an allowable strength [Pa].

    Parameters
    ----------
    wind
        What the check is made for.
    area
        Area that one screw carries [m2].
    ends
        Share of it that lies in the end zone [-].

    References
    ----------
    ASCE 7-16, equation 30.3-1 and 2.4.1 (0.6 W, from memory); EN 1991-1-4, 5.2 and 7.2, wind along the tunnel: area A
    at its corners, B behind (figure 7.5).
    """
    shares: tuple[tuple[float, WallZone, WallArea], ...] = ((ends, 5, "A"), (1 - ends, 4, "B"))
    return sum(share * _suction(wind, area, zone, part) for share, zone, part in shares if share)


def _suction(wind: Wind, area: float, zone: WallZone, part: WallArea) -> float:
    """The outward pressure in one zone, named as either standard names it [Pa]."""
    velocity = _velocity(wind)
    if wind.standard == "EN 1991-1-4":
        push = INTERNAL_PUSH if wind.enclosure == "enclosed" else DOMINANT_PUSH
        return -net_pressure(velocity, part, area, push)
    enclosure: Enclosure = "enclosed" if wind.enclosure == "enclosed" else "partially_enclosed"
    return -ALLOWABLE_STRESS_FACTOR * cladding_suction(velocity, zone, area, enclosure)


def as_built(job: Job, wind: Wind) -> Wind:
    """Take the end walls into account: one left open is a dominant opening, both make the tunnel open.

    References
    ----------
    ASCE 7-16, 26.2 and 26.12; EN 1991-1-4, 7.2.9(2) and (4): two faces more than 30 per cent open (from memory).
    """
    ends = (job.spec.structure.end_walls.front, job.spec.structure.end_walls.back)
    if ends == ("open", "open"):
        return replace(wind, enclosure="open")
    if "open" in ends and wind.enclosure == "enclosed":
        return replace(wind, enclosure="partially_enclosed")
    return wind


@remembered("wind")
def _velocity(wind: Wind) -> float:
    """The velocity pressure at the tunnel's roof [Pa]."""
    height = wind.roof_height / METRE
    if wind.standard == "EN 1991-1-4":
        return peak_velocity_pressure(
            wind.basic_speed, height, wind.terrain, orography=sqrt(wind.topographic_factor)
        )
    site = WindSite(
        speed=wind.basic_speed,
        exposure=wind.exposure,
        edition=wind.standard,
        elevation=wind.ground_elevation / METRE,
        topographic_factor=wind.topographic_factor,
    )
    return cladding_velocity_pressure(site, height)


def end_zone(job: Job, wind: Wind) -> float:
    """How far the end zone reaches from the tunnel's corners; without a width the tunnel's length counts [nm].

    References
    ----------
    ASCE 7-16, figure 30.3-1, note 6 (from memory); EN 1991-1-4, figure 7.5: a fifth of e, the lesser of the breadth
    across the wind and twice the height.
    """
    length = job.stations[-1]
    width = min(job.spec.structure.width or length, length)
    if wind.standard == "EN 1991-1-4":
        return min(job.spec.structure.width or 2 * wind.roof_height, 2 * wind.roof_height) / 5
    return end_zone_width(width / METRE, wind.roof_height / METRE) * METRE


def pulls(facts: Facts, wind: Wind) -> Iterator[Pull]:
    """The pull on every different screw that reaches a support.

    Parameters
    ----------
    facts
        The plan.
    wind
        What the check is made for.
    """
    zone = end_zone(facts.job, wind)
    for run in facts.layout.runs:
        rows = [
            row
            for row in facts.rows
            if row.run == run.index and row.layers[-1].part in {"post", "bow", "jamb"}
        ]
        on: list[list[int]] = [[] for _ in run.supports]
        for number, row in enumerate(rows):
            for support in row.supports:
                on[support].append(number)
        seen: set[tuple[object, ...]] = set()
        for support, numbers in enumerate(on):
            width, ends = _carried(facts.job, run, support, zone)
            key = (tuple(numbers), width, ends)
            if key not in seen:
                seen.add(key)
                found = sorted((rows[number] for number in numbers), key=lambda row: row.z)
                yield from _on_support(facts, wind, _Stretch(run, support, width, ends), found)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """What one support carries along the wall."""

    run: Run
    support: int
    width: int
    ends: float


def _carried(job: Job, run: Run, support: int, zone: float) -> tuple[int, float]:
    """The width that a support carries [nm], and the share of it that lies in the end zone."""
    here = run.supports[support]
    before = here.x - run.supports[support - 1].x if support else 0
    after = run.supports[support + 1].x - here.x if support < run.last else 0
    first, last = here.station - before // 2, here.station + after // 2
    length, width = job.stations[-1], last - first
    covered = max(0.0, min(last, zone) - max(first, 0)) + max(
        0.0, min(last, length) - max(first, length - zone)
    )
    return width, min(1.0, covered / width)


def _on_support(facts: Facts, wind: Wind, stretch: _Stretch, rows: list[FastenerRow]) -> Iterator[Pull]:
    """Share a support's wall among its screws, from the ground or the foot to the channel's top."""
    heights = facts.layout.heights[stretch.run.index]
    each: Counter[int] = Counter()
    for row in rows:
        each[row.z] += row.count // len(row.supports)
    lines = sorted(each)
    between = [(low + high) // 2 for low, high in pairwise(lines)]
    bounds = [max(heights.foot, 0), *between, heights.channel_top]
    for row in rows:
        place = lines.index(row.z)
        share = max(0, bounds[place + 1] - bounds[place]) / each[row.z]
        area = stretch.width * share / SQUARE_METRE
        pressure = suction(wind, area, stretch.ends)
        yield Pull(
            row=row,
            run=stretch.run,
            support=stretch.support,
            force=pressure * area,
            pressure=pressure,
            area=area,
            share=share / METRE,
            ends=stretch.ends,
        )
