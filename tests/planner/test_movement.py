"""Gaps, spans and reach. Movement by linear expansion, 65e-6 /K (EN 16153 type value, from memory)."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.planner.asked.catalog import Catalog
from service.planner.errors import NoPieceFits
from service.planner.units import FOOT, INCH, METRE, MILLIMETRE, SIXTEENTH
from service.planner.wall.layout import Movement
from service.planner.wall.movement import movement_at, plan_movement, spans_within
from service.planner.wall.runs import lay_runs
from tests.planner.asking import english, job_of, plan_of, request
from tests.planner.scenarios import catalog_with, demo_catalog, example_a_document, with_part


def movement_of(catalog: Catalog, longest: int = 144 * INCH, **changes: Any) -> Movement:
    """Settle the movement of 22 bays of 4 ft."""
    job = job_of(request(**changes), catalog)
    return plan_movement(job, lay_runs(job)[0], longest)


def test_twelve_feet_on_four_foot_bays_move_a_third_of_an_inch(example_a: Catalog) -> None:
    """65e-6 x 3657.6 mm x 35 K = 8.321 mm; c = 4.16 + (4.826 - 1.5875) / 2 = 5.78 -> 1/4 in; g = 9/16 in."""
    movement = movement_of(example_a)
    assert movement.span == 144 * INCH
    assert movement.growth == pytest.approx(65e-6 * 3657.6 * 35 * MILLIMETRE, abs=1)
    assert (movement.side_gap, movement.gap) == (4 * SIXTEENTH, 9 * SIXTEENTH)
    # capped ends: 4.16 mm rounded up to a sixteenth
    assert movement.end_room == 3 * SIXTEENTH


def test_spans_reach_from_every_support_where_bays_differ(example_a: Catalog) -> None:
    """Bays of 48, 60 and 48 in: single ones, neighbours together, all; none beyond 11 ft. Each once, the shortest first."""
    structure = {"stations": [0, "48 in", "108 in", "156 in"]}
    runs = lay_runs(job_of(request(structure=structure), example_a))[0]
    assert spans_within(runs, 13 * FOOT) == (48 * INCH, 60 * INCH, 108 * INCH, 156 * INCH)
    assert spans_within(runs, 11 * FOOT) == (48 * INCH, 60 * INCH, 108 * INCH)
    uneven = {"stations": [0, "48 in", "120 in", "162 in"]}
    runs = lay_runs(job_of(request(structure=uneven), example_a))[0]
    assert spans_within(runs, 10 * FOOT) == tuple(each * INCH for each in (42, 48, 72, 114, 120))


def test_gaps_are_rounded_up_to_millimetres_in_metric_plans(example_a: Catalog) -> None:
    """5.78 mm -> 6 mm a side; g = 1.5875 + 12."""
    movement = movement_of(example_a, display_units="metric")
    assert movement.side_gap == 6 * MILLIMETRE
    assert movement.gap == 12 * MILLIMETRE + INCH // 16


def test_the_gap_is_never_less_than_an_eighth() -> None:
    """A two-piece profile fitted at its hottest needs none: 1/8 in a side stays."""
    document = with_part(example_a_document(), "joint-profile", pieces="two_piece")
    site = {"install_temperature_c": 50}
    assert movement_of(catalog_with(document), site=site).side_gap == INCH // 8


def test_a_two_piece_profile_needs_no_room_for_a_screw(example_a: Catalog) -> None:
    """Only the growth counts: 4.16 mm -> 3/16 in instead of 1/4."""
    document = with_part(example_a_document(), "joint-profile", pieces="two_piece")
    assert movement_of(catalog_with(document)).side_gap == 3 * SIXTEENTH
    assert movement_of(example_a).side_gap == 4 * SIXTEENTH


def test_a_shallower_profile_shortens_the_panels() -> None:
    """Reach 3/4 in: 12 ft leaves 0.75 - 0.25 - 65e-6 x 144 x 40 / 2 = 0.313 < 1/2 in of bite; 4 ft is what keeps it.

    At 8 ft: G/2 = 0.109, c = 0.109 + 0.064 -> 3/16; 0.75 - 0.1875 - 0.125 = 0.4375 < 1/2. At 4 ft: c = 0.118 -> 1/8;
    0.75 - 0.125 - 0.0624 = 0.5626 in.
    """
    document = with_part(example_a_document(), "joint-profile", reach="3/4 in")
    assert movement_of(catalog_with(document)).span == 4 * FOOT


def test_half_of_the_shrinkage_counts_at_each_end() -> None:
    """Reach 0.92 in: 12 ft leaves 0.92 - 0.25 - 0.3744 / 2 = 0.483 < 1/2; 8 ft leaves 0.92 - 0.1875 - 0.1248 = 0.608."""
    document = with_part(example_a_document(), "joint-profile", reach="0.92 in")
    assert movement_of(catalog_with(document)).span == 8 * FOOT


def test_a_profile_too_shallow_for_one_bay_is_refused() -> None:
    """Reach 5/8 in leaves no bay its bite; the message says which limit."""
    catalog = catalog_with(with_part(example_a_document(), "joint-profile", reach="5/8 in"))
    with pytest.raises(NoPieceFits) as caught:
        plan_of(request(), catalog)
    assert "bite" in english(caught.value.errors[0].detail)


def test_a_bay_longer_than_every_sheet_is_refused_with_one_that_fits(example_a: Catalog) -> None:
    """12 ft bays need 12 ft less half a gap at an end, and less a gap between joints: both fit 144 in."""
    plan_of(request(structure={"bay_spacing": "12 ft", "bays": 3}), example_a)
    document = with_part(example_a_document(), "sheet", length="96 in")
    with pytest.raises(NoPieceFits) as caught:
        plan_of(request(structure={"bay_spacing": "9 ft", "bays": 3}), catalog_with(document))
    problem = caught.value.errors[0]
    assert problem.pointer == "/structure/bay_spacing"
    plan_of(request(structure={"bay_spacing": problem.suggestion, "bays": 3}), catalog_with(document))


@given(st.integers(300, 12_000), st.integers(300, 12_000), st.integers(16, 80), st.integers(16, 80))
def test_gap_grows_with_length_and_heat(shorter: int, longer: int, cooler: int, hotter: int) -> None:
    """A longer panel or a hotter summer never needs less gap."""
    spans = sorted((shorter * MILLIMETRE, longer * MILLIMETRE))
    temperatures = sorted((cooler, hotter))
    gaps = [
        movement_at(job_of(request(site={"highest_temperature_c": t}), demo_catalog()), span).gap
        for t, span in zip(temperatures, spans, strict=True)
    ]
    assert gaps[0] <= gaps[1]


def test_the_gap_does_not_depend_on_the_answer(demo: Catalog) -> None:
    """It comes from the longest span that stock allows: one bay or many, sheets of 12 ft give the gap of 12 ft."""
    site = {"lowest_temperature_c": 0}
    few = movement_of(demo, 144 * INCH, structure={"bays": 3}, site=site)
    many = movement_of(demo, 144 * INCH, structure={"bays": 50}, site=site)
    assert few == many
    assert few.span < 4 * METRE
