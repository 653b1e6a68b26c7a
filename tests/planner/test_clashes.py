"""What stands in each other's way is found, and what is built so on purpose is not.

Sources
-------
Screws at least three diameters apart, and 1.5 diameters off an edge: AISI S100, E4.1 and E4.2 (secondary and from
memory). The other distances are common practice or judgement, no source.
"""

from dataclasses import replace

import pytest

from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.settle import Job
from service.planner.asked.spec import Options, RopeHooks, Structure
from service.planner.fastening.schedule import schedule
from service.planner.judging.clashes import Clash, find_clashes
from service.planner.units import FOOT, INCH
from service.planner.wall.layout import Hook, Layout
from tests.planner.scenarios import demo_catalog, example_a_document, with_part
from tests.planner.walls import every, example_a_job, example_a_wall, lay_courses, lay_wall, with_wall


def _clashes(job: Job, layout: Layout) -> list[Clash]:
    """Schedule a wall's screws and find its clashes."""
    return list(find_clashes(job, layout, schedule(job, layout)))


def _kinds(clashes: list[Clash]) -> set[str]:
    """Name what is wrong."""
    return {clash.kind for clash in clashes}


def test_the_hand_solved_tunnel_has_no_clash() -> None:
    """Laps, panel joints and channel joints share every third post there, and that is how it is built."""
    assert not _clashes(example_a_job(), example_a_wall())


def test_a_tunnel_with_wind_flaps_has_no_clash() -> None:
    """Panels that run past the second bow and a channel that breaks there leave an upright its place."""
    job = example_a_job(options=Options(wind_flaps=("left-front", "left-back")), catalog=demo_catalog())
    layout = lay_wall(job, lay_courses(job, lambda _: [0, 3, 6, 20, 22], every(3), every(3)))
    assert not _clashes(job, layout)


def test_a_hook_hung_where_there_is_no_room_is_a_clash_with_what_is_there() -> None:
    """Bay of 14 in between plates of 12 in: 7 - 6 = 1 in to each plate, 3 in are wanted."""
    catalog = read_catalog(with_part(example_a_document(), "plate", length="12 in"))
    job = example_a_job(Structure(bays=1, bay_spacing=14 * INCH, sides=("left",)), catalog=catalog)
    layout = lay_wall(job, lay_courses(job, every(1), every(1), every(1)))
    hook = Hook(id="left-1-hook-1", run=0, bay=0, x=7 * INCH, z=3 * INCH, moved=0)
    found = [c for c in _clashes(job, with_wall(layout, hooks=(hook,))) if c.kind == "hook_clearance"]
    assert [(c.support, c.first, c.second, c.distance, c.least) for c in found] == [
        (0, "left-1-hook-1", "left-1-plate-1", INCH, 3 * INCH),
        (1, "left-1-hook-1", "left-1-plate-2", INCH, 3 * INCH),
    ]


