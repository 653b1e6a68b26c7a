"""Heights: strips from sheets, ripped heights, and what leaves no room. Rules: common practice, no source."""

import pytest

from service.planner.asked.catalog import Catalog
from service.planner.errors import HeightUnbuildable, NoPieceFits
from service.planner.units import INCH, MILLIMETRE
from service.planner.wall.heights import ripped_height, strips_per_sheet
from tests.planner.asking import english, inches, job_of, plan_of, request


@pytest.mark.parametrize(
    ("width", "height", "strips"),
    [
        (48 * INCH, 24 * INCH, 1),
        (48 * INCH, 191 * INCH // 8, 2),
        (48 * INCH, 127 * INCH // 8, 3),
        (72 * INCH, 191 * INCH // 8, 3),
    ],
)
def test_strips_of_a_sheet_without_tolerance(width: int, height: int, strips: int) -> None:
    """48 in gives one strip of 24, two of 23 7/8, three of 15 7/8; 72 in three of 23 7/8. Kerf 1/8 in."""
    assert strips_per_sheet(width, height, INCH // 8, 0) == strips


@pytest.mark.parametrize(("height", "strips"), [(700, 2), (698, 3), (697, 3)])
def test_strips_of_a_metric_sheet(height: int, strips: int) -> None:
    """2100 mm gives two of 700, three of 698 (3 x 698 + 2 x 3 = 2100). Kerf 3 mm."""
    assert strips_per_sheet(2100 * MILLIMETRE, height * MILLIMETRE, 3 * MILLIMETRE, 0) == strips


def test_a_strip_may_lack_the_rip_tolerance(demo: Catalog) -> None:
    """Two strips of a 24 in wall from 48 in: (48 - 1/8) / 2 = 23 15/16 each."""
    job = job_of(request(), demo)
    assert ripped_height(job, 24 * INCH, [(48 * INCH, (24 * INCH, 24 * INCH))]) == 383 * INCH // 16


def test_the_ripped_height_is_the_least_over_the_sheets_used(demo: Catalog) -> None:
    """72 in gives three of (72 - 1/4) / 3 = 23.9167 -> 23 7/8, which is less than 48 in gives."""
    job = job_of(request(), demo)
    sheets = [(48 * INCH, (24 * INCH,)), (72 * INCH, (24 * INCH,))]
    assert ripped_height(job, 24 * INCH, sheets) == 382 * INCH // 16


def test_heights_that_share_a_sheet_share_the_kerf(demo: Catalog) -> None:
    """23 7/8 + 24 1/8 + 1/8 kerf is 1/8 over 48: each strip gives up 1/16."""
    job = job_of(request(), demo)
    mixed = [(48 * INCH, (191 * INCH // 8, 193 * INCH // 8))]
    assert ripped_height(job, 193 * INCH // 8, mixed) == 385 * INCH // 16
    # alone, floor(48.125 / (23.875 - 0.125 + 0.125)) = 2 strips of 23 15/16 would do for the other
    assert ripped_height(job, 191 * INCH // 8, mixed) == 381 * INCH // 16


def test_a_wall_too_low_for_board_and_channel_says_what_would_do(demo: Catalog) -> None:
    """6 in board + 3/4 in slot + 3 in clear = 9 3/4 in at least; the suggestion plans."""
    with pytest.raises(HeightUnbuildable) as caught:
        plan_of(request(wall={"height": "9 in"}), demo)
    height, board = caught.value.errors
    assert (height.pointer, board.pointer) == ("/wall/height", "/wall/baseboard_face")
    for problem in (height, board):
        wall = {"height": "9 in"} | {problem.pointer.rsplit("/", 1)[1]: problem.suggestion}
        run = plan_of(request(wall=wall), demo)["layout"]["runs"][0]
        assert run["elevations"]["clear_height_mm"] >= 3 * 25.4


def test_a_wall_higher_than_the_widest_sheet_is_refused(demo: Catalog) -> None:
    """2100 mm, 82 11/16 in, is the widest; under a hip rail of 5 ft, 60 - 3 - 1 = 56 in is the highest wall of all."""
    with pytest.raises((HeightUnbuildable, NoPieceFits)) as caught:
        plan_of(request(wall={"height": "90 in"}), demo)
    assert caught.value.errors[0].pointer == "/wall/height"
    assert caught.value.errors[0].suggestion == "56 in"
    assert plan_of(request(wall={"height": "56 in"}), demo)
    with pytest.raises((HeightUnbuildable, NoPieceFits)) as caught:
        plan_of(request(wall={"height": "90 in"}, structure={"roll_up_sides": False}), demo)
    # rounded down to a cut length
    assert caught.value.errors[0].suggestion == "82 5/8 in"


def test_a_channel_that_passes_the_hip_rail_is_refused_where_the_sides_roll_up(demo: Catalog) -> None:
    """Panel 23 15/16, channel 24 15/16: 3 in under the rail wants one at 27 15/16 in; common practice, no source."""
    for hip, stands in (("27 15/16 in", True), ("27 7/8 in", False)):
        body = request(structure={"hip_height": hip})
        if stands:
            assert plan_of(body, demo)
            continue
        with pytest.raises(HeightUnbuildable) as caught:
            plan_of(body, demo)
        ways = {problem.pointer: problem.suggestion for problem in caught.value.errors}
        assert ways == {"/wall/height": "23 7/8 in", "/structure/hip_height": "27 15/16 in"}
        assert all(
            """2' 15/16\"""" in english(p.detail) and """2' 3 7/8\"""" in english(p.detail)
            for p in caught.value.errors
        )
    assert plan_of(request(structure={"hip_height": "26 in", "roll_up_sides": False}), demo)


def test_field_screws_stand_at_thirds_and_give_way_to_locating_screws(demo: Catalog) -> None:
    """Clear 17 3/16 above the 6 in board: thirds at 11.729 and 17.458; under 6 in clear there are none."""
    run = plan_of(request(wall={"height": "24 in"}), demo)["layout"]["runs"][0]
    thirds = [inches(z) for z in run["elevations"]["field_screws_mm"]]
    assert thirds == pytest.approx([6 + 17.1875 / 3, 6 + 2 * 17.1875 / 3], abs=1e-3)
    low = plan_of(request(wall={"height": "12 in"}), demo)["layout"]["runs"][0]
    assert low["elevations"]["field_screws_mm"] == []


def test_a_buried_foot_lowers_every_line_but_the_board(demo: Catalog) -> None:
    """Buried 4 in, a 24 in wall tops out 4 in lower; the board stays at grade."""
    body = request(wall={"bury_depth": "4 in"}, options={"trench": {}})
    heights = plan_of(body, demo)["layout"]["runs"][0]["elevations"]
    assert inches(heights["panel_foot_mm"]) == -4
    assert inches(heights["panel_top_mm"]) == 19.9375
    assert heights["board_underside_mm"] == 0
