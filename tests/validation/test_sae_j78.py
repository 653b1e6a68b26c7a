"""SAE J78, Self-Drilling Tapping Screws, and ASME B18.6.4, in a secondary reprint; ISO 15480; ASTM C1513-18.

Values in inches as reprinted; to be confirmed against the standards.
"""

import pytest

from service.planner.engineering.hardware import (
    DRILL_RANGES,
    SCREWS,
    ScrewSize,
    drill_capacity,
    drill_least,
)
from service.planner.engineering.quantities import MM_PER_INCH

# size, threads per inch, least integral washer, points 2 and 3
REPRINT = [
    ("No.6", 20, 0.302, (0.190, 0.220)),
    ("No.8", 18, 0.322, (0.211, 0.251)),
    ("No.10", 16, 0.384, (0.235, 0.300)),
    ("No.12", 14, 0.398, (0.283, 0.353)),
    ("1/4 in", 14, 0.480, (0.318, 0.393)),
]


@pytest.mark.parametrize(("size", "pitch", "washer", "points"), REPRINT)
def test_screw_sizes(
    size: ScrewSize,
    pitch: int,
    washer: float,
    points: tuple[float, float],
) -> None:
    """Threads, heads and drill points as reprinted."""
    row = SCREWS[size]
    assert row.threads_per_inch == pitch
    assert row.integral_washer == washer
    assert row.point_lengths == dict(zip((2, 3), points, strict=True))


@pytest.mark.parametrize(
    ("size", "flats"),
    [("No.6", 0.250), ("No.8", 0.250), ("No.10", 0.312), ("No.12", 0.312), ("1/4 in", 0.375)],
)
def test_driver_fits_the_largest_head(size: ScrewSize, flats: float) -> None:
    """The nominal socket equals the greatest width across flats as reprinted."""
    numerator, denominator = SCREWS[size].driver.removesuffix(" in").split("/")
    # 5/16 is 0.3125, printed as 0.312
    assert int(numerator) / int(denominator) == pytest.approx(flats, abs=0.0006)


@pytest.mark.parametrize(
    ("size", "point_two", "point_three"),
    [
        ("No.6", 0.080, (0.090, 0.110)),
        ("No.8", 0.090, (0.100, 0.140)),
        ("No.10", 0.100, (0.110, 0.175)),
        ("No.12", 0.140, (0.110, 0.210)),
        ("1/4 in", 0.175, (0.110, 0.210)),
    ],
)
def test_drilling_ranges(size: ScrewSize, point_two: float, point_three: tuple[float, float]) -> None:
    """Recommended total metal of points 2 and 3 as reprinted."""
    two, three = (
        next(row for row in DRILL_RANGES[size, point] if row.source == "SAE J78") for point in (2, 3)
    )
    assert (two.least, two.most) == (0.0, point_two)
    assert (three.least, three.most) == point_three


@pytest.mark.parametrize(
    ("size", "millimetres"), [("No.8", 3.0), ("No.10", 4.4), ("No.12", 5.25), ("1/4 in", 6.0)]
)
def test_sae_and_iso_disagree_on_point_three(size: ScrewSize, millimetres: float) -> None:
    """ISO 15480 lets ST4.2 to ST6.3 drill up to 17 per cent less or more than SAE J78; the least is used."""
    sae, iso = (
        next(row for row in DRILL_RANGES[size, 3] if row.source == name) for name in ("SAE J78", "ISO 15480")
    )
    assert iso.most * MM_PER_INCH == pytest.approx(millimetres)
    assert iso.most != pytest.approx(sae.most, rel=0.005) or size in {"No.10", "No.12"}
    # the widest disagreement is No.8: 3.0 mm against 0.140 in; 1/4 in: 6.0 mm against 0.210 in
    assert 0.84 < iso.most / sae.most < 1.13
    assert drill_capacity(size, 3) == pytest.approx(min(sae.most, iso.most) * MM_PER_INCH)


def test_sae_and_charts_disagree_on_point_two() -> None:
    """No.10, point 2: 0.100 in by the reprint of SAE J78, 0.110 in by trade charts; 0.100 is used."""
    stated = {row.source: row.most for row in DRILL_RANGES["No.10", 2]}
    assert stated == {"SAE J78": 0.100, "trade charts": 0.110}
    assert drill_capacity("No.10", 2) / MM_PER_INCH == pytest.approx(0.100)


def test_lower_limit_of_st4_2() -> None:
    """ISO 15480 wants 1.75 mm at least under ST4.2, so that one thread engages; SAE's 0.100 in is more."""
    iso = next(row for row in DRILL_RANGES["No.8", 3] if row.source == "ISO 15480")
    assert iso.least * MM_PER_INCH == pytest.approx(1.75)
    assert drill_least("No.8", 3) == pytest.approx(0.100 * MM_PER_INCH)


def test_two_boards_and_a_post_are_past_a_number_ten() -> None:
    """Two 18 gauge boards (2 x 0.0516) and a 0.095 in post: 0.198 in, past 0.173 in, within No.12."""
    metal = (2 * 0.0516 + 0.095) * MM_PER_INCH
    assert drill_capacity("No.10", 3) < metal < drill_capacity("No.12", 3)
