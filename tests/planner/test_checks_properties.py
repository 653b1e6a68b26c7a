"""Theorems of the checks: on a layout held fixed nothing gets easier when it is hotter, longer, windier or higher.

Higher walls give a curtain more to lap and move screws past the post's end, so that of height the theorem speaks of
what the wind pulls, what a bow stands back, what is left for the air, and the engineer's limit.
"""

from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.asked.spec import Site, Wind
from service.planner.judging.checks.table import RANK, run_checks
from service.planner.judging.facts import Facts
from tests.planner.asking import request
from tests.planner.held import facts_of, on_site, raised, stretched
from tests.planner.scenarios import demo_catalog, example_a_catalog

NAMES: Final = ("tunnel", "curved", "door")
HEIGHT: Final = (
    "wind_pull_out",
    "wind_pull_over",
    "wind_pull_through",
    "bow_set_back",
    "vent_opening",
    "engineer_wall_height",
)

held = settings(derandomize=True, max_examples=50, deadline=None)
walls = st.sampled_from(NAMES)
factors = st.floats(1.0, 2.5)
degrees = st.floats(0, 40)


@cache
def wall(name: str) -> Facts:
    """Plan one of three walls: the hand-solved tunnel, one on curved bows, one of unequal bays with a door."""
    wind = {"basic_speed": 40, "standard": "ASCE 7-16"}
    bodies = {
        "tunnel": request(structure={"width": "28 ft"}, site={"wind": wind}),
        "curved": request(
            structure={"width": "30 ft", "bow": {"profile": "curved", "radius": "15 ft"}},
            site={"wind": wind | {"standard": "ASCE 7-22", "exposure": "B"}},
        ),
        "door": request(
            structure={
                "stations": ["0", "4 ft", "9 ft", "14 ft", "18 ft", "23 ft", "28 ft"],
                "width": "20 ft",
                "openings": [{"side": "right", "offset": "9 ft", "width": "5 ft"}],
            },
            site={"wind": {"basic_speed": 25, "standard": "EN 1991-1-4"}},
        ),
    }
    return facts_of(bodies[name], example_a_catalog() if name == "tunnel" else demo_catalog())


def none_easier(before: Facts, after: Facts, ids: Iterable[str] | None = None) -> None:
    """Assert that no check has a better outcome or is used less than before.

    What the plan provides for is judged against the usual part, what it cannot provide for against the best there is: the
    two uses are of different parts and are not compared.
    """
    was = {check.id: check for check in run_checks(before)}
    now = {check.id: check for check in run_checks(after)}
    for name in was if ids is None else set(ids) & set(was):
        assert RANK[now[name].outcome] >= RANK[was[name].outcome], (was[name], now[name])
        used, before_used = now[name].utilisation, was[name].utilisation
        alike = (now[name].outcome == "provided") == (was[name].outcome == "provided")
        if used is not None and before_used is not None and alike:
            assert used >= before_used - 1e-4, (was[name], now[name])  # utilisations carry four decimals


@held
@given(name=walls, first=degrees, more=degrees)
def test_hotter_is_never_easier(name: str, first: float, more: float) -> None:
    """The highest temperature of the sheet rises, all else stays."""
    facts = wall(name)
    site = facts.job.spec.site
    warm = on_site(facts, replace(site, highest_temperature_c=site.highest_temperature_c + first))
    none_easier(
        warm, on_site(facts, replace(site, highest_temperature_c=site.highest_temperature_c + first + more))
    )


@held
@given(name=walls, first=degrees, more=degrees)
def test_colder_is_never_easier(name: str, first: float, more: float) -> None:
    """The lowest temperature of the sheet falls, all else stays."""
    facts = wall(name)
    site = facts.job.spec.site
    cold = on_site(facts, replace(site, lowest_temperature_c=site.lowest_temperature_c - first))
    none_easier(
        cold, on_site(facts, replace(site, lowest_temperature_c=site.lowest_temperature_c - first - more))
    )


@held
@given(name=walls, first=factors, more=factors)
def test_longer_is_never_easier(name: str, first: float, more: float) -> None:
    """Every span grows alike, and with it every piece; gaps stay, and so does what was bought."""
    before, after = stretched(wall(name), first), stretched(wall(name), first * more)
    none_easier(before, after, {check.id for check in run_checks(before)} - {"sheet_waste"})


@held
@given(name=walls, first=factors, more=factors)
def test_windier_is_never_easier(name: str, first: float, more: float) -> None:
    """The basic speed rises, all else stays."""
    none_easier(_windier(wall(name), first), _windier(wall(name), first * more))


@held
@given(name=walls, first=factors, more=factors)
def test_higher_is_never_easier(name: str, first: float, more: float) -> None:
    """Everything above the board stretches alike, its screws with it."""
    none_easier(raised(wall(name), first), raised(wall(name), first * more), HEIGHT)


@held
@given(name=walls, lower=st.integers(1, 15), higher=st.integers(0, 10))
def test_a_higher_roof_is_never_easier(name: str, lower: int, higher: int) -> None:
    """Both standards know more wind farther up."""
    facts = wall(name)
    low, high = (_windier(facts, 1, roof=1_000_000_000 * height) for height in (lower, lower + higher))
    none_easier(low, high)


def _windier(facts: Facts, factor: float, roof: int | None = None) -> Facts:
    site: Site = facts.job.spec.site
    wind = site.wind
    assert isinstance(wind, Wind)
    changed = replace(wind, basic_speed=wind.basic_speed * factor, roof_height=roof or wind.roof_height)
    return on_site(facts, replace(site, wind=changed))


@pytest.mark.parametrize("name", NAMES)
def test_the_held_walls_are_judged_in_every_way_that_the_theorems_move(name: str) -> None:
    """None of the theorems is about a check that is not there."""
    ids = {check.id for check in run_checks(wall(name))}
    assert {
        "thermal_gap",
        "joint_bite",
        "channel_gap",
        "wind_pull_out",
        "wind_pull_over",
        "vent_opening",
    } <= ids
