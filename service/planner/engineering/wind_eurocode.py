"""Wind on the wall by EN 1991-1-4: peak velocity pressure and wall pressures.

Rules of this file
------------------
- Recommended values of EN 1991-1-4:2005 with A1:2010; a national annex may set others, and wins.
- Pressures are characteristic: no partial factor is inside.
- Towards the wall is positive, away from it negative.
"""

import math
from typing import Final, Literal

from service.planner.records import record

Terrain = Literal["0", "I", "II", "III", "IV"]
WallArea = Literal["A", "B"]

AIR_DENSITY: Final = 1.25
"""Recommended air density. EN 1991-1-4, 4.5(1), note 2 [kg/m3]"""
INTERNAL_PUSH: Final = 0.2
"""Internal pressure outwards where the openings are not known. EN 1991-1-4, 7.2.9(6), note 2 (from memory) [-]"""
DOMINANT_PUSH: Final = 0.90 * 0.8
"""Internal pressure outwards with a dominant opening to windward, three times all others: 0.90 cpe, with cpe,10 of
area D, h/d = 1. EN 1991-1-4, 7.2.9(5), expression 7.2, and table 7.1 (from memory) [-]"""

_ROUGHNESS_OF_TERRAIN_II: Final = 0.05
_HIGHEST: Final = 200.0


@record
class Roughness:
    """A terrain category of table 4.1."""

    length: float
    """Roughness length z0 [m]"""
    least_height: float
    """Height zmin below which the wind is taken as even [m]"""


TERRAINS: Final[dict[Terrain, Roughness]] = {
    # EN 1991-1-4, table 4.1
    "0": Roughness(length=0.003, least_height=1.0),
    "I": Roughness(length=0.01, least_height=1.0),
    "II": Roughness(length=0.05, least_height=2.0),
    "III": Roughness(length=0.3, least_height=5.0),
    "IV": Roughness(length=1.0, least_height=10.0),
}


@record
class ExternalCoefficients:
    """External pressure coefficients of one part of a wall."""

    one: float
    """cpe,1: loaded area up to 1 m2 [-]"""
    ten: float
    """cpe,10: loaded area from 10 m2 [-]"""


WALL_COEFFICIENTS: Final[dict[WallArea, ExternalCoefficients]] = {
    # EN 1991-1-4, table 7.1, walls along the wind; the same for every h/d.
    "A": ExternalCoefficients(one=-1.4, ten=-1.2),
    "B": ExternalCoefficients(one=-1.1, ten=-0.8),
}


def basic_velocity_pressure(speed: float, density: float = AIR_DENSITY) -> float:
    """Velocity pressure qb of the basic wind.

    Parameters
    ----------
    speed
        Basic wind velocity vb, 10 min mean at 10 m over terrain II [m/s]
    density
        Air density [kg/m3]

    Returns
    -------
        qb [Pa]

    References
    ----------
    EN 1991-1-4, expression 4.10.
    """
    return 0.5 * density * speed**2


def terrain_factor(terrain: Terrain) -> float:
    """Terrain factor kr.

    Parameters
    ----------
    terrain
        Terrain category [-]

    Returns
    -------
        kr [-]

    References
    ----------
    EN 1991-1-4, expression 4.5: kr = 0.19 (z0 / z0,II)^0.07.
    """
    return 0.19 * math.pow(TERRAINS[terrain].length / _ROUGHNESS_OF_TERRAIN_II, 0.07)


def _log_height(height: float, terrain: Terrain) -> float:
    roughness = TERRAINS[terrain]
    return math.log(min(max(height, roughness.least_height), _HIGHEST) / roughness.length)


def roughness_factor(height: float, terrain: Terrain) -> float:
    """Roughness factor cr: mean wind at a height over the basic wind.

    Parameters
    ----------
    height
        Height above the ground, taken as zmin below it; valid to 200 m [m]
    terrain
        Terrain category [-]

    Returns
    -------
        cr [-]

    References
    ----------
    EN 1991-1-4, expression 4.4.
    """
    return terrain_factor(terrain) * _log_height(height, terrain)


def turbulence_intensity(height: float, terrain: Terrain, orography: float = 1.0) -> float:
    """Turbulence intensity Iv, with the recommended turbulence factor of 1.

    Parameters
    ----------
    height
        Height above the ground [m]
    terrain
        Terrain category [-]
    orography
        Orography factor co, 4.3.3 [-]

    Returns
    -------
        Iv [-]

    References
    ----------
    EN 1991-1-4, expression 4.7.
    """
    return 1 / (orography * _log_height(height, terrain))


def exposure_factor(height: float, terrain: Terrain, orography: float = 1.0) -> float:
    """Exposure factor ce: peak over basic velocity pressure.

    Parameters
    ----------
    height
        Height above the ground [m]
    terrain
        Terrain category [-]
    orography
        Orography factor co [-]

    Returns
    -------
        ce [-]

    References
    ----------
    EN 1991-1-4, expressions 4.8 and 4.9: ce = (1 + 7 Iv) (cr co)^2. The square is part of it: calculation
    sheets that multiply by cr once are in circulation.
    """
    mean = roughness_factor(height, terrain) * orography
    return (1 + 7 * turbulence_intensity(height, terrain, orography)) * mean**2


def peak_velocity_pressure(speed: float, height: float, terrain: Terrain, orography: float = 1.0) -> float:
    """Peak velocity pressure qp.

    Parameters
    ----------
    speed
        Basic wind velocity [m/s]
    height
        Reference height: of the tunnel, not of the wall [m]
    terrain
        Terrain category [-]
    orography
        Orography factor co [-]

    Returns
    -------
        qp, characteristic [Pa]

    References
    ----------
    EN 1991-1-4, expression 4.8.
    """
    return exposure_factor(height, terrain, orography) * basic_velocity_pressure(speed)


def external_coefficient(part: WallArea, area: float) -> float:
    """External pressure coefficient of a part of a wall.

    Parameters
    ----------
    part
        Letter of figure 7.5 [-]
    area
        Loaded area [m2]

    Returns
    -------
        cpe [-]

    References
    ----------
    EN 1991-1-4, 7.2.1(1), note 2, figure 7.2: cpe = cpe,1 - (cpe,1 - cpe,10) log10 A between 1 and 10 m2.
    """
    row = WALL_COEFFICIENTS[part]
    return row.one - (row.one - row.ten) * math.log10(min(max(area, 1.0), 10.0))


def net_pressure(peak: float, part: WallArea, area: float, internal: float) -> float:
    """Net characteristic pressure away from a part of a wall.

    Parameters
    ----------
    peak
        Peak velocity pressure [Pa]
    part
        Letter of figure 7.5 [-]
    area
        Loaded area [m2]
    internal
        Internal pressure coefficient outwards [-]

    Returns
    -------
        Pressure, negative [Pa]

    References
    ----------
    EN 1991-1-4, expressions 5.1 and 5.2, 5.2(3).
    """
    return peak * (external_coefficient(part, area) - internal)
