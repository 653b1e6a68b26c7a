"""Screws, nuts and washers as the standards size them.

Rules of this file
------------------
- Tables to be read and corrected by someone from the trade; inches as their sources print them.
- A value from a reprint of a standard is marked secondary: confirm it against the standard.
- Where sources disagree all of them stand here, and the functions give the careful one.
"""

from dataclasses import dataclass
from typing import Final, Literal

from service.planner.engineering.quantities import MM_PER_INCH

ScrewSize = Literal["No.6", "No.8", "No.10", "No.12", "1/4 in"]
DrillSource = Literal["SAE J78", "ISO 15480", "trade charts"]

EXPOSED_THREADS: Final = 3
"""Full threads to show past the last metal. Cold-formed steel practice (from memory) [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A smallest and a largest value."""

    least: float
    """Smallest [in]"""
    most: float
    """Largest [in]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewRow:
    """A self-drilling tapping screw, spaced thread."""

    nominal_diameter: float
    """Nominal diameter, 0.060 + 0.013 N [in]"""
    threads_per_inch: int
    """Spaced thread of type BSD [1/in]"""
    thread: Range
    """Major diameter of the thread"""
    across_flats: Range
    """Hex washer head, across flats"""
    driver: str
    """Nominal socket for it [-]"""
    integral_washer: Range
    """Diameter of the hex head's own washer"""
    cross_recess: int
    """Cross recess number of a pan head [-]"""
    square_recess: int
    """Square recess number, from memory [-]"""
    point_lengths: dict[int, float]
    """Point number to protrusion allowance, the length that drills before it threads [in]"""


# Thread, heads, washers and points: SAE J78 and ASME B18.6.4, secondary. Nominal diameters and cross recess
# numbers: ASME B18.6.3. Square recess: from memory.
SCREWS: Final[dict[ScrewSize, ScrewRow]] = {
    "No.6": ScrewRow(
        nominal_diameter=0.138,
        threads_per_inch=20,
        thread=Range(least=0.132, most=0.139),
        across_flats=Range(least=0.244, most=0.250),
        driver="1/4 in",
        integral_washer=Range(least=0.302, most=0.328),
        cross_recess=2,
        square_recess=2,
        point_lengths={2: 0.190, 3: 0.220},
    ),
    "No.8": ScrewRow(
        nominal_diameter=0.164,
        threads_per_inch=18,
        thread=Range(least=0.159, most=0.166),
        across_flats=Range(least=0.244, most=0.250),
        driver="1/4 in",
        integral_washer=Range(least=0.322, most=0.348),
        cross_recess=2,
        square_recess=2,
        point_lengths={2: 0.211, 3: 0.251},
    ),
    "No.10": ScrewRow(
        nominal_diameter=0.190,
        threads_per_inch=16,
        thread=Range(least=0.182, most=0.189),
        across_flats=Range(least=0.305, most=0.312),
        driver="5/16 in",
        integral_washer=Range(least=0.384, most=0.414),
        cross_recess=2,
        square_recess=2,
        point_lengths={2: 0.235, 3: 0.300},
    ),
    "No.12": ScrewRow(
        nominal_diameter=0.216,
        threads_per_inch=14,
        thread=Range(least=0.208, most=0.215),
        across_flats=Range(least=0.305, most=0.312),
        driver="5/16 in",
        integral_washer=Range(least=0.398, most=0.432),
        cross_recess=3,
        square_recess=3,
        point_lengths={2: 0.283, 3: 0.353},
    ),
    "1/4 in": ScrewRow(
        nominal_diameter=0.250,
        threads_per_inch=14,
        thread=Range(least=0.237, most=0.246),
        across_flats=Range(least=0.367, most=0.375),
        driver="3/8 in",
        integral_washer=Range(least=0.480, most=0.520),
        cross_recess=3,
        square_recess=3,
        point_lengths={2: 0.318, 3: 0.393},
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillRange:
    """What one source lets a drill point go through, all metal together."""

    source: DrillSource
    """Whose figure it is [-]"""
    least: float
    """Least total metal, 0 where the source gives none [in]"""
    most: float
    """Greatest total metal [in]"""
    certainty: Literal["read in a secondary reprint", "from memory"]
    """How sure the figure is [-]"""


def _sae(least: float, most: float) -> DrillRange:
    return DrillRange(source="SAE J78", least=least, most=most, certainty="read in a secondary reprint")


def _iso(least: float, most: float) -> DrillRange:
    # printed in millimetres and without point numbers: it stands beside the usual point of its size
    return DrillRange(
        source="ISO 15480",
        least=least / MM_PER_INCH,
        most=most / MM_PER_INCH,
        certainty="read in a secondary reprint",
    )


def _chart(least: float, most: float) -> DrillRange:
    return DrillRange(source="trade charts", least=least, most=most, certainty="from memory")


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


@dataclass(frozen=True, slots=True, kw_only=True)
class NutRow:
    """A hex nut."""

    across_flats: Range
    """Across flats"""
    spanner: str
    """Nominal size of spanner or socket [-]"""


# ASME B18.2.2: hex nuts, table 4; machine-screw nuts, table 1A.
HEX_NUTS: Final[dict[str, NutRow]] = {
    "1/4 in": NutRow(across_flats=Range(least=0.428, most=0.438), spanner="7/16 in"),
    "5/16 in": NutRow(across_flats=Range(least=0.489, most=0.500), spanner="1/2 in"),
    "3/8 in": NutRow(across_flats=Range(least=0.551, most=0.562), spanner="9/16 in"),
}
MACHINE_SCREW_NUTS: Final[dict[str, NutRow]] = {
    "No.10": NutRow(across_flats=Range(least=0.362, most=0.375), spanner="3/8 in"),
    "No.12": NutRow(across_flats=Range(least=0.423, most=0.438), spanner="7/16 in"),
    "1/4 in": NutRow(across_flats=Range(least=0.423, most=0.438), spanner="7/16 in"),
}

WIDE_WASHERS: Final[dict[str, float]] = {"No.10": 0.562, "No.12": 0.625, "1/4 in": 0.734}
"""Outside diameter of a plain washer type A, regular. ASME B18.21.1, table 12 [in]"""


def nominal_diameter(number: int) -> float:
    """Nominal diameter of a numbered screw.

    Parameters
    ----------
    number
        Screw number, 0 to 14 [-]

    Returns
    -------
        Diameter [mm]

    References
    ----------
    ASME B18.6.3 (rule from memory): 0.060 in + 0.013 in for each number.
    """
    return (0.060 + 0.013 * number) * MM_PER_INCH


def tail(size: ScrewSize, point: int) -> float:
    """Length a screw needs past the last metal's near face: drill point and three threads.

    Parameters
    ----------
    size
        Screw size [-]
    point
        Drill point number [-]

    Returns
    -------
        Length [mm]

    Raises
    ------
    KeyError
        When no point length is known for that point.
    """
    row = SCREWS[size]
    return (row.point_lengths[point] + EXPOSED_THREADS / row.threads_per_inch) * MM_PER_INCH


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
