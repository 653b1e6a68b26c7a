"""Three walls worked by hand with the default rules, number by number: metric, an opening, rigid ends with a flap.

Rules: common practice, no source. Expansion of the sheet 65e-6 /K (EN 16153 type value, from memory), sheet
temperatures 15 / 50 / -25 degC, allowances 18.00 a panel joint, 2.00 a metal joint, 1.50 a cut, posts of 1.9 in.
"""

from itertools import pairwise
from typing import Any

import pytest

from service.planner.answer.shapes import Plan
from service.planner.asked.catalog_rules import read_catalog
from service.planner.errors import NoPieceFits
from tests.planner.asking import INCH, inches, line, material, plan_of, request, screws
from tests.planner.scenarios import Document, example_a_document, with_item, with_items, with_part


@pytest.fixture(scope="module")
def metric() -> Plan:
    """Plan scenario 1: 12 bays of 1.5 m on the left, 700 mm wall of 8 mm, film ends, one size of everything.

    Stock: sheet 2100 x 6000 mm at 217.00; joint profile 3 m, web 1.6 mm, reach 26 mm; board 3.075 m at 24.90, face
    150 mm, lap 75 mm; channel 4 m at 18.00, slot 19 mm, flange 25 mm; film channel 38 mm wide; tape 50 mm wide.
    """
    stock = with_item(example_a_document(), "sheet", price="217.00")
    for sku, sizes in {
        "sheet": {"length": "6 m", "width": "2100 mm"},
        "joint-profile": {"length": "3 m", "web": "1.6 mm", "reach": "26 mm"},
        "board": {
            "length": "3.075 m",
            "face": "150 mm",
            "lap": "75 mm",
            "upper_line": "130 mm",
            "lower_line": "20 mm",
        },
        "channel": {"length": "4 m", "slot_depth": "19 mm", "flange": "25 mm"},
        "plate": {"length": "150 mm"},
        "film-channel": {"length": "3 m", "width": "38 mm"},
        "foil": {"width": "50 mm"},
    }.items():
        stock = with_part(stock, sku, **sizes)
    body = request(
        structure={
            "bays": 12,
            "bay_spacing": "1.5 m",
            "sides": ["left"],
            "post": {"height_above_grade": "900 mm"},
        },
        wall={"height": "700 mm"},
        display_units="metric",
    )
    return plan_of(body, read_catalog(with_item(stock, "board", price="24.90")))


def test_metric_strips_lose_two_millimetres_to_the_saw(metric: Plan) -> None:
    """floor((2100 + 3) / (700 - 3 + 3)) = 3 strips; (2100 - 2 x 3) / 3 = 698 mm."""
    panels = metric["layout"]["runs"][0]["panels"]
    assert {panel["height_mm"] for panel in panels} == {698}


def test_metric_gap_follows_the_span_that_keeps_its_bite(metric: Plan) -> None:
    """Four bays do not keep 12 mm in the profile, three do: G = 10.2375, c = 5.119 + 1.613 -> 7, g = 1.6 + 14."""
    # 6000: G = 65e-6 x 6000 x 35 = 13.65; c = 6.825 + (4.826 - 1.6) / 2 = 8.438 -> 9; 26 - 9 - 7.8 = 9.2 mm: too little
    # 4500: G = 10.2375; c = 6.732 -> 7; bite 26 - 7 - 65e-6 x 4500 x 40 / 2 = 26 - 7 - 5.85 = 13.15 mm
    movement = metric["layout"]["movement"]
    assert movement["longest_span_mm"] == 4500
    assert movement["growth_mm"] == pytest.approx(10.2375, abs=1e-3)  # printed to the micrometre
    assert movement["side_gap_mm"] == 7
    assert movement["joint_gap_mm"] == pytest.approx(15.6)


