"""The take-off: everything on the wall counted once, spares by their rule, stock on hand not bought."""

from dataclasses import replace
from fractions import Fraction
from math import ceil

import pytest

from service.planner.asked.roles import HOOK_SET
from service.planner.bill.takeoff import Need, by_others, take_off
from service.planner.errors import NoSuchItem
from service.planner.units import FOOT, INCH, MILLIMETRE
from tests.planner.asking import english
from tests.planner.plan_cases import CASES, Planned, case, example_a


def _need(planned: Planned, sku: str) -> Need:
    return next(need for need in planned.needs if need.item.sku == sku)


@pytest.mark.parametrize(
    ("sku", "required", "spare"),
    [
        # Tunnel of 22 bays, two sides, film end walls, solved by hand:
        # 15 strips of 2 panels or less, two strips a sheet: 8 sheets
        ("sheet", 8, 0),
        # 8 boards and 8 channels a side; two odd bays share a stick: 15
        ("board", 15, 0),
        ("channel", 15, 0),
        # 14 profiles of 17 1/16 in, 5 a stick of 96 in: 5 x 17.0625 + 4 x 0.125 = 85.8, so 3 sticks
        ("joint-profile", 3, 0),
        # 4 battens of 18 15/16 in and 3 kerfs are 76.125 in: one stick of 144 in
        ("film-channel", 1, 0),
        # 7 channel joints a side and 4 ends: 14 + 4; two to spare
        ("plate", 18, 2),
        # upper lip 46; locating 28, field 56, joint profiles 28: 158, a tenth 15.8 -> 16
        ("pan-cross-long", 158, 16),
        # lower lip 46, four battens of 3: 58, a tenth 5.8 -> 6
        ("hex-long", 58, 6),
        # plain supports 46 - 4 - 14 = 28, joints 14 x 3, ends 4 x 2: 78, a tenth 7.8 -> 8
        ("pan-square-short", 78, 8),
        # 28 + 56 + 28 = 112, a tenth 11.2 -> 12
        ("washer", 112, 12),
        # one hook a bay, 22 x 2, a tenth 4.4 -> 5
        ("hook", 44, 5),
        ("plug", 44, 5),
    ],
)
def test_the_hand_solved_tunnel_needs_what_was_counted_by_hand(sku: str, required: int, spare: int) -> None:
    """Every need equals the hand count, and spares are rounded up."""
    need = _need(example_a(), sku)
    assert (need.required, need.spare, need.unit) == (required, spare, "H87")


