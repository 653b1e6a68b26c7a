"""Notices that save money: said where they hold, silent where they do not, with the plan's own numbers."""

from typing import Any

import pytest

from service.planner.asked.catalog import Catalog
from tests.planner.asking import plan_of, request
from tests.planner.scenarios import catalog_with, example_a_document, with_part


def told(body: dict[str, Any], catalog: Catalog) -> dict[str, Any]:
    """A plan's notices by kind, the first of each."""
    notices: dict[str, Any] = {}
    for notice in plan_of(body, catalog)["notices"]:
        notices.setdefault(notice["id"], notice)
    return notices


def applied(body: dict[str, Any], notice: Any) -> dict[str, Any]:
    """Apply a notice's changes to the request."""
    for change in notice["changes"]:
        _, section, name = change["pointer"].split("/")
        body = body | {section: body.get(section, {}) | {name: change["value"]}}
    return body


def test_the_kerf_that_costs_a_strip_is_told_with_the_height_that_saves_it(example_a: Catalog) -> None:
    """Without a rip tolerance two strips of 24 in and 1/8 in of kerf miss 48 in; 23 15/16 gives two."""
    strict = catalog_with(example_a_document(), limits=[{"name": "rip_tolerance", "value": 0}])
    notice = told(request(), strict)["kerf_loss"]
    assert "gives 1 of 2' 0\"" in notice["text"]
    assert notice["changes"] == [{"pointer": "/wall/height", "value": "23 15/16 in"}]
    assert "kerf_loss" not in told(applied(request(), notice), strict)
    # with the usual tolerance the strips are ripped a sixteenth lower instead
    assert "kerf_loss" not in told(request(), example_a)
    assert "ripped_height" in told(request(), example_a)


def test_a_height_just_over_a_strip_is_told(example_a: Catalog) -> None:
    """25 in gives one strip of 48; 1 1/16 in lower gives two."""
    notice = told(request(wall={"height": "25 in"}), example_a)["one_more_strip"]
    assert notice["changes"] == [{"pointer": "/wall/height", "value": "23 15/16 in"}]
    assert "one_more_strip" not in told(applied(request(), notice), example_a)


def test_an_end_piece_that_misses_the_sheet_by_a_hair_is_told(example_a: Catalog) -> None:
    """End cover 7/8 in: 144 - 9/32 + 7/8 = 144 19/32 in misses 144 by 19/32; without it, it fits."""
    body = request(wall={"end_cover": "7/8 in"})
    notice = told(body, example_a)["end_piece_misses_sheet"]
    assert '5/8"' in notice["text"]  # 19/32 in, to the nearest sixteenth
    assert notice["changes"] == [{"pointer": "/wall/end_cover", "value": 0}]
    fewer = plan_of(request(), example_a)["summary"]["panel_joints"]
    assert fewer <= plan_of(body, example_a)["summary"]["panel_joints"]
    assert "end_piece_misses_sheet" not in told(request(), example_a)


def test_boards_one_lap_short_are_told_with_the_length_that_serves() -> None:
    """A 120 in board on 5 ft bays is two bays without the 3 in lap, so it spans one; 123 in would span two."""
    short = catalog_with(with_part(example_a_document(), "board", length="120 in"))
    notice = told(request(structure={"bays": 8, "bay_spacing": "5 ft"}), short)["stock_one_lap_short"]
    assert "spans one bay less" in notice["text"]
    assert "10' 3\"" in notice["text"]
    longer = catalog_with(with_part(example_a_document(), "board", length="123 in"))
    assert "stock_one_lap_short" not in told(request(structure={"bays": 8, "bay_spacing": "5 ft"}), longer)


def test_joints_that_creep_are_told_with_where_they_first_miss(example_a: Catalog) -> None:
    """12 ft sheets drift 9/32 in at an end piece, then 9/16 more: 27/32 > 0.323 at the second joint."""
    notice = told(
        request(structure={"bays": 9, "sides": ["left"]}, options={"whole_sheets": True}), example_a
    )["untrimmed_joints_creep"]
    assert 'the joint on P7 would fall 7/8"' in notice["text"]  # 27/32 in, to the nearest sixteenth
    assert "2 of 3 sheets laid alone stay whole" in notice["text"]