def test_metric_panels_come_from_one_sheet(metric: Plan) -> None:
    """A strip holds four bays at most, so twelve take three strips of two pieces: 217 + 5 x 18 + 6 x 1.50 = 316.00."""
    # four pieces of three bays would be cheaper in joints, but take four strips, so two sheets: 434 + 54 + 6 = 494
    panels = material(metric, "sheet")
    assert (panels["objective"], panels["proven_optimal"]) == ("316.00", True)
    assert [stock["count"] for stock in panels["stock"]] == [1]
    # between joints 1500 n - 15.6, at an end 1500 n - 7.8, rounded down to 1 mm; two in a strip are 5979 with a kerf
    run = metric["layout"]["runs"][0]
    for panel in run["panels"]:
        bays = panel["to_support"] - panel["from_support"]
        at_an_end = panel["from_support"] == 0 or panel["to_support"] == 12
        assert panel["length_mm"] == 1500 * bays - (8 if at_an_end else 16)
    assert len(run["panels"]) == 6


def test_metric_boards_span_two_bays_flush(metric: Plan) -> None:
    """3000 + 75 = 3075 is the whole stick; ends 3000 + 37.5 + 24.13 -> 3061; 6 x 24.90 + 5 x 2 + 2 x 1.50 = 162.40."""
    lengths = [board["length_mm"] for board in metric["layout"]["runs"][0]["baseboards"]]
    assert lengths == [3061, 3075, 3075, 3075, 3075, 3061]
    assert material(metric, "baseboard")["objective"] == "162.40"


def test_metric_channel_stops_at_the_battens(metric: Plan) -> None:
    """Ends 3000 - 1.5 - (19 + 8) = 2971.5 -> 2971, else 3000 - 3; 6 x 18 + 5 x 2 + 6 x 1.50 = 127.00."""
    lengths = [piece["length_mm"] for piece in metric["layout"]["runs"][0]["top_channels"]]
    assert lengths == [2972, 2997, 2997, 2997, 2997, 2972]
    assert material(metric, "top_channel")["objective"] == "127.00"


def test_metric_heights_follow_the_ripped_strip(metric: Plan) -> None:
    """Top 698, channel from 679 to 723, clear 679 - 150 = 529, field at thirds of it, locating 40 above the board."""
    run = metric["layout"]["runs"][0]
    heights = run["elevations"]
    assert (heights["channel_underside_mm"], heights["channel_top_mm"]) == (679, 723)
    assert (heights["clear_height_mm"], heights["locating_screws_mm"]) == (529, 190)
    assert heights["field_screws_mm"] == pytest.approx([326.333, 502.667], abs=1e-3)
    assert {part["length_mm"] for part in run["joint_profiles"]} == {529 - 3}
    assert [part["length_mm"] for part in run["end_battens"]] == [723 - 150] * 2


def test_metric_parts_are_counted(metric: Plan) -> None:
    """13 supports, 5 panel joints, 6 supports between: 13 + 13, 6, 12, 10; battens 2 x 3; channel 5 x 3 + 2 x 2 + 6."""
    places = ("board_upper", "board_lower", "locating", "field", "joint_profile", "batten", "top_channel")
    assert [screws(metric, place) for place in places] == [13, 13, 6, 12, 10, 6, 25]
    # pan 13 + 6 + 12 + 10 = 41, hex 13 + 6 = 19, washers 28, plates 5 + 2, a hook a bay; 10 % spare rounded up
    wanted = {
        "pan-cross-long": (41, 5),
        "hex-long": (19, 2),
        "pan-square-short": (25, 3),
        "washer": (28, 3),
        "plate": (7, 2),
        "hook": (12, 2),
        "joint-profile": (1, 0),
    }
    assert {sku: (line(metric, sku)["required"], line(metric, sku)["spare"]) for sku in wanted} == wanted


def test_metric_tape_is_not_slit(metric: Plan) -> None:
    """12 ends x (698 + 25) = 8676 mm; 8 + 20 = 28 mm is needed, so a roll of 50 mm gives one strip."""
    assert line(metric, "foil")["required"] == pytest.approx(8.676, abs=1e-9)


