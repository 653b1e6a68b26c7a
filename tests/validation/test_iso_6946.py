"""ISO 6946:2007, Building components: thermal resistance and thermal transmittance.

Air layers (unventilated, horizontal heat flow) and surface resistances as coded in a public building physics
library. U of sheet: worked from them, wall thicknesses from memory.
"""

import pytest

from service.planner.engineering.glazing import (
    INSIDE_RESISTANCE,
    OUTSIDE_RESISTANCE,
    SHEETS,
    air_layer_resistance,
    sheet_transmittance,
    transmittance,
)
from service.planner.engineering.quantities import BTU_TRANSMITTANCE


@pytest.mark.parametrize(
    ("gap", "resistance"),
    [(0, 0.0), (5, 0.11), (7, 0.13), (10, 0.15), (15, 0.17), (25, 0.18), (50, 0.18), (2000, 0.18)],
)
def test_air_layers(gap: float, resistance: float) -> None:
    """Table of unventilated air layers, horizontal heat flow; no more than 0.18 beyond 25 mm."""
    assert air_layer_resistance(gap) == pytest.approx(resistance, abs=1e-12)


def test_air_layers_are_straight_between_rows() -> None:
    """Intermediate values by linear interpolation: 6 mm lies half way between 0.11 and 0.13."""
    assert air_layer_resistance(6) == pytest.approx(0.12)


def test_surfaces_alone() -> None:
    """Rsi 0.13 and Rse 0.04: no layer at all would still be 5.88 W/m2K."""
    assert (INSIDE_RESISTANCE, OUTSIDE_RESISTANCE) == (0.13, 0.04)
    assert transmittance([], 0.0) == pytest.approx(1 / 0.17)


@pytest.mark.parametrize(
    ("thickness", "metric", "imperial"),
    [(4, 4.09, 0.721), (6, 3.50, 0.617), (8, 3.28, 0.577), (10, 3.14, 0.553), (16, 2.27, 0.399)],
)
def test_transmittance_of_multiwall_sheet(thickness: int, metric: float, imperial: float) -> None:
    """By layers, 16 mm as triple wall; in W/m2K and Btu/h ft2 degF."""
    found = sheet_transmittance(SHEETS[thickness])
    # two places; a tenth of a millimetre of wall, which nobody prints, moves U by 0.01
    assert found == pytest.approx(metric, abs=0.012)
    assert found / BTU_TRANSMITTANCE == pytest.approx(imperial, abs=0.0025)


def test_an_eight_millimetre_sheet_by_hand() -> None:
    """0.13 + 0.13 + 2 x 0.0005 / 0.20 + 0.04 = 0.305; 1 / 0.305 = 3.279 W/m2K."""
    assert sheet_transmittance(SHEETS[8]) == pytest.approx(1 / 0.305)