def test_tape_is_measured_along_the_roll_after_slitting() -> None:
    """A wide roll gives several strips, so less of it is bought than is stuck on.

    32 panel ends x (23 15/16 + 1) in = 798 in = 66.5 ft of tape. 8 mm and two laps of 3/8 in are 1.065 in, so a 3 in
    roll gives 2 strips: 399 in of roll, and a tenth.
    """
    planned = example_a()
    assert sum(tape.length for tape in planned.layout.tapes) == 133 * FOOT // 2
    foil = _need(planned, "foil")
    assert (foil.required, foil.spare, foil.unit) == (399 * INCH, 399 * INCH // 10, "MTR")
    assert foil.per_pack == 33_000 * MILLIMETRE


def test_the_roll_that_costs_least_is_chosen() -> None:
    """One narrow roll for little tape; a wide one once two narrow ones would be needed.

    Demo stock, 33 m rolls: 1 1/2 in 19.90 (one strip), 3 in 28.30 (two strips). 66.5 ft and a tenth are 22.3 m: one
    narrow roll. Twice that is 44.6 m: two narrow rolls 39.80, or 22.3 m of one wide roll 28.30.
    """
    planned = with_demo_catalog(example_a())
    layout = planned.layout
    little = take_off(planned.job, layout, planned.rows)
    twice = replace(layout, walls=tuple(replace(wall, tapes=wall.tapes * 2) for wall in layout.walls))
    much = take_off(planned.job, twice, planned.rows)
    assert [need.item.sku for needs in (little, much) for need in needs if need.unit == "MTR"] == [
        "FT-150",
        "FT-300",
    ]


def with_demo_catalog(planned: Planned) -> Planned:
    """A plan the demo dealer's stock list."""
    return replace(planned, job=replace(planned.job, catalog=case("plain").job.catalog))


def test_a_roll_narrower_than_sheet_and_laps_is_refused() -> None:
    """8 mm and two laps of 3/8 in are 27.05 mm; a roll of 1 in does not cover them."""
    planned = case("plain")
    catalog = planned.job.catalog
    narrow = tuple(item for item in catalog.by_role["foil_tape"] if item.sku == "FT-100")
    stock = replace(catalog, by_role={**catalog.by_role, "foil_tape": narrow})
    with pytest.raises(NoSuchItem, match="wide enough") as refused:
        take_off(replace(planned.job, catalog=stock), planned.layout, planned.rows)
    assert refused.value.errors[0].pointer == "/wall/panel_thickness"
    assert "foil tape" in english(refused.value.detail)
    assert '1 1/16"' in english(refused.value.errors[0].detail)


def test_a_hook_set_with_a_part_missing_is_refused() -> None:
    """Hooks without lock nuts cannot be fitted; the refusal names the part and the field."""
    planned = case("plain")
    index = {**planned.job.catalog.by_role, "lock_nut": ()}
    catalog = replace(planned.job.catalog, by_role=index)
    with pytest.raises(NoSuchItem) as refused:
        take_off(replace(planned.job, catalog=catalog), planned.layout, planned.rows)
    assert refused.value.errors[0].pointer == "/options/rope_hooks"
    assert "lock nut" in english(refused.value.errors[0].detail)


def test_stock_on_hand_is_not_bought() -> None:
    """Pieces come from bought stock or from stock on hand, and only the first is in the take-off."""
    planned = case("on hand")
    patterns = [pattern for cutting in planned.layout.cuttings for pattern in cutting.patterns]
    assert any(pattern.from_on_hand for pattern in patterns), "the case must use what is on hand"
    bought = [need for need in planned.needs if need.role in ("sheet", "baseboard")]
    for need in bought:
        opened = sum(p.repeat for p in patterns if p.sku == need.item.sku and not p.from_on_hand)
        assert need.required == opened
    free = {
        name for p in patterns if p.from_on_hand for s in p.strips for named in s.pieces for name in named
    }
    assert free
    assert free.isdisjoint(name for need in bought for name in need.needed_by)


def test_no_spares_leaves_two_plates() -> None:
    """With spares_percent 0 nothing is added but the two splice plates."""
    planned = case("plain")
    options = replace(planned.job.spec.options, spares_percent=0)
    job = replace(planned.job, spec=replace(planned.job.spec, options=options))
    spares = {need.role: need.spare for need in take_off(job, planned.layout, planned.rows) if need.spare}
    assert spares == {"splice_plate": 2}


def test_without_plates_none_are_bought() -> None:
    """A wall between two jambs in one piece of channel has no plate, so no spare plate either."""
    planned = case("plain")
    walls = tuple(replace(wall, plates=(), hooks=(), tapes=()) for wall in planned.layout.walls)
    bare = replace(planned.layout, walls=walls)
    roles = {need.role for need in take_off(planned.job, bare, planned.rows)}
    assert roles.isdisjoint({"splice_plate", "foil_tape", *HOOK_SET})


@pytest.mark.parametrize("name", CASES)
def test_everything_on_the_wall_is_needed_exactly_once(name: str) -> None:
    """Each piece and part names one item of stock, each row its screw, each plate and hook its own."""
    planned = case(name)
    layout = planned.layout
    free = [
        piece
        for cutting in layout.cuttings
        for pattern in cutting.patterns
        if pattern.from_on_hand
        for strip in pattern.strips
        for named in strip.pieces
        for piece in named
    ]
    courses = [course for wall in layout.walls for course in (wall.panels, wall.boards, wall.channels)]
    pieces = [piece.id for course in courses for piece in course] + [part.id for part in layout.parts]
    # packing strips that no offcut holds come from a sheet bought for them
    pieces += [strip.id for wall in layout.walls for strip in wall.packing if strip.item is not None]
    stock = ("sheet", "baseboard", "top_channel", "joint_profile", "film_channel", "corner_cap", "end_cap")
    named = [piece for need in planned.needs if need.role in stock for piece in need.needed_by]
    assert sorted(named + free) == sorted(pieces)
    screws = [row for need in planned.needs if need.role == "screw" for row in need.needed_by]
    assert sorted(screws) == sorted(row.id for row in planned.rows)
    required = sum(need.required for need in planned.needs if need.role == "screw")
    assert required == sum(row.count for row in planned.rows)
    skus = [need.item.sku for need in planned.needs]
    assert len(skus) == len(set(skus)), "one need for each sku"


@pytest.mark.parametrize("percent", [0, 1, 7, 10, 33, 50])
def test_spares_are_the_share_rounded_up(percent: int) -> None:
    """Spare screws are the least whole number that is at least the share asked for."""
    planned = case("plain")
    options = replace(planned.job.spec.options, spares_percent=percent)
    job = replace(planned.job, spec=replace(planned.job.spec, options=options))
    for need in take_off(job, planned.layout, planned.rows):
        if need.role in ("screw", "washer", *HOOK_SET, "foil_tape"):
            assert need.spare == ceil(Fraction(percent, 100) * need.required)


def test_what_others_bring_is_said() -> None:
    """Studs beside a door, film at the ends, rope and trench lining are named."""
    door = case("door between studs")
    assert {(o.id, o.count) for o in by_others(door.job, door.layout)} >= {
        ("jamb-studs", 2),
        ("end-wall-film", 2),
    }
    buried = case("buried")
    # two sides of 6 bays of 4 ft
    assert {o.id: o.length for o in by_others(buried.job, buried.layout)}["trench-lining"] == 48 * FOOT


@pytest.mark.parametrize("name", ["flaps, laid from the back", "flaps beside a rigid end", "two bays, flaps"])
def test_packing_strips_come_from_what_is_there(name: str) -> None:
    """From the channel's top (24 15/16 in) to the hip rail (60 in), 1 1/2 in wide: out of an offcut or a sheet on the bill."""
    planned = case(name)
    strips = [strip for wall in planned.layout.walls for strip in wall.packing]
    assert {(strip.length, strip.width) for strip in strips} == {(561 * INCH // 16, 3 * INCH // 2)}
    rests = [
        (strip.offcut, strip.height)
        for pattern in planned.layout.cutting("sheet").patterns
        for strip in pattern.strips
    ]
    bought = {need.item.sku: need for need in planned.needs if need.role == "sheet"}
    for strip in strips:
        if strip.item is not None:
            assert strip.id in bought[strip.item.sku].needed_by
        else:
            assert strip.source in rests
            assert max(strip.source) >= strip.length


def test_nothing_is_listed_that_is_not_there() -> None:
    """A plain tunnel with fixed film ends asks others for film only."""
    planned = case("no hooks, fixed sides")
    assert {o.id for o in by_others(planned.job, planned.layout)} == {"end-wall-film"}
