"""Checks against hand arithmetic, and what no plan can be asked to do: a layout held fixed and driven over its limits."""

from dataclasses import replace

import pytest

from service.planner.answer.rendering import render_checks
from service.planner.asked.spec import Site, Wind
from service.planner.engineering.quantities import MILE_PER_HOUR, POUND_FORCE, POUND_PER_SQUARE_FOOT
from service.planner.judging.checks.table import RANK, RULES, run_checks, worst
from service.planner.judging.checks.verdict import Check, Outcome
from service.planner.judging.checks.wind_actions import suction
from service.planner.judging.facts import Facts
from service.planner.sources import BY_ID
from service.planner.writing import ENGLISH, Writer
from tests.planner.asking import INCH, english, plan_of, request
from tests.planner.held import facts_of, on_site, stretched
from tests.planner.scenarios import catalog_with, demo_catalog, example_a_catalog, example_a_document
from tests.planner.walls import with_wall

HOT = Site(highest_temperature_c=70.0)


def checks_of(facts: Facts) -> dict[str, Check]:
    """A plan's checks by id."""
    return {check.id: check for check in run_checks(facts)}


@pytest.fixture(scope="module")
def tunnel() -> Facts:
    """Plan the hand-solved tunnel: 22 bays of 4 ft, 8 mm sheet of 12 ft, posts of 1.9 x 0.095 in, 15/50/-25 degC."""
    return facts_of(request(structure={"width": "28 ft"}), example_a_catalog())


@pytest.fixture(scope="module")
def windy(tunnel: Facts) -> Facts:
    """Put the tunnel where ASCE 7-16 maps 115 mph, exposure C."""
    wind = Wind(basic_speed=115 * MILE_PER_HOUR, standard="ASCE 7-16")
    return on_site(tunnel, replace(tunnel.job.spec.site, wind=wind))


def test_the_tunnel_keeps_nine_sixteenths_of_bite(tunnel: Facts) -> None:
    """Reach 1 in less 1/4 in of gap less half of 65e-6 x 144 x 40: a caution under the association's 20 mm."""
    check = checks_of(tunnel)["joint_bite"]
    # 65e-6 x 144 in x 40 K / 2 = 0.1872 in; 1 - 0.25 - 0.1872 = 0.5628 in
    assert check.capacity == pytest.approx(0.5628 * INCH, abs=0.001)
    assert (check.demand, check.outcome, check.source) == (20.0, "caution", "sheet-association")


def test_the_tunnel_uses_its_gap_as_solved_by_hand(tunnel: Facts) -> None:
    """Half the growth of two 12 ft panels and the No.10 screw between them, of a gap of 9/16 in."""
    check = checks_of(tunnel)["thermal_gap"]
    # 65e-6 x 144 in x 35 K = 0.3276 in, and 0.190 in of screw
    assert check.demand == pytest.approx((0.3276 + 0.190) * INCH, abs=0.01)
    assert check.capacity == pytest.approx(9 / 16 * INCH, abs=1.6)
    assert check.outcome == "pass"


def test_a_lap_is_past_the_drill_point(tunnel: Facts) -> None:
    """Two boards of 0.052 in and a post of 0.095 in; ISO 15480 lets ST4.8 drill 4.4 mm, SAE J78 0.175 in."""
    check = checks_of(tunnel)["drill_capacity"]
    assert check.demand == pytest.approx(0.199 * INCH, abs=0.001)
    assert (check.capacity, check.outcome, check.source) == (4.4, "provided", "iso-15480")
    # 0.190 in and 1/32 in of clearance: 15/64 in is the next drill
    assert "The plan drills 15/64 in in the outer metals first" in english(check.advice)


def test_a_stronger_point_is_named_where_it_is_stocked() -> None:
    """A post of 0.18 in is past a No.10 point 3, 0.173 in; No.12 point 3 drills 0.207 in at least."""
    facts = facts_of(request(structure={"post": {"wall_thickness": "0.18 in"}}), demo_catalog())
    assert "No.12 with point 3" in english(checks_of(facts)["drill_capacity"].advice)


