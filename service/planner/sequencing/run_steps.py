"""Order of work along one run: the precedence table as data.

Rules of this file
------------------
- The same rules as in ``steps.py``. These rows are walked once for every run, from the end that is laid first.
- Steps next-panels, next-boards, fix and channel go on together, joint by joint, until the run's far end.
"""

from typing import Final

from service.planner.sequencing.steps import Line, StepRow

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
        requires=("cut-panels", "holes", "metal", "end-sheets", "trench", "bases"),
        why="everything along the run is measured from this panel's end and top",
        detail=(
            "Clamp {first_panel} with its {near_end} and its top on the line, {panel_top} above grade; outside face out.",
            Line(when="near_jamb", text="Slip the end cap on its taped end first: it cannot go on once the panel is clamped."),
            Line(when="both_caps", text="Slip the end cap on its other end as well."),
            Line(when="full_height_pushed", text="The joint profile runs from the panel's foot and goes on before a board passes that joint."),
            Line(when="inner_first", text="Offer up the board to see where the locating screws clear it; they sit {locating} above grade at the intermediate supports, none at the panel's far end{far_of_first}."),
            Line(when="bare_first", text="This panel has no locating screws: clamps hold it until board, end and channel do."),
        ),
        work=("hang",), minutes={"once": 10, "screw": 0.6},
    ),
    StepRow(
        id="first-board", title="{run}: fix the first baseboard", requires=("first-panel",),
        why="clamps the foot before the wind can lift the panel",
        detail=(
            "Hang {first_board} with its underside at grade and its top {board_top} above.",
            "Both lips at each support, upper line {upper_line}, lower line {lower_line}; none beyond the panel already hung.",
            Line(when="end_posts", text="On an end post every screw sits {end_line} to the panel's side of the post's centre, because the panel ends there."),
            Line(when="more_boards", text="None at the board's far end: the next board is tucked behind it first."),
        ),
        work=("board",), minutes={"once": 8, "screw": 0.6},
    ),
    StepRow(
        id="start", title="{run}: hold the end at {near_label}", when="used", requires=("first-panel", "first-board"),
        why="a loose panel end does not stay in wind",
        detail=(
            Line(when="near_post", text="Screw the splice plate to the post, then the {near_holder} over the panel's end, from {batten_bottom} to {batten_top} above grade, its top screw near the panel's top edge."),
            Line(when="near_jamb", text="Screw the end cap through the end of the panel."),
            Line(when="near_rigid", text="The cap clamps end wall and side panel together."),
        ),
        work=("fit_metal",), minutes={"once": 6, "screw": 0.6},
    ),
    StepRow(
        id="start-upright", title="{run}: set the wind-flap upright near {near_label}", when="used",
        requires=("first-board", "start"),
        why="the top channel breaks at the upright, so it stands before the channel is cut",
        detail=(
            "Set the upright on the second bow, from the top of the board ({board_top}) to the underside of the hip rail ({hip}), plumb.",
            "Above the panel it stands on a packing strip of sheet offcut.",
        ),
        work=("upright", "fit_metal"), minutes={"once": 15, "screw": 0.6},
    ),
    StepRow(
        id="measure", title="{run}: measure the clear height and cut the joint profiles", when="one_piece",
        requires=("first-board", "start", "start-upright"),
        why="the profile fills what is really left between board and channel",
        detail=(
            "At each joint lay the top channel on the panel, measure from the board's top to the channel's underside, and lift it off again.",
            Line(when="above_board", text="Cut the profile {profile_short} shorter: {profile_length} where the clear height is {profile_clear}."),
            Line(when="full_height", text="This profile runs from the foot: measure from there, and cut it {profile_short} shorter: {profile_length} where {profile_clear} is measured."),
        ),
        work=("fit_metal", "metal"), minutes={"joint": 3},
    ),
    StepRow(
        id="next-panels", title="{run}: hang the next panels and {close_joints}", when="used",
        requires=("first-board", "start", "start-upright", "measure"),
        why="a joint is closed between two panels that hang free and straight",
        detail=(
            "One joint after the other: {joints}. Leave a gap of {gap} between panel ends, middle of the gap on the mark, top on the line.",
            "Panels in this order: {next_panels}.",
            Line(when="joints", text="Panels, boards, screws and channel of this and the following steps go on together, joint by joint; clamps stay on until a panel's board holds it."),
            Line(when="pushed_on_board", text="Push the profile on from the top until it seats on the board."),
            Line(when="full_height_pushed", text="Push the profile on from the top down to the panel's foot, behind the board."),
            Line(when="two_piece", text="Lay both panel ends on the base and press its cap on over them; no screw passes the cap."),
            Line(when="inner_next", text="Then drive the panel's locating screws."),
            Line(when="bare_next", text="A panel without locating screws stays clamped until its board and profile hold it."),
            Line(when="far_jamb", text="Slip the end cap on the last panel's taped end before it is clamped."),
        ),
        work=("hang", "fit_metal"), minutes={"panel": 6, "joint_profile": 3, "screw": 0.6},
    ),
    StepRow(
        id="next-boards", title="{run}: tuck and fix the next baseboards", when="used",
        requires=("first-board", "next-panels"),
        why="one screw pair holds both laps, so a board's end waits for the next",
        detail=(
            "Tuck each board behind the one before by {lap}, centred on the support, and drive both lips through both laps: {laps}.",
            "Boards in this order: {next_boards}. No screw where the panel is not yet behind.",
            Line(when="far_post", text="At {far_label} they sit {end_line} to the panel's side of the post's centre."),
        ),
        work=("board",), minutes={"baseboard": 8, "screw": 0.6},
    ),
    StepRow(
        id="fix", title="{run}: drive the {fixed} screws", when="used", requires=("next-panels", "next-boards"),
        why="panels hang free and straight before they are held in the middle",
        detail=(
            Line(when="one_piece", text="Joint-profile screws first."),
            Line(when="field_screws", text="Field screws at {fields} above grade."),
            "Stop when the washer just swells: no dimples.",
        ),
        work=("look",), hold="{run}: washers just swelled, no dimples, gaps free.", minutes={"once": 5, "screw": 0.6},
    ),
    StepRow(
        id="channel", title="{run}: fasten the top channel", when="used",
        requires=("start", "start-upright", "next-panels", "next-boards", "fix"),
        why="a piece goes on for good once every panel and profile under it is in",
        detail=(
            "Pieces in this order: {channels}; the flange's screw line is {flange_line} above grade.",
            Line(when="channel_joints", text="At each joint push the splice plate in behind from above until it is flush with the channel's top: one screw in each piece, one beside the joint into the post or bow: {channel_joints}."),
            Line(when="early_uprights", text="At an upright the plate alone holds both pieces; no screw goes into the bow."),
        ),
        work=("fit_metal",), minutes={"top_channel": 6, "screw": 0.6},
    ),
    StepRow(
        id="far-end", title="{run}: hold the end at {far_label}", when="used", requires=("next-panels", "next-boards", "fix"),
        why="as at the first end: a loose panel end does not stay in wind",
        detail=(
            Line(when="far_post", text="Screw the splice plate to the post, then the {far_holder} over the panel's end, every screw {end_line} to the panel's side of the post's centre."),
            Line(when="far_jamb", text="Screw the end cap through the end of the panel."),
            Line(when="far_rigid", text="The cap clamps end wall and side panel together."),
        ),
        work=("fit_metal",), minutes={"once": 6, "screw": 0.6},
    ),
    StepRow(
        id="far-upright", title="{run}: set the wind-flap upright near {far_label}", when="used",
        requires=("next-boards", "far-end"),
        why="the top channel breaks at the upright, so it stands before the channel there is cut",
        detail=("Set the upright on the second bow from the end, from {board_top} to {hip} above grade, plumb, on a packing strip above the panel.",),
        work=("upright", "fit_metal"), minutes={"once": 15, "screw": 0.6},
    ),
    StepRow(
        id="last-channel", title="{run}: close the top channel",
        requires=("start", "start-upright", "fix", "channel", "far-end", "far-upright"),
        why="its end goes as far as what holds the panel's end, which must be there",
        detail=(
            "Last: {last_channels}; the flange's screw line is {flange_line} above grade.",
            Line(when="last_joints", text="At each joint push the splice plate in behind from above until it is flush with the channel's top: {last_joints}."),
            Line(when="last_uprights", text="At an upright the plate alone holds both pieces; no screw goes into the bow."),
            Line(when="feet", text="Fold in and smooth the foot edge of battens and uprights, so that a rising curtain cannot catch."),
        ),
        work=("fit_metal", "fold"), minutes={"once": 6, "top_channel": 6, "screw": 0.6},
    ),
)  # fmt: skip
"""Steps along one run."""