def _end_cap() -> Document:
    return {
        "sku": "end-cap",
        "description": "end cap",
        "price": "3.00",
        "mass_kg": 0.3,
        "part": {"role": "end_cap", "thickness": "8 mm", "length": "8 ft", "web": "1/16 in", "leg": "1.2 mm"},
    }


@pytest.fixture(scope="module")
def doorway() -> Plan:
    """Plan scenario 2: posts at 0, 48, 96, 150, 198, 258 and 306 in on the left, film ends, a doorway of 36 in.

    The doorway begins at 151 in, a twentieth off the face of P4 at 150.95, so P4 is its near jamb; its far edge at
    187 in gets a stud of 38 mm, centre 187.748. Stock of the hand-solved tunnel, and an end cap with a web of 1/16 in.
    """
    stations = ["0", "48 in", "96 in", "150 in", "198 in", "258 in", "306 in"]
    opening = {"side": "left", "offset": "151 in", "width": "36 in"}
    body = request(
        structure={
            "stations": stations,
            "sides": ["left"],
            "openings": [opening],
            "post": {"height_above_grade": "48 in"},
        }
    )
    return plan_of(body, read_catalog(with_items(example_a_document(), _end_cap())))


def test_doorway_uses_the_post_and_adds_a_stud(doorway: Plan) -> None:
    """P4 keeps its label; the clear opening is 187 - 150.95 = 36.05 in."""
    first, second = doorway["layout"]["runs"]
    assert [s["label"] for s in first["supports"]] == ["P1", "P2", "P3", "P4"]
    assert [s["label"] for s in second["supports"]][1:] == ["P5", "P6", "P7"]
    assert (first["back_end"], second["front_end"], second["supports"][0]["width_mm"]) == ("jamb", "jamb", 38)
    assert second["supports"][0]["station_mm"] == pytest.approx(187 * INCH + 19)
    assert inches(doorway["layout"]["openings"][0]["clear_width_mm"]) == 36.05


def test_doorway_gap_comes_from_the_second_run_in_one_piece(doorway: Plan) -> None:
    """L = 306 - 187.748 = 118.252; G = 0.2690 in; c = 0.1345 + 0.0638 = 0.1983 -> 1/4; g = 9/16; room 0.1345 -> 3/16."""
    movement = doorway["layout"]["movement"]
    assert movement["longest_span_mm"] == pytest.approx(119 * INCH - 19)
    assert (inches(movement["joint_gap_mm"]), inches(movement["end_room_mm"])) == (0.5625, 0.1875)


def test_doorway_panels_fill_one_sheet(doorway: Plan) -> None:
    """Two joints let four pieces share the two strips of one sheet: 48 + 2 x 18 + 4 x 1.50 = 90.00."""
    # with one joint the run of 118 3/4 needs a strip of its own and the other two do not share: 96 + 18 + 4.50
    # end cover at P4 0.95 - 1/16 - 3/16 = 0.7, at the stud 0.748 - 1/4 = 0.498
    # 96 - 0.28125 -> 95 11/16 and 48 - 0.28125 -> 47 11/16 are 143.5 in with a kerf: one strip
    # 54 - 0.28125 + 0.7 -> 54 3/8 and 70.252 - 0.28125 + 0.498 -> 70 7/16 are 124.94 in: the other
    # no other two joints give two strips: {102 3/8, 47 11/16} is 150 in, {107 11/16, 47 11/16} 155, {107 11/16, 54 3/8} 162
    assert material(doorway, "sheet")["objective"] == "90.00"
    lengths = [[inches(p["length_mm"]) for p in run["panels"]] for run in doorway["layout"]["runs"]]
    assert lengths == [[95.6875, 54.375], [70.4375, 47.6875]]
    assert [run["panel_joints"][0]["label"] for run in doorway["layout"]["runs"]] == ["P3", "P6"]


