"""Theorems of the engineering formulae: what may never fall when something grows."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.planner.engineering.bow import set_back
from service.planner.engineering.glazing import transmittance
from service.planner.engineering.screw_strength import (
    HeadOnSteel,
    ThreadInSteel,
    allowable_pull_out,
    allowable_pull_over,
    pull_out_newer,
    pull_out_older,
)
from service.planner.engineering.wind import (
    Edition,
    Exposure,
    WallZone,
    WindSite,
    cladding_suction,
    exposure_coefficient,
    velocity_pressure,
    wall_coefficient,
)
from service.planner.engineering.wind_eurocode import Terrain, peak_velocity_pressure

EDITIONS: list[Edition] = ["ASCE 7-16", "ASCE 7-22"]
EXPOSURES: list[Exposure] = ["B", "C", "D"]
ZONES: list[WallZone] = [4, 5]
TERRAINS: list[Terrain] = ["0", "I", "II", "III", "IV"]

speeds = st.floats(10, 90)
heights = st.floats(0, 60)
factors = st.floats(1.001, 5)
thicknesses = st.floats(0.4, 6.5)
editions = st.sampled_from(EDITIONS)
exposures = st.sampled_from(EXPOSURES)
terrains = st.sampled_from(TERRAINS)


@given(speed=speeds, factor=factors, height=heights, edition=editions, exposure=exposures)
def test_pressure_scales_with_the_square_of_speed(
    speed: float, factor: float, height: float, edition: Edition, exposure: Exposure
) -> None:
    """V times k gives q times k squared."""
    slow = WindSite(speed=speed, exposure=exposure, edition=edition)
    fast = WindSite(speed=speed * factor, exposure=exposure, edition=edition)
    ratio = velocity_pressure(fast, height) / velocity_pressure(slow, height)
    assert ratio == pytest.approx(factor**2, rel=1e-9)


@given(speed=speeds, factor=factors, height=heights, terrain=terrains)
def test_peak_pressure_scales_with_the_square_of_speed(
    speed: float, factor: float, height: float, terrain: Terrain
) -> None:
    """Likewise in the Eurocode."""
    ratio = peak_velocity_pressure(speed * factor, height, terrain) / peak_velocity_pressure(
        speed, height, terrain
    )
    assert ratio == pytest.approx(factor**2, rel=1e-9)


@given(height=heights, more=st.floats(0, 30), edition=editions, exposure=exposures)
def test_wind_never_falls_with_height(
    height: float, more: float, edition: Edition, exposure: Exposure
) -> None:
    """Kz is monotone in height."""
    low = exposure_coefficient(height, exposure, edition)
    assert exposure_coefficient(height + more, exposure, edition) >= low


@given(height=heights, edition=editions)
def test_opener_terrain_never_has_less_wind(height: float, edition: Edition) -> None:
    """B, C and D are in order near the ground."""
    b, c, d = (exposure_coefficient(height, exposure, edition) for exposure in EXPOSURES)
    assert b < c < d


@given(area=st.floats(0.01, 100), more=st.floats(0, 100))
def test_larger_areas_never_carry_more_per_area(area: float, more: float) -> None:
    """The size of GCp never grows with the area, and zone 5 is never under zone 4."""
    for zone in ZONES:
        small = wall_coefficient(zone, area)
        large = wall_coefficient(zone, area + more)
        assert abs(large) <= abs(small) + 1e-12
    assert abs(wall_coefficient(5, area)) >= abs(wall_coefficient(4, area)) - 1e-4


@given(pressure=st.floats(0, 5000), area=st.floats(0.1, 50))
def test_a_leakier_house_never_has_less_pressure(pressure: float, area: float) -> None:
    """Partially enclosed is never better than enclosed."""
    tight = cladding_suction(pressure, 5, area, "enclosed")
    leaky = cladding_suction(pressure, 5, area, "partially_enclosed")
    assert leaky <= tight


@given(thickness=thicknesses, more=st.floats(0.001, 2))
def test_pull_out_grows_with_thickness(thickness: float, more: float) -> None:
    """Within each form, and in the smaller of the two, thicker steel holds more."""
    thin = ThreadInSteel(diameter=4.826, steel_thickness=thickness, steel_strength=310)
    thick = ThreadInSteel(diameter=4.826, steel_thickness=thickness + more, steel_strength=310)
    assert pull_out_older(thick) > pull_out_older(thin)
    assert pull_out_newer(thick) > pull_out_newer(thin)
    assert allowable_pull_out(thick).force > allowable_pull_out(thin).force


@given(thickness=thicknesses, diameter=st.floats(8, 30))
def test_allowable_strength_is_never_above_either_form(thickness: float, diameter: float) -> None:
    """The smaller governs: no edition would allow less."""
    thread = ThreadInSteel(diameter=4.826, steel_thickness=thickness, steel_strength=310)
    head = HeadOnSteel(bearing_diameter=diameter, steel_thickness=thickness, steel_strength=310)
    assert allowable_pull_out(thread).force <= pull_out_older(thread) / 3.0
    assert allowable_pull_out(thread).force <= pull_out_newer(thread) / 2.80
    assert allowable_pull_over(head).force <= 0.90 * thickness * diameter * 310 / 2.90 + 1e-9


@given(gaps=st.lists(st.floats(0.5, 30), min_size=1, max_size=6), plastic=st.floats(0.5, 5))
def test_transmittance_rises_when_a_layer_is_removed(gaps: list[float], plastic: float) -> None:
    """One air layer fewer, or thinner plastic, lets more heat through."""
    whole = transmittance(gaps, plastic)
    assert transmittance(gaps[:-1], plastic) > whole
    assert transmittance(gaps, plastic / 2) > whole


@given(radius=st.floats(1000, 20_000), share=st.floats(0, 0.9), more=st.floats(0, 0.1))
def test_set_back_grows_with_height_and_is_bounded_by_the_slope(
    radius: float, share: float, more: float
) -> None:
    """Higher stands further back; the chord is flatter than the tangent at its top."""
    low, high = set_back(radius, share * radius), set_back(radius, (share + more) * radius)
    assert high >= low
    rise = share * radius
    tangent = rise / math.sqrt(radius**2 - rise**2)
    assert low <= rise * tangent + 1e-9
