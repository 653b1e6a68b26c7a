"""The fastener schedule, held to the hand-solved tunnel and to the fastening rules (common practice, no source)."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.planner.asked.settle import Job, settle
from service.planner.asked.spec import Bow, Corner, EndWall, EndWalls, Opening, Options, Spec, Structure, Wall
from service.planner.fastening.holes import clearance
from service.planner.fastening.places import PLACES
from service.planner.fastening.schedule import schedule, totals
from service.planner.fastening.window import PILOT, screw_of
from service.planner.messages import Bore, say
from service.planner.rules import FASTENING
from service.planner.units import FOOT, INCH, MILLIMETRE
from service.planner.wall.courses import lay_channels
from service.planner.wall.layout import FastenerRow, Layout, Part, Run
from service.planner.wall.placing import place_metal
from service.planner.wall.runs import lay_runs
from tests.planner.asking import english
from tests.planner.scenarios import demo_catalog
from tests.planner.small_programs import endless
from tests.planner.walls import every, example_a_job, example_a_wall, lay_courses, lay_wall


def _schedule(job: Job, count: int = 3) -> tuple[Layout, tuple[FastenerRow, ...]]:
    """Lay a wall with pieces of so many bays and list its screws."""
    layout = lay_wall(job, lay_courses(job, every(count), every(count), every(count)))
    return layout, schedule(job, layout)


def _of(rows: tuple[FastenerRow, ...], place: str, run: int = 0) -> list[FastenerRow]:
    """Pick one run's rows of one place."""
    return [row for row in rows if row.place == place and row.run == run]


def _parts(row: FastenerRow) -> list[str]:
    """Name a row's layers."""
    return [layer.part for layer in row.layers]


def test_the_hand_solved_tunnel_has_its_screws_by_place() -> None:
    """Worked by hand for 46 supports, of which 4 are ends and 14 carry joints."""
    rows = schedule(example_a_job(), example_a_wall())
    counts: Counter[str] = Counter()
    for row in rows:
        counts[row.place] += row.count
    intermediate = 46 - 4 - 14
    assert counts == {
        "board_upper": 46,
        "board_lower": 46,
        "locating": intermediate,
        "field": 2 * intermediate,
        "joint_profile": 14 * 2,
        "batten": 4 * 3,  # ceil(18 15/16 / 12) + 1
        "top_channel": intermediate * 1 + 14 * 3 + 4 * 2,  # 28 + 42 + 8 = 78
    }


def test_the_hand_solved_tunnel_has_its_screws_by_sku() -> None:
    """Pan 1-1/2: 46 + 112 = 158; hex 1-1/2: 46 + 12 = 58; channel 78; washers 28 + 56 + 28 = 112."""
    counts = totals(schedule(example_a_job(), example_a_wall()))
    assert counts == {"pan-cross-long": 158, "hex-long": 58, "pan-square-short": 78, "washer": 112}


def test_every_row_of_the_rules_table_has_its_place() -> None:
    """The walk covers the table and nothing else, in its order."""
    assert list(PLACES) == list(FASTENING)


def test_a_lap_is_screwed_through_both_boards_and_a_panel_joint_through_its_gap() -> None:
    """Laps and joints share posts here; 0.052 in boards, 8 mm of gap, 0.095 in of post."""
    rows = schedule(example_a_job(), example_a_wall())
    lap = next(row for row in _of(rows, "board_upper") if 3 in row.supports)
    assert _parts(lap) == ["baseboard", "baseboard", "gap", "post"]
    assert lap.grip == 2 * 52 * INCH // 1000 + 8 * MILLIMETRE + 95 * INCH // 1000
    plain = next(row for row in _of(rows, "board_upper") if 1 in row.supports)
    assert _parts(plain) == ["baseboard", "panel", "post"]
    end = next(row for row in _of(rows, "board_upper") if 0 in row.supports)
    assert end.supports == (0, 22)
    assert end.slot
    assert not lap.slot


