"""Order of work along one run: the precedence table as data.

Rules of this file
------------------
- The same rules as in ``steps.py``. These rows are walked once for every run, from the end that is laid first.
- Rows of the joints repeat: at each panel joint they are done one after the other before the next joint is begun.
  What is done in which round stands in ``laying.py`` and ``actions.py``.
"""

from typing import Final

from service.planner.sequencing.steps import Line, StepRow

_MEASURED: Final = ("Lay a length of top channel over both panel ends at the joint, only where panels hang.",)
_START: Final = (
    Line(when="near_post", text="Screw the splice plate to the {seat} at {near_label}: its outer end on the centre, its top edge {channel_top} above grade."),
    Line(when="near_post", text="Then set the {near_holder} over the panel's end, from {batten_bottom} to {batten_top} above grade, and drive its screws, the top one near the panel's top edge."),
    Line(when="near_jamb", text="Lay a length of top channel on the panel's end at {near_label}, measure from the board's top to the channel's underside, and lift the channel off."),
    Line(when="near_jamb", text="Cut the end cap {profile_short} shorter than measured ({cap_length} by the plan), push it on from the opening, and drive its screws."),
    Line(when="near_rigid", text="The corner cap holds the end wall's sheet with its other leg: that sheet stands on the post's front face, not under these screws."),
)  # fmt: skip

