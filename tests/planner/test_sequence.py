"""The order of work: nothing before what it needs, nothing used twice or left over, hazards said where they are."""

from collections import Counter
from collections.abc import Iterable
from functools import cache
from graphlib import TopologicalSorter
from itertools import chain

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.bill.takeoff import by_others
from service.planner.sequencing.order import Step
from service.planner.sequencing.run_steps import ALONG
from service.planner.sequencing.step_words import LISTED
from service.planner.sequencing.steps import AFTER, BEFORE, Line
from service.planner.sequencing.tools import CAUTIONS, HAZARDS, WORK
from tests.planner.asking import english
from tests.planner.plan_cases import CASES, Planned, case, example_a, plan, small_washers, tunnel, two_piece
from tests.planner.scenarios import demo_catalog

TABLE = (*BEFORE, *ALONG, *AFTER)


def _step(planned: Planned, name: str) -> Step:
    return next(step for step in planned.steps if step.id == name)


def _ids(planned: Planned) -> set[str]:
    return {step.id for step in planned.steps}


@cache
def _ancestors(name: str) -> dict[str, frozenset[str]]:
    """For every step of a case all steps that come before it."""
    found: dict[str, frozenset[str]] = {}
    for step in case(name).steps:
        found[step.id] = frozenset(step.requires).union(*(found[required] for required in step.requires))
    return found


# --- the table itself ---


def test_every_row_requires_rows_above_it() -> None:
    """The table is written in an order that keeps every requirement, so it has no ring."""
    above: set[str] = set()
    for row in TABLE:
        assert set(row.requires) - {"every-run"} <= above, row.id
        above.add(row.id)
    assert len(above) == len(TABLE), "each row has a name of its own"


def test_every_kind_of_work_is_in_the_table_of_work() -> None:
    """A row names work that has tools or cautions, and cautions that exist."""
    assert {kind for row in TABLE for kind in row.work} == set(WORK)
    said = {name for work in WORK.values() for name in work.cautions}
    assert said | {name for names in HAZARDS.values() for name in names} == set(CAUTIONS)


def test_every_row_and_sentence_appears_for_some_tunnel() -> None:
    """No condition is misspelt: over all cases every row appears, and every sentence's condition holds once."""
    planned = [*(case(name) for name in CASES), two_piece(), two_piece("full_height"), small_washers()]
    text = "\n".join(step.detail for one in planned for step in one.steps)
    appeared = {step.id for one in planned for step in one.steps}
    for row in TABLE:
        assert any(name == row.id or name.endswith(f"-1-{row.id}") for name in appeared), row.id
        for line in row.detail:
            opening = (line.text if isinstance(line, Line) else line).split("{")[0]
            assert opening in text, opening


@pytest.mark.parametrize("name", CASES)
def test_no_word_is_left_empty(name: str) -> None:
    """Every text is filled in: no brace, no doubled space, no empty list."""
    for step in case(name).steps:
        for text in (english(step.title), step.detail, english(step.hold_point or "-")):
            assert text.strip()
            assert not set("{}") & set(text), step.id
            assert "  " not in text, step.id
            assert ": none." not in step.detail, step.id


# --- order ---


@pytest.mark.parametrize("name", CASES)
def test_every_step_comes_after_all_that_it_requires(name: str) -> None:
    """The order given is a topological order of the requirements, which form no ring."""
    steps = case(name).steps
    graph = {step.id: step.requires for step in steps}
    assert len(graph) == len(steps), "each step has an id of its own"
    assert set(TopologicalSorter(graph).static_order()) == set(graph), "a requirement names no step"
    done: set[str] = set()
    for step in steps:
        assert done.issuperset(step.requires), step.id
        done.add(step.id)


