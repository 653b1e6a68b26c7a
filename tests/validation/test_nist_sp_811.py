"""NIST Special Publication 811 (2008), Guide for the Use of the International System of Units, appendix B.

Second opinion: the package `pint`.
"""

import pint
import pytest

from service.planner.engineering import quantities

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("factor", "printed"),
    [
        (quantities.MM_PER_INCH, 25.4),
        (quantities.M_PER_FOOT, 0.3048),
        (quantities.SQUARE_FOOT, 9.290304e-2),
        (quantities.MILE_PER_HOUR, 0.44704),
        (quantities.POUND, 4.535924e-1),
        (quantities.POUND_FORCE, 4.448222),
        (quantities.POUND_PER_SQUARE_FOOT, 47.88026),
        (quantities.KSI, 6.894757),
        (quantities.BTU_PER_HOUR, 0.2930711),
        (quantities.BTU_TRANSMITTANCE, 5.678263),
    ],
)
def test_factors_as_printed(factor: float, printed: float) -> None:
    """Appendix B.8, seven figures."""
    assert factor == pytest.approx(printed, rel=1.2e-7)


@pytest.mark.parametrize(
    ("factor", "source", "target"),
    [
        (quantities.MM_PER_INCH, "inch", "millimeter"),
        (quantities.M_PER_FOOT, "foot", "meter"),
        (quantities.MILE_PER_HOUR, "mile / hour", "meter / second"),
        (quantities.POUND, "pound", "kilogram"),
        (quantities.POUND_FORCE, "force_pound", "newton"),
        (quantities.POUND_PER_SQUARE_FOOT, "force_pound / foot ** 2", "pascal"),
        (quantities.KSI, "1000 * force_pound / inch ** 2", "megapascal"),
        (quantities.BTU_PER_HOUR, "Btu_it / hour", "watt"),
        (quantities.FAHRENHEIT_DEGREE, "delta_degF", "kelvin"),
        (
            quantities.BTU_TRANSMITTANCE,
            "Btu_it / hour / foot ** 2 / delta_degF",
            "watt / meter ** 2 / kelvin",
        ),
    ],
)
def test_factors_by_a_second_opinion(factor: float, source: str, target: str) -> None:
    """The package works from the same definitions: only floating point may differ."""
    assert factor == pytest.approx(float(UNITS(source).to(target).magnitude), rel=1e-9)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0), (212, 100), (-40, -40), (60, 15.5556), (120, 48.8889)]
)
def test_temperatures(fahrenheit: float, celsius: float) -> None:
    """Fixed points of the scales, and the package for the rest; four places."""
    assert quantities.celsius(fahrenheit) == pytest.approx(celsius, abs=5e-5)
    second_opinion = UNITS.Quantity(fahrenheit, "degF").to("degC").magnitude
    assert quantities.celsius(fahrenheit) == pytest.approx(float(second_opinion), abs=1e-9)
