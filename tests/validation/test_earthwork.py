"""Earthwork by hand, derived; swell of common earth 20 to 30 per cent, common practice, no source."""

import pytest

from service.planner.engineering.earthwork import TrenchShape, bank_volume, loose_volume, stone_mass
from service.planner.engineering.quantities import M_PER_FOOT

CUBIC_YARD = (3 * M_PER_FOOT) ** 3
TWO_SIDES = TrenchShape(length=192 * M_PER_FOOT, width=0.5 * M_PER_FOOT, depth=1.0 * M_PER_FOOT)


def test_trench_of_two_sides() -> None:
    """2 x 96 ft, 6 in wide, 12 in deep: 96 ft3 = 3.556 yd3."""
    assert bank_volume(TWO_SIDES) / M_PER_FOOT**3 == pytest.approx(96)
    # three places
    assert bank_volume(TWO_SIDES) / CUBIC_YARD == pytest.approx(3.556, abs=6e-4)


def test_swell_of_common_earth() -> None:
    """3.556 yd3 come out as 4.27 to 4.62 loose."""
    loose = loose_volume(TWO_SIDES) / CUBIC_YARD
    assert 3.556 * 1.20 <= loose <= 3.556 * 1.30


def test_stone_never_stands_higher_than_its_trench() -> None:
    """4 in of stone in the same trench: 32 ft3 = 0.906 m3, 1450 kg at 1.6 t/m3; 24 in fill 12 in."""
    # 32 x 0.028317 x 1600 = 1449.8
    assert stone_mass(TWO_SIDES, M_PER_FOOT / 3) == pytest.approx(1449.8, abs=0.1)
    assert stone_mass(TWO_SIDES, 2 * M_PER_FOOT) == pytest.approx(3 * 1449.8, abs=0.3)
