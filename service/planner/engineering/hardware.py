"""Screws, nuts and washers as the standards size them.

Rules of this file
------------------
- Tables to be read and corrected by someone from the trade; inches as their sources print them.
- A value from a reprint of a standard is marked secondary: confirm it against the standard.
- Where sources disagree all of them stand here, and the functions give the careful one.
"""

from typing import Final, Literal

from service.planner.engineering.quantities import MM_PER_INCH
from service.planner.records import record
from service.planner.units import INCH

ScrewSize = Literal["No.6", "No.8", "No.10", "No.12", "1/4 in"]
DrillSource = Literal["SAE J78", "ISO 15480", "trade charts"]

EXPOSED_THREADS: Final = 3
"""Full threads to show past the last metal. Cold-formed steel practice (from memory) [-]"""


@record
class ScrewRow:
    """A self-drilling tapping screw, spaced thread."""

    threads_per_inch: int
    """Spaced thread of type BSD [1/in]"""
    driver: str
    """Nominal socket for it [-]"""
    integral_washer: float
    """Least diameter of the hex head's own washer [in]"""
    cross_recess: int
    """Cross recess number of a pan head [-]"""
    square_recess: int
    """Square recess number, from memory [-]"""
    point_lengths: dict[int, float]
    """Point number to protrusion allowance, the length that drills before it threads [in]"""


# Thread, heads, washers and points: SAE J78 and ASME B18.6.4, secondary. Cross recess numbers: ASME B18.6.3.
# Square recess: from memory.
SCREWS: Final[dict[ScrewSize, ScrewRow]] = {
    "No.6": ScrewRow(
        threads_per_inch=20,
        driver="1/4 in",
        integral_washer=0.302,
        cross_recess=2,
        square_recess=2,
        point_lengths={2: 0.190, 3: 0.220},
    ),
    "No.8": ScrewRow(
        threads_per_inch=18,
        driver="1/4 in",
        integral_washer=0.322,
        cross_recess=2,
        square_recess=2,
        point_lengths={2: 0.211, 3: 0.251},
    ),
    "No.10": ScrewRow(
        threads_per_inch=16,
        driver="5/16 in",
        integral_washer=0.384,
        cross_recess=2,
        square_recess=2,
        point_lengths={2: 0.235, 3: 0.300},
    ),
    "No.12": ScrewRow(
        threads_per_inch=14,
        driver="5/16 in",
        integral_washer=0.398,
        cross_recess=3,
        square_recess=3,
        point_lengths={2: 0.283, 3: 0.353},
    ),
    "1/4 in": ScrewRow(
        threads_per_inch=14,
        driver="3/8 in",
        integral_washer=0.480,
        cross_recess=3,
        square_recess=3,
        point_lengths={2: 0.318, 3: 0.393},
    ),
}


@record
class DrillRange:
    """What one source lets a drill point go through, all metal together."""

    source: DrillSource
    """Whose figure it is [-]"""
    least: float
    """Least total metal, 0 where the source gives none [in]"""
    most: float
    """Greatest total metal [in]"""


def _sae(least: float, most: float) -> DrillRange:
    return DrillRange(source="SAE J78", least=least, most=most)


def _iso(least: float, most: float) -> DrillRange:
    # printed in millimetres and without point numbers: it stands beside the usual point of its size
    return DrillRange(
        source="ISO 15480",
        least=least / MM_PER_INCH,
        most=most / MM_PER_INCH,
    )


def _chart(least: float, most: float) -> DrillRange:
    return DrillRange(source="trade charts", least=least, most=most)


# The sources disagree, side by side here. ASTM C1513 gives no capacity: it tests the drill on 0.062 to 0.068 in
# of steel only. Of ISO's lower limits only that of ST4.2 was read.
DRILL_RANGES: Final[dict[tuple[ScrewSize, int], tuple[DrillRange, ...]]] = {
    ("No.6", 2): (_sae(0.0, 0.080), _chart(0.0, 0.090)),
    ("No.6", 3): (_sae(0.090, 0.110), _iso(0.0, 2.25), _chart(0.090, 0.110)),
    ("No.8", 2): (_sae(0.0, 0.090), _chart(0.0, 0.100)),
    ("No.8", 3): (_sae(0.100, 0.140), _iso(1.75, 3.0), _chart(0.100, 0.140)),
    ("No.10", 2): (_sae(0.0, 0.100), _chart(0.0, 0.110)),
    ("No.10", 3): (_sae(0.110, 0.175), _iso(0.0, 4.4), _chart(0.110, 0.175)),
    ("No.12", 2): (_sae(0.0, 0.140), _chart(0.0, 0.140)),
    ("No.12", 3): (_sae(0.110, 0.210), _iso(0.0, 5.25), _chart(0.110, 0.210)),
    ("No.12", 4): (_chart(0.175, 0.250),),
    ("No.12", 5): (_chart(0.250, 0.500),),
    ("1/4 in", 2): (_sae(0.0, 0.175), _chart(0.0, 0.175)),
    ("1/4 in", 3): (_sae(0.110, 0.210), _iso(0.0, 6.0), _chart(0.110, 0.210)),
    ("1/4 in", 4): (_chart(0.175, 0.250),),
    ("1/4 in", 5): (_chart(0.250, 0.500),),
}


HEX_NUT_SPANNERS: Final[dict[str, str]] = {"1/4 in": "7/16 in"}
"""Hex nut to its spanner or socket. ASME B18.2.2, table 4"""


def screw_diameter(number: int) -> int:
    """Nominal diameter of a numbered screw.

    Parameters
    ----------
    number
        Screw number, 0 to 14 [-]

    Returns
    -------
        Diameter [nm]

    References
    ----------
    ASME B18.6.3 (rule from memory): 0.060 in + 0.013 in for each number.
    """
    return (60 + 13 * number) * INCH // 1000


def drill_capacity(size: ScrewSize, point: int) -> float:
    """Greatest total metal a drill point goes through: the least that any source states.

    Parameters
    ----------
    size
        Screw size [-]
    point
        Drill point number [-]

    Returns
    -------
        Thickness of all metals and the gaps between them [mm]

    Raises
    ------
    KeyError
        When no source is known for that point.
    """
    return min(source.most for source in DRILL_RANGES[size, point]) * MM_PER_INCH


def drill_least(size: ScrewSize, point: int) -> float:
    """Least total metal a drill point is meant for: the most that any source states.

    Parameters
    ----------
    size
        Screw size [-]
    point
        Drill point number [-]

    Returns
    -------
        Thickness; 0 where no source gives one [mm]
    """
    return max(source.least for source in DRILL_RANGES[size, point]) * MM_PER_INCH
