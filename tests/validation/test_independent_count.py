"""Plans against a second count and a second search for the least cost, on structures easy, awkward and hostile.

The second count is written from the trade's rules alone and shares no code with the service: heights, gaps, lengths,
places, layers, screw lengths, counts, spares and packs. The second search states the courses as an integer program
for OR-Tools' CP-SAT. Rules: common practice, no source.
"""

import json
from copy import deepcopy
from pathlib import Path
from typing import Any, Final

import pytest

from service.planner.asked.catalog_rules import read_catalog
from tests.planner.asking import plan_of, request
from tests.planner.scenarios import demo_document, without_items
from tests.validation.independent_compare import compare
from tests.validation.independent_cost import Course, least_cost, metal_course, panel_course
from tests.validation.independent_count import movement
from tests.validation.independent_job import Document, job_of

DEMO: Final = demo_document()
TWO_PIECE: Final = without_items(DEMO, "HP10-8FT", "HP10-3M")
"""The demo stock list with nothing but two-piece joint profiles for 10 mm"""
DEMO_STRUCTURE: Final = Path(__file__).parents[2] / "deploy" / "demo-structure.json"


def _left(**structure: Any) -> dict[str, Any]:
    return {"sides": ["left"], **structure}


STRUCTURES: Final[dict[str, Document]] = {
    "small and plain": request(structure={"bays": 6, "bay_spacing": "4 ft"}),
    "flaps at both ends of a rigid front": request(
        structure=_left(bays=9, bay_spacing="5 ft", end_walls={"front": "polycarbonate"}),
        wall={"panel_thickness": "6 mm", "height": "23 in"},
        options={"wind_flaps": ["left-front", "left-back"], "rope_hooks": {"spacing": "2 ft"}},
    ),
    "unequal bays and an opening with a stud": request(
        structure={
            "stations": ["0", "5 ft", "9 ft 6 in", "13 ft 6 in", "19 ft", "23 ft 11 in"],
            "end_walls": {"front": "open"},
            "openings": [{"side": "left", "offset": "14 ft 2 in", "width": "4 ft"}],
        },
        wall={"height": "30 in"},
    ),
    "metric, rigid ends, an opening between two studs": request(
        structure={
            "bays": 8, "bay_spacing": "1.5 m", "sides": ["right"], "hip_height": "1.6 m",
            "end_walls": {"front": "polycarbonate", "back": "polycarbonate"},
            "openings": [{"side": "right", "offset": "4.6 m", "width": "1.2 m"}],
            "post": {"width": "60 mm", "wall_thickness": "2 mm", "height_above_grade": "700 mm"},
            "bow": {"width": "50 mm", "wall_thickness": "1.5 mm"},
        },
        wall={"panel_thickness": "10 mm"},
        display_units="metric",
    ),
    "sides of different heights": request(
        structure={"bays": 7, "bay_spacing": "4 ft", "post": {"height_above_grade": "40 in"}},
        wall={"panel_thickness": "10 mm", "per_side": {"right": {"height": "35 in"}, "left": {"height": "18 in"}}},
    ),
    "buried foot and profiles of full height": request(
        structure=_left(bays=10, bay_spacing="4 ft", post={"height_above_grade": "30 in"}),
        wall={"panel_thickness": "16 mm", "height": "36 in", "bury_depth": "10 in",
              "joint_profile_extent": "full_height"},
        options={"trench": {"width": "8 in", "depth": "12 in"}},
    ),
    "square posts, end covers, laid from the back": request(
        structure={
            "bays": 12, "bay_spacing": "4 ft",
            "post": {"shape": "square", "width": "2 in", "height_above_grade": "30 in"},
        },
        wall={"end_cover": "3/4 in"},
        options={"lay_from": "back"},
    ),
    "curved bows nested in their posts": request(
        structure={
            "bays": 5, "bay_spacing": "1.8 m",
            "post": {"width": "60 mm", "wall_thickness": "3 mm", "height_above_grade": "400 mm"},
            "bow": {"width": "48 mm", "wall_thickness": "2 mm", "nest_depth": "150 mm", "profile": "curved",
                    "radius": "4.5 m"},
        },
        wall={"panel_thickness": "16 mm", "top_above_post": "150 mm"},
        display_units="metric",
    ),
    "upright flutes": request(structure={"bays": 8, "bay_spacing": "4 ft"}, wall={"flutes": "upright"}),
    "stock on hand": request(
        structure=_left(bays=11, bay_spacing="4 ft"),
        on_hand=[
            {"sku": "PC08-48x144", "length": "100 in", "height": "24 in", "count": 3},
            {"sku": "BB06-12L", "length": "8 ft", "count": 2},
        ],
    ),
    "nothing longer than ten feet, no curtain, no spares": request(
        structure={"bays": 13, "bay_spacing": "4 ft", "roll_up_sides": False},
        options={"longest_stock": "10 ft 3 in", "spares_percent": 0},
    ),
    "a wall so low that a locating screw replaces a field screw": request(
        structure={"bays": 4, "bay_spacing": "4 ft"}, wall={"panel_thickness": "6 mm", "height": "12 3/4 in"}
    ),
    "a wall too low for field screws": request(
        structure={"bays": 4, "bay_spacing": "4 ft"}, wall={"panel_thickness": "6 mm", "height": "10 in"}
    ),
    "a hot and cold place": request(
        structure=_left(bays=9, bay_spacing="2 m", hip_height="1.4 m", end_walls={"back": "open"}),
        wall={"panel_thickness": "10 mm", "height": "800 mm"},
        site={"install_temperature_c": 5, "lowest_temperature_c": -40, "highest_temperature_c": 70},
        options={"wind_flaps": ["left-back"]},
        display_units="metric",
    ),
    "an opening from post to post in the middle of three bays": request(
        structure={"bays": 3, "bay_spacing": "10 ft",
                   "openings": [{"side": "left", "offset": "10 ft", "width": "10 ft"}]},
    ),
    "an opening from the first post on": request(
        structure=_left(bays=6, bay_spacing="5 ft", openings=[{"side": "left", "offset": "0", "width": "4 ft"}])
    ),
    "two flaps over one bow": request(
        structure=_left(bays=2, bay_spacing="6 ft"), options={"wind_flaps": ["left-front", "left-back"]}
    ),
    "hooks as close as they go": request(
        structure=_left(bays=5, bay_spacing="4 ft"),
        options={"rope_hooks": {"spacing": "8 in"}, "wind_flaps": ["left-front"]},
    ),
    "one metric bay": request(
        structure={"bays": 1, "bay_spacing": "3 m", "sides": ["right"]},
        wall={"panel_thickness": "6 mm"},
        display_units="metric",
    ),
    "posts too thin for the usual screw line": request(
        structure={
            "bays": 6, "bay_spacing": "4 ft",
            "post": {"width": "1.3 in", "wall_thickness": "0.08 in"}, "bow": {"width": "1.3 in"},
        },
        wall={"panel_thickness": "6 mm"},
    ),
    "upright flutes, an opening and a buried foot": request(
        structure=_left(
            bays=8, bay_spacing="4 ft", openings=[{"side": "left", "offset": "12 ft 3 in", "width": "3 ft 2 in"}]
        ),
        wall={"flutes": "upright", "height": "30 in", "bury_depth": "5 in"},
        options={"trench": {"depth": "6 in"}},
    ),
    "a rigid back, end covers, laid from the back": request(
        structure=_left(bays=11, bay_spacing="4 ft", end_walls={"back": "polycarbonate"}),
        wall={"panel_thickness": "10 mm", "end_cover": "1/2 in"},
        options={"lay_from": "back", "wind_flaps": ["left-back"]},
    ),
    "one side buried deeper": request(
        structure={"bays": 8, "bay_spacing": "1.4 m", "post": {"height_above_grade": "900 mm"}},
        wall={"panel_thickness": "16 mm", "height": "700 mm",
              "per_side": {"left": {"bury_depth": "150 mm", "height": "850 mm"}}},
        options={"trench": {"width": "200 mm", "depth": "300 mm"}},
        display_units="metric",
    ),
}  # fmt: skip