def test_doorway_boards_take_three_sticks(doorway: Plan) -> None:
    """Run two 306 - 187 + 0.95 -> 119 15/16 in one; run one lapped once: 3 x 24 + 2 + 3 x 1.50 = 78.50."""
    # two sticks of 147 never hold both runs: the nearest, 98 7/16 and 50 7/16 with a kerf, is 149 in
    boards = [[inches(b["length_mm"]) for b in run["baseboards"]] for run in doorway["layout"]["runs"]]
    assert material(doorway, "baseboard")["objective"] == "78.50"
    assert boards[1] == [119.9375]
    # lapped on P2: 48 + 1.5 + 0.95 and 102 + 2.45; on P3: 96 + 2.45 and 54 + 2.45, rounded down
    assert boards[0] in ([50.4375, 104.4375], [98.4375, 56.4375])


def test_doorway_channel_fills_two_sticks(doorway: Plan) -> None:
    """Flush with the jambs' outer faces: 94 7/8 + 46 7/8 and 54 7/8 + 70 15/16: 2 x 18 + 2 x 2 + 4 x 1.50 = 46.00."""
    # 96 - 1 1/16 - 1/16; 54 - 1/16 + 0.95; 70.252 + 0.748 - 1/16; 48 - 1/16 - 1 1/16; 141.875 and 125.94 in with kerfs
    assert material(doorway, "top_channel")["objective"] == "46.00"
    lengths = [[inches(c["length_mm"]) for c in run["top_channels"]] for run in doorway["layout"]["runs"]]
    assert lengths == [[94.875, 54.875], [70.9375, 46.875]]


def test_doorway_parts_are_counted(doorway: Plan) -> None:
    """8 supports, 2 joints, 2 posts between, 2 film ends, 2 jambs: washers 2 + 4 + 4 + 4, channel 2 x (3 + 1 + 2 + 1)."""
    places = (
        "board_upper",
        "board_lower",
        "locating",
        "field",
        "joint_profile",
        "batten",
        "jamb_cap",
        "top_channel",
    )
    assert [screws(doorway, place) for place in places] == [8, 8, 2, 4, 4, 6, 4, 14]
    counts = {sku: line(doorway, sku)["required"] for sku in ("washer", "plate", "hook")}
    assert counts == {"washer": 14, "plate": 4, "hook": 6}
    # 8 panel ends x (23 15/16 + 1) = 199.5 in, two strips from a roll: 99.75 in
    assert line(doorway, "foil")["required"] == pytest.approx(99.75 * 0.0254, abs=1e-9)


def test_doorway_hook_beside_the_stud_stays_in_the_middle_of_its_short_bay(doorway: Plan) -> None:
    """Between stud and P5 10.252 in: 5.126 clears the stud's face, 0.748, and P5's centre by 3 in."""
    hooks = [[inches(hook["x_mm"]) for hook in run["rope_hooks"]] for run in doorway["layout"]["runs"]]
    assert hooks[0] == [24, 72, 123]
    assert hooks[1] == pytest.approx([5.126, 40.252, 94.252], abs=1e-3)


@pytest.fixture(scope="module")
def flap() -> Plan:
    """Plan scenario 3: 6 bays of 5 ft on the right, rigid ends, a wind flap in front, hip rail at 60 in.

    Stock of the hand-solved tunnel, and a corner cap 2 in wide of 0.062 in.
    """
    cap: dict[str, Any] = {
        "sku": "corner-cap",
        "description": "corner cap",
        "price": "11.00",
        "mass_kg": 1.0,
        "part": {"role": "corner_cap", "length": "8 ft", "width": "2 in", "metal": "0.062 in"},
    }
    rigid = {"front": "polycarbonate", "back": "polycarbonate"}
    body = request(
        structure={
            "bays": 6,
            "bay_spacing": "5 ft",
            "sides": ["right"],
            "end_walls": rigid,
            "hip_height": "60 in",
            "post": {"height_above_grade": "48 in"},
        },
        options={"wind_flaps": ["right-front"]},
    )
    return plan_of(body, read_catalog(with_items(example_a_document(), cap)))


