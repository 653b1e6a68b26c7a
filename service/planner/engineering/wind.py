"""Wind on the wall by ASCE 7-16 and ASCE 7-22: velocity pressure and suction on cladding.

Rules of this file
------------------
- What the wind asks for; what a screw can give lives with the screws.
- Pressures are strength level, as the basic wind speeds of these editions are;
  `ALLOWABLE_STRESS_FACTOR` brings them to the level of an allowable strength.
- Towards the wall is positive, away from it negative, as in the standard.
- Where sources differ, the larger load is taken and the docstring says so.
"""

import math
from typing import Final, Literal

from service.planner.engineering.quantities import M_PER_FOOT, SQUARE_FOOT
from service.planner.records import record

Edition = Literal["ASCE 7-16", "ASCE 7-22"]
Exposure = Literal["B", "C", "D"]
Enclosure = Literal["enclosed", "partially_enclosed"]
WallZone = Literal[4, 5]

ALLOWABLE_STRESS_FACTOR: Final = 0.6
"""Share of the strength-level wind in allowable stress design, 0.6 W. ASCE 7-16, 2.4.1 (from memory) [-]"""
LEAST_CLADDING_PRESSURE: Final = 770.0
"""Least net pressure on cladding, 16 psf. ASCE 7-16, 30.2.2 (from memory) [Pa]"""

_LOWEST_HEIGHT: Final = 15 * M_PER_FOOT
_LOWEST_CLADDING_HEIGHT_IN_B: Final = 30 * M_PER_FOOT


@record
class PowerLaw:
    """How wind grows with height over one terrain."""

    factor: float
    """Factor before the power [-]"""
    exponent: float
    """Alpha: the power is two over alpha [-]"""
    gradient_height: float
    """Height zg where the ground is no longer felt [m]"""


POWER_LAWS: Final[dict[tuple[Edition, Exposure], PowerLaw]] = {
    # ASCE 7-16, table 26.11-1 and note 1 of table 26.10-1; unchanged since 7-05.
    ("ASCE 7-16", "B"): PowerLaw(factor=2.01, exponent=7.0, gradient_height=1200 * M_PER_FOOT),
    ("ASCE 7-16", "C"): PowerLaw(factor=2.01, exponent=9.5, gradient_height=900 * M_PER_FOOT),
    ("ASCE 7-16", "D"): PowerLaw(factor=2.01, exponent=11.5, gradient_height=700 * M_PER_FOOT),
    # ASCE 7-22, the same tables, in the metres printed there.
    ("ASCE 7-22", "B"): PowerLaw(factor=2.41, exponent=7.5, gradient_height=1000.0),
    ("ASCE 7-22", "C"): PowerLaw(factor=2.41, exponent=9.8, gradient_height=750.0),
    ("ASCE 7-22", "D"): PowerLaw(factor=2.41, exponent=11.5, gradient_height=590.0),
}

INTERNAL_COEFFICIENTS: Final[dict[Enclosure, float]] = {
    # ASCE 7-16, table 26.13-1.
    "enclosed": 0.18,
    "partially_enclosed": 0.55,
}


@record
class LogLine:
    """A coefficient that is straight over the logarithm of the area in square feet."""

    at_one: float
    """Where the line would stand at 1 ft2 [-]"""
    slope: float
    """Change per factor of ten in area [-]"""


# ASCE 7-16, figure 30.3-1, walls, h <= 60 ft: the end values are read, the lines between are from memory.
_OUTWARD: Final[dict[WallZone, LogLine]] = {
    4: LogLine(at_one=-1.2766, slope=0.1766),
    5: LogLine(at_one=-1.7532, slope=0.3532),
}


@record
class WindSite:
    """What the place says about its wind."""

    speed: float
    """Basic wind speed, 3 s gust at 10 m, strength level [m/s]"""
    exposure: Exposure
    """Exposure category, ASCE 7-16, 26.7 [-]"""
    edition: Edition = "ASCE 7-16"
    """Edition whose terrain constants hold [-]"""
    elevation: float = 0.0
    """Ground above sea level [m]"""
    topographic_factor: float = 1.0
    """Kzt, 26.8; 1 on flat ground [-]"""
    directionality: float = 0.85
    """Kd, table 26.6-1, buildings [-]"""


def exposure_coefficient(height: float, exposure: Exposure, edition: Edition) -> float:
    """Velocity pressure exposure coefficient Kz.

    Parameters
    ----------
    height
        Height above the ground [m]
    exposure
        Exposure category [-]
    edition
        Edition of the standard [-]

    Returns
    -------
        Kz [-]

    References
    ----------
    ASCE 7-16 and 7-22, table 26.10-1, note 1: Kz = factor (z / zg)^(2 / alpha), z not below 15 ft.
    """
    law = POWER_LAWS[edition, exposure]
    ratio = min(max(height, _LOWEST_HEIGHT) / law.gradient_height, 1.0)
    return law.factor * math.pow(ratio, 2 / law.exponent)