SEARCHED: Final = [
    name
    for name in STRUCTURES
    if "unequal" not in name and "metric, rigid" not in name and "different" not in name
]
"""Small enough for a general solver to prove within a second or so"""


def _plan(body: Document, document: Document) -> Document:
    return dict(plan_of(body, read_catalog(document)))


def _differences(body: Document, document: Document, plan: Document) -> list[str]:
    return [
        f"{d.rule}: {d.what}: counted {d.counted}, planned {d.planned}"
        for d in compare(body, document, plan).differences
    ]


@pytest.mark.parametrize("name", STRUCTURES)
def test_the_second_count_agrees(name: str) -> None:
    """Every height, gap, length, place, layer and count is what the rules give for the joints that the plan chose."""
    assert not _differences(STRUCTURES[name], DEMO, _plan(STRUCTURES[name], DEMO))


def test_the_second_count_agrees_on_two_piece_profiles() -> None:
    """No screw passes between the panel ends, so its diameter asks for no room: 1/8 in web, c = roundup(G / 2)."""
    body = request(structure={"bays": 10, "bay_spacing": "4 ft"}, wall={"panel_thickness": "10 mm"})
    assert not _differences(body, TWO_PIECE, _plan(body, TWO_PIECE))


@pytest.mark.parametrize("name", SEARCHED)
def test_no_general_solver_finds_a_cheaper_plan(name: str) -> None:
    """The three objectives are the least that CP-SAT proves over all joints and all cuttings."""
    body = STRUCTURES[name]
    job, plan = job_of(body, DEMO), _plan(body, DEMO)
    courses: dict[str, Course] = {"sheet": panel_course(job, movement(job))}
    courses |= {role: metal_course(job, role) for role in ("baseboard", "top_channel")}
    planned = {m["role"]: m["objective"] for m in plan["cutting"]["materials"] if m["role"] in courses}
    assert planned == {role: f"{least_cost(course) / 100:.2f}" for role, course in courses.items()}