ALONG: Final[tuple[StepRow, ...]] = (
    StepRow(
        id="bases", title="{run}: screw on the bases of the joint profiles", when="two_piece",
        requires=("mark", "metal", "end-sheets", "trench"),
        why="a base lies between panel and post, so it is there before any panel",
        detail=(
            "Cut base and cap of each two-piece profile to {profile_length}, {profile_short} shorter than the {profile_clear} that they close; deburr.",
            Line(when="above_board", text="Screw the bases to the supports on the joint marks, lower end {board_top} above grade where the board's top will be: {joints}."),
            Line(when="full_height", text="Screw the bases to the supports on the joint marks, lower end at the panel's foot: {joints}."),
            "Keep each cap with its base; it goes on once both its panels are in.",
        ),
        work=("fit_metal", "metal"), minutes={"once": 5, "joint_profile": 4, "screw": 0.6},
    ),
    StepRow(
        id="first-panel", title="{run}: clamp the first panel",
        requires=("cut-panels", "holes", "metal", "packing", "end-sheets", "trench", "bases"),
        why="everything along the run is measured from this panel's end and top",
        detail=(
            "Clamp {first_panel} with {near_end} and its top on the line, {panel_top} above grade; outside face out.",
            Line(when="inner_first", text="Hold up the board to see where the locating screws clear it; they sit {locating} above grade between the panel's ends, none at its far end{far_of_first}."),
            Line(when="bare_first", text="This panel has no locating screws: clamps hold it until board, end and channel do."),
        ),
        work=("hang",), minutes={"once": 10, "screw": 0.6},
    ),
    StepRow(
        id="first-board", title="{run}: fix the first baseboard", when="used", requires=("first-panel",),
        why="clamps the foot before the wind can lift the panel",
        detail=(
            "Hang {first_boards}: underside at grade, top {board_top} above grade.",
            "Drive the screws of both lips only where the first panel hangs behind the board, upper line {upper_line}, lower line {lower_line}.",
            Line(when="near_post", text="On the end post every screw sits {end_line} to the panel's side of the post's centre, because the panel ends there."),
            Line(when="joints", text="Drive none at a panel joint that is not closed yet."),
            Line(when="more_boards", text="Drive none at a board's far end until the next board is tucked behind it."),
        ),
        work=("board",), minutes={"baseboard": 8, "screw": 0.6},
    ),
    StepRow(
        id="start", title="{run}: hold the end at {near_label}", when="used", requires=("first-panel", "first-board"),
        why="a loose panel end does not stay in wind", detail=_START,
        work=("fit_metal",), minutes={"once": 6, "screw": 0.6},
    ),
    StepRow(
        id="start-upright", title="{run}: set the wind-flap upright near {near_label}", when="used",
        requires=("first-panel", "first-board", "start"),
        why="the top channel breaks at the upright, so it stands before the channel is cut",
        detail=(
            "Screw the splice plate to the bow first, its middle on the bow's centre and its top edge {channel_top} above grade.",
            "Lay the packing strip on the bow above it, and set the upright over both on the second bow, plumb, from the top of the board ({board_top}) to the underside of the hip rail ({hip}).",
            "The pieces of top channel that meet the upright are cut from now on, each measured to the upright's edge.",
        ),
        work=("upright", "fit_metal"), minutes={"once": 15, "screw": 0.6},
    ),
    StepRow(
        id="next-panel", title="{run}: hang the next panel", when="used", repeats=True,
        requires=("first-panel", "first-board", "start", "start-upright"),
        why="a joint is closed between two panels that hang free and straight",
        detail=(
            "Take the joints one after the other: {joints}. At each of them do this step and the following ones up to the top channel, then go on to the next joint.",
            "Hang the next panel with a gap of {gap} between the two panel ends, the middle of the gap on the joint mark, its top on the line: {next_panels}.",
            Line(when="inner_next", text="Then drive the panel's locating screws."),
            Line(when="bare_next", text="A panel without locating screws stays clamped until its board and its joint profile hold it."),
        ),
        work=("hang",), minutes={"panel": 6, "screw": 0.6},
    ),
    StepRow(
        id="early-profile", title="{run}: close the joint from the foot up", when="used", repeats=True,
        requires=("next-panel",),
        why="a profile of full height goes on before a board covers its joint",
        detail=(
            Line(when="one_piece", text=_MEASURED[0]),
            Line(when="one_piece", text="Measure from the panel's foot to the channel's underside, and lift the channel off."),
            Line(when="one_piece", text="Cut the joint profile {profile_short} shorter ({profile_length} where {profile_clear} is measured), and push it down from the top to the panel's foot."),
            Line(when="two_piece", text="Lay both panel ends on the base and press its cap on over them; no screw passes the cap."),
        ),
        work=("fit_metal", "metal"), minutes={"joint": 6},
    ),
    StepRow(
        id="next-board", title="{run}: tuck and fix the next boards", when="used", repeats=True,
        requires=("first-board", "next-panel", "early-profile", "start", "start-upright"),
        why="one screw pair holds both laps, so a board's end waits for the next, and a joint's screws wait for its panels",
        detail=(
            Line(when="next_boards", text="Hang these boards, each tucked behind the one before it by {lap} with the lap's middle on the support: {next_boards}."),
            "Then drive the screws of both lips wherever every board and panel now hangs behind them.",
            Line(when="joints", text="At a panel joint they sit on the joint mark, not on the post's centre, through both boards where two lap; leave them snug until the profile is seated."),
            Line(when="far_post", text="At {far_label} they sit {end_line} to the panel's side of the post's centre."),
        ),
        work=("board",), minutes={"baseboard": 8, "screw": 0.6},
    ),
    StepRow(
        id="late-start", title="{run}: hold the end at {near_label} once its board hangs", when="used", repeats=True,
        requires=("next-board",), why="the end cap seats on the board", detail=_START,
        work=("fit_metal", "metal"), minutes={"once": 6, "screw": 0.6},
    ),
    StepRow(
        id="far-upright", title="{run}: set the wind-flap upright near {far_label}", when="used", repeats=True,
        requires=("next-panel", "next-board", "late-start"),
        why="the top channel breaks at the upright, so it stands before the channel there is cut",
        detail=(
            "Once the last panel and board hang: screw the splice plate to the bow, lay the packing strip above it, and set the upright over both on the second bow from {far_label}, plumb, from {board_top} to {hip} above grade.",
        ),
        work=("upright", "fit_metal"), minutes={"once": 15, "screw": 0.6},
    ),
    StepRow(
        id="far-end", title="{run}: hold the end at {far_label}", when="used", repeats=True,
        requires=("first-panel", "start", "next-panel", "next-board", "late-start", "far-upright"),
        why="as at the first end: a loose panel end does not stay in wind",
        detail=(
            Line(when="far_post", text="Once the last panel and board hang: screw the splice plate to the {seat} at {far_label}, then the {far_holder} over the panel's end, every screw {end_line} to the panel's side of the post's centre."),
            Line(when="far_jamb", text="Once the last panel and board hang: lay a length of top channel on the panel's end at {far_label}, measure from the board's top to the channel's underside, and lift the channel off."),
            Line(when="far_jamb", text="Cut the end cap {profile_short} shorter than measured ({cap_length} by the plan), push it on from the opening, and drive its screws."),
            Line(when="far_rigid", text="The corner cap holds the end wall's sheet with its other leg."),
        ),
        work=("fit_metal", "metal"), minutes={"once": 6, "screw": 0.6},
    ),
    StepRow(
        id="profile", title="{run}: {close_joint}", when="used", repeats=True,
        requires=("next-panel", "next-board", "far-end"),
        why="the profile fills what is really left between board and channel",
        detail=(
            Line(when="one_piece", text=_MEASURED[0]),
            Line(when="one_piece", text="Measure from the board's top to the channel's underside, and lift the channel off."),
            Line(when="one_piece", text="Cut the joint profile {profile_short} shorter ({profile_length} where the clear height is {profile_clear}), and push it down from the top until it seats on the board."),
            Line(when="two_piece", text="Lay both panel ends on the base and press its cap on over them; no screw passes the cap."),
        ),
        work=("fit_metal", "metal"), minutes={"joint": 6},
    ),
    StepRow(
        id="fix", title="{run}: drive the {fixed} screws", when="used", repeats=True,
        requires=("next-panel", "next-board", "early-profile", "profile", "far-end"),
        why="panels hang free and straight before they are held in the middle",
        detail=(
            Line(when="one_piece", text="Drive the joint profile's screws first, on the joint mark."),
            Line(when="field_screws", text="Drive field screws at {fields} above grade in a panel once both its ends are closed."),
            "Stop when the washer just swells: no dimples.",
        ),
        work=("look",), hold="{run}: washers just swelled, no dimples, gaps free.", minutes={"once": 5, "screw": 0.6},
    ),
    StepRow(
        id="channel", title="{run}: fasten the top channel", when="used", repeats=True,
        requires=("first-board", "start", "start-upright", "next-panel", "next-board", "far-end", "profile", "fix"),
        why="a piece goes on for good once every panel and profile under it is in",
        detail=(
            "Fasten each piece as soon as every panel and profile under it is in: {channels}; the flange's screw line is {flange_line} above grade.",
            Line(when="channel_uprights", text="Cut a piece that meets a wind-flap upright only now, measured to the upright's edge; there the plate holds it, and no screw of it goes into the bow."),
            Line(when="channel_joints", text="At each joint of the channel push the splice plate in behind from above until it is flush with the channel's top: one screw in each piece, and one more beside the joint into the {seat}: {channel_joints}."),
        ),
        work=("fit_metal", "metal"), minutes={"top_channel": 6, "screw": 0.6},
    ),
    StepRow(
        id="fold", title="{run}: fold the feet in", when="used", requires=("channel",),
        why="a rising curtain must not catch",
        detail=("Fold in and smooth the foot edge of the battens and uprights of this run.",),
        work=("fit_metal", "fold"), minutes={"once": 6},
    ),
)  # fmt: skip
"""Steps along one run."""