def elevation_factor(elevation: float) -> float:
    """Ground elevation factor Ke.

    Parameters
    ----------
    elevation
        Ground above sea level [m]

    Returns
    -------
        Ke [-]

    Notes
    -----
    Not the density ratio of the standard atmosphere: at 1000 m the two differ by 2 per cent.

    References
    ----------
    ASCE 7-16, table 26.9-1, note 2: Ke = exp(-0.000119 zg), zg in metres.
    """
    return math.exp(-0.000119 * elevation)


def velocity_pressure(site: WindSite, height: float) -> float:
    """Velocity pressure, directionality included.

    Parameters
    ----------
    site
        The place and its wind.
    height
        Height above the ground [m]

    Returns
    -------
        Velocity pressure, strength level [Pa]

    References
    ----------
    ASCE 7-16, equation 26.10-1.si: qz = 0.613 Kz Kzt Kd Ke V2. ASCE 7-22 moves Kd from here into the
    equations for pressures; the products are the same, so it stays here for both.
    """
    coefficient = exposure_coefficient(height, site.exposure, site.edition)
    factors = site.topographic_factor * site.directionality * elevation_factor(site.elevation)
    return 0.613 * coefficient * factors * site.speed**2


def cladding_velocity_pressure(site: WindSite, roof_height: float) -> float:
    """Velocity pressure for components and cladding.

    Parameters
    ----------
    site
        The place and its wind.
    roof_height
        Mean roof height of the tunnel, not of the wall [m]

    Returns
    -------
        Velocity pressure, strength level [Pa]

    Notes
    -----
    In exposure B the height is not taken below 30 ft (Kz 0.70 where the table prints 0.57 at 15 ft). That
    is the rule for cladding of ASCE 7-98 to 7-10; sources disagree whether 7-16 and 7-22 keep it. It is
    kept here, because it never lowers the load.
    """
    floor = _LOWEST_CLADDING_HEIGHT_IN_B if site.exposure == "B" else 0.0
    return velocity_pressure(site, max(roof_height, floor))


def wall_coefficient(zone: WallZone, area: float) -> float:
    """External pressure coefficient GCp of a wall's cladding, away from the wall.

    Parameters
    ----------
    zone
        4 in the field of the wall, 5 within the end zone of a corner [-]
    area
        Effective wind area [m2]

    Returns
    -------
        GCp, negative [-]

    Notes
    -----
    Mean roof height up to 60 ft (18.3 m), enclosed and partially enclosed buildings. Flat below 10 ft2 and
    above 500 ft2. The tenth that may be taken off under flat roofs is not taken off.

    References
    ----------
    ASCE 7-16, figure 30.3-1.
    """
    line = _OUTWARD[zone]
    square_feet = min(max(area / SQUARE_FOOT, 10.0), 500.0)
    return line.at_one + line.slope * math.log10(square_feet)


def cladding_suction(velocity: float, zone: WallZone, area: float, enclosure: Enclosure) -> float:
    """Net pressure away from a wall's cladding, the internal pressure taken the worse way.

    Parameters
    ----------
    velocity
        Velocity pressure at mean roof height [Pa]
    zone
        4 in the field of the wall, 5 at its ends [-]
    area
        Effective wind area [m2]
    enclosure
        Enclosure classification, 26.12 [-]

    Returns
    -------
        Pressure, strength level, negative, never less than 16 psf [Pa]

    References
    ----------
    ASCE 7-16, equation 30.3-1: p = qh ((GCp) - (GCpi)); 30.2.2 for the least pressure.
    """
    outward = velocity * (wall_coefficient(zone, area) - INTERNAL_COEFFICIENTS[enclosure])
    return min(outward, -LEAST_CLADDING_PRESSURE)


def end_zone_width(least_width: float, roof_height: float) -> float:
    """Width of zone 5 at each end of a wall.

    Parameters
    ----------
    least_width
        Least horizontal dimension of the tunnel [m]
    roof_height
        Mean roof height [m]

    Returns
    -------
        Width from the corner [m]

    References
    ----------
    ASCE 7-16, figure 30.3-1, note 6 (from memory): the less of a tenth of the least width and 0.4 h, but
    not less than 4 per cent of the least width or 3 ft.
    """
    return max(min(0.1 * least_width, 0.4 * roof_height), 0.04 * least_width, 3 * M_PER_FOOT)