def test_joints_are_centred_and_whole_sheets_are_told_with_what_they_save(example_a: Catalog) -> None:
    """Nine bays of 4 ft in three 12 ft sheets: two could stay whole, which saves two cuts of 1.50; rule: common practice."""
    body = request(structure={"bays": 9, "sides": ["left"]})
    plan = plan_of(body, example_a)
    run = plan["layout"]["runs"][0]
    assert [joint["drift_mm"] for joint in run["panel_joints"]] == [0, 0]
    assert not any(panel["uncut"] for panel in run["panels"])
    notice = told(body, example_a)["whole_sheets"]
    assert "2 sheets could stay uncut" in notice["text"]
    assert "3.00" in notice["text"]
    drifted = plan_of(applied(body, notice), example_a)
    assert sum(panel["uncut"] for panel in drifted["layout"]["runs"][0]["panels"]) == 2
    assert drifted["summary"]["objective"] == plan["summary"]["objective"]
    assert "whole_sheets" not in told(applied(body, notice), example_a)


def test_slivers_are_told(demo: Catalog) -> None:
    """With upright flutes a 4 ft bay takes a sheet's width; a jamb 8 in past P2 leaves a panel of about 8 in."""
    opening = {"side": "left", "offset": "56 in", "width": "2 ft"}
    body = request(
        structure={"bays": 3, "sides": ["left"], "openings": [opening]},
        wall={"flutes": "upright"},
        options={"longest_stock": "12 ft 3 in"},
    )
    front = plan_of(body, demo)["layout"]["runs"][0]["panels"]
    narrow = [panel["id"] for panel in front if panel["length_mm"] < 304.8]
    assert narrow == ["left-1-panel-2"]
    assert "left-1-panel-2" in told(body, demo)["sliver"]["text"]
    assert "sliver" not in told(request(), demo)


def test_a_stick_bought_for_a_hair_is_told() -> None:
    """Two battens of 18 15/16 and a kerf are 38 in, 1/2 in more than this stick, so each batten takes its own."""
    catalog = catalog_with(with_part(example_a_document(), "film-channel", length="37 1/2 in"))
    body = request(structure={"sides": ["left"]})
    # left of one stick: 37 1/2 - 18 15/16 - 1/8 = 18 7/16, which the other batten misses by 1/2 in
    assert 'misses an offcut of 1\' 6 7/16" by 1/2"' in told(body, catalog)["last_stick"]["text"]
    assert "last_stick" not in told(body, catalog_with(example_a_document()))


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("flutes_along", request()),
        ("buried_foot", request(wall={"bury_depth": "2 in"}, options={"trench": {}})),
        (
            "jamb_studs",
            request(structure={"openings": [{"side": "left", "offset": "13 in", "width": "2 ft"}]}),
        ),
        ("stock_not_used", request(on_hand=[{"sku": "PC16-48x144", "length": "6 ft"}])),
        ("catalog_note", request()),
    ],
)
def test_what_holds_is_said(kind: str, body: dict[str, Any], demo: Catalog) -> None:
    """Each under its condition."""
    assert kind in told(body, demo)


@pytest.mark.parametrize("kind", ["buried_foot", "jamb_studs", "stock_not_used", "not_proven"])
def test_what_does_not_hold_is_not_said(kind: str, demo: Catalog) -> None:
    """The plain tunnel has none of them."""
    assert kind not in told(request(), demo)


def test_upright_flutes_are_not_told_to_stand_upright(demo: Catalog) -> None:
    """Applying the change silences the notice."""
    notice = told(request(), demo)["flutes_along"]
    assert "flutes_along" not in told(applied(request(), notice), demo)


def test_bays_that_go_without_hooks_are_named_and_none_is_bought() -> None:
    """A 12 in plate on the end post of an 11 in bay: 11 - (6 + 3) - 3 < 0; a bay of 48 in keeps its hook."""
    catalog = catalog_with(with_part(example_a_document(), "plate", length="12 in"))
    body = request(structure={"stations": ["0", "11 in", "59 in"], "sides": ["left"]})
    notice = told(body, catalog)["hook_clearance"]
    assert notice["text"].startswith("1 bay without rope hooks: left-1 P1 to P2.")
    assert notice["changes"] == []
    plan = plan_of(body, catalog)
    assert [hook["id"] for hook in plan["layout"]["runs"][0]["rope_hooks"]] == ["left-1-hook-1"]
    assert [
        line["required"] for line in plan["bill_of_materials"]["lines"] if line["role"] == "rope_hook"
    ] == [1]


def test_short_pieces_of_metal_are_told(example_a: Catalog) -> None:
    """Stations at 0 and 10 in: board 10 + 2 x 0.95 = 11.9 in, channel shorter; both under 12 in. At 4 ft none is."""
    body = request(structure={"stations": ["0", "10 in"], "sides": ["left"]})
    texts = [n["text"] for n in plan_of(body, example_a)["notices"] if n["id"] == "short_metal"]
    assert [text.split(",")[0] for text in texts] == [
        "1 baseboard shorter than 1' 0\"",
        "1 top channel shorter than 1' 0\"",
    ]
    assert "short_metal" not in told(request(), example_a)
