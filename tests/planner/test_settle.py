"""Settling a spec: defaults that depend on others, and contradictions named with the ways to agree."""

from typing import Any

import pytest

from service.planner.asked.catalog import Catalog
from service.planner.asked.catalog_rules import read_catalog
from service.planner.errors import FieldsDisagree, HeightUnbuildable, NoSuchItem
from service.planner.units import FOOT, INCH, MILLIMETRE
from tests.planner.asking import job_of, request
from tests.planner.scenarios import demo_document


def disagreement(body: dict[str, Any], catalog: Catalog) -> dict[str, Any]:
    """The pointers of a contradiction with their suggestions."""
    with pytest.raises(FieldsDisagree) as caught:
        job_of(body, catalog)
    return {problem.pointer: problem.suggestion for problem in caught.value.errors}


def test_height_defaults_to_24_in_or_600_mm(demo: Catalog) -> None:
    """By display units."""
    assert job_of(request(), demo).sides["left"].height == 24 * INCH
    assert job_of(request(display_units="metric"), demo).sides["left"].height == 600 * MILLIMETRE


def test_height_follows_from_the_top_and_the_burial(demo: Catalog) -> None:
    """Post 20 in, top 3 in above, buried 2 in: 25 in of panel."""
    body = request(wall={"top_above_post": "3 in", "bury_depth": "2 in"}, options={"trench": {}})
    assert job_of(body, demo).sides["right"].height == 25 * INCH


def test_two_heights_that_disagree_name_three_ways_to_agree(demo: Catalog) -> None:
    """Post 20 in with its top 3 in above gives 23 in, not 26."""
    ways = disagreement(request(wall={"height": "26 in", "top_above_post": "3 in"}), demo)
    assert ways == {"/wall/height": "23 in", "/wall/top_above_post": "6 in", "/wall/bury_depth": "3 in"}


def test_each_way_to_agree_agrees(demo: Catalog) -> None:
    """Putting any one suggestion at its pointer settles."""
    wall = {"height": "26 in", "top_above_post": "3 in"}
    for pointer, value in disagreement(request(wall=wall), demo).items():
        body = request(wall=wall | {pointer.rsplit("/", 1)[1]: value}, options={"trench": {}})
        assert job_of(body, demo).sides["left"].height > 0


def test_heights_within_a_sixteenth_agree(demo: Catalog) -> None:
    """1/16 in apart is agreement; the height given counts."""
    body = request(wall={"height": "23 1/16 in", "top_above_post": "3 in"})
    assert job_of(body, demo).sides["left"].height == 369 * INCH // 16


def test_heights_an_eighth_apart_disagree(demo: Catalog) -> None:
    """More than 1/16 in is a contradiction; 2 mm is one in metric plans, where 1.5 mm still agree."""
    assert disagreement(request(wall={"height": "23 1/8 in", "top_above_post": "3 in"}), demo)
    metric: dict[str, Any] = {"structure": {"post": {"height_above_grade": 500}}, "display_units": "metric"}
    assert disagreement(request(wall={"height": 582, "top_above_post": 80}, **metric), demo)
    assert job_of(request(wall={"height": 581.5, "top_above_post": 80}, **metric), demo)


def test_ground_heights_are_given_for_every_post_or_none(demo: Catalog) -> None:
    """Two heights for 23 posts are refused, naming the side and the number wanted."""
    ground = {"ground_heights": {"left": ["0", "1 in"]}}
    assert "/structure/ground_heights/left" in disagreement(request(structure=ground), demo)
    assert job_of(request(structure={"bays": 1, **ground}), demo)


def test_a_side_may_have_its_own_height(demo: Catalog) -> None:
    """Left as given for the wall, right its own."""
    job = job_of(request(wall={"height": "23 in", "per_side": {"right": {"height": "35 in"}}}), demo)
    assert (job.sides["left"].height, job.sides["right"].height) == (23 * INCH, 35 * INCH)
    assert job.heights == (23 * INCH, 35 * INCH)


