"""Geometry of the circle.

Second opinion: the package `shapely`, cutting a finely chorded circle by a level line.
"""

import pytest
import shapely  # type: ignore[import-untyped]  # the package ships no types

from service.planner.engineering.bow import remedy, set_back
from service.planner.engineering.quantities import M_PER_FOOT, MM_PER_INCH

FOOT = 1000 * M_PER_FOOT


def set_back_by_cutting(radius: float, rise: float) -> float:
    """Return the set-back read off a polygon of the circle."""
    circle = shapely.Point(0, 0).buffer(radius, quad_segs=20_000).exterior
    level = shapely.LineString([(0, rise), (2 * radius, rise)])
    return float(radius - circle.intersection(level).bounds[2])


@pytest.mark.parametrize(("radius", "rise"), [(8.5, 2.0), (10.0, 2.0), (15.0, 3.0)])
def test_set_back_by_a_second_opinion(radius: float, rise: float) -> None:
    """A chorded circle of 80 000 sides is within 1e-6 of its radius."""
    found = set_back(radius * FOOT, rise * FOOT)
    # sagitta of a chord: R (1 - cos(pi / 80000)) = 8e-10 R; at a slant up to 1e-5 mm
    assert found == pytest.approx(set_back_by_cutting(radius * FOOT, rise * FOOT), abs=1e-3)


@pytest.mark.parametrize(
    ("radius", "rise", "printed", "place"),
    [
        (102, 24, 2.864, 0.0006),
        (120, 24, 2.42, 0.006),
        (180, 36, 3.64, 0.006),
        (120, 12, 0.6, 0.06),
        (180, 12, 0.4, 0.06),
        (180, 24, 1.6, 0.06),
    ],
)
def test_set_back_by_hand(radius: float, rise: float, printed: float, place: float) -> None:
    """Derived, in inches: the last decimal given is the tolerance."""
    found = set_back(radius * MM_PER_INCH, rise * MM_PER_INCH) / MM_PER_INCH
    assert found == pytest.approx(printed, abs=place)


@pytest.mark.parametrize(
    ("inches", "expected"),
    [
        (0.0, "none"),
        (0.125, "none"),
        (0.3, "shim"),
        (0.5, "shim"),
        (2.0, "stand_off"),
        (2.1, "lower_the_wall"),
    ],
)
def test_remedies_by_judgement(inches: float, expected: str) -> None:
    """Judgement, no source: 1/8 in is ignored, 1/2 in shimmed, 2 in stood off."""
    assert remedy(inches * MM_PER_INCH) == expected


def test_a_wall_above_the_crown_is_refused() -> None:
    """A circle has no side above its crown."""
    with pytest.raises(ValueError, match="does not reach"):
        set_back(1000, 1001)
