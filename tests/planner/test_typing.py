"""Ordinary typing: numbers with the units that people write, and what is asked back where a unit is missing.

Conversions after NIST SP 811 (2008), B.8: mile 1609.344 m, nautical mile 1852 m, t/degC = (t/degF - 32) / 1.8.
"""

from typing import Any

import pytest
from pydantic import ValidationError

from service.api.pointers import field_problems
from service.planner.units import INCH
from tests.planner.asking import SPEC, request, spec_of


def wind(speed: object) -> Any:
    """Read a wind speed."""
    asked = spec_of(request(site={"wind": {"basic_speed": speed}})).site.wind
    assert asked is not None
    return asked.basic_speed


def suggested(body: dict[str, Any]) -> dict[str, Any]:
    """What each refused field asks back."""
    with pytest.raises(ValidationError) as refused:
        spec_of(body)
    return {problem.pointer: problem.suggestion for problem in field_problems(refused.value, body, SPEC)}


@pytest.mark.parametrize(
    ("text", "speed"),
    [
        ("115 mph", 51.4096),
        (" 115 MPH", 51.4096),
        ("40 m/s", 40),
        ("40", None),
        ("144 km/h", 40),
        ("100 kn", 51.444444),
        (40, 40),
    ],
)
def test_a_wind_speed_is_a_number_or_a_text_with_its_unit(text: object, speed: float | None) -> None:
    """115 x 1609.344 / 3600 = 51.4096 m/s; 100 knots are 51.4444."""
    if speed is None:
        assert suggested(request(site={"wind": {"basic_speed": text}})) == {"/site/wind/basic_speed": None}
    else:
        assert wind(text) == pytest.approx(speed, abs=1e-6)


def test_a_wind_speed_beyond_the_plausible_is_asked_for_its_unit() -> None:
    """115 without a unit would be 257 mph."""
    assert suggested(request(site={"wind": {"basic_speed": 115}})) == {"/site/wind/basic_speed": "115 mph"}
    assert wind("100 m/s") == 100


@pytest.mark.parametrize(
    ("text", "degrees"), [("60 degF", 15.555556), ("60 °F", 15.555556), ("15 C", 15), ("-4 f", -20), (15, 15)]
)
def test_a_temperature_is_a_number_or_a_text_with_its_unit(text: object, degrees: float) -> None:
    """(60 - 32) / 1.8 = 15.5556."""
    site = spec_of(request(site={"install_temperature_c": text})).site
    assert site.install_temperature_c == pytest.approx(degrees, abs=1e-6)


@pytest.mark.parametrize(
    ("height", "asked"),
    [(24, "24 in"), ("24.0", "24.0 in"), ("23 15/16", "23 15/16 in"), (1, "1 ft"), ("x", None)],
)
def test_a_height_without_its_unit_is_asked_for_it(height: object, asked: str | None) -> None:
    """24 mm is no wall: 24 in would be; 1 in is none either, 1 ft is."""
    assert suggested(request(wall={"height": height})) == {"/wall/height": asked}
    if asked:
        assert spec_of(request(wall={"height": asked})).wall.height in {
            24 * INCH,
            383 * INCH // 16,
            12 * INCH,
        }


@pytest.mark.parametrize(("height", "asked"), [(24, "24 cm"), ("0.6", "0.6 m"), ("600", "600 mm")])
def test_who_asks_in_metric_units_is_asked_back_in_them(height: object, asked: str) -> None:
    """24 mm is no wall; 24 cm are one."""
    body = request(wall={"height": height}, display_units="metric", site={"wind": {"basic_speed": 115}})
    assert suggested(body) == {"/wall/height": asked, "/site/wind/basic_speed": "115 km/h"}


@pytest.mark.parametrize(
    ("text", "kelvin"), [("60 degF", 33.333333), ("25 K", 25), ("25 degC", 25), (20, 20)]
)
def test_a_difference_of_temperatures_has_no_zero_of_its_own(text: object, kelvin: float) -> None:
    """60 / 1.8 = 33.3333."""
    site = spec_of(request(site={"design_heat_difference_c": text})).site
    assert site.design_heat_difference_c == pytest.approx(kelvin, abs=1e-6)


def test_a_day_that_no_calendar_has_is_refused() -> None:
    """30 February."""
    for day in ("2026-02-30", "2026-04-31", "2027-02-29"):
        assert "/pricing/date" in suggested(request(pricing={"tier": "a", "date": day}))
    assert spec_of(request(pricing={"tier": "a", "date": "2028-02-29"})).pricing.date == "2028-02-29"