def test_a_buried_foot_needs_a_trench_as_deep(demo: Catalog) -> None:
    """Without one, and with one too shallow."""
    assert "/options/trench" in disagreement(request(wall={"bury_depth": "4 in"}), demo)
    shallow = request(wall={"bury_depth": "4 in"}, options={"trench": {"depth": "3 in"}})
    assert disagreement(shallow, demo) == {"/wall/bury_depth": "3 in", "/options/trench/depth": "4 in"}


def test_a_top_below_the_foot_is_refused(demo: Catalog) -> None:
    """Post 20 in and a top 20 in below it leaves no wall."""
    with pytest.raises(HeightUnbuildable):
        job_of(request(wall={"top_above_post": "-20 in"}), demo)


@pytest.mark.parametrize(
    "structure",
    [{"bays": 3}, {"bay_spacing": "4 ft"}, {}, {"bays": 3, "bay_spacing": "4 ft", "stations": ["0", "4 ft"]}],
)
def test_bays_go_with_their_spacing_or_stations_stand_alone(structure: dict[str, Any], demo: Catalog) -> None:
    """Anything else is named with all three fields."""
    body = {"structure": structure, "wall": {"panel_thickness": 8}}
    assert set(disagreement(body, demo)) == {
        "/structure/bays",
        "/structure/bay_spacing",
        "/structure/stations",
    }


@pytest.mark.parametrize("stations", [["0", "4 ft", "4 ft"], ["4 ft", "0"], ["0", "13 ft"], ["0", "5 in"]])
def test_stations_increase_by_spans_that_can_be_built(stations: list[str], demo: Catalog) -> None:
    """The station at fault is named."""
    pointers = disagreement(request(structure={"stations": stations}), demo)
    assert all(pointer.startswith("/structure/stations/") for pointer in pointers)


def test_stations_are_counted_from_the_first(demo: Catalog) -> None:
    """A tape that was hooked two feet before the first post gives the same wall."""
    body = request(structure={"stations": ["2 ft", "6 ft", "11 ft"]})
    assert job_of(body, demo).stations == (0, 4 * FOOT, 9 * FOOT)


def test_temperatures_stand_in_order(demo: Catalog) -> None:
    """Fitting at 60 degC with a highest of 50 is a contradiction of three fields."""
    pointers = disagreement(request(site={"install_temperature_c": 60}), demo)
    assert len(pointers) == 3


def test_a_curved_bow_needs_its_radius(demo: Catalog) -> None:
    """Or it is straight."""
    assert "/structure/bow/radius" in disagreement(request(structure={"bow": {"profile": "curved"}}), demo)


def test_a_thickness_that_is_not_stocked_names_those_that_are(demo: Catalog) -> None:
    """7 mm is not; 6, 8, 10 and 16 are."""
    with pytest.raises(NoSuchItem) as caught:
        job_of(request(wall={"panel_thickness": "7 mm"}), demo)
    assert caught.value.errors[0].allowed == (6, 8, 10, 16)


def test_a_board_face_that_is_not_stocked_names_those_that_are(demo: Catalog) -> None:
    """5 in is not."""
    with pytest.raises(NoSuchItem) as caught:
        job_of(request(wall={"baseboard_face": "5 in"}), demo)
    assert 152.4 in (caught.value.errors[0].allowed or ())


def test_rigid_ends_need_a_corner_cap_and_openings_an_end_cap(example_a: Catalog) -> None:
    """A catalog without them is named for what asks for them."""
    for structure, pointer in (
        ({"end_walls": {"front": "polycarbonate"}}, "/structure/end_walls"),
        ({"openings": [{"side": "left", "offset": "1 ft", "width": "2 ft"}]}, "/structure/openings"),
    ):
        with pytest.raises(NoSuchItem) as caught:
            job_of(request(structure=structure), example_a)
        assert caught.value.errors[0].pointer == pointer


