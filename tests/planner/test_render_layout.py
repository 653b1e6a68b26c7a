"""Layout and cutting as they are answered: marks on the tape, holes in panels, sheets as sold (by hand, no source)."""

from typing import Any

from tests.planner.asking import material, plan_of, request
from tests.planner.scenarios import demo_catalog


def _run(body: dict[str, Any]) -> Any:
    return plan_of(body, demo_catalog())["layout"]["runs"][0]


def test_every_support_joint_and_hook_is_marked_in_the_order_of_the_tape() -> None:
    """Supports are named, so that the tape is checked as it is pulled."""
    run = _run(
        request(
            structure={
                "bays": 9,
                "sides": ["left"],
                "openings": [{"side": "left", "offset": "29 ft", "width": "30 in"}],
            },
            options={"wind_flaps": ["left-front"]},
        )
    )
    marks = run["marks"]
    assert [mark["x_mm"] for mark in marks] == sorted(mark["x_mm"] for mark in marks)
    said = [mark["at"]["text"] for mark in marks]
    studs = [s["label"] for s in run["supports"] if s["label"].startswith("J")]
    centres = {f"centre of post {s['label']}" for s in run["supports"] if s["label"] not in studs}
    assert centres | {f"centre of jamb stud {label}" for label in studs} <= set(said)
    assert "wind-flap upright on P2" in said
    joints = {f"panel joint on {joint['label']}" for joint in run["panel_joints"]}
    joints |= {
        f"top-channel joint on {plate['label']}" for plate in run["splice_plates"] if plate["kind"] == "joint"
    }
    assert joints <= set(said)
    assert said.count("rope hook") == len(run["rope_hooks"])


def test_a_post_that_is_a_jamb_is_marked_as_one() -> None:
    """It keeps its label."""
    structure = {
        "bays": 6,
        "sides": ["left"],
        "openings": [{"side": "left", "offset": "8 ft", "width": "4 ft"}],
    }
    assert "centre of post P3, which is a jamb" in [
        mark["at"]["text"] for mark in _run(request(structure=structure))["marks"]
    ]


def test_sheets_are_printed_as_sold_whichever_way_they_are_cut() -> None:
    """Upright flutes turn the sheet on the saw, not in the catalog."""
    parts = {item.sku: item.part for item in demo_catalog().document.items}
    for flutes, side in (("along", "length"), ("upright", "width")):
        plan = plan_of(request(structure={"bays": 6}, wall={"flutes": flutes}), demo_catalog())
        for stock in material(plan, "sheet")["stock"]:
            part: Any = parts[stock["sku"]]
            assert (stock["length_mm"] * 10**6, stock["width_mm"] * 10**6) == (part.length, part.width)
            assert stock["cut_along"] == side
        assert "cut_along" not in material(plan, "baseboard")["stock"][0]
