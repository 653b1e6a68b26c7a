"""The hand-solved tunnel: 28 x 88 ft, 22 bays of 4 ft, both sides, every number by hand with the default rules.

Scenario: 1.9 in round posts of 0.095 in wall standing 48 in, 24 in wall of 8 mm sheet, film end walls, no flaps, one
hook a bay; sheets 48 x 144 in; board of 6 in face in 147 in sticks lapped 3 in; channel in 12 ft; one-piece joint
profile, web 1/16 in, reach 1 in; sheet temperatures 15 / 50 / -25 degC. Rules: common practice, no source.
"""

import pytest

from service.planner.answer.shapes import Plan
from service.planner.asked.catalog import Catalog
from tests.planner.asking import INCH, inches, line, material, plan_of, request, screws


@pytest.fixture(scope="module")
def plan(example_a: Catalog) -> Plan:
    """Plan the tunnel once."""
    return plan_of(request(structure={"post": {"height_above_grade": "48 in"}, "width": "28 ft"}), example_a)


def test_supports_number_46(plan: Plan) -> None:
    """22 bays stand on 23 posts a side."""
    assert [len(run["supports"]) for run in plan["layout"]["runs"]] == [23, 23]


def test_strips_are_ripped_to_23_15_16(plan: Plan) -> None:
    """floor(48.125 / (24 - 0.125 + 0.125)) = 2 strips, each (48 - 0.125) / 2 = 23.9375 in."""
    heights = {inches(panel["height_mm"]) for run in plan["layout"]["runs"] for panel in run["panels"]}
    assert heights == {23.9375}


def test_gap_is_nine_sixteenths(plan: Plan) -> None:
    """G = 65e-6 x 3657.6 x 35 = 8.32 mm; c = 0.1638 + (0.190 - 0.0625) / 2 = 0.2276 -> 1/4 in; g = 1/16 + 2/4 = 9/16."""
    movement = plan["layout"]["movement"]
    assert movement["growth_mm"] == pytest.approx(8.321, abs=5e-4)  # printed to the micrometre
    assert movement["side_gap_mm"] == 0.25 * INCH
    assert movement["joint_gap_mm"] == 0.5625 * INCH


def test_panels_cost_660(plan: Plan) -> None:
    """8 sheets x 48 + 14 joints x 18 + 16 crosscuts x 1.50 = 384 + 252 + 24, proven."""
    panels = material(plan, "sheet")
    assert (panels["objective"], panels["lower_bound"], panels["proven_optimal"]) == (
        "660.00",
        "660.00",
        True,
    )
    assert sum(stock["count"] for stock in panels["stock"]) == 8
    assert plan["summary"]["panel_joints"] == 14


def test_boards_cost_394(plan: Plan) -> None:
    """15 sticks x 24 + 14 laps x 2 + 4 crosscuts x 1.50 = 360 + 28 + 6, proven."""
    boards = material(plan, "baseboard")
    assert (boards["objective"], boards["proven_optimal"]) == ("394.00", True)
    assert sum(stock["count"] for stock in boards["stock"]) == 15
    lengths = {inches(piece["length_mm"]) for run in plan["layout"]["runs"] for piece in run["baseboards"]}
    # interior three bays 144 + 3 = 147, end 144 + 1.5 + 0.95 -> 146 7/16, the odd bay 51 or at an end 50 7/16
    assert lengths <= {147.0, 146.4375, 51.0, 50.4375}


def test_channel_costs_322(plan: Plan) -> None:
    """15 sticks x 18 + 14 joints x 2 + 16 crosscuts x 1.50 = 270 + 28 + 24, proven."""
    channel = material(plan, "top_channel")
    assert (channel["objective"], channel["proven_optimal"]) == ("322.00", True)
    ends = [inches(run["top_channels"][0]["length_mm"]) for run in plan["layout"]["runs"]]
    # 144 - 1/16 - 1 1/16 = 142 7/8 over three bays; over one bay 46 7/8, over two 94 7/8
    assert set(ends) <= {142.875, 94.875, 46.875}


def test_joint_profiles_take_three_sticks(plan: Plan) -> None:
    """Clear height 23.9375 - 0.75 - 6 = 17.1875; profile 17 1/16; five of a 96 in stick, so 14 take three."""
    run = plan["layout"]["runs"][0]
    assert run["elevations"]["clear_height_mm"] == 17.1875 * INCH
    assert {part["length_mm"] for part in run["joint_profiles"]} == {17.0625 * INCH}
    assert line(plan, "joint-profile")["required"] == 3


def test_end_battens_take_one_stick(plan: Plan) -> None:
    """From the board's top at 6 to the channel's top at 24.9375: 18 15/16 in; four and three kerfs are 76.125 in."""
    battens = [part for run in plan["layout"]["runs"] for part in run["end_battens"]]
    assert [part["length_mm"] for part in battens] == [18.9375 * INCH] * 4
    assert line(plan, "film-channel")["required"] == 1


def test_every_screw_is_counted(plan: Plan) -> None:
    """Boards 46 + 46; locating 46 - 4 - 14 = 28; field 56; profiles 28; battens 4 x 3; channel 28 + 14 x 3 + 4 x 2."""
    counts = {row: screws(plan, row) for row in ("board_upper", "board_lower", "locating", "field")}
    assert counts == {"board_upper": 46, "board_lower": 46, "locating": 28, "field": 56}
    assert (screws(plan, "joint_profile"), screws(plan, "batten"), screws(plan, "top_channel")) == (
        28,
        12,
        78,
    )


def test_small_parts_are_counted(plan: Plan) -> None:
    """Pan 46 + 112 = 158, hex 46 + 12 = 58, channel 78, washers 112, plates 14 + 4, hooks 44; 10 % spare rounded up."""
    wanted = {
        "pan-cross-long": (158, 16),
        "hex-long": (58, 6),
        "pan-square-short": (78, 8),
        "washer": (112, 12),
        "plate": (18, 2),
        "hook": (44, 5),
    }
    assert {sku: (line(plan, sku)["required"], line(plan, sku)["spare"]) for sku in wanted} == wanted


def test_tape_is_one_slit_roll(plan: Plan) -> None:
    """32 ends x 24.9375 in = 798 in; a 3 in roll slits into floor(3 / 1.065) = 2, so 399 in of roll = 10.1346 m."""
    foil = line(plan, "foil")
    assert foil["required"] == pytest.approx(798 / 2 * 0.0254, abs=1e-9)
    assert foil["packs"] == 1


def test_hooks_stand_in_the_middle_of_their_bays(plan: Plan) -> None:
    """One a bay at 24 in from its posts, clear of laps of 1.5 in either side."""
    hooks = plan["layout"]["runs"][0]["rope_hooks"]
    assert [inches(hook["x_mm"]) for hook in hooks] == [24 + 48 * bay for bay in range(22)]
