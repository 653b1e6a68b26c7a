"""EN 1991-1-4:2005+A1:2010, Eurocode 1: Actions on structures, General actions, Wind actions.

Sheet 1: published calculation sheet, vb = 40.9 m/s, terrain I, z = 5 to 40 m; its peak pressures are wrong.
Sheet 2: published calculation, vb = 27 m/s, terrain I, z = 3.5 m. Sheet 3: vb = 22 m/s, terrain III,
z = 7.02 m. Sheet 4: vb = 25 m/s, terrain 0, z = 28 and 77.36 m. Terrain parameters and wall coefficients:
tables 4.1 and 7.1 as coded in a public steel design library (K. Mela, MIT licence).
"""

import pytest

from service.planner.engineering.wind_eurocode import (
    DOMINANT_PUSH,
    INTERNAL_PUSH,
    TERRAINS,
    Terrain,
    WallArea,
    basic_velocity_pressure,
    exposure_factor,
    external_coefficient,
    net_pressure,
    peak_velocity_pressure,
    roughness_factor,
    terrain_factor,
    turbulence_intensity,
)


@pytest.mark.parametrize(
    ("terrain", "length", "least_height"),
    [("0", 0.003, 1), ("I", 0.01, 1), ("II", 0.05, 2), ("III", 0.3, 5), ("IV", 1.0, 10)],
)
def test_terrain_categories(terrain: Terrain, length: float, least_height: float) -> None:
    """Table 4.1."""
    assert (TERRAINS[terrain].length, TERRAINS[terrain].least_height) == (length, least_height)


def test_basic_velocity_pressure_of_sheet_1() -> None:
    """Sheet 1: qb = 1.046 kPa at 40.9 m/s."""
    # three places of kPa
    assert basic_velocity_pressure(40.9) == pytest.approx(1046, abs=0.6)


@pytest.mark.parametrize(
    ("height", "roughness", "intensity"),
    [
        (5, 1.055, 0.161),
        (5.5, 1.071, 0.158),
        (10, 1.173, 0.145),
        (20, 1.290, 0.132),
        (25, 1.328, 0.128),
        (30, 1.359, 0.125),
        (35, 1.385, 0.123),
        (40, 1.408, 0.121),
    ],
)
def test_roughness_and_turbulence_of_sheet_1(height: float, roughness: float, intensity: float) -> None:
    """Sheet 1, terrain I: cr and Iv."""
    # three places; the sheet carries kr as 0.1698
    assert roughness_factor(height, "I") == pytest.approx(roughness, abs=0.0006)
    assert turbulence_intensity(height, "I") == pytest.approx(intensity, abs=0.0006)


@pytest.mark.parametrize(
    ("height", "printed_factor", "printed_peak", "corrected_peak"),
    [(5, 2.243, 2345, 2474), (10, 2.361, 2468, 2894), (20, 2.479, 2591, 3344), (30, 2.547, 2663, 3620)],
)
def test_sheet_1_prints_wrong_peaks(
    height: float, printed_factor: float, printed_peak: float, corrected_peak: float
) -> None:
    """Sheet 1 multiplies by cr once; expression 4.8 squares it. Both are shown, the corrected one is ours."""
    roughness = roughness_factor(height, "I")
    # the printed value is (1 + 7 Iv) cr: this proves where the slip is; three places
    assert exposure_factor(height, "I") / roughness == pytest.approx(printed_factor, abs=0.0015)
    # whole pascals, from a correction worked with rounded cr
    assert peak_velocity_pressure(40.9, height, "I") == pytest.approx(corrected_peak, abs=1.0)
    assert peak_velocity_pressure(40.9, height, "I") > printed_peak


def test_peak_pressure_of_sheet_2() -> None:
    """Sheet 2: 0.989 kN/m2."""
    # three places
    assert peak_velocity_pressure(27, 3.5, "I") == pytest.approx(989, abs=0.6)