def test_stock_on_hand_is_named_by_sku(demo: Catalog) -> None:
    """An unknown sku is named by its place."""
    with pytest.raises(NoSuchItem) as caught:
        job_of(request(on_hand=[{"sku": "nothing", "length": "4 ft"}]), demo)
    assert caught.value.errors[0].pointer == "/on_hand/0/sku"


def test_the_longest_stock_leaves_longer_stock_out(demo: Catalog) -> None:
    """Nothing over 12 ft is offered; a bound that leaves nothing says the shortest."""
    job = job_of(request(options={"longest_stock": "12 ft"}), demo)
    assert max(item.part.length for item in job.sheets if hasattr(item.part, "length")) == 12 * FOOT
    with pytest.raises(NoSuchItem) as caught:
        job_of(request(options={"longest_stock": "1 m"}), demo)
    assert caught.value.errors[0].pointer == "/options/longest_stock"


def test_allowances_of_the_request_win(demo: Catalog) -> None:
    """The catalog's serve where none is given."""
    job = job_of(request(allowances={"joint": "20.00"}), demo)
    assert job.joint_cost == 2000
    assert job.cut_cost == demo.document.allowances.cut


def test_a_side_named_twice_is_refused_with_each_once(demo: Catalog) -> None:
    """Rather than planned as one."""
    assert disagreement(request(structure={"sides": ["left", "left"]}), demo) == {
        "/structure/sides": ["left"]
    }


def test_an_opening_in_a_side_without_a_wall_is_refused(demo: Catalog) -> None:
    """Either the opening is in the wrong side, or the side is missing."""
    opening = {"side": "right", "offset": "8 ft", "width": "4 ft"}
    ways = disagreement(request(structure={"sides": ["left"], "openings": [opening]}), demo)
    assert ways == {"/structure/openings/0/side": None, "/structure/sides": ["left", "right"]}


def test_a_section_that_the_catalog_lists_can_be_asked_for() -> None:
    """A two-piece profile beside the usual one is taken where its sku is named; else the first listed."""
    document = demo_document()
    usual = next(
        item
        for item in document["items"]
        if item["part"]["role"] == "joint_profile" and item["part"]["thickness"] == "8 mm"
    )
    document["items"].append(usual | {"sku": "JP-TWO", "part": usual["part"] | {"pieces": "two_piece"}})
    catalog = read_catalog(document)
    assert job_of(request(), catalog).profile.part.pieces == "one_piece"
    job = job_of(request(options={"sections": ["JP-TWO"]}), catalog)
    assert job.profile.part.pieces == "two_piece"
    assert [item.sku for item in job.profile.items] == ["JP-TWO"]


@pytest.mark.parametrize("skus", [["NONE"], ["JP-TWO", "JP-TWO"], ["SHEET"], ["OTHER"]])
def test_a_section_that_cannot_be_taken_is_refused(skus: list[str]) -> None:
    """No item, a role named twice, a role without a section, another thickness."""
    document = demo_document()
    profiles = [item for item in document["items"] if item["part"]["role"] == "joint_profile"]
    usual = next(item for item in profiles if item["part"]["thickness"] == "8 mm")
    other = next(item for item in profiles if item["part"]["thickness"] != "8 mm")
    sheet = next(item for item in document["items"] if item["part"]["role"] == "sheet")
    document["items"].append(usual | {"sku": "JP-TWO", "part": usual["part"] | {"pieces": "two_piece"}})
    named = [{"SHEET": sheet["sku"], "OTHER": other["sku"]}.get(sku, sku) for sku in skus]
    with pytest.raises(NoSuchItem) as refused:
        job_of(request(options={"sections": named}), read_catalog(document))
    assert refused.value.errors[0].pointer == f"/options/sections/{len(skus) - 1}"