def test_screws_that_pass_a_drifted_joint_sit_on_its_mark() -> None:
    """A joint 1/4 in off its post: board and profile screws follow it, the channel's own stays on the post's centre."""
    job, layout = example_a_job(), example_a_wall()
    run = layout.runs[0]
    mark = run.supports[3].x + INCH // 4
    first, *others = layout.walls
    joints = tuple(replace(j, x=mark, drift=INCH // 4) if j.support == 3 else j for j in first.joints)
    parts = tuple(
        replace(p, x=mark) if (p.role, p.support) == ("joint_profile", 3) else p for p in first.parts
    )
    drifted = replace(layout, walls=(replace(first, joints=joints, parts=parts), *others))
    at = {
        (row.place, row.xs[row.supports.index(3)])
        for row in schedule(job, drifted)
        if row.run == 0 and 3 in row.supports and row.place != "top_channel"
    }
    assert at == {("board_upper", mark), ("board_lower", mark), ("joint_profile", mark)}


def test_screws_beside_a_channel_joint_by_hand() -> None:
    """Joint on a post's centre, gap 1/8: 1/16 + 0.190 = 0.2525 in is within 0.34 x 0.83 = 0.282 in of the bow's centre.

    The plate of 6 in reaches 3 in to each side; the screws in it sit half way between the gap and its end.
    """
    rows = schedule(example_a_job(), example_a_wall())
    centre = 12 * FOOT
    both, beside = [row for row in _of(rows, "top_channel") if 3 in row.supports]
    at = both.supports.index(3)
    half = (3 * INCH + INCH // 16) // 2
    assert both.xs[2 * at : 2 * at + 2] == (centre - half, centre + half)
    assert beside.xs[beside.supports.index(3)] - centre == INCH // 16 + 190 * INCH // 1000


def test_joints_on_narrow_tubes_lie_beside_the_centre_and_their_screw_on_it() -> None:
    """0.34 x 0.65 = 0.221 in is less than 0.2525: all channel joints lie 1/4 in towards the far end."""
    bow = Bow(width=13 * INCH // 10)
    ways = ((1, Options(lay_from="front")), (-1, Options(lay_from="back")))
    for way, options in ways:
        job = example_a_job(Structure(bays=6, bay_spacing=4 * FOOT, bow=bow), options)
        runs = lay_runs(job)[0]
        for pieces in place_metal(job, runs, lay_channels(job, runs, endless())):
            for before, after in pairwise(pieces):
                gap = (after.x_start if way > 0 else before.x_end) - way * INCH // 16
                assert gap == after.start * 4 * FOOT + way * INCH // 4


def test_a_full_height_profile_lies_behind_the_board() -> None:
    """The board's screws then pass both legs of the profile, and the profile's own stay above the board."""
    job = example_a_job()
    spec = replace(job.spec, wall=replace(job.spec.wall, joint_profile_extent="full_height"))
    job = settle(spec, job.catalog)
    _, rows = _schedule(job)
    lap = next(row for row in _of(rows, "board_lower") if 3 in row.supports)
    assert _parts(lap) == ["baseboard", "baseboard", "joint_profile", "gap", "joint_profile", "post"]
    assert all(row.z > 6 * INCH for row in _of(rows, "joint_profile"))


def test_above_the_post_a_screw_meets_the_bow_with_its_stand_off() -> None:
    """Post 1.9 in, bow 1.66 in: 0.12 in of stand-off above the post's top at 20 in, none below."""
    rows = schedule(example_a_job(), example_a_wall())
    top = next(row for row in _of(rows, "top_channel") if 1 in row.supports)
    assert _parts(top) == ["top_channel", "stand_off", "bow"]
    assert top.layers[1].thickness == 12 * INCH // 100
    assert {row.layers[-1].part for row in rows if row.z < 20 * INCH and row.place != "top_channel"} == {
        "post"
    }


def test_a_bow_inside_its_post_adds_its_wall_below_the_posts_top() -> None:
    """Nested 12 in deep in a post of 20 in: from 8 in upwards a screw meets both walls, and the bow's inside."""
    bow = Bow(width=1660 * INCH // 1000, nest_depth=12 * INCH)
    job = example_a_job(Structure(bays=6, bay_spacing=4 * FOOT, bow=bow))
    _, rows = _schedule(job)
    low, high = _of(rows, "locating")[0], _of(rows, "field")[0]
    assert (low.z, _parts(low)) == (15 * INCH // 2, ["panel", "post"])
    assert _parts(high) == ["panel", "post", "bow"]
    # inside the bow 1.66 - 2 x 0.065 = 1.53 in, less 1/4 in
    assert high.longest - high.grip == 128 * INCH // 100


def test_a_curved_bow_sets_back_above_the_post() -> None:
    """R 15 ft, flange line 4.4375 in above the post: 180 - sqrt(180^2 - 4.4375^2) = 0.0547 in."""
    bow = Bow(profile="curved", radius=15 * FOOT)
    job = example_a_job(Structure(bays=6, bay_spacing=4 * FOOT, bow=bow))
    _, rows = _schedule(job)
    row = next(row for row in _of(rows, "top_channel") if 1 in row.supports)
    assert _parts(row) == ["top_channel", "stand_off", "set_back", "bow"]
    assert row.layers[2].thickness == pytest.approx(0.0547 * INCH, abs=INCH // 10_000)


def test_an_uprights_screws_above_the_panel_sit_on_its_packing() -> None:
    """Hip at 25 1/2 in, channel's top at 24 15/16: the packing is 9/16 in high, one screw in its middle at 25 7/32."""
    structure = Structure(bays=8, bay_spacing=4 * FOOT, hip_height=51 * INCH // 2, roll_up_sides=False)
    job = example_a_job(structure, Options(wind_flaps=("left-front",)), demo_catalog())
    _, rows = _schedule(job)
    above = _of(rows, "upright_above_panel")
    assert [_parts(row) for row in above] == [["film_channel", "packing", "stand_off", "bow"]]
    assert [row.z for row in above] == [(399 + 408) * INCH // 32]


def test_an_upright_follows_a_curved_bow_above_the_channel() -> None:
    """Its set-back is that of the channel's top, 4.9375 in above the post: 180 - sqrt(180^2 - 4.9375^2) = 0.0677 in."""
    bow = Bow(profile="curved", radius=15 * FOOT)
    structure = Structure(bays=8, bay_spacing=4 * FOOT, bow=bow)
    job = example_a_job(structure, Options(wind_flaps=("left-front",)), demo_catalog())
    _, rows = _schedule(job)
    above = _of(rows, "upright_above_panel")
    set_backs = [layer.thickness for row in above for layer in row.layers if layer.part == "set_back"]
    assert set_backs == pytest.approx([0.0677 * INCH] * 4, abs=INCH // 10_000)
    assert all(row.fits for row in above)


def test_a_jamb_stud_has_no_near_wall() -> None:
    """In 38 mm of timber a screw may reach 38 mm less 1/4 in beyond what lies on it."""
    structure = Structure(
        bays=6,
        bay_spacing=4 * FOOT,
        sides=("left",),
        openings=(Opening(side="left", offset=9 * FOOT, width=2 * FOOT),),
    )
    layout, rows = _schedule(example_a_job(structure, catalog=demo_catalog()), 1)
    stud = layout.runs[0].last
    board = next(row for row in _of(rows, "board_upper") if stud in row.supports)
    assert board.supports == (stud,)
    assert _parts(board) == ["baseboard", "panel", "jamb"]
    assert board.longest - board.grip == 38 * MILLIMETRE - INCH // 4
    assert not board.slot
    caps = _of(rows, "jamb_cap")
    assert [(_parts(row), row.count, row.washer is not None) for row in caps] == [
        (["end_cap", "panel", "end_cap", "jamb"], 1, True)
    ] * 2
    channel = next(row for row in _of(rows, "top_channel") if stud in row.supports)
    assert (_parts(channel), channel.count) == (["top_channel", "jamb"], 1)


def test_a_post_that_serves_as_a_jamb_is_screwed_as_a_post() -> None:
    """Its near wall counts, and nothing there is an open slot."""
    structure = Structure(
        bays=6,
        bay_spacing=4 * FOOT,
        sides=("left",),
        openings=(Opening(side="left", offset=8 * FOOT, width=4 * FOOT),),
    )
    layout, rows = _schedule(example_a_job(structure, catalog=demo_catalog()), 1)
    post = layout.runs[0].last
    board = next(row for row in _of(rows, "board_upper") if post in row.supports)
    assert _parts(board) == ["baseboard", "panel", "post"]
    assert not board.slot


def test_a_corner_cap_holds_the_panel_alone() -> None:
    """A rigid end: cap, panel, post; the end wall's sheet stands on the post's front face; three screws as a batten has."""
    structure = Structure(bays=6, bay_spacing=4 * FOOT, end_walls=EndWalls(front="polycarbonate"))
    _, rows = _schedule(example_a_job(structure, catalog=demo_catalog()))
    cap = [row for row in _of(rows, "batten") if 0 in row.supports]
    assert [_parts(row)[:2] for row in cap] == [["corner_cap", "panel"]] * 3
    assert {_parts(row)[2] for row in cap} <= {"post", "stand_off"}
    assert all(row.slot for row in cap)


def test_channel_joints_take_three_screws_of_which_one_reaches_the_bow() -> None:
    """Two join the plate to its two pieces beside the post, one goes on into the bow."""
    rows = schedule(example_a_job(), example_a_wall())
    at_joint = [row for row in _of(rows, "top_channel") if 3 in row.supports]
    assert [(_parts(row), row.count // len(row.supports)) for row in at_joint] == [
        (["top_channel", "splice_plate"], 2),
        (["top_channel", "splice_plate", "stand_off", "bow"], 1),
    ]
    at_end = [row for row in _of(rows, "top_channel") if 0 in row.supports]
    assert [_parts(row) for row in at_end] == [
        ["splice_plate", "stand_off", "bow"],
        ["top_channel", "splice_plate"],
    ]


def test_an_upright_takes_the_place_of_locating_and_field_screws() -> None:
    """Over 17 15/16 in of panel ceil(17.94 / 12) + 1 = 3; above it to the hip ceil(36.06 / 12) = 4 on packing."""
    job = example_a_job(options=Options(wind_flaps=("left-front",)), catalog=demo_catalog())
    _, rows = _schedule(job)
    at = {place: [row for row in _of(rows, place) if 1 in row.supports] for place in FASTENING}
    assert not at["locating"]
    assert not at["field"]
    assert len(at["upright_over_panel"]) == 3
    assert {tuple(_parts(row)[:2]) for row in at["upright_over_panel"]} == {("film_channel", "panel")}
    assert len(at["upright_above_panel"]) == 4
    assert {tuple(_parts(row)[:2]) for row in at["upright_above_panel"]} == {("film_channel", "packing")}
    assert [(_parts(row), row.count // len(row.supports)) for row in at["top_channel"]] == [
        (["top_channel", "splice_plate"], 2),
        (["splice_plate", "stand_off", "bow"], 1),
    ]


def test_a_pilot_is_drilled_where_three_layers_are_joined() -> None:
    """Board, panel and post are three; a gap joins nothing; panel and post are two."""
    rows = schedule(example_a_job(), example_a_wall())
    pilots = {tuple(_parts(row)): row.pilot for row in rows}
    assert pilots["baseboard", "panel", "post"] == PILOT == INCH // 8
    assert pilots["baseboard", "baseboard", "gap", "post"] == PILOT
    assert pilots["panel", "post"] is None
    assert pilots["top_channel", "stand_off", "bow"] is None


def test_a_low_wall_takes_one_screw_a_profile_and_no_field_screws() -> None:
    """A 12 in wall: clear 12 - 0.75 - 6 = 5.25 in, a profile of 5 1/8 in: one screw at mid length, none in the field."""
    job = example_a_job()
    layout = lay_wall(job, lay_courses(job, every(3), every(3), every(3), ripped=12 * INCH))
    rows = schedule(job, layout)
    assert not _of(rows, "field")
    assert [row.z for row in _of(rows, "joint_profile")] == [6 * INCH + 41 * INCH // 16]


@st.composite
def _jobs(draw: st.DrawFn) -> tuple[Job, int]:
    """Draw a job and the number of bays a piece."""
    corners: list[Corner] = ["left-front", "left-back", "right-front", "right-back"]
    bays = draw(st.integers(2, 14))
    openings = (
        (Opening(side="left", offset=9 * FOOT, width=2 * FOOT),) if bays >= 5 and draw(st.booleans()) else ()
    )
    kinds: list[EndWall] = ["film", "polycarbonate", "open"]
    walls = st.sampled_from(kinds)
    structure = Structure(
        bays=bays,
        bay_spacing=4 * FOOT,
        openings=openings,
        end_walls=EndWalls(front=draw(walls), back=draw(walls)),
        bow=Bow(
            nest_depth=draw(st.sampled_from([0, 6 * INCH, 18 * INCH])),
            profile=draw(st.sampled_from(["straight", "curved"])),
            radius=draw(st.integers(8, 20)) * FOOT,
        ),
    )
    flaps = tuple(draw(st.sets(st.sampled_from(corners)))) if bays >= 7 else ()
    spec = Spec(
        structure=structure,
        wall=Wall(
            panel_thickness=draw(st.sampled_from([6, 8, 10, 16])) * MILLIMETRE,
            joint_profile_extent=draw(st.sampled_from(["above_baseboard", "full_height"])),
        ),
        options=Options(wind_flaps=tuple(sorted(flaps))),
    )
    return settle(spec, demo_catalog()), draw(st.integers(1, 4))


def _laid(job: Job, count: int, ripped: int) -> Layout:
    """Lay a wall whose panels never end under an upright."""

    def panels(run: Run) -> list[int]:
        return [stop for stop in every(count)(run) if stop not in run.uprights]

    return lay_wall(job, lay_courses(job, panels, every(count), every(count), ripped=ripped))


Counts = Counter[tuple[str, int, int]]
"""Screws by place, run and support."""


def _counted(rows: tuple[FastenerRow, ...]) -> Counts:
    """Count a schedule's screws support by support."""
    counts: Counts = Counter()
    for row in rows:
        each, rest = divmod(row.count, len(row.supports))
        assert rest == 0
        assert len(set(row.supports)) == len(row.supports)
        for support in row.supports:
            counts[row.place, row.run, support] += each
    return counts


def _expected_on_courses(layout: Layout) -> Counts:
    """Count what boards, panels and top channel need."""
    counts: Counts = Counter()
    needs = {"joint": 3, "upright": 3, "end": 2, None: 1}
    plated = {(plate.run, plate.support): plate.kind for plate in layout.plates}
    for wall in layout.walls:
        run, panels, heights = wall.run, wall.panels, wall.heights
        for support in range(run.last + 1):
            at = (run.index, support)
            counts["board_upper", *at] = counts["board_lower", *at] = 1
            counts["top_channel", *at] = needs[plated.get(at)]
            if any(p.start < support < p.end for p in panels) and support not in run.uprights:
                counts["locating", *at] = 1
                counts["field", *at] = len(heights.field)
    return +counts


def _expected_on_part(layout: Layout, part: Part) -> Counts:
    """Count what one upright part needs: a screw a foot and one more, or thirds."""
    heights, at = layout.heights[part.run], (part.run, part.support)
    if part.role in {"end_batten", "corner_cap"}:
        return Counter({("batten", *at): -(-part.length // FOOT) + 1})
    if part.role == "upright":
        over, above = heights.panel_top - heights.board_top, heights.hip - heights.panel_top
        places = {"upright_over_panel": -(-over // FOOT) + 1, "upright_above_panel": -(-above // FOOT)}
        return Counter({(place, *at): count for place, count in places.items()})
    place = "jamb_cap" if part.role == "end_cap" else "joint_profile"
    clear = part.top - max(part.bottom, heights.board_top)
    return Counter({(place, *at): 1 if clear < 6 * INCH else 2})


@given(drawn=_jobs(), ripped=st.integers(12 * 16, 40 * 16))
def test_every_place_has_exactly_its_screws(drawn: tuple[Job, int], ripped: int) -> None:
    """Support by support: board 1 + 1, panel screws only where a panel runs on, and what each part needs."""
    job, count = drawn
    layout = _laid(job, count, ripped * INCH // 16)
    expected = _expected_on_courses(layout)
    for part in layout.parts:
        expected += _expected_on_part(layout, part)
    assert _counted(schedule(job, layout)) == expected


@given(drawn=_jobs(), ripped=st.integers(12 * 16, 40 * 16))
def test_screws_lie_on_the_wall_and_in_their_window(drawn: tuple[Job, int], ripped: int) -> None:
    """Heights between foot and hip; fits says what the window says; slots only on end posts; sums agree."""
    job, count = drawn
    layout = _laid(job, count, ripped * INCH // 16)
    rows = schedule(job, layout)
    for row in rows:
        heights, run = layout.heights[row.run], layout.runs[row.run]
        top = heights.hip if row.place == "upright_above_panel" else heights.channel_top
        assert heights.foot < row.z < top
        length = screw_of(row.screw).length
        assert row.fits == (row.shortest <= length <= row.longest)
        assert row.grip < row.shortest
        if row.slot and row.washer is None:
            assert all(run.supports[support].kind == "end" for support in row.supports)
    assert sum(totals(rows).values()) == sum(row.count * (2 if row.washer else 1) for row in rows)
    assert len({row.id for row in rows}) == len(rows)


@given(drawn=_jobs(), ripped=st.integers(12 * 16, 40 * 16))
def test_battens_and_uprights_are_screwed_near_both_ends_and_at_most_a_foot_apart(
    drawn: tuple[Job, int], ripped: int
) -> None:
    """Top screw at most 1 in below the panel's top edge and never above it; none farther apart than 12 in."""
    job, count = drawn
    layout = _laid(job, count, ripped * INCH // 16)
    on: dict[tuple[int, int], list[int]] = {}
    for row in schedule(job, layout):
        if row.place in {"batten", "upright_over_panel", "upright_above_panel"}:
            for support in row.supports:
                on.setdefault((row.run, support), []).append(row.z)
    for part in layout.parts:
        if part.role not in {"end_batten", "corner_cap", "upright"}:
            continue
        screws, panel_top = sorted(on[part.run, part.support]), layout.heights[part.run].panel_top
        over = [z for z in screws if z <= panel_top]
        assert 0 <= panel_top - over[-1] <= INCH
        assert 0 < screws[0] - part.bottom <= 12 * INCH
        assert part.top - screws[-1] <= 12 * INCH
        assert all(above - below <= 12 * INCH for below, above in pairwise(screws))


def test_outer_metals_get_clearance_holes_where_the_thread_would_bite_first() -> None:
    """8 mm = 0.315 in is past a 0.300 in point: 0.190 + 1/32 = 0.221 in, the next 64th is 15/64 in (SAE J78, secondary).

    A field screw passes one metal and needs none; in a channel joint no room parts the metals widely.
    """
    for row in schedule(example_a_job(), example_a_wall()):
        wanted = row.place in ("board_upper", "board_lower", "batten")
        assert row.clearance == (15 * INCH // 64 if wanted else None), row.id


def test_metal_past_a_points_range_gets_clearance_holes_on_thin_sheet_too() -> None:
    """6 mm is under 0.300 in; a lap's 2 x 0.052 + 0.095 = 0.199 in is past 0.175 in, one board's 0.147 in is not."""
    job = example_a_job()
    layers = lay_wall(job, lay_courses(job, every(3), every(3), every(3)))
    row = next(row for row in schedule(job, layers) if row.place == "board_upper" and 3 in row.supports)
    thin = tuple(y._replace(thickness=6 * MILLIMETRE) if y.part == "gap" else y for y in row.layers)
    limits = {"drills": 175 * INCH // 1000, "point": 300 * INCH // 1000}
    assert clearance("imperial", thin, 10, **limits) == 15 * INCH // 64
    assert clearance("imperial", thin[1:], 10, **limits) is None
    # 4.826 + 0.794 = 5.62 mm, the next half is 6 mm
    assert clearance("metric", thin, 10, **limits) == 6 * MILLIMETRE
    size = say("test.size", "{size}", size=Bore(15 * INCH // 64))
    assert english(size) == "15/64 in"
    assert english(size, "metric") == "6 mm"