@pytest.mark.parametrize("name", CASES)
def test_dropping_rows_loses_no_order(name: str) -> None:
    """Two steps ordered in the full table stay ordered, whatever rows between them do not appear."""
    full: dict[str, frozenset[str]] = {}
    for row in TABLE:
        needs = [n for n in row.requires if n != "every-run"]
        needs += [ALONG[-1].id] if "every-run" in row.requires else []
        full[row.id] = frozenset(needs).union(*(full[needed] for needed in needs))
    along = {row.id for row in ALONG}
    present, before = _ids(case(name)), _ancestors(name)

    def named(row: str, run: str) -> str:
        return f"{run}-{row}" if row in along else row

    for run in (run.id for run in case(name).layout.runs):
        for later, earlier in full.items():
            if named(later, run) in present:
                wanted = {named(row, run) for row in earlier} & present
                assert wanted <= before[named(later, run)], (later, wanted - before[named(later, run)])


@pytest.mark.parametrize("name", CASES)
def test_the_work_ends_in_one_place(name: str) -> None:
    """Every step leads to the last look: none is left hanging that nothing waits for."""
    steps = case(name).steps
    assert steps[0].id == "ask"
    assert _ancestors(name)[steps[-1].id] == {step.id for step in steps[:-1]}


@pytest.mark.parametrize("name", CASES)
def test_nothing_is_cut_before_the_cut_list_is_agreed(name: str) -> None:
    """Every step that uses or makes a cut piece has the hold on the cut list before it."""
    for step in case(name).steps:
        if step.id in ("strips", "cut-panels", "metal") or any(part.source == "cut" for part in step.parts):
            assert "mark" in _ancestors(name)[step.id], step.id


@pytest.mark.parametrize(
    ("name", "earlier", "later"),
    [
        # common practice, no source; the reason stands in the table's row
        ("buried", "locate", "trench"),
        ("buried", "trench", "left-1-first-panel"),
        ("buried", "left-1-fold", "line-trench"),
        ("buried", "line-trench", "fill"),
        ("door between studs", "locate", "studs"),
        ("door between studs", "studs", "mark"),
        ("rigid ends, existing tunnel", "end-sheets", "left-1-first-panel"),
        ("rigid ends, existing tunnel", "clear", "posts"),
        ("plain", "strips", "cut-panels"),
        ("plain", "holes", "left-1-first-panel"),
        ("plain", "left-1-first-panel", "left-1-first-board"),
        ("plain", "left-1-start", "left-1-next-panel"),
        ("plain", "left-1-next-panel", "left-1-next-board"),
        ("plain", "left-1-next-board", "left-1-profile"),
        ("plain", "left-1-profile", "left-1-fix"),
        ("plain", "left-1-fix", "left-1-channel"),
        ("plain", "left-1-far-end", "left-1-channel"),
        ("full-height profiles", "left-1-early-profile", "left-1-next-board"),
        ("flaps, laid from the back", "packing", "left-1-start-upright"),
        ("plain", "right-1-fold", "hooks"),
        ("plain", "roof-film", "curtain"),
        ("plain", "curtain", "rope"),
        ("plain", "hooks", "rope"),
        ("flaps, laid from the back", "left-1-start-upright", "left-1-profile"),
        ("flaps, laid from the back", "left-1-far-upright", "left-1-channel"),
        ("flaps, laid from the back", "right-1-fold", "flaps"),
    ],
)
def test_the_order_of_the_trade_is_kept(name: str, earlier: str, later: str) -> None:
    """What must come first does."""
    assert earlier in _ancestors(name)[later]