def test_every_step_of_sheet_3() -> None:
    """Sheet 3: kr 0.215389, vm 14.939 m/s, Iv 0.31718482, qp 0.449 kN/m2."""
    assert terrain_factor("III") == pytest.approx(0.215389, abs=1e-6)
    assert roughness_factor(7.02, "III") * 22 == pytest.approx(14.939, abs=6e-4)
    assert turbulence_intensity(7.02, "III") == pytest.approx(0.31718482, abs=1e-8)
    # three places of kN/m2
    assert peak_velocity_pressure(22, 7.02, "III") == pytest.approx(449, abs=0.6)


@pytest.mark.parametrize(
    ("height", "roughness", "intensity", "peak"), [(77.36, 1.585, 0.098, 1658), (28, 1.426, 0.109, 1403)]
)
def test_every_step_of_sheet_4(height: float, roughness: float, intensity: float, peak: float) -> None:
    """Sheet 4, terrain 0 at 25 m/s."""
    # three places each
    assert roughness_factor(height, "0") == pytest.approx(roughness, abs=0.0006)
    assert turbulence_intensity(height, "0") == pytest.approx(intensity, abs=0.0006)
    assert peak_velocity_pressure(25, height, "0") == pytest.approx(peak, abs=1.0)


def test_near_the_ground_the_least_height_holds() -> None:
    """Derived, terrain II, 25 m/s: qb 390.6 Pa, cr 0.701, Iv 0.271, qp 556.0 Pa at 2 m and anywhere below."""
    assert basic_velocity_pressure(25) == pytest.approx(390.6, abs=0.06)
    assert roughness_factor(0.6, "II") == pytest.approx(0.701, abs=0.0006)
    assert turbulence_intensity(0.6, "II") == pytest.approx(0.271, abs=0.0006)
    # one place
    assert peak_velocity_pressure(25, 2.0, "II") == pytest.approx(556.0, abs=0.06)
    assert peak_velocity_pressure(25, 0.3, "II") == peak_velocity_pressure(25, 2.0, "II")


def test_the_roughness_factor_ends_at_two_hundred_metres() -> None:
    """4.3.2: expression 4.4 holds to 200 m; 0.19 ln(200 / 0.05) = 1.576 over terrain II."""
    # three places
    assert roughness_factor(200, "II") == pytest.approx(1.576, abs=6e-4)
    assert roughness_factor(300, "II") == roughness_factor(200, "II")


@pytest.mark.parametrize(
    ("part", "one", "ten"),
    [("A", -1.4, -1.2), ("B", -1.1, -0.8)],
)
def test_wall_coefficients(part: WallArea, one: float, ten: float) -> None:
    """Table 7.1: cpe,1 and cpe,10, and flat beyond 1 and 10 m2."""
    assert external_coefficient(part, 0.5) == one
    assert external_coefficient(part, 10.0) == pytest.approx(ten)
    assert external_coefficient(part, 40.0) == pytest.approx(ten)


def test_wall_coefficient_between_one_and_ten() -> None:
    """Figure 7.2: half way over the logarithm, at 3.1623 m2, the coefficient is the mean."""
    assert external_coefficient("B", 10**0.5) == pytest.approx(-0.95)


def test_net_pressure_without_known_openings() -> None:
    """7.2.9(6), note 2 (from memory): area A outward -1.4 - 0.2 = -1.6, times qp."""
    assert net_pressure(1000, "A", 1.0, INTERNAL_PUSH) == pytest.approx(-1600)


def test_net_pressure_with_a_dominant_opening() -> None:
    """7.2.9(5), expression 7.2 (from memory): cpi = 0.90 x 0.8 = 0.72; A -1.4 - 0.72 = -2.12, B -1.1 - 0.72 = -1.82."""
    assert net_pressure(1000, "A", 1.0, DOMINANT_PUSH) == pytest.approx(-2120)
    assert net_pressure(1000, "B", 1.0, DOMINANT_PUSH) == pytest.approx(-1820)
