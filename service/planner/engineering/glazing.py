"""What heat passes through multiwall sheet and film, and how far metals move.

Rules of this file
------------------
- The sheet maker's declared values win over everything here (EN 16153 says which must be declared).
- Heat saved is claimed only where the worst sheet of its kind still beats the best film of its kind,
  and only for a heated house: without a temperature difference there is nothing to save.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final, Literal

from service.planner.engineering.quantities import BTU_TRANSMITTANCE
from service.planner.records import record

Film = Literal["single", "double"]

STEEL_EXPANSION: Final = 12e-6
"""Linear expansion of carbon steel [1/K]"""
ALUMINIUM_EXPANSION: Final = 23.1e-6
"""Linear expansion of aluminium (from memory) [1/K]"""
POLYCARBONATE_CONDUCTIVITY: Final = 0.20
"""Thermal conductivity of solid polycarbonate [W/mK]"""
INSIDE_RESISTANCE: Final = 0.13
"""Surface resistance inside, horizontal heat flow. ISO 6946 [m2K/W]"""
OUTSIDE_RESISTANCE: Final = 0.04
"""Surface resistance outside. ISO 6946 [m2K/W]"""

# ISO 6946, unventilated air layers, horizontal heat flow: thickness [mm], resistance [m2K/W].
AIR_LAYERS: Final = ((0.0, 0.0), (5.0, 0.11), (7.0, 0.13), (10.0, 0.15), (15.0, 0.17), (25.0, 0.18))


@record
class MultiwallSheet:
    """A common multiwall sheet, for when its maker's data are not given."""

    thickness: float
    """Overall thickness [mm]"""
    walls: int
    """Walls of plastic, two for twin-wall [-]"""
    wall_thickness: float
    """Thickness of each wall, from memory [mm]"""
    transmittance: float
    """U as usually declared [W/m2K]"""


SHEETS: Final[dict[int, MultiwallSheet]] = {
    # 10 and 16 mm: a grower's table of 2001, read; others: trade-wide values from memory.
    4: MultiwallSheet(thickness=4, walls=2, wall_thickness=0.40, transmittance=3.9),
    6: MultiwallSheet(thickness=6, walls=2, wall_thickness=0.45, transmittance=3.6),
    8: MultiwallSheet(thickness=8, walls=2, wall_thickness=0.50, transmittance=3.3),
    10: MultiwallSheet(thickness=10, walls=2, wall_thickness=0.50, transmittance=3.2),
    16: MultiwallSheet(thickness=16, walls=3, wall_thickness=0.50, transmittance=2.4),
    25: MultiwallSheet(thickness=25, walls=5, wall_thickness=0.40, transmittance=1.6),
}

# eXtension greenhouse energy course, unit 2.6: any single layer 1.0 to 1.2, any double layer 0.6 to 0.7
# Btu/h ft2 degF. Twin-wall sheet is a double layer to that source.
SINGLE_LAYER: Final = (1.0 * BTU_TRANSMITTANCE, 1.2 * BTU_TRANSMITTANCE)
"""Least and greatest U of one layer of film or glass in a greenhouse [W/m2K]"""
DOUBLE_LAYER: Final = (0.6 * BTU_TRANSMITTANCE, 0.7 * BTU_TRANSMITTANCE)
"""Least and greatest U of two layers in a greenhouse [W/m2K]"""


def air_layer_resistance(gap: float) -> float:
    """Thermal resistance of a still air layer, straight between the rows of the table.

    Parameters
    ----------
    gap
        Thickness of the layer [mm]

    Returns
    -------
        Resistance [m2K/W]

    References
    ----------
    ISO 6946, unventilated air layers with high emissivity surfaces, horizontal heat flow.
    """
    for (left, low), (right, high) in pairwise(AIR_LAYERS):
        if gap <= right:
            return low + (high - low) * (gap - left) / (right - left)
    return AIR_LAYERS[-1][1]


def transmittance(gaps: Sequence[float], plastic: float) -> float:
    """Thermal transmittance U of layers of plastic and air.

    Parameters
    ----------
    gaps
        Thickness of each air layer [mm]
    plastic
        Thickness of all plastic walls together [mm]

    Returns
    -------
        U [W/m2K]

    Notes
    -----
    Upright sheet, emissivity of both faces high, ribs left out: real sheet loses a little more through them.

    References
    ----------
    ISO 6946: U = 1 / (Rsi + sum of R + Rse).
    """
    layers = sum(air_layer_resistance(gap) for gap in gaps) + plastic / 1000 / POLYCARBONATE_CONDUCTIVITY
    return 1 / (INSIDE_RESISTANCE + layers + OUTSIDE_RESISTANCE)


def sheet_transmittance(sheet: MultiwallSheet) -> float:
    """Thermal transmittance U of a multiwall sheet by its layers.

    Parameters
    ----------
    sheet
        The sheet; its walls are taken as evenly spaced.

    Returns
    -------
        U [W/m2K]
    """
    plastic = sheet.walls * sheet.wall_thickness
    count = sheet.walls - 1
    return transmittance([(sheet.thickness - plastic) / count] * count, plastic)


def heat_flow(area: float, transmittance_difference: float, temperature_difference: float) -> float:
    """Heat through an area for a difference in transmittance.

    Parameters
    ----------
    area
        Area [m2]
    transmittance_difference
        Difference of two U [W/m2K]
    temperature_difference
        Inside less outside [K]

    Returns
    -------
        Heat flow [W]
    """
    return area * transmittance_difference * temperature_difference


def least_transmittance(film: Film) -> float:
    """The least U that is published of a film cover [W/m2K]."""
    return (SINGLE_LAYER if film == "single" else DOUBLE_LAYER)[0]


def supported_difference(sheet: MultiwallSheet, film: Film) -> float:
    """Difference in U that published values support, sheet against film.

    Parameters
    ----------
    sheet
        The sheet.
    film
        The cover it replaces [-]

    Returns
    -------
        Difference; 0 where the sheet's range reaches the film's [W/m2K]

    Notes
    -----
    The film at the least U of its range; the sheet at the greatest of its usual declared value, its value by
    layers and, when it is twin-wall, the greatest U of a double layer. So twin-wall sheet is never claimed
    to beat double film.
    """
    worst = max(sheet.transmittance, sheet_transmittance(sheet))
    if sheet.walls == 2:
        worst = max(worst, DOUBLE_LAYER[1])
    return max(least_transmittance(film) - worst, 0.0)