def test_the_second_count_agrees_on_the_demo_tunnel() -> None:
    """A tunnel of 88 ft with a doorway and two wind flaps, whole sheets among its panels."""
    body = json.loads(DEMO_STRUCTURE.read_text("utf-8"))
    assert not _differences(body, DEMO, _plan(body, DEMO))


def _longer_panel(plan: Document) -> None:
    plan["layout"]["runs"][0]["panels"][1]["length_mm"] += 1.5875


def _moved_hook(plan: Document) -> None:
    plan["layout"]["runs"][0]["rope_hooks"][2]["x_mm"] += 1


def _one_screw_more(plan: Document) -> None:
    plan["fastener_schedule"]["rows"][0]["count"] += 1


def _one_plate_less(plan: Document) -> None:
    plan["layout"]["runs"][1]["splice_plates"].pop()


def _thinner_layer(plan: Document) -> None:
    plan["fastener_schedule"]["rows"][3]["layers"][1]["thickness_mm"] -= 0.1


def _wider_gap(plan: Document) -> None:
    plan["layout"]["movement"]["joint_gap_mm"] += 1.5875


def _fewer_spares(plan: Document) -> None:
    next(line for line in plan["bill_of_materials"]["lines"] if line["role"] == "washer")["spare"] -= 1


def _one_cut_less(plan: Document) -> None:
    plan["cutting"]["materials"][1]["stock"][0]["patterns"][0]["crosscuts"] -= 1


def _piece_cut_twice(plan: Document) -> None:
    cuts = plan["cutting"]["materials"][2]["stock"][0]["patterns"][0]["cuts"]
    cuts[0]["pieces"].append(cuts[0]["pieces"][0])


@pytest.mark.parametrize(
    "spoil",
    [
        _longer_panel,
        _moved_hook,
        _one_screw_more,
        _one_plate_less,
        _thinner_layer,
        _wider_gap,
        _fewer_spares,
        _one_cut_less,
        _piece_cut_twice,
    ],
)
def test_the_second_count_sees_a_spoilt_plan(spoil: Any) -> None:
    """One number changed is found, so that agreement means something."""
    body = STRUCTURES["small and plain"]
    plan = deepcopy(_plan(body, DEMO))
    spoil(plan)
    assert _differences(body, DEMO, plan)