@pytest.mark.parametrize(
    ("name", "there", "absent"),
    [
        (
            "plain",
            {"roof-film", "curtain", "hooks", "rope"},
            {"locate", "trench", "fill", "clear", "studs", "flaps"},
        ),
        ("buried", {"locate", "trench", "line-trench", "fill"}, {"clear", "studs"}),
        ("door between studs", {"locate", "studs"}, {"trench", "right-1-first-panel"}),
        ("door on posts", {"right-1-start", "right-2-start"}, {"locate", "studs"}),
        ("rigid ends, existing tunnel", {"clear", "end-sheets"}, {"roof-film", "end-film"}),
        ("no hooks, fixed sides", {"roof-film"}, {"curtain", "hooks", "rope"}),
        ("flaps, laid from the back", {"flaps", "left-1-far-upright", "right-1-far-upright"}, {"right-1-x"}),
        (
            "one bay",
            {"left-1-channel"},
            {"left-1-profile", "left-1-next-panel", "left-1-fix", "left-1-next-board"},
        ),
    ],
)
def test_steps_appear_when_their_condition_holds(name: str, there: set[str], absent: set[str]) -> None:
    """A step is there when the tunnel asks for it and not otherwise."""
    assert there <= _ids(case(name))
    assert absent.isdisjoint(_ids(case(name)))


def test_hold_points_stand_where_a_mistake_would_be_covered() -> None:
    """Permit, delivery, cut list, outside face, washers, buried work, hand-over."""
    held = [step.id for step in case("buried").steps if step.hold_point]
    runs = ["left-1-fix", "right-1-fix"]
    assert held == ["ask", "locate", "delivery", "mark", "strips", *runs, "line-trench", "hand-over"]


# --- parts and screws ---


def _used(steps: Iterable[Step], source: str) -> Counter[str]:
    used: Counter[str] = Counter()
    for part in chain.from_iterable(step.parts for step in steps):
        if part.source == source:
            used[part.ref] += part.amount
    return used


def _assert_crossfoots(planned: Planned) -> None:
    """Compare what the steps use with what the schedule, the layout and the take-off hold."""
    layout = planned.layout
    assert _used(planned.steps, "bill") == {need.item.sku: need.required for need in planned.needs}
    screws: Counter[str] = Counter()
    for row in planned.rows:
        screws[row.screw.sku] += row.count
        if row.washer:
            screws[row.washer.sku] += row.count
    used = _used(planned.steps, "bill")
    assert {sku: used[sku] for sku in screws} == screws
    courses = [course for wall in layout.walls for course in (wall.panels, wall.boards, wall.channels)]
    names = [piece.id for course in courses for piece in course] + [part.id for part in layout.parts]
    names += [strip.id for wall in layout.walls for strip in wall.packing]
    assert _used(planned.steps, "cut") == dict.fromkeys(names, 1)
    on_hand: Counter[str] = Counter()
    for pattern in chain.from_iterable(cutting.patterns for cutting in layout.cuttings):
        if pattern.from_on_hand:
            on_hand[pattern.sku] += pattern.repeat
    assert _used(planned.steps, "on_hand") == on_hand


@pytest.mark.parametrize("name", CASES)
def test_steps_use_exactly_what_the_plan_holds(name: str) -> None:
    """Every screw, washer, piece, part, plate, hook and length of tape is used by exactly one step."""
    _assert_crossfoots(case(name))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    bays=st.integers(1, 9),
    back=st.booleans(),
    corners=st.sets(st.sampled_from(["left-front", "left-back", "right-front", "right-back"])),
    ends=st.tuples(*[st.sampled_from(["film", "polycarbonate", "open"])] * 2),
    height=st.integers(12, 40),
)
def test_every_tunnel_crossfoots(
    bays: int, *, back: bool, corners: set[str], ends: tuple[str, str], height: int
) -> None:
    """Whatever the tunnel, nothing is used twice and nothing is left over."""
    spec = tunnel(
        bays,
        wall={"height": f"{height} in"},
        options={"lay_from": "back" if back else "front", "wind_flaps": sorted(corners) if bays > 1 else []},
        end_walls={"front": ends[0], "back": ends[1]},
    )
    planned = plan(spec, demo_catalog())
    _assert_crossfoots(planned)
    done: set[str] = set()
    for step in planned.steps:
        assert done.issuperset(step.requires)
        done.add(step.id)


