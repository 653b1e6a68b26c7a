"""Polycarbonate sheet: published properties and tables.

Property table: encyclopaedia article Polycarbonate (expansion 65 to 70e-6 /K,
conductivity 0.19 to 0.22 W/mK). Association: European polycarbonate sheet association, questions and
installation page (0.065 mm/m K). Grower's table of glazings, 2001 (10, 16,
25 mm). eXtension greenhouse energy course, unit 2.6, glazing materials (single and double layers).
Rasheed, Lee and Lee, Spanish Journal of Agricultural Research, article 10777 (double film saves 34 per cent).
"""

import pytest

from service.planner.engineering.glazing import (
    DOUBLE_LAYER,
    POLYCARBONATE_CONDUCTIVITY,
    SHEETS,
    SINGLE_LAYER,
    heat_flow,
    sheet_transmittance,
    supported_difference,
)
from service.planner.engineering.quantities import (
    BTU_PER_HOUR,
    BTU_TRANSMITTANCE,
    FAHRENHEIT_DEGREE,
    SQUARE_FOOT,
)
from service.planner.rules import THERMAL_EXPANSION


def test_properties_lie_in_the_published_ranges() -> None:
    """Property table: expansion and conductivity; the association's 0.065 mm per metre and kelvin."""
    assert 65e-6 <= THERMAL_EXPANSION <= 70e-6
    assert 0.19 <= POLYCARBONATE_CONDUCTIVITY <= 0.22


@pytest.mark.parametrize(("thickness", "u"), [(10, 3.2), (16, 2.4), (25, 1.6)])
def test_the_growers_table(thickness: int, u: float) -> None:
    """10, 16 and 25 mm: U as printed; by layers (10 and 16 mm) U agrees within 6 per cent."""
    assert SHEETS[thickness].transmittance == u
    if thickness < 25:
        # the table's two figures and the unknown ribs; the 25 mm sheet's inner walls are not printed
        assert sheet_transmittance(SHEETS[thickness]) == pytest.approx(u, rel=0.06)


@pytest.mark.parametrize(("thickness", "declared"), [(4, 3.9), (6, 3.6), (8, 3.3)])
def test_usual_declared_values(thickness: int, declared: float) -> None:
    """Trade-wide values (from memory) against the values by layers."""
    # sources differ by 5 per cent: 4 mm is 4.09 by layers
    assert sheet_transmittance(SHEETS[thickness]) == pytest.approx(declared, rel=0.05)


@pytest.mark.parametrize(("layer", "least", "most"), [(SINGLE_LAYER, 5.7, 6.8), (DOUBLE_LAYER, 3.4, 4.0)])
def test_film_baselines_of_extension(layer: tuple[float, float], least: float, most: float) -> None:
    """Unit 2.6: single layer 1.0 to 1.2 Btu/h ft2 degF (5.7 to 6.8 W/m2K), double 0.6 to 0.7 (3.4 to 4.0)."""
    # one place
    assert layer == pytest.approx((least, most), abs=0.05)


def test_double_film_saves_about_a_third() -> None:
    """Unit 2.6 says about 35 per cent less heat than single; Rasheed, Lee and Lee measured 34."""
    careful = 1 - DOUBLE_LAYER[1] / SINGLE_LAYER[0]
    middle = 1 - sum(DOUBLE_LAYER) / sum(SINGLE_LAYER)
    # their own U values give 30 to 41 per cent
    assert careful == pytest.approx(0.30, abs=0.001)
    assert all(careful < published < middle for published in (0.34, 0.35))


@pytest.mark.parametrize(("old", "saved"), [(1.10, 12480), (0.70, 2880)])
def test_heat_by_hand(old: float, saved: float) -> None:
    """Derived: 480 ft2 x 50 degF x (1.10 - 0.58) = 12480 Btu/h; from 0.70: 2880."""
    watts = heat_flow(480 * SQUARE_FOOT, (old - 0.58) * BTU_TRANSMITTANCE, 50 * FAHRENHEIT_DEGREE)
    assert watts / BTU_PER_HOUR == pytest.approx(saved)


@pytest.mark.parametrize("thickness", [4, 6, 8, 10])
def test_twin_wall_is_never_claimed_to_beat_double_film(thickness: int) -> None:
    """Unit 2.6 puts every double layer at 0.6 to 0.7: the difference is inside that range."""
    assert supported_difference(SHEETS[thickness], "double") == 0


def test_twin_wall_against_single_film() -> None:
    """At least 1.0 - 0.7 = 0.3 Btu: 480 ft2 x 50 degF x 0.3 = 7200 Btu/h."""
    sheet = SHEETS[8]
    difference = supported_difference(sheet, "single")
    saved = heat_flow(480 * SQUARE_FOOT, difference, 50 * FAHRENHEIT_DEGREE)
    # 4 mm alone is worse than the double-layer range; 8 mm is not
    assert saved / BTU_PER_HOUR == pytest.approx(7200)


def test_triple_wall_beats_double_film() -> None:
    """16 mm at 2.4 against 3.4 W/m2K: one square metre and one kelvin save 1.0 W."""
    saved = heat_flow(1.0, supported_difference(SHEETS[16], "double"), 1.0)
    # 0.6 Btu is 3.407 W/m2K
    assert saved == pytest.approx(1.007, abs=0.001)