def test_plastic_thicker_than_the_point_jacks(tunnel: Facts) -> None:
    """8 mm are 0.315 in, the point of a No.10-3 0.300 in; behind a batten the step to the bow, 0.12 in, comes on top."""
    check = checks_of(tunnel)["jacking"]
    assert check.demand == pytest.approx(8 + 0.12 * INCH, abs=0.001)
    assert check.capacity == pytest.approx(0.300 * INCH, abs=0.001)
    assert (check.outcome, check.changes) == ("provided", ())


def test_a_thin_wall_is_told_against_the_least_of_its_point(tunnel: Facts) -> None:
    """Above the posts the bow's 0.065 in is all the steel, aluminium being none; a No.10 point 3 is from 0.110 in."""
    check = checks_of(tunnel)["drill_least"]
    assert check.demand == pytest.approx(0.110 * INCH, abs=0.001)
    assert check.capacity == pytest.approx(0.065 * INCH, abs=0.001)


def test_the_washers_cover_the_hole_that_the_crew_drills(tunnel: Facts) -> None:
    """24 in off a 12 ft panel's middle: 0.190 + 2 x 65e-6 x 24 x 40 = 0.315 in, drilled 3/8; with 1/8 all round 5/8.

    An end panel's support lies 24.14 in off: 3/8 + 2 x 0.0628 + 2 x 1/16 = 0.626 in when it has moved, just past 5/8.
    """
    check = checks_of(tunnel)["washer_cover"]
    assert check.demand == pytest.approx(0.6255 * INCH, abs=0.02)
    assert check.outcome == "caution"


def test_the_channel_uses_its_gap(tunnel: Facts) -> None:
    """12 ft less 1/8 in of aluminium, 23.1e-6 for each of 35 K, in a gap of 1/8 in."""
    check = checks_of(tunnel)["channel_gap"]
    assert check.demand == pytest.approx(23.1e-6 * 143.875 * 35 * INCH, abs=0.01)
    assert check.capacity == pytest.approx(INCH / 8)


def test_half_a_batten_covers_the_panel_end(tunnel: Facts) -> None:
    """0.75 in less 0.1872 in of half the shrinking are 0.5628 in, more than 1/2 in."""
    check = checks_of(tunnel)["panel_end_cover"]
    assert check.demand == pytest.approx(INCH / 2)
    assert check.outcome == "pass"
    assert check.capacity == pytest.approx(0.5628 * INCH, abs=0.001)


def test_the_wind_on_a_screw_by_hand(windy: Facts) -> None:
    """The upper screw of the joint profile on P2 or P22 where the end zone reaches, ASCE 7-16, 115 mph, exposure C.

    A quarter of its 4 ft lies within 3 ft of the corner (2 to 6 ft of the tunnel, a tenth of 28 ft being less than
    3 ft). qh = 24.46 psf; partially enclosed, up to 10 ft2: zone 5 1.4 + 0.55, zone 4 1.1 + 0.55; 0.6 W.
    """
    check = checks_of(windy)["wind_pull_out"]
    pressure = 0.6 * 24.46 * (0.25 * 1.95 + 0.75 * 1.65)
    # screws at 11 11/16, 17 3/8 and, in the flange, 24 7/16 in: half way up and down from 17 3/8
    height = (24.4375 - 11.6875) / 2
    force = pressure * 4 * height / 12 * POUND_FORCE
    assert check.demand == pytest.approx(force, rel=0.003)  # the psf form rounds 0.00256 and Kz 0.85
    # 0.85 x 0.095 in x 0.190 in x 310 MPa / 3.0; the newer form, x 1.067 / 2.80, allows more
    assert check.capacity == pytest.approx(0.85 * 0.095 * 0.190 * INCH**2 * 310 / 3.0, abs=0.01)
    assert (check.outcome, check.source) == ("pass", "aisi-s100-12")


def test_the_board_is_held_by_the_newer_form(windy: Facts) -> None:
    """0.90 t d Fu / 2.90 of steel without its zinc, 0.052 - 0.0037 in, under a pan head of 0.357 in at least."""
    check = checks_of(windy)["wind_pull_over"]
    steel = (0.052 - 0.0037) * INCH
    assert check.capacity == pytest.approx(0.90 * steel * 0.357 * INCH * 310 / 2.90, abs=0.01)
    assert check.source == "aisi-s100-16-s3"


