"""Runs: how openings cut a side, which posts become jambs, what is refused. Rules: common practice, no source."""

from typing import Any

import pytest

from service.planner.asked.catalog import Catalog
from service.planner.errors import FieldsDisagree, OpeningUnbuildable
from service.planner.units import FOOT, INCH, MILLIMETRE
from service.planner.wall.layout import Run
from service.planner.wall.runs import ClearOpening, lay_runs
from tests.planner.asking import english, job_of, request

POST = 1900 * INCH // 1000


def runs_of(
    catalog: Catalog, structure: dict[str, Any], **more: Any
) -> tuple[tuple[Run, ...], tuple[ClearOpening, ...]]:
    """Lay the runs of a left side of 6 bays of 5 ft, with changes."""
    base = {"bays": 6, "bay_spacing": "5 ft", "sides": ["left"]}
    return lay_runs(job_of(request(structure=base | structure, **more), catalog))


def opening(offset: str, width: str) -> dict[str, Any]:
    """Put one opening in the left side."""
    return {"openings": [{"side": "left", "offset": offset, "width": width}]}


def refused(catalog: Catalog, structure: dict[str, Any]) -> OpeningUnbuildable:
    """The refusal of an opening."""
    with pytest.raises(OpeningUnbuildable) as caught:
        runs_of(catalog, structure)
    return caught.value


def test_a_side_without_openings_is_one_run(demo: Catalog) -> None:
    """Seven posts from x = 0 to 30 ft, film at both ends."""
    (run,), openings = runs_of(demo, {})
    assert [support.x for support in run.supports] == [number * 5 * FOOT for number in range(7)]
    assert (run.id, run.front_end, run.back_end, openings) == ("left-1", "end_film", "end_film", ())
    assert [support.kind for support in run.supports] == ["end", *["interior"] * 5, "end"]


def test_an_opening_between_posts_gets_two_studs(demo: Catalog) -> None:
    """From 11 ft to 14 ft: studs of 38 mm with their outer faces on the edges, as their own runs' ends."""
    (front, back), (clear,) = runs_of(demo, opening("11 ft", "3 ft"))
    assert [s.label for s in front.supports] == ["P1", "P2", "P3", "J1"]
    assert [s.label for s in back.supports] == ["J2", "P4", "P5", "P6", "P7"]
    assert front.supports[-1].station == 11 * FOOT - 19 * MILLIMETRE
    assert back.supports[0].station == 14 * FOOT + 19 * MILLIMETRE
    assert back.supports[0].x == 0
    assert (front.back_end, back.front_end) == ("jamb", "jamb")
    assert clear.clear_width == 3 * FOOT


def test_edges_on_posts_use_them_as_jambs_and_tell_what_is_clear(demo: Catalog) -> None:
    """From post to post the clear width is a bay less one post: 60 - 1.9 in; the posts keep their labels."""
    (front, back), (clear,) = runs_of(demo, opening("10 ft", "5 ft"))
    assert (front.supports[-1].label, back.supports[0].label) == ("P3", "P4")
    assert (front.supports[-1].kind, back.supports[0].kind) == ("jamb", "jamb")
    assert clear.clear_width == 5 * FOOT - POST


def test_an_edge_within_an_inch_of_a_post_uses_it(demo: Catalog) -> None:
    """An edge 1 in behind the face of P3 snaps; one of 1 1/16 in does not, and has no room for a stud."""
    face = 10 * FOOT + POST // 2
    (front, _), _ = runs_of(demo, opening(f"{(face + INCH) / MILLIMETRE} mm", "3 ft"))
    assert front.supports[-1].label == "P3"
    error = refused(demo, opening(f"{(face + 17 * INCH // 16) / MILLIMETRE} mm", "3 ft"))
    assert "no room for a jamb stud beside post P3" in english(error.errors[0].detail)


def test_an_opening_that_holds_a_post_is_refused_with_the_nearest_offset_that_works(demo: Catalog) -> None:
    """From 9 ft to 12 ft holds P3 at 10 ft; starting on P3 works and is nearest."""
    error = refused(demo, opening("9 ft", "3 ft"))
    assert "holds post P3" in english(error.errors[0].detail)
    assert error.errors[0].pointer == "/structure/openings/0/offset"
    suggestion = error.errors[0].suggestion
    (front, _), _ = runs_of(demo, opening(f"{suggestion:f} mm", "3 ft"))
    assert front.back_end == "jamb"
    assert abs(suggestion - 9 * 304.8) <= 304.8


def test_an_opening_wider_than_a_bay_says_that_none_works(demo: Catalog) -> None:
    """8 ft holds a post wherever it goes."""
    assert refused(demo, opening("1 ft", "8 ft")).errors[0].suggestion is None


def test_openings_may_not_overlap(demo: Catalog) -> None:
    """Two openings in one bay need room for a stud each between them."""
    both = [{"side": "left", "offset": o, "width": "1 ft"} for o in ("10 ft 6 in", "11 ft 7 in")]
    assert "overlaps" in english(refused(demo, {"openings": both}).errors[0].detail)


def test_an_opening_beyond_the_side_is_refused(demo: Catalog) -> None:
    """The last post stands at 30 ft."""
    assert "beyond" in english(refused(demo, opening("29 ft", "3 ft")).errors[0].detail)


def test_an_opening_at_the_first_post_leaves_no_run_before_it(demo: Catalog) -> None:
    """P1 is the near jamb; the only run starts at the far jamb."""
    (run,), _ = runs_of(demo, opening("0", "3 ft"))
    assert run.front_end == "jamb"
    assert run.supports[0].label == "J1"


def test_openings_that_leave_nothing_are_refused(demo: Catalog) -> None:
    """One bay, all of it open."""
    assert "nothing to wall" in english(refused(demo, {"bays": 1, **opening("0", "5 ft")}).detail)


def test_the_right_side_follows_the_left(demo: Catalog) -> None:
    """Runs are numbered left before right, front before back."""
    runs, _ = runs_of(demo, {"sides": ["right", "left"]})
    assert [run.id for run in runs] == ["left-1", "right-1"]


def test_a_wind_flap_needs_two_bays_at_its_corner(demo: Catalog) -> None:
    """With one bay the second bow is the other end."""
    with pytest.raises(FieldsDisagree) as caught:
        runs_of(demo, {"bays": 1}, options={"wind_flaps": ["left-front"]})
    assert caught.value.errors[0].pointer == "/options/wind_flaps/0"


def test_a_wind_flap_stands_on_the_second_bow(demo: Catalog) -> None:
    """At both ends of the side."""
    (run,), _ = runs_of(demo, {}, options={"wind_flaps": ["left-front", "left-back"]})
    assert run.uprights == (1, 5)


def test_an_opening_that_leaves_no_room_for_its_stud_is_moved(demo: Catalog) -> None:
    """57.8 in from P21's centre ends 1.25 in before P22's face; nearer the front there is room, over 5,000 bays too."""
    error = refused(demo, {"bays": 5000, **opening("100 ft", "57.8 in")})
    suggestion = error.errors[0].suggestion
    assert abs(suggestion - 100 * 304.8) <= 50.8
    runs, _ = runs_of(demo, {"bays": 5000, **opening(f"{suggestion:f} mm", "57.8 in")})
    assert len(runs) == 2
