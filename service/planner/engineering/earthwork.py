"""Trench volumes: bank, loose, stone.

Rules of this file
------------------
- Quantities only; depth, width and lining come from the spec, cautions from the order of work.
- Swell and stone are common practice, no source.
"""

from typing import Final

from service.planner.records import record

STONE_DENSITY: Final = 1600.0
"""Bulk density of clean stone. Common practice, no source [kg/m3]"""
SWELL: Final = 1.25
"""Loose over bank volume of common earth, of 1.10 in sand to 1.35 in clay. Common practice, no source [-]"""


@record
class TrenchShape:
    """A trench of one section."""

    length: float
    """Along the wall, all runs together [m]"""
    width: float
    """Across [m]"""
    depth: float
    """Below grade [m]"""


def bank_volume(trench: TrenchShape) -> float:
    """Volume of the trench as it lies in the ground.

    Parameters
    ----------
    trench
        The trench.

    Returns
    -------
        Volume [m3]
    """
    return trench.length * trench.width * trench.depth


def loose_volume(trench: TrenchShape, swell: float = SWELL) -> float:
    """Volume of the spoil beside the trench.

    Parameters
    ----------
    trench
        The trench.
    swell
        Loose over bank volume [-]

    Returns
    -------
        Volume [m3]
    """
    return bank_volume(trench) * swell


def stone_mass(trench: TrenchShape, stone_depth: float) -> float:
    """Mass of clean stone laid in the bottom of the trench.

    Parameters
    ----------
    trench
        The trench.
    stone_depth
        Depth of stone, at most the trench's own depth [m]

    Returns
    -------
        Mass [kg]
    """
    return trench.length * trench.width * min(stone_depth, trench.depth) * STONE_DENSITY