def test_suction_in_the_end_zone() -> None:
    """24.46 x 1.95 = 47.70 psf at strength level, 28.62 in allowable stress design (ASCE 7-16, figure 30.3-1).

    The psf form rounds its constant to 0.00256 and Kz to 0.85, together 0.2 per cent.
    """
    wind = Wind(basic_speed=115 * MILE_PER_HOUR, standard="ASCE 7-16")
    assert suction(wind, 0.5, 1.0) / POUND_PER_SQUARE_FOOT == pytest.approx(28.62, rel=0.003)


def test_suction_by_the_eurocode() -> None:
    """Terrain II, 25 m/s: qp(2 m) = 556.0 Pa; area A up to 1 m2 -1.4, inside push 0.2; nothing is taken off."""
    wind = Wind(basic_speed=25.0, standard="EN 1991-1-4", roof_height=2_000_000_000, enclosure="enclosed")
    assert suction(wind, 0.5, 1.0) == pytest.approx(556.0 * 1.6, abs=0.2)
    assert suction(wind, 0.5, 0.0) == pytest.approx(556.0 * 1.3, abs=0.2)


def test_a_dominant_opening_pushes_harder_by_either_standard() -> None:
    """EN 1991-1-4: 1.4 + 0.72 for 1.4 + 0.2; ASCE 7: 1.4 + 0.55 for 1.4 + 0.18."""
    eurocode = Wind(basic_speed=40.0, standard="EN 1991-1-4", enclosure="enclosed")
    american = replace(eurocode, standard="ASCE 7-16")
    for tight, ratio in ((eurocode, 2.12 / 1.6), (american, 1.95 / 1.58)):
        leaky = replace(tight, enclosure="partially_enclosed")
        assert suction(leaky, 0.5, 1.0) / suction(tight, 0.5, 1.0) == pytest.approx(ratio, rel=1e-3)


@pytest.mark.parametrize("standard", ["ASCE 7-16", "EN 1991-1-4"])
def test_an_open_tunnel_is_not_assessed(standard: str) -> None:
    """Neither as asked, nor where both end walls are open; one open end is a dominant opening."""
    wind = {"basic_speed": 40, "standard": standard}
    asked = request(site={"wind": wind | {"enclosure": "open"}})
    ends = request(site={"wind": wind}, structure={"end_walls": {"front": "open", "back": "open"}})
    for body in (asked, ends):
        checks = checks_of(facts_of(body, example_a_catalog()))
        assert (checks["wind"].outcome, "wind_pull_out" in checks) == ("not_assessed", False)
    one = {"end_walls": {"front": "open"}}
    pulls = [
        checks_of(
            facts_of(request(site={"wind": wind | {"enclosure": kind}}, structure=one), example_a_catalog())
        )
        for kind in ("enclosed", "partially_enclosed")
    ]
    assert pulls[0]["wind_pull_out"] == pulls[1]["wind_pull_out"]


def test_what_the_wind_pulls_at_besides_is_said_not_to_be_assessed(windy: Facts) -> None:
    """The rope on the hooks, the film on the battens, heads on profiles, and heads over clearance holes."""
    checks = checks_of(windy)
    for name in ("wind_rope", "wind_film", "wind_profiles", "wind_clearance"):
        assert checks[name].outcome == "not_assessed"
    assert "wind_jamb" not in checks


def test_a_hotter_site_takes_the_room_of_a_gap_laid_for_less(tunnel: Facts) -> None:
    """Held fixed, the gap is used up at 70 degC: 0.3276 x 55 / 35 + 0.190 = 0.705 in of 9/16."""
    check = checks_of(on_site(tunnel, HOT))["thermal_gap"]
    assert check.outcome == "fail"
    assert check.demand == pytest.approx((0.3276 * 55 / 35 + 0.190) * INCH, abs=0.02)


def test_a_colder_site_pulls_the_panels_out(tunnel: Facts) -> None:
    """Held fixed, at -60 degC 1 - 0.25 - 65e-6 x 144 x 75 / 2 = 0.399 in are left, under the relaxed 1/2 in."""
    check = checks_of(on_site(tunnel, Site(lowest_temperature_c=-60.0)))["joint_bite"]
    assert check.capacity == pytest.approx(0.399 * INCH, abs=0.01)
    assert check.outcome == "fail"


