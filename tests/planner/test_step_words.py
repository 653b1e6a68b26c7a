"""What the steps say: this plan's numbers, the tools that its parts ask for, the cautions where the hazard is."""

from itertools import chain

import pytest

from service.planner.rules import Drive
from service.planner.sequencing.order import Step
from service.planner.sequencing.tools import CAUTIONS, bit_for
from service.planner.units import INCH
from tests.planner.asking import english
from tests.planner.plan_cases import CASES, Planned, case, example_a


def _step(planned: Planned, name: str) -> Step:
    return next(step for step in planned.steps if step.id == name)


# --- words ---


def test_the_hand_solved_tunnel_tells_its_numbers() -> None:
    """Texts carry the figures worked out by hand."""
    planned = example_a()
    marks = _step(planned, "mark").detail
    # the top line is 23 15/16 in above grade
    assert "left-1 1' 11 15/16\"" in marks
    for joint in chain.from_iterable(wall.joints for wall in planned.layout.walls):
        run = planned.layout.runs[joint.run]
        label = run.supports[joint.support].label
        # whole sheets let a joint drift by up to 0.17 x 1.9 in = 0.323 in; post n of the side is at (n - 1) x 48 in
        assert abs(joint.x - 48 * INCH * (int(label[1:]) - 1)) <= 323 * INCH // 1000
        assert f"{run.id} {label} ({planned.job.text(joint.x)})" in marks
    # g = 1/16 + 2 x 1/4 = 9/16 in
    assert 'gap of 9/16" between the two panel ends' in _step(planned, "left-1-next-panel").detail
    # clear height 23 15/16 - 3/4 - 6 = 17 3/16 in, profile 1/8 in shorter
    assert "1' 5 1/16\" where the clear height is 1' 5 3/16\"" in _step(planned, "left-1-profile").detail
    # locating screws 1 1/2 in above the board of 6 in
    assert '7 1/2" above grade' in _step(planned, "left-1-first-panel").detail
    # 22 hooks a side in the middle of a 6 in face
    assert (
        "44 rope hooks in the middle of the board's face, 3\" above grade" in _step(planned, "hooks").detail
    )


def test_holes_let_panels_move_by_hand() -> None:
    """The hole is the screw and the travel at the support farthest from a panel's middle.

    End piece of 143 11/16 in on bays of 48 in: middle at 71.84 in, support at 96 in, 24.16 in away. Travel
    2 x 65e-6 x 24.16 x 40 K = 0.126 in, which is more than 1/16 in; 0.190 + 0.126 = 0.316 in, next 1/16 in: 3/8 in.
    """
    assert 'holes 3/8" wide' in _step(example_a(), "holes").detail


def test_metric_texts_are_metric() -> None:
    """With metric display units no detail of a run writes inches."""
    for step in case("metric").steps:
        if step.id.startswith("left-1"):
            assert '"' not in step.detail
            assert " mm" in step.detail or step.id.endswith(("far-end", "fold"))


def test_laid_from_the_back_everything_turns() -> None:
    """The first panel is the one at the back, and its end lies on the last post."""
    detail = _step(case("flaps, laid from the back"), "left-1-first-panel").detail
    last = case("flaps, laid from the back").layout.walls[0].panels[-1]
    assert last.id in detail
    assert "end on the centre of P10" in detail


def test_a_jamb_end_is_capped_once_its_board_hangs() -> None:
    """Its cap is measured to the board, cut and pushed on from the opening (common practice, no source)."""
    planned = case("door between studs")
    far, near = _step(planned, "left-1-far-end"), _step(planned, "left-2-start")
    assert planned.layout.runs[0].back_end == "jamb"
    assert "left-1-end-cap-back" in {part.ref for part in far.parts}
    assert "left-2-end-cap-front" in {part.ref for part in near.parts}
    for step in (far, near):
        assert [action.do for action in step.actions[:4]] == ["lay_on", "measure", "cut", "push_on"]
        assert "push it on from the opening" in step.detail


def test_a_step_names_the_pilot_of_the_screws_that_it_drives() -> None:
    """Board, panel and post are three layers: a pilot on the mark, after the board's clearance hole."""
    detail = _step(example_a(), "left-1-next-board").detail
    assert (
        "First drill a 15/64 in clearance hole through this only: baseboard; then a 1/8 in pilot hole into this: post."
        in detail
    )


# --- tools and cautions ---


@pytest.mark.parametrize(
    ("number", "drive", "tool"),
    [
        # hex washer heads of No.10 and No.12 are 5/16 in across flats, of 1/4 in 3/8 in: SAE J78, secondary
        (10, "hex", "5/16 in nut driver"),
        (12, "hex", "5/16 in nut driver"),
        (14, "hex", "3/8 in nut driver"),
        (8, "hex", "1/4 in nut driver"),
        # cross recess No.2 for No.5 to No.10, No.3 for No.12 to 1/4 in: ASME B18.6.3
        (10, "cross", "No.2 cross-recess bit"),
        (12, "cross", "No.3 cross-recess bit"),
        # square recess, from memory
        (10, "square", "No.2 square-recess bit"),
    ],
)
def test_the_driver_follows_from_the_screw(number: int, drive: Drive, tool: str) -> None:
    """Heads and recesses as the standards size them."""
    assert english(bit_for(number, drive)) == tool


def test_tools_follow_from_what_a_step_drives() -> None:
    """Bits and the pilot drill appear where their screws do, and nowhere else."""
    planned = example_a()
    board, channel, hooks = (
        {english(tool) for tool in _step(planned, step).tools}
        for step in ("left-1-first-board", "left-1-channel", "hooks")
    )
    assert {"No.2 cross-recess bit", "5/16 in nut driver"} <= board
    assert "No.2 square-recess bit" in channel
    assert "5/16 in nut driver" not in channel
    # 1/4 in nut, 7/16 in across flats: ASME B18.2.2
    assert {"7/16 in deep socket", "1/4 in drill", "1 in hole saw"} <= hooks


@pytest.mark.parametrize("name", CASES)
def test_cautions_stand_where_the_hazard_is(name: str) -> None:
    """Drilling, sheet metal, long panels, digging, ladders and the frame each carry their caution."""
    planned = case(name)
    screws = {row.screw.sku for row in planned.rows}
    panels = {panel.id: panel.length for wall in planned.layout.walls for panel in wall.panels}
    for step in planned.steps:
        refs = {part.ref for part in step.parts}
        if refs & screws:
            assert CAUTIONS["eyes"] in step.cautions, step.id
        if any(part.source == "cut" and part.ref not in panels for part in step.parts):
            assert CAUTIONS["gloves"] in step.cautions, step.id
        if refs & set(panels):
            assert CAUTIONS["wind"] in step.cautions, step.id
        if any(panels.get(ref, 0) > 96 * INCH for ref in refs):
            assert CAUTIONS["two"] in step.cautions, step.id
        if step.id in ("trench", "studs", "locate", "posts"):
            assert CAUTIONS["dig"] in step.cautions, step.id
        if "upright" in step.id:
            assert CAUTIONS["ladder"] in step.cautions, step.id
        along = any(step.id.startswith(run.id) for run in planned.layout.runs)
        assert (CAUTIONS["edge"] in step.cautions) == (
            along and planned.job.spec.options.trench is not None
        ), step.id
    assert CAUTIONS["frame"] in planned.steps[0].cautions
    assert {CAUTIONS["eyes"], CAUTIONS["dust"]} <= set(_step(planned, "strips").cautions)
    assert CAUTIONS["overhead"] in _step(planned, "delivery").cautions
