"""ASME B18 inch fasteners: B18.2.2 nuts, B18.6.3 machine screws.

Values as tabulated in the open data files of a public fastener library for CAD (FreeCAD_FastenersWB, FsData:
asmeb18.2.2.4def, asmeb18.6.3.9bdef), in mm, mid-tolerance for nuts.
"""

import pytest

from service.planner.engineering.hardware import (
    HEX_NUT_SPANNERS,
    SCREWS,
    ScrewSize,
    screw_diameter,
)
from service.planner.engineering.quantities import MM_PER_INCH
from service.planner.units import INCH


def test_the_hook_bolts_nut_fits_its_spanner() -> None:
    """B18.2.2, table 4: 10.9982 mm across flats in the middle of its tolerance, 0.010 in wide."""
    numerator, denominator = HEX_NUT_SPANNERS["1/4 in"].removesuffix(" in").split("/")
    # the largest nut fills the spanner: half the tolerance, 0.005 in, above the middle
    assert int(numerator) / int(denominator) * MM_PER_INCH == pytest.approx(10.9982 + 0.127, abs=0.014)


@pytest.mark.parametrize(
    ("size", "recess"), [("No.6", 2), ("No.8", 2), ("No.10", 2), ("No.12", 3), ("1/4 in", 3)]
)
def test_cross_recess_numbers_of_pan_heads(size: ScrewSize, recess: int) -> None:
    """B18.6.3, table 9: No.5 to No.10 take No.2, No.12 and 1/4 in take No.3."""
    assert SCREWS[size].cross_recess == recess


@pytest.mark.parametrize(("number", "inches"), [(6, 0.138), (8, 0.164), (10, 0.190), (12, 0.216)])
def test_nominal_diameters_of_numbered_screws(number: int, inches: float) -> None:
    """B18.6.3 (rule from memory): 0.060 + 0.013 N; 0.190 and 0.216 stand in the pull-out table as well."""
    assert screw_diameter(number) == pytest.approx(inches * INCH)
