"""What hangs on the courses, held to the hand-solved tunnel and to the rules of common practice (no source)."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.settle import settle
from service.planner.asked.spec import (
    Bow,
    EndWalls,
    Opening,
    Options,
    Post,
    SideOverride,
    SideOverrides,
    Spec,
    Structure,
    Wall,
)
from service.planner.errors import HeightUnbuildable
from service.planner.units import FOOT, INCH, MILLIMETRE, SIXTEENTH, parse_length
from service.planner.wall.details import screw_line
from tests.planner.asking import english
from tests.planner.scenarios import demo_catalog, demo_document, example_a_document
from tests.planner.walls import RIPPED, every, example_a_job, example_a_wall, lay_courses, lay_wall


def test_the_hand_solved_tunnel_has_its_profiles_battens_plates_hooks_and_tape() -> None:
    """Worked by hand: 14 profiles, 4 battens, 18 plates, 44 hooks, 32 lengths of tape."""
    layout = example_a_wall()
    # clear height: 23 15/16 - 3/4 slot - 6 board = 17 3/16; less 1/8: 17 1/16, two sides with 7 joints each
    # batten: top of channel 23 15/16 + 1 = 24 15/16, less 6 = 18 15/16, four end posts
    lengths = Counter((part.role, part.length) for part in layout.parts)
    assert lengths == {("joint_profile", 273 * SIXTEENTH): 14, ("end_batten", 303 * SIXTEENTH): 4}
    assert Counter(plate.kind for plate in layout.plates) == {"joint": 14, "end": 4}
    assert len(layout.hooks) == 44
    # 16 panels have 32 ends of 23 15/16 + 1 in: 798 in
    assert Counter(tape.role for tape in layout.tapes) == {"foil_tape": 32}
    assert sum(tape.length for tape in layout.tapes) == 798 * INCH


def test_profiles_stand_on_the_board_at_their_joint() -> None:
    """A joint profile seats on the board and stops a profile clearance under the channel."""
    layout = example_a_wall()
    for part in (part for part in layout.parts if part.role == "joint_profile"):
        assert part.bottom == 6 * INCH
        assert part.top == layout.heights[0].channel_underside - INCH // 8
        assert part.x == part.support * 4 * FOOT
        assert part.end is None


def test_a_full_height_profile_runs_from_the_foot() -> None:
    """Full height: 23 15/16 - 3/4 - 1/8 = 23 1/16 in, from the panel's foot."""
    job = example_a_job()
    spec = replace(job.spec, wall=replace(job.spec.wall, joint_profile_extent="full_height"))
    job = settle(spec, job.catalog)
    part = lay_wall(job, lay_courses(job, every(3), every(3), every(3))).parts[0]
    assert (part.bottom, part.length) == (0, 369 * SIXTEENTH)