def test_flap_panels_keep_their_joints_off_the_upright(flap: Plan) -> None:
    """Two bays to a 12 ft strip, no joint on P2: 2 sheets x 48 + 2 x 18 + 3 x 1.50 = 136.50."""
    run = flap["layout"]["runs"][0]
    assert material(flap, "sheet")["objective"] == "136.50"
    assert [joint["label"] for joint in run["panel_joints"]] == ["P3", "P5"]
    # L = 120: G = 0.273, c = 0.1365 + 0.0638 -> 1/4, g = 9/16; ends 120 - 0.28125, between 120 - 0.5625
    assert [inches(panel["length_mm"]) for panel in run["panels"]] == [119.6875, 119.4375, 119.6875]


def test_flap_boards_span_two_bays(flap: Plan) -> None:
    """Ends 120 + 1.5 + 0.95 -> 122 7/16, between 120 + 3: 3 x 24 + 2 x 2 + 3 x 1.50 = 80.50."""
    boards = [inches(board["length_mm"]) for board in flap["layout"]["runs"][0]["baseboards"]]
    assert boards == [122.4375, 123, 122.4375]
    assert material(flap, "baseboard")["objective"] == "80.50"


def test_flap_channel_breaks_at_the_upright(flap: Plan) -> None:
    """First piece 60 - (1 + 0.282) - 3/4 = 57 15/16; four pieces, two of one bay on a stick: 54 + 3 x 2 + 4 x 1.50 = 66."""
    assert material(flap, "top_channel")["objective"] == "66.00"
    pieces = flap["layout"]["runs"][0]["top_channels"]
    assert inches(pieces[0]["length_mm"]) == 57.9375
    # ends at x = 60 - 0.75, less what rounding takes off, and goes on at 60 + 0.75: the upright's width
    assert 1.5 <= inches(pieces[1]["x_start_mm"] - pieces[0]["x_end_mm"]) < 1.5 + 1 / 16
    assert all(inches(b["x_start_mm"] - a["x_end_mm"]) == 0.125 for a, b in list(pairwise(pieces))[1:])


def test_flap_caps_and_upright_are_cut(flap: Plan) -> None:
    """Caps 24 15/16 - 6 = 18 15/16 with their screws 0.34 x 0.83 in inside the end posts; upright 60 - 6 = 54 in on P2."""
    run = flap["layout"]["runs"][0]
    assert [
        (part["role"], inches(part["length_mm"]), inches(part["x_mm"])) for part in run["end_battens"]
    ] == [
        ("corner_cap", 18.9375, 0.2822),
        ("corner_cap", 18.9375, 359.7178),
    ]
    assert [(part["label"], inches(part["length_mm"])) for part in run["uprights"]] == [("P2", 54)]


def test_flap_parts_are_counted(flap: Plan) -> None:
    """7 supports less 2 ends, 2 joints and the upright leave 2; caps 2 x (ceil(18.94 / 12) + 1); channel as below."""
    # upright over the panel ceil(17.9375 / 12) + 1 = 3, above it ceil((60 - 23.9375) / 12) = 4
    # channel: two joints x 3, upright 3, two ends x 2, two supports x 1
    wanted = {
        "board_upper": 7,
        "board_lower": 7,
        "locating": 2,
        "field": 4,
        "joint_profile": 4,
        "batten": 6,
        "upright_over_panel": 3,
        "upright_above_panel": 4,
        "top_channel": 15,
        "jamb_cap": 0,
    }
    assert {place: screws(flap, place) for place in wanted} == wanted
    # plates: two joints, the upright, two ends; the packing's 8 mm leaves 3/4 in too short, so 1-1/2 in goes above too
    # hex 7 + 6 + 3 + 4 = 20, pan 7 + 2 + 4 + 4 = 17, washers 10
    bought = {
        "plate": (5, 2),
        "hex-long": (20, 2),
        "pan-cross-long": (17, 2),
        "pan-square-short": (15, 2),
        "washer": (10, 1),
        "hook": (6, 1),
        "corner-cap": (1, 0),
        "film-channel": (1, 0),
    }
    assert {sku: (line(flap, sku)["required"], line(flap, sku)["spare"]) for sku in bought} == bought


