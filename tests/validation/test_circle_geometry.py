"""Geometry of the circle.

Second opinion: the package `shapely`, cutting a finely chorded circle by a level line.
"""

import math

import pytest
import shapely  # type: ignore[import-untyped]  # the package ships no types

from service.planner.engineering.bow import lean, radius_of_arch, remedy, set_back
from service.planner.engineering.quantities import M_PER_FOOT, MM_PER_INCH

FOOT = 1000 * M_PER_FOOT


def set_back_by_cutting(radius: float, rise: float, start: float) -> float:
    """Return the set-back read off a polygon of the circle."""
    circle = shapely.Point(0, 0).buffer(radius, quad_segs=20_000).exterior
    level = shapely.LineString([(0, start + rise), (2 * radius, start + rise)])
    foot = shapely.LineString([(0, start), (2 * radius, start)])
    return float(circle.intersection(foot).bounds[2] - circle.intersection(level).bounds[2])


@pytest.mark.parametrize(
    ("radius", "rise", "start"), [(8.5, 2.0, 0.0), (10.0, 2.0, 0.0), (15.0, 3.0, 0.0), (16.25, 1.0, 6.25)]
)
def test_set_back_by_a_second_opinion(radius: float, rise: float, start: float) -> None:
    """A chorded circle of 80 000 sides is within 1e-6 of its radius."""
    found = set_back(radius * FOOT, rise * FOOT, start * FOOT)
    # sagitta of a chord: R (1 - cos(pi / 80000)) = 8e-10 R; at a slant up to 1e-5 mm
    assert found == pytest.approx(set_back_by_cutting(radius * FOOT, rise * FOOT, start * FOOT), abs=1e-3)


@pytest.mark.parametrize(
    ("radius", "rise", "start", "printed", "place"),
    [
        (102, 24, 0, 2.864, 0.0006),
        (120, 24, 0, 2.42, 0.006),
        (180, 36, 0, 3.64, 0.006),
        (195, 12, 75, 5.48, 0.006),
        (120, 12, 0, 0.6, 0.06),
        (180, 12, 0, 0.4, 0.06),
        (180, 24, 0, 1.6, 0.06),
    ],
)
def test_set_back_by_hand(radius: float, rise: float, start: float, printed: float, place: float) -> None:
    """Derived, in inches: the last decimal given is the tolerance."""
    found = set_back(radius * MM_PER_INCH, rise * MM_PER_INCH, start * MM_PER_INCH) / MM_PER_INCH
    assert found == pytest.approx(printed, abs=place)


def test_low_arch_by_hand() -> None:
    """30 ft wide, 10 ft above the posts: R = (900 / 4 + 100) / 20 = 16.25 ft, centre 6.25 ft below the post tops."""
    assert radius_of_arch(30 * FOOT, 10 * FOOT) == pytest.approx(16.25 * FOOT)


def test_half_circle_leans_not_at_all_at_its_foot() -> None:
    """A bow that springs upright is upright at the post and leans 30 degrees at half its radius."""
    assert lean(1000, 0) == 0
    assert lean(1000, 500) == pytest.approx(30)
    assert math.isclose(set_back(1000, 0), 0)


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
