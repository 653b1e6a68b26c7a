"""Steel sheet and tube: what a gauge number means, and what a tube weighs.

Rules of this file
------------------
- A gauge number means nothing until its scale is named: four scales are here, and they differ by up to
  a sixth for one number.
- Thickness for strength is steel alone; galvanised sheet is thicker by its zinc.
- Inches stand in the tables as their sources print them; functions give millimetres and kilograms.
"""

import math
from dataclasses import dataclass
from typing import Final, Literal

from service.planner.engineering.quantities import M_PER_FOOT, MM_PER_INCH, POUND, SQUARE_FOOT

GaugeScale = Literal["statute", "manufacturers", "galvanised", "birmingham"]

STEEL_DENSITY: Final = 7850.0
"""Density of carbon steel. EN 1991-1-1, table A.4 gives 77 to 78.5 kN/m3 (from memory) [kg/m3]"""
MANUFACTURERS_WEIGHT: Final = 41.82
"""Weight per inch of thickness in the Manufacturers' Standard Gauge (secondary) [lb/ft2 per in]"""
ZINC_THICKNESS: Final = 0.0037
"""What the galvanised scale adds to the Manufacturers' Standard (secondary) [in]"""
ZINC_WEIGHT: Final = 0.15625
"""What the galvanised scale adds to the statute weight, 2.5 oz/ft2 (secondary) [lb/ft2]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class StatuteGauge:
    """A row of the statute's table."""

    thickness: float
    """Approximate thickness [in]"""
    weight: float
    """Weight per square foot [lb]"""


STATUTE_GAUGES: Final[dict[int, StatuteGauge]] = {
    # 15 U.S.C. 206 (act of 3 March 1893)
    10: StatuteGauge(thickness=0.140625, weight=5.625),
    11: StatuteGauge(thickness=0.125, weight=5.0),
    12: StatuteGauge(thickness=0.109375, weight=4.375),
    13: StatuteGauge(thickness=0.09375, weight=3.75),
    14: StatuteGauge(thickness=0.078125, weight=3.125),
    15: StatuteGauge(thickness=0.0703125, weight=2.8125),
    16: StatuteGauge(thickness=0.0625, weight=2.5),
    17: StatuteGauge(thickness=0.05625, weight=2.25),
    18: StatuteGauge(thickness=0.05, weight=2.0),
    19: StatuteGauge(thickness=0.04375, weight=1.75),
    20: StatuteGauge(thickness=0.0375, weight=1.5),
    21: StatuteGauge(thickness=0.034375, weight=1.375),
    22: StatuteGauge(thickness=0.03125, weight=1.25),
    23: StatuteGauge(thickness=0.028125, weight=1.125),
    24: StatuteGauge(thickness=0.025, weight=1.0),
    25: StatuteGauge(thickness=0.021875, weight=0.875),
    26: StatuteGauge(thickness=0.01875, weight=0.75),
}

BIRMINGHAM_WALLS: Final[dict[int, float]] = {
    # Birmingham (Stubs) wire gauge of tube walls, after Machinery's Handbook [in]
    10: 0.134,
    11: 0.120,
    12: 0.109,
    13: 0.095,
    14: 0.083,
    15: 0.072,
    16: 0.065,
    17: 0.058,
    18: 0.049,
    19: 0.042,
    20: 0.035,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeSize:
    """A tube of the fence and pipe trade."""

    trade_name: str
    """Nominal size as ordered [-]"""
    outside_diameter: float
    """Outside diameter [in]"""
    walls: tuple[float, ...]
    """Wall thicknesses it is sold in, thinnest first [in]"""


TUBE_SIZES: Final = (
    # Diameters and the thickest wall of NPS sizes: ASME B36.10 schedule 40; 0.111, 0.120 and 0.130:
    # ASTM F1043 group IC (from memory); other walls: Birmingham gauge, common practice.
    TubeSize(trade_name="1 in NPS", outside_diameter=1.315, walls=(0.065, 0.083, 0.133)),
    TubeSize(trade_name="1 3/8 in", outside_diameter=1.375, walls=(0.055, 0.065, 0.083)),
    TubeSize(
        trade_name="1 5/8 in (1 1/4 in NPS)", outside_diameter=1.660, walls=(0.065, 0.083, 0.111, 0.140)
    ),
    TubeSize(
        trade_name="1 7/8 in (1 1/2 in NPS)", outside_diameter=1.900, walls=(0.065, 0.095, 0.120, 0.145)
    ),
    TubeSize(trade_name="2 3/8 in (2 in NPS)", outside_diameter=2.375, walls=(0.083, 0.095, 0.130, 0.154)),
)


def thickness(gauge: int, scale: GaugeScale) -> float:
    """Thickness that a gauge number stands for.

    Parameters
    ----------
    gauge
        Gauge number [-]
    scale
        Whose gauge it is [-]

    Returns
    -------
        Thickness, zinc included on the galvanised scale [mm]

    Raises
    ------
    KeyError
        When the scale has no such number here.

    Notes
    -----
    Statute: 15 U.S.C. 206. Manufacturers' Standard: statute weight over 41.82 lb/ft2 per inch, to four
    places. Galvanised: that plus 0.0037 in; printed charts round some rows up by 0.0001 in.
    """
    if scale == "birmingham":
        return BIRMINGHAM_WALLS[gauge] * MM_PER_INCH
    row = STATUTE_GAUGES[gauge]
    if scale == "statute":
        return row.thickness * MM_PER_INCH
    steel = round(row.weight / MANUFACTURERS_WEIGHT, 4)
    return (steel + (ZINC_THICKNESS if scale == "galvanised" else 0.0)) * MM_PER_INCH


def steel_thickness(gauge: int) -> float:
    """Thickness of the steel in sheet of a gauge, coated or not.

    Parameters
    ----------
    gauge
        Sheet gauge number [-]

    Returns
    -------
        Thickness that counts for strength [mm]
    """
    return thickness(gauge, "manufacturers")


def sheet_mass(gauge: int, *, galvanised: bool) -> float:
    """Mass of steel sheet.

    Parameters
    ----------
    gauge
        Sheet gauge number [-]
    galvanised
        Whether the zinc of the galvanised scale is on it.

    Returns
    -------
        Mass per area [kg/m2]

    References
    ----------
    15 U.S.C. 206 for the bare weight; plus 2.5 oz/ft2 of zinc (secondary). Thinner coatings, such as
    0.90 oz/ft2, weigh less.
    """
    pounds = STATUTE_GAUGES[gauge].weight + (ZINC_WEIGHT if galvanised else 0.0)
    return pounds * POUND / SQUARE_FOOT


def tube_mass(outside_diameter: float, wall: float, density: float = STEEL_DENSITY) -> float:
    """Mass of round tube without couplings or zinc.

    Parameters
    ----------
    outside_diameter
        Outside diameter [mm]
    wall
        Wall thickness [mm]
    density
        Density of the metal [kg/m3]

    Returns
    -------
        Mass per length [kg/m]

    References
    ----------
    ASME B36.10M: plain-end mass = 10.69 (D - t) t lb/ft in inches, which is pi (D - t) t times 7850 kg/m3.
    """
    return math.pi * (outside_diameter - wall) * wall * density / 1e6


def pounds_per_foot(kilograms_per_metre: float) -> float:
    """Mass per length in the trade's unit.

    Parameters
    ----------
    kilograms_per_metre
        Mass per length [kg/m]

    Returns
    -------
        Mass per length [lb/ft]
    """
    return kilograms_per_metre * M_PER_FOOT / POUND