def test_flap_cap_screws_hold_the_panel_alone(flap: Plan) -> None:
    """0.062 + 0.315 + 0.095 = 0.472 in of cap, panel and post, and 0.4875 more: 0.9595 in; the end wall's sheet is no layer."""
    rows = [row for row in flap["fastener_schedule"]["rows"] if row["role"] == "batten"]
    assert {row["sku"] for row in rows} == {"hex-long"}
    assert {tuple(layer["part"] for layer in row["layers"]) for row in rows} == {
        ("corner_cap", "panel", "post")
    }
    assert rows[0]["shortest_screw_mm"] == pytest.approx(0.9595 * INCH, abs=0.02)  # 8 mm is 0.31496 in


def _detail(plan: Plan, step: str) -> str:
    """A step's words."""
    told = next(one["detail"] for one in plan["install_sequence"]["steps"] if one["id"] == step)
    return " ".join(sentence["text"] for sentence in told)


def test_the_steps_say_where_the_screws_of_an_end_post_sit(metric: Plan, doorway: Plan, flap: Plan) -> None:
    """0.282 in, 9/32 and so 5/16 or 7 mm, to the panel's side, because the panel ends on the centre; jambs have no such line."""
    for step in ("right-1-first-board", "right-1-far-end"):
        assert "5/16\" to the panel's side of the post's centre" in _detail(flap, step)
    assert "7 mm to the panel's side" in _detail(metric, "left-1-next-board")
    assert "panel's side" in _detail(doorway, "left-1-first-board")
    assert "panel's side" not in _detail(doorway, "left-1-far-end")


def test_the_steps_say_that_boards_follow_panels_joint_by_joint(flap: Plan) -> None:
    """Each joint is done whole before the next: no run of panels hangs by its locating screws alone."""
    assert "then go on to the next joint" in _detail(flap, "right-1-next-panel")


def test_a_bay_that_no_sheet_bridges_is_told_with_one_that_is_bridged() -> None:
    """Upright flutes: a sheet of 48 in, less an end cover of 1/2 in at both ends, bridges a bay of 47 in."""
    wall = {"flutes": "upright", "end_cover": "1/2 in"}
    vented: Document = {
        "sku": "vented",
        "description": "vented tape",
        "price": "46.00",
        "mass_kg": 0.5,
        "part": {"role": "vented_tape", "width": "3 in", "length": "33 m"},
    }
    stock = read_catalog(with_items(example_a_document(), vented))
    with pytest.raises(NoPieceFits) as caught:
        plan_of(request(structure={"bays": 3, "bay_spacing": "5 ft"}, wall=wall), stock)
    problem = caught.value.errors[0]
    assert (problem.pointer, problem.suggestion) == ("/structure/bay_spacing", "47 in")
    assert plan_of(request(structure={"bays": 3, "bay_spacing": 47 * INCH}, wall=wall), stock)


def test_stations_that_no_sheet_bridges_get_no_number_to_put_there() -> None:
    """The field is a list, so that one number would not be a station list."""
    structure = {"stations": ["0", "5 ft", "10 ft"]}
    with pytest.raises(NoPieceFits) as caught:
        plan_of(request(structure=structure, wall={"flutes": "upright"}), read_catalog(example_a_document()))
    assert [(e.pointer, e.suggestion) for e in caught.value.errors] == [("/structure/stations", None)]