@pytest.mark.parametrize(
    ("post", "offset"),
    [
        # 0.34 x 1.9 / 2 = 0.323 in is more than 5/16 in
        (Post(width=1900 * INCH // 1000), 5 * SIXTEENTH),
        # 0.34 x 1.315 / 2 = 0.22355 in is less
        (Post(width=1315 * INCH // 1000), 5_678_170),
        # a square tube's R is half its width: 0.34 x 1.5 / 2 = 0.255 in
        (Post(shape="square", width=1500 * INCH // 1000), 255 * INCH // 1000),
    ],
)
def test_screws_on_an_end_post_sit_to_the_panel_side_of_its_centre(post: Post, offset: int) -> None:
    """The end-post screw line is 5/16 in from the centre, or 0.34 R if less."""
    job = example_a_job(Structure(bays=4, bay_spacing=4 * FOOT, post=post, bow=Bow(width=post.width)))
    run = lay_courses(job, every(2), every(2), every(2)).runs[0]
    assert screw_line(job, run, 0) == offset
    assert screw_line(job, run, 4) == 16 * FOOT - offset
    assert screw_line(job, run, 2) == 8 * FOOT


def test_one_line_serves_post_and_bow() -> None:
    """The narrower of the two counts: a bow of 1.5 in on a post of 1.9 in, 0.34 x 0.75 = 0.255 in."""
    job = example_a_job(Structure(bays=4, bay_spacing=4 * FOOT, bow=Bow(width=1500 * INCH // 1000)))
    run = lay_courses(job, every(2), every(2), every(2)).runs[0]
    assert screw_line(job, run, 0) == 255 * INCH // 1000


def test_each_end_gets_what_its_end_wall_asks_for() -> None:
    """Rigid: a corner cap; open: a batten; a jamb: an end cap that stops short of the channel."""
    structure = Structure(
        bays=10,
        bay_spacing=4 * FOOT,
        sides=("left",),
        end_walls=EndWalls(front="polycarbonate", back="open"),
        openings=(Opening(side="left", offset=13 * FOOT, width=2 * FOOT),),
    )
    job = example_a_job(structure, catalog=demo_catalog())
    layout = lay_wall(job, lay_courses(job, every(2), every(2), every(2)))
    ends = [(part.role, part.material, part.run, part.end) for part in layout.parts if part.end]
    assert ends == [
        ("corner_cap", "corner_cap", 0, "front"),
        ("end_cap", "end_cap", 0, "back"),
        ("end_cap", "end_cap", 1, "front"),
        ("end_batten", "film_channel", 1, "back"),
    ]
    caps = [part for part in layout.parts if part.role == "end_cap"]
    assert {(cap.bottom, cap.length) for cap in caps} == {(6 * INCH, 273 * SIXTEENTH)}
    # jambs take no plate: one plate at each end wall, and one a joint
    assert Counter(plate.kind for plate in layout.plates)["end"] == 2
    assert all(layout.runs[p.run].supports[p.support].kind == "end" for p in layout.plates if p.kind == "end")


def test_an_upright_stands_from_the_board_to_the_hip_rail_on_the_second_bow() -> None:
    """Hip rail 60 in less board 6 in: 54 in; the plate behind it is an upright's."""
    job = example_a_job(options=Options(wind_flaps=("left-front", "right-back")))
    layout = lay_wall(job, lay_courses(job, lambda _: [0, 3, 20, 22], every(3), every(3)))
    uprights = [part for part in layout.parts if part.role == "upright"]
    assert [(u.run, u.support, u.end, u.bottom, u.length) for u in uprights] == [
        (0, 1, "front", 6 * INCH, 54 * INCH),
        (1, 21, "back", 6 * INCH, 54 * INCH),
    ]
    assert {(p.run, p.support) for p in layout.plates if p.kind == "upright"} == {(0, 1), (1, 21)}


def test_upright_flutes_take_foil_above_and_vented_tape_below() -> None:
    """Both tapes are as long as their panel."""
    job = example_a_job()
    spec = replace(job.spec, wall=replace(job.spec.wall, flutes="upright"))
    job = settle(spec, demo_catalog())
    layout = lay_wall(job, lay_courses(job, every(1), every(3), every(3)))
    panels = {panel.id: panel.length for wall in layout.walls for panel in wall.panels}
    assert all(tape.length == panels[tape.panel] for tape in layout.tapes)
    assert Counter((tape.role, tape.edge) for tape in layout.tapes) == {
        ("foil_tape", "top"): 44,
        ("vented_tape", "foot"): 44,
    }


def test_a_clear_height_without_room_for_a_profile_is_refused_with_one_that_has() -> None:
    """Where the clearance takes the whole clear height, the refusal names the field and a height that works."""
    document = example_a_document() | {"limits": [{"name": "profile_clearance", "value": "18 in"}]}
    job = settle(example_a_job().spec, read_catalog(document))
    with pytest.raises(HeightUnbuildable) as refused:
        lay_wall(job, lay_courses(job, every(3), every(3), every(3)))
    problem = refused.value.errors[0]
    assert problem.pointer == "/wall/height"
    # at the height suggested the strip may still lack the rip tolerance of it
    ripped = parse_length(problem.suggestion) - job.limits.rip_tolerance
    parts = lay_wall(job, lay_courses(job, every(3), every(3), every(3), ripped=ripped)).parts
    assert min(part.length for part in parts) > 0


def test_a_clear_height_without_room_for_an_end_cap_is_refused_at_the_side_that_sets_it() -> None:
    """One panel from end to jamb: no joint profile, but an end cap; the left side's own top is what sets its height."""
    document = demo_document() | {"limits": [{"name": "profile_clearance", "value": "18 in"}]}
    structure = Structure(
        bays=4,
        bay_spacing=4 * FOOT,
        sides=("left",),
        openings=(Opening(side="left", offset=5 * FOOT, width=2 * FOOT),),
    )
    own = SideOverrides(left=SideOverride(top_above_post=4 * INCH))
    spec = Spec(structure=structure, wall=Wall(panel_thickness=8 * MILLIMETRE, per_side=own))
    job = settle(spec, read_catalog(document))
    courses = lay_courses(job, every(4), every(4), every(4), ripped=24 * INCH)
    with pytest.raises(HeightUnbuildable, match="no length") as refused:
        lay_wall(job, courses)
    assert "end cap" in english(refused.value.detail)
    assert refused.value.errors[0].pointer == "/wall/per_side/left/top_above_post"
    # 24 in leave 17 1/4 in clear: 3/4 in short of 18, and 1/16 in of length and 1/8 in of rip tolerance more
    assert refused.value.errors[0].suggestion == "4 15/16 in"


def test_a_hip_rail_below_the_top_channel_is_refused_where_an_upright_must_reach_it() -> None:
    """Channel top is at 24 15/16 in; a hip rail at 24 in carries no upright, and the suggestion does."""
    structure = Structure(bays=4, bay_spacing=4 * FOOT, hip_height=24 * INCH, roll_up_sides=False)
    job = example_a_job(structure, Options(wind_flaps=("left-front",)))
    with pytest.raises(HeightUnbuildable) as refused:
        lay_wall(job, lay_courses(job, every(2), every(2), every(2)))
    problem = refused.value.errors[1]
    assert problem.pointer == "/structure/hip_height"
    works = replace(structure, hip_height=parse_length(problem.suggestion))
    job = example_a_job(works, Options(wind_flaps=("left-front",)))
    assert lay_wall(job, lay_courses(job, every(2), every(2), every(2))).parts


@given(
    bays=st.integers(1, 30),
    joints=st.tuples(st.integers(1, 4), st.integers(1, 4), st.integers(1, 4)),
    ripped=st.integers(15 * 16, 48 * 16),
)
def test_every_joint_and_end_has_its_part_and_plate(
    bays: int, joints: tuple[int, int, int], ripped: int
) -> None:
    """One profile a panel joint, one end part an end, one plate a channel joint and end post, two tapes a panel."""
    spec = Spec(
        structure=Structure(bays=bays, bay_spacing=4 * FOOT), wall=Wall(panel_thickness=8 * MILLIMETRE)
    )
    job = settle(spec, demo_catalog())
    panels, boards, channels = (every(count) for count in joints)
    courses = lay_courses(job, panels, boards, channels, ripped=ripped * SIXTEENTH)
    details = lay_wall(job, courses)
    for index, run in enumerate(courses.runs):
        own = [part for part in details.parts if part.run == index]
        assert [p.support for p in own if p.role == "joint_profile"] == [
            j.support for j in courses.walls[index].joints
        ]
        assert [p.support for p in own if p.end] == [0, run.last]
        plated = [plate.support for plate in details.plates if plate.run == index]
        assert plated == [0, *(piece.end for piece in courses.walls[index].channels[:-1]), run.last]
        assert all(part.length > 0 and part.length % SIXTEENTH == 0 for part in own)
    assert len(details.tapes) == 2 * sum(len(wall.panels) for wall in courses.walls)
    ids = [p.id for p in details.parts] + [p.id for p in details.plates] + [h.id for h in details.hooks]
    assert len(set(ids)) == len(ids)


def test_the_hand_solved_strip_is_half_a_sheet() -> None:
    """(48 - 1/8) / 2 = 23 15/16 in: the ripped height that the other values rest on."""
    assert 2 * RIPPED + INCH // 8 == 48 * INCH
