"""Drilling templates: every screw that passes a panel has its hole, where a hand with a tape would put it."""

import math
from collections import Counter
from typing import Any

from service.planner.asked.catalog_rules import read_catalog
from tests.planner.asking import inches, plan_of, request
from tests.planner.scenarios import demo_catalog, demo_document, example_a_catalog, without_items

DOOR: dict[str, Any] = {
    "bays": 6,
    "sides": ["left"],
    "openings": [{"side": "left", "offset": "8 ft", "width": "4 ft"}],
}


def _template(plan: Any, piece: str) -> Any:
    return next(t for t in plan["drilling"]["templates"] if piece in t["pieces"])


def test_the_holes_of_a_first_panel_by_hand() -> None:
    """Bays of 4 ft from the centre of P1; the joint at its far end has no hole.

    Holes 3/8 in, as worked out for the step; a slot 0.190 + 1/16 = 0.2525 in high, the next 16th is 5/16. On P1 the
    screws sit 0.34 x 0.83 = 0.2822 in inside its centre, where the bow is the narrower tube (common practice).
    """
    plan = plan_of(request(structure={"width": "28 ft"}), example_a_catalog())
    first = plan["layout"]["runs"][0]["panels"][0]
    holes = _template(plan, first["id"])["holes"]
    columns: dict[float, list[Any]] = {}
    for hole in holes:
        columns.setdefault(inches(hole["x_mm"]), []).append(hole)
    assert list(columns) == [0.2822, *(48.0 * n for n in range(1, first["to_support"]))]
    slots, *others = columns.values()
    assert all(
        (inches(h["slot"]["height_mm"]), inches(h["slot"]["length_mm"]), h["slot"]["open_end"])
        == (0.3125, 0.2822 + 0.15625, "front")
        for h in slots
    )
    # board's lips at 3/4 and 5 1/4, the batten's three from 1 in above the board to 1 in below the top
    assert [inches(h["z_mm"]) for h in slots] == [0.75, 5.25, 7, 14.96875, 22.9375]
    # clear height 17 3/16: locating at 7 1/2, thirds at 11.729 and 17.458
    for column in others:
        assert [round(inches(h["z_mm"]), 3) for h in column] == [0.75, 5.25, 7.5, 11.729, 17.458]
        assert {h["diameter_mm"] for h in column if "slot" not in h} <= {9.525}


def test_panels_ending_at_a_jamb_have_larger_holes_there() -> None:
    """The end moves most: 0.190 + 2 x 65e-6 x 40 x its distance from the middle, of the longest, in 16ths."""
    plan = plan_of(request(structure=DOOR), demo_catalog())
    needed, found = 0.0, set()
    for run in plan["layout"]["runs"]:
        back = run["back_end"] == "jamb"
        panel = run["panels"][-1 if back else 0]
        holes = _template(plan, panel["id"])["holes"]
        end = (max if back else min)(holes, key=lambda hole: hole["x_mm"])
        needed = max(
            needed, 0.190 + 2 * 65e-6 * 40 * abs(inches(end["x_mm"]) - inches(panel["length_mm"]) / 2)
        )
        found |= {inches(h["diameter_mm"]) for h in holes if h["x_mm"] == end["x_mm"]}
    assert found == {math.ceil(16 * needed) / 16}


def test_every_screw_through_a_panel_has_its_hole() -> None:
    """Counted from the schedule: as many holes as screws that pass a panel, over flaps, a door and rigid ends."""
    body = request(
        structure={**DOOR, "bays": 9, "end_walls": {"front": "polycarbonate"}},
        options={"wind_flaps": ["left-front", "left-back"]},
    )
    plan = plan_of(body, demo_catalog())
    passed: Counter[int] = Counter()
    for row in plan["fastener_schedule"]["rows"]:
        if any(layer["part"] == "panel" for layer in row["layers"]):
            passed[0] += row["count"]
    panels = [t for t in plan["drilling"]["templates"] if t["role"] == "panel"]
    assert sum(t["count"] * len(t["holes"]) for t in panels) == passed[0]
    named = [piece for template in plan["drilling"]["templates"] for piece in template["pieces"]]
    assert len(named) == len(set(named))
    # nothing is drilled off its panel
    for template in panels:
        for hole in template["holes"]:
            assert 0 < hole["x_mm"] < template["length_mm"]
            assert 0 < hole["z_mm"] < template["height_mm"]


def test_a_hole_that_no_washer_covers_is_a_slot_along_the_panel() -> None:
    """As long as the hole would be wide, as high as the screw with its least oversize."""
    document = without_items(demo_document(), "WS-100")
    site = {"install_temperature_c": 0, "highest_temperature_c": 60}
    plan = plan_of(request(site=site), read_catalog(document))
    first = _template(plan, "left-1-panel-1")
    slots = [h["slot"] for h in first["holes"] if "open_end" not in h.get("slot", {"open_end": ""})]
    assert slots
    assert all(slot["length_mm"] > slot["height_mm"] == 7.9375 for slot in slots)


def test_parts_are_drilled_in_place_where_a_row_asks_for_it() -> None:
    """A batten over 8 mm of plastic wants clearance, 0.190 + 1/32 in -> 15/64; heights from its own lower end."""
    plan = plan_of(request(structure={"bays": 4}), example_a_catalog())
    batten = _template(plan, "left-1-batten-front")
    assert (batten["drilled"], batten["count"]) == ("in_place", 4)
    assert [(h["text"], inches(h["diameter_mm"])) for h in batten["holes"]] == [
        ('1"', 0.234375),
        ('9"', 0.234375),
        ("1' 4 15/16\"", 0.234375),
    ]
