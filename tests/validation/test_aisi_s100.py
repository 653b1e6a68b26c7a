"""AISI S100, North American Specification for the Design of Cold-Formed Steel Structural Members.

Allowable pull-out: allowable-load table for self-drilling screws in a public building record, Fu = 45 ksi,
safety factor 3.0, in pounds, rounded there. Worked values: AISI D110-16, Cold-Formed Steel Framing Design
Guide, p. 1-31 and 2-23, as quoted beside equation J4.4.1-1 in a public re-implementation of chapter J (with
the newer factor of S100-16 supplement 3).
"""

import pytest

from service.planner.engineering.quantities import KSI, MM_PER_INCH, POUND_FORCE
from service.planner.engineering.screw_strength import (
    ALLOWABLE_FACTORS,
    HeadOnSteel,
    ThreadInSteel,
    allowable_pull_out,
    allowable_pull_over,
    pull_out_newer,
    pull_out_older,
    pull_over_newer,
    pull_over_older,
)

THICKNESSES = (0.018, 0.024, 0.030, 0.036, 0.048, 0.060, 0.075, 0.105, 0.125, 0.187, 0.250)
# The record's table; No.10 has no value from 0.187 in, its drill does not reach.
TABLE = {
    0.190: (44, 58, 73, 87, 116, 145, 182, 254, 303),
    0.216: (50, 66, 83, 99, 132, 165, 207, 289, 344, 515, 689),
    0.250: (57, 77, 96, 115, 153, 191, 239, 335, 398, 596, 797),
}
ENTRIES = [
    (diameter, thickness, pounds)
    for diameter, row in TABLE.items()
    for thickness, pounds in zip(THICKNESSES, row, strict=False)
]


def thread(diameter: float, thickness: float, strength: float = 45) -> ThreadInSteel:
    """Return a thread from inches and ksi."""
    return ThreadInSteel(
        diameter=diameter * MM_PER_INCH,
        steel_thickness=thickness * MM_PER_INCH,
        steel_strength=strength * KSI,
    )


def head(diameter: float, thickness: float, strength: float = 45) -> HeadOnSteel:
    """Return a head from inches and ksi."""
    return HeadOnSteel(
        bearing_diameter=diameter * MM_PER_INCH,
        steel_thickness=thickness * MM_PER_INCH,
        steel_strength=strength * KSI,
    )


def test_the_table_is_whole() -> None:
    """All 31 printed entries are held."""
    assert len(ENTRIES) == 31


@pytest.mark.parametrize(("diameter", "thickness", "allowable"), ENTRIES)
def test_older_pull_out_equals_the_published_table(diameter: float, thickness: float, allowable: int) -> None:
    """The table's pounds come out of E4.4.1 and its factor to the pound."""
    pounds = (
        pull_out_older(thread(diameter, thickness)) / ALLOWABLE_FACTORS["pull_out", "older"] / POUND_FORCE
    )
    # rounded to 1 lb there: half a pound, and 0.05 for entries that fall on the half
    assert pounds == pytest.approx(allowable, abs=0.55)


@pytest.mark.parametrize(("strength", "factor"), [(58, 1.29), (65, 1.44)])
def test_stronger_steel_by_the_tables_own_note(strength: float, factor: float) -> None:
    """The same record, note: multiply by 1.29 for Fu = 58 ksi, by 1.44 for 65 ksi."""
    ratio = pull_out_older(thread(0.190, 0.060, strength)) / pull_out_older(thread(0.190, 0.060))
    # two places are printed
    assert ratio == pytest.approx(factor, abs=0.005)


def test_newer_pull_out_of_the_design_guide() -> None:
    """AISI D110-16, p. 2-23, with the newer factor: No.10 in 0.0451 in of 45 ksi gives 306 lb nominal."""
    # whole pounds are printed; 0.0394 stands for 1/25.4 in the millimetre form, under 0.02 per cent here
    assert pull_out_newer(thread(0.190, 0.0451)) / POUND_FORCE == pytest.approx(306, abs=0.55)


