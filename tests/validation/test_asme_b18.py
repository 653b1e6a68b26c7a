"""ASME B18 inch fasteners: B18.2.2 nuts, B18.6.3 machine screws, B18.21.1 washers.

Values as tabulated in the open data files of a public fastener library for CAD (FreeCAD_FastenersWB, FsData:
asmeb18.2.2.4def, asmeb18.2.2.1adef, asmeb18.6.3.9bdef, asmeb18.21.1.12bdef), in mm, mid-tolerance for nuts.
"""

import pytest

from service.planner.engineering.hardware import (
    HEX_NUTS,
    MACHINE_SCREW_NUTS,
    SCREWS,
    WIDE_WASHERS,
    NutRow,
    ScrewSize,
    nominal_diameter,
)
from service.planner.engineering.quantities import MM_PER_INCH


@pytest.mark.parametrize(
    ("row", "millimetres", "spanner"),
    [
        (HEX_NUTS["1/4 in"], 10.9982, 7 / 16),
        (HEX_NUTS["5/16 in"], 12.5603, 1 / 2),
        (HEX_NUTS["3/8 in"], 14.1478, 9 / 16),
        (MACHINE_SCREW_NUTS["No.10"], 9.3599, 3 / 8),
        (MACHINE_SCREW_NUTS["No.12"], 10.9347, 7 / 16),
        (MACHINE_SCREW_NUTS["1/4 in"], 10.9347, 7 / 16),
    ],
)
def test_nuts_across_flats(row: NutRow, millimetres: float, spanner: float) -> None:
    """B18.2.2, tables 4 and 1A: mid-tolerance across flats; the largest nut fills its nominal spanner."""
    middle = (row.across_flats.least + row.across_flats.most) / 2 * MM_PER_INCH
    # limits are printed to 0.001 in, so their middle to 0.0005 in = 0.013 mm
    assert middle == pytest.approx(millimetres, abs=0.014)
    # printed limits are three places of the fraction: 0.562 for 9/16
    assert row.across_flats.most == pytest.approx(spanner, abs=0.0006)
    numerator, denominator = row.spanner.removesuffix(" in").split("/")
    assert int(numerator) / int(denominator) == spanner


@pytest.mark.parametrize(
    ("size", "recess"), [("No.6", 2), ("No.8", 2), ("No.10", 2), ("No.12", 3), ("1/4 in", 3)]
)
def test_cross_recess_numbers_of_pan_heads(size: ScrewSize, recess: int) -> None:
    """B18.6.3, table 9: No.5 to No.10 take No.2, No.12 and 1/4 in take No.3."""
    assert SCREWS[size].cross_recess == recess


@pytest.mark.parametrize(
    ("size", "millimetres"), [("No.10", 14.2748), ("No.12", 15.875), ("1/4 in", 18.6436)]
)
def test_regular_plain_washers(size: str, millimetres: float) -> None:
    """B18.21.1, table 12: greatest outside diameter of type A, regular."""
    # three places of an inch; the data file has No.12 as 0.625 + 0.000, No.10 as 0.562
    assert WIDE_WASHERS[size] * MM_PER_INCH == pytest.approx(millimetres, abs=0.013)


@pytest.mark.parametrize(
    ("number", "size", "inches"),
    [(6, "No.6", 0.138), (8, "No.8", 0.164), (10, "No.10", 0.190), (12, "No.12", 0.216)],
)
def test_nominal_diameters_of_numbered_screws(number: int, size: ScrewSize, inches: float) -> None:
    """B18.6.3 (rule from memory): 0.060 + 0.013 N; 0.190 and 0.216 stand in the pull-out table as well."""
    assert nominal_diameter(number) == pytest.approx(inches * MM_PER_INCH)
    assert SCREWS[size].nominal_diameter == inches


def test_number_fourteen_and_a_quarter_are_not_one_screw() -> None:
    """Sources disagree: charts put No.14 beside 1/4 in, the rule gives 0.242 in. The smaller hole is not used."""
    assert nominal_diameter(14) / MM_PER_INCH == pytest.approx(0.242)
    assert SCREWS["1/4 in"].nominal_diameter == 0.250