def test_a_hook_put_on_a_lap_is_found_whatever_it_says_of_itself() -> None:
    """A lap ends 1.5 in from its post: a hook 1 in from the post is on it."""
    layout = example_a_wall()
    hook = replace(layout.hooks[2], x=145 * INCH, bay=3)
    layout = with_wall(layout, plates=(), hooks=(hook,))
    found = list(find_clashes(example_a_job(), layout, ()))
    assert [(c.kind, c.support, c.second, c.distance) for c in found] == [
        ("hook_clearance", 3, "left-1-baseboard-2", -INCH // 2)
    ]


def test_hooks_pushed_onto_each_other_are_a_clash() -> None:
    """A plate of 15 in reaches 7.5 in: hooks at 3 and 9 in both belong at 10.5 in."""
    catalog = read_catalog(with_part(example_a_document(), "plate", length="15 in"))
    structure = Structure(bays=2, bay_spacing=4 * FOOT, sides=("left",))
    job = example_a_job(structure, Options(rope_hooks=RopeHooks(spacing=6 * INCH)), catalog)
    layout = lay_wall(job, lay_courses(job, every(2), every(2), every(1)))
    found = [clash for clash in _clashes(job, layout) if clash.kind == "hooks_together"]
    assert (found[0].first, found[0].second, found[0].distance) == ("left-1-hook-1", "left-1-hook-2", 0)


def test_screws_closer_than_three_diameters_are_a_clash() -> None:
    """Locating screws moved to 5-1/2 in, 1/4 in above the board's upper line: No.10 wants 3 x 0.190 = 0.57 in."""
    job, layout = example_a_job(), example_a_wall()
    for index, wall in enumerate(layout.walls):
        layout = with_wall(layout, index, heights=replace(wall.heights, locating=11 * INCH // 2))
    found = _clashes(job, layout)
    assert _kinds(found) == {"screws_together"}
    # once on each of the 28 supports with a locating screw
    assert len(found) == 28
    assert {clash.distance for clash in found} == {INCH // 4}
    assert [clash.least for clash in found] == pytest.approx([0.57 * INCH] * 28, abs=3)


def test_two_metals_joined_beside_the_post_are_no_clash_with_the_screw_into_it() -> None:
    """The plate's own screws share the flange line with the one into the bow, but not the post."""
    job, layout = example_a_job(), example_a_wall()
    rows = [row for row in schedule(job, layout) if row.place == "top_channel" and 3 in row.supports]
    assert len({row.z for row in rows}) == 1 < len(rows)
    assert not find_clashes(job, layout, rows)


@pytest.mark.parametrize(
    ("length", "clashes"),
    [
        # joint: 1/8 gap + 2 x (1.5 + 3 + 1.5) x 0.190 = 2.405 in; end: 3/4 + 4.5 x 0.190 = 1.605 in
        ("2 1/2 in", {}),
        ("2 3/8 in", {"joint": 14}),
        ("1 1/2 in", {"joint": 14, "end": 4}),
    ],
)
def test_a_plate_too_short_for_its_screws_is_a_clash(length: str, clashes: dict[str, int]) -> None:
    """Screws three diameters apart, 1.5 off every edge."""
    job = example_a_job(catalog=read_catalog(with_part(example_a_document(), "plate", length=length)))
    layout = example_a_wall(job)
    kinds = {plate.id: plate.kind for plate in layout.plates}
    found = [kinds[str(clash.first)] for clash in _clashes(job, layout) if clash.kind == "short_plate"]
    assert {kind: found.count(kind) for kind in found} == clashes


def test_plates_that_overlap_are_a_clash() -> None:
    """Posts 8 in apart, plates of 12 in on each: 4 in too close."""
    catalog = read_catalog(with_part(example_a_document(), "plate", length="12 in"))
    job = example_a_job(
        Structure(stations=(0, 4 * FOOT, 4 * FOOT + 8 * INCH), sides=("left",)), catalog=catalog
    )
    layout = lay_wall(job, lay_courses(job, every(2), every(2), every(1)))
    found = [clash for clash in _clashes(job, layout) if clash.kind == "plates_together"]
    assert [(clash.support, clash.distance) for clash in found] == [(1, -4 * INCH)]


def test_a_panel_joint_under_an_upright_is_a_clash() -> None:
    """A joint on the second bow lies right under it; half the upright and half the gap are wanted between."""
    job = example_a_job(options=Options(wind_flaps=("left-front",)), catalog=demo_catalog())
    layout = lay_wall(job, lay_courses(job, lambda _: [0, 1, 4, 22], every(3), every(3)))
    found = _clashes(job, layout)
    assert [(c.kind, c.support, c.distance, c.least) for c in found] == [
        ("joint_under_upright", 1, 0, 3 * INCH // 4 + 9 * INCH // 32)
    ]


def test_a_channel_that_does_not_break_for_an_upright_is_a_clash() -> None:
    """A butt joint of 1/8 in is no break for an upright 1-1/2 in wide: its pieces stop 1/16 in from the bow's centre."""
    job = example_a_job(options=Options(wind_flaps=("left-front",)), catalog=demo_catalog())
    courses = lay_courses(job, lambda _: [0, 3, 22], every(3), every(3))
    first, second, *rest = courses.walls[0].channels
    at = 4 * FOOT
    closer = (replace(first, x_end=at - INCH // 16), replace(second, x_start=at + INCH // 16), *rest)
    layout = lay_wall(job, with_wall(courses, channels=closer))
    found = _clashes(job, layout)
    assert [(c.kind, c.first, c.distance, c.least) for c in found] == [
        ("channel_under_upright", first.id, INCH // 16, 3 * INCH // 4),
        ("channel_under_upright", second.id, INCH // 16, 3 * INCH // 4),
    ]


def test_a_channel_that_runs_under_a_batten_is_a_clash() -> None:
    """The batten's inner edge is 0.2822 + 3/4 = 1.0322 in from the post's centre; a channel from 1/2 in runs under it."""
    job = example_a_job()
    courses = lay_courses(job, every(3), every(3), every(3))
    first, *rest = courses.walls[0].channels
    long = (replace(first, x_start=INCH // 2), *rest)
    layout = lay_wall(job, with_wall(courses, channels=long))
    found = _clashes(job, layout)
    assert [(c.kind, c.second, c.distance) for c in found] == [
        ("channel_under_end_part", "left-1-batten-front", -5322 * INCH // 10_000)
    ]