def test_a_joint_that_falls_beside_its_post_fails(tunnel: Facts) -> None:
    """A round post of 1.9 in bears 0.34 R = 0.323 in; a joint 3/8 in off misses it."""
    first, *others = tunnel.layout.walls[0].joints
    layout = with_wall(tunnel.layout, joints=(replace(first, drift=9_525_000), *others))
    check = checks_of(replace(tunnel, layout=layout))["joint_drift"]
    assert (check.outcome, check.demand) == ("fail", 9.525)
    assert check.capacity == pytest.approx(0.34 * 0.95 * INCH, abs=0.001)


def test_a_narrower_zone_takes_its_share(windy: Facts) -> None:
    """Bays so wide that the end zone covers none of the first interior support's wall pull with the field's pressure."""
    wide = stretched(windy, 2.0)
    advice = english(checks_of(wide)["wind_pull_out"].advice)
    assert "(0 % in the end zone)" in advice


def test_every_check_has_a_known_source_and_a_name_of_its_own(windy: Facts) -> None:
    """So that /v1/sources explains each, and a client can find a check by its id."""
    checks = run_checks(windy)
    assert len({check.id for check in checks}) == len(checks)
    assert all(check.source in BY_ID for check in checks)


def test_outcome_and_utilisation_tell_the_same(windy: Facts) -> None:
    """What passes is used up to its limit at most; what does not is past it."""
    for check in run_checks(windy):
        if check.utilisation is not None:
            assert (check.utilisation <= 1) == (check.outcome == "pass"), check


def test_what_is_left_to_decide_comes_first(windy: Facts) -> None:
    """Failures, then cautions, then what nobody assessed, what the plan provides for, and what passes."""
    ranks = [RANK[check.outcome] for check in run_checks(windy)]
    assert ranks == sorted(ranks, reverse=True)
    assert {RANK["provided"], RANK["pass"]} <= set(ranks)


def test_the_worst_outcome_of_nothing_is_not_assessed() -> None:
    """An empty list of checks claims nothing."""
    assert worst(()) == "not_assessed"


def test_the_wall_has_the_worst_outcome_that_is_left_to_decide(tunnel: Facts) -> None:
    """What the plan provides for is decided; what is not assessed is said beside it."""
    check = run_checks(tunnel)[0]
    given: tuple[tuple[tuple[Outcome, ...], Outcome], ...] = (
        (("pass", "provided", "not_assessed"), "pass"),
        (("provided", "caution"), "caution"),
        (("caution", "fail", "pass"), "fail"),
        (("not_assessed",), "not_assessed"),
    )
    for outcomes, expected in given:
        assert worst([replace(check, outcome=outcome) for outcome in outcomes]) == expected


def test_rendering_keeps_every_field(tunnel: Facts) -> None:
    """The same names, changes as pointer and value."""
    check = run_checks(tunnel)[0]
    [out] = render_checks([replace(check, changes=(("/wall/height", 600),))], Writer(ENGLISH))
    assert out["changes"] == [{"pointer": "/wall/height", "value": 600}]
    assert (out["id"], out["demand"], out["advice"]) == (
        check.id,
        check.demand,
        Writer(ENGLISH).told(check.advice),
    )


def test_the_table_lists_every_rule_once() -> None:
    """One obvious place for the next one."""
    assert len(set(RULES)) == len(RULES)


def test_a_dealer_sets_the_limits_of_checks() -> None:
    """24 in of wall passes the usual 36 in, and asks for an engineer where the dealer's catalog says 20 in."""
    strict = catalog_with(example_a_document(), limits=[{"name": "engineer_height", "value": "20 in"}])
    outcomes = [
        next(
            check for check in plan_of(request(), catalog)["checks"] if check["id"] == "engineer_wall_height"
        )["outcome"]
        for catalog in (example_a_catalog(), strict)
    ]
    assert outcomes == ["pass", "caution"]


def test_checks_of_wind_name_the_source_of_their_load() -> None:
    """Strength and load have sources of their own."""
    for standard, source in (("ASCE 7-16", "asce-7-16-cladding"), ("EN 1991-1-4", "en-1991-1-4")):
        wind = {"basic_speed": 30, "standard": standard}
        plan = plan_of(request(structure={"bays": 3}, site={"wind": wind}), demo_catalog())
        windy = [check for check in plan["checks"] if check["id"].startswith("wind")]
        assert {check.get("load_source") for check in windy} == {source}
        assert all("load_source" not in check for check in plan["checks"] if "wind" not in check["id"])