def test_end_plates_go_on_before_the_batten_covers_them() -> None:
    """Each end post's plate and its one screw belong to the step that sets the batten."""
    planned = example_a()
    for end in ("start", "far-end"):
        parts = {part.ref: part.amount for part in _step(planned, f"left-1-{end}").parts}
        # one plate, one 3/4 in screw through it; ceil(18.9375 / 12) + 1 = 3 screws in the batten
        assert parts["plate"] == 1
        assert parts["pan-square-short"] == 1
        assert parts["hex-long"] == 3


def test_a_two_piece_profiles_base_is_screwed_on_before_any_panel() -> None:
    """Its base and screws come first, its cap after; nothing is pushed on from the top (common practice, no source)."""
    planned = two_piece()
    steps = {step.id: step for step in planned.steps}
    assert "left-1-bases" in steps["left-1-first-panel"].requires
    assert "measure" not in {action.do for step in steps.values() for action in step.actions}
    used = {part.ref for part in steps["left-1-bases"].parts}
    profiles = [part.id for part in planned.layout.parts if part.role == "joint_profile" and part.run == 0]
    screws = {row.screw.sku for row in planned.rows if row.place == "joint_profile"}
    assert used >= {*profiles, *screws}
    assert "(joint profile" in steps["left-1-bases"].detail
    text = " ".join(step.detail for step in planned.steps)
    assert "from the top" not in text
    assert "press its cap on" in steps["left-1-profile"].detail
    _assert_crossfoots(planned)


@pytest.mark.parametrize("name", CASES)
def test_locating_screws_are_told_where_they_are_driven_and_nowhere_else(name: str) -> None:
    """A panel over one bay, or whose only support carries an upright, has none."""
    planned = case(name)
    for step in planned.steps:
        if step.id.endswith(("-first-panel", "-next-panel")):
            driven = "(locating screws, through the panel" in step.detail
            told = "the locating screws clear it" in step.detail or "panel's locating screws" in step.detail
            assert told == driven, step.id


def test_a_flap_at_a_rigid_end_tells_of_the_channel_that_it_needs() -> None:
    """Its corner cap grips no film: two of four flaps, each with a channel from board to hip rail by others."""
    planned = case("flaps beside a rigid end")
    detail = next(step.detail for step in planned.steps if step.id == "flaps")
    assert "grips no film: 2 wind flaps there" in detail
    other = next(o for o in by_others(planned.job, planned.layout) if o.id == "flap-end-channels")
    uprights = [p for p in planned.layout.parts if p.role == "upright" and p.end == "front"]
    assert (other.count, other.length) == (2, sum(part.length for part in uprights))
    assert all(o.id != "flap-end-channels" for o in by_others(case("plain").job, case("plain").layout))


# --- size ---


def test_more_bays_make_no_more_steps_and_no_longer_texts() -> None:
    """Ten times the bays give the same steps; texts name the first few things and count the rest."""
    small, large = plan(tunnel(40), demo_catalog()), plan(tunnel(400), demo_catalog())
    assert [step.id for step in large.steps] == [step.id for step in small.steps]
    joints = len(large.layout.walls[0].joints)
    assert f"and {joints - LISTED} more" in _step(large, "left-1-next-panel").detail
    # the longest text names hooks; an entry of "left-1 at 999' 11 15/16\"" with its comma takes under 30 characters
    assert max(len(step.detail) for step in large.steps) < 4 * LISTED * 30
    _assert_crossfoots(large)


@pytest.mark.parametrize("name", CASES)
def test_every_step_takes_some_time(name: str) -> None:
    """Minutes are whole and positive, an estimate for planning the day."""
    assert all(step.minutes > 0 for step in case(name).steps)


def test_more_work_takes_longer() -> None:
    """Twice the bays take more minutes in all, and never less than before in any step."""
    small, large = case("plain").steps, plan(tunnel(12), demo_catalog()).steps
    assert sum(step.minutes for step in large) > sum(step.minutes for step in small)