def test_newer_pull_over_of_the_design_guide() -> None:
    """AISI D110-16, p. 2-23: 0.400 in head on 0.0566 in of 65 ksi gives 1324 lb nominal."""
    # whole pounds are printed
    assert pull_over_newer(head(0.400, 0.0566, 65)) / POUND_FORCE == pytest.approx(1324, abs=0.55)


@pytest.mark.parametrize(
    ("thickness", "ratio"), [(0.030, 0.867), (0.048, 0.944), (0.065, 0.997), (0.095, 1.067)]
)
def test_editions_disagree_on_pull_out(thickness: float, ratio: float) -> None:
    """Derived: 1.63 t^0.18 crosses 1 at 0.066 in: the newer form is lower in thin metal, higher in thick."""
    found = pull_out_newer(thread(0.216, thickness)) / pull_out_older(thread(0.216, thickness))
    # three places, and the rounding of 0.0394
    assert found == pytest.approx(ratio, abs=0.0007)


def test_editions_disagree_on_pull_over_by_38_per_cent() -> None:
    """Derived: 0.90 / 2.90 against 1.5 / 3.0 leaves 0.621 of the older allowable strength."""
    screw = head(0.400, 0.0239)
    newer = pull_over_newer(screw) / ALLOWABLE_FACTORS["pull_over", "newer"]
    older = pull_over_older(screw) / ALLOWABLE_FACTORS["pull_over", "older"]
    assert newer / older == pytest.approx(0.62069, abs=1e-5)


def test_number_twelve_in_a_tube_wall_by_hand() -> None:
    """No.12 in 0.065 in of 45 ksi: 537.0 lb nominal, 179.0 allowable; newer 535.2 and 191.1: the older governs."""
    screw = thread(0.216, 0.065)
    # 0.85 x 0.065 x 0.216 x 45000 = 537.03
    assert pull_out_older(screw) / POUND_FORCE == pytest.approx(537.03, abs=0.01)
    # 537.03 x 1.63 x 0.065^0.18 = 535.2; one place
    assert pull_out_newer(screw) / POUND_FORCE == pytest.approx(535.2, abs=0.15)
    governing = allowable_pull_out(screw)
    assert governing.form == "older"
    assert governing.force / POUND_FORCE == pytest.approx(179.01, abs=0.01)


def test_thin_metal_is_governed_by_the_newer_pull_out() -> None:
    """At 0.030 in the newer form governs even with its smaller factor: 0.867 / 2.80 is less than 1 / 3.0."""
    assert allowable_pull_out(thread(0.190, 0.030)).form == "newer"


def test_pull_over_of_thin_sheet_by_hand() -> None:
    """0.500 in on 0.0239 in of 45 ksi: older 806.6 lb and 268.9, newer 484.0 and 166.9: the newer governs."""
    screw = head(0.500, 0.0239)
    # 1.5 x 0.0239 x 0.5 x 45000 = 806.6; 0.9 x 0.0239 x 0.5 x 45000 = 484.0; one place
    assert pull_over_older(screw) / POUND_FORCE == pytest.approx(806.6, abs=0.06)
    assert pull_over_newer(screw) / POUND_FORCE == pytest.approx(484.0, abs=0.06)
    governing = allowable_pull_over(screw)
    assert governing.form == "newer"
    assert governing.force / POUND_FORCE == pytest.approx(166.9, abs=0.06)


@pytest.mark.parametrize("diameter", [2.0, 6.4])
def test_a_screw_outside_the_clause_is_refused(diameter: float) -> None:
    """Diameters of 0.08 to 0.25 in are covered."""
    with pytest.raises(ValueError, match="outside"):
        allowable_pull_out(ThreadInSteel(diameter=diameter, steel_thickness=1.5, steel_strength=310))


def test_a_head_under_five_sixteenths_is_refused() -> None:
    """The head or washer must be at least 5/16 in."""
    with pytest.raises(ValueError, match="5/16"):
        allowable_pull_over(head(0.300, 0.048))
