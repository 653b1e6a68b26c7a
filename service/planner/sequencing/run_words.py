"""What the precedence table's conditions and words mean for one run, and which screws go where.

Rules of this file
------------------
- The same rules as in ``step_words.py``; everything is told in the order in which the run is laid.
- Equal screws are told together: which supports at one height, which heights on the same supports.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from service.planner.asked.roles import ROLES, layer_noun
from service.planner.asked.settle import Job
from service.planner.fastening.holes import drill_text, outer_metals
from service.planner.keeping import remembered
from service.planner.sequencing.laying import Laying
from service.planner.sequencing.step_uses import Driven
from service.planner.sequencing.step_words import MARKS, StepFacts, holding, listed
from service.planner.units import DisplayUnits
from service.planner.wall.courses import end_line_offset
from service.planner.wall.layout import EndKind, FastenerRow, Layer, Part, Piece

HOLDERS: Final[Mapping[EndKind, str]] = {
    "end_film": "end batten", "end_open": "end batten", "end_rigid": "corner cap", "jamb": "end cap",
}  # fmt: skip
"""What holds a panel's end, by what stands there."""
PLACES: Final[Mapping[str, str]] = {
    "board_upper": "board's upper lip",
    "board_lower": "board's lower lip",
    "locating": "locating, through the panel",
    "field": "field, through the panel",
    "joint_profile": "joint profile",
    "top_channel": "top channel's flange",
    "batten": "end batten",
    "upright_over_panel": "wind-flap upright over the panel",
    "upright_above_panel": "wind-flap upright above the panel",
    "jamb_cap": "end cap at the jamb",
}
"""What the crew calls each place of the fastening rules table."""


def run_facts(job: Job, gap: int, laying: Laying) -> StepFacts:
    """Give the facts of the steps along one run.

    Parameters
    ----------
    job
        The settled job.
    gap
        Gap between two panels [nm].
    laying
        The run as it is laid.
    """
    run = laying.run
    near, far = (run.front_end, run.back_end)[:: 1 if laying.from_front else -1]
    joints, parts = laying.wall.joints, laying.wall.parts
    two_piece = laying.two_piece
    uprights = run.uprights
    # supports under a panel that are neither its ends nor under an upright get its locating and field screws
    located = [p.end - p.start - 1 > sum(p.start < u < p.end for u in uprights) for p in laying.panels]
    full_height = laying.full_height
    holds = holding(
        near_post=near != "jamb",
        near_jamb=near == "jamb",
        near_rigid=near == "end_rigid",
        far_post=far != "jamb",
        far_jamb=far == "jamb",
        far_rigid=far == "end_rigid",
        joints=bool(joints),
        one_piece=bool(joints) and not two_piece,
        two_piece=bool(joints) and two_piece,
        more_boards=len(laying.boards) > 1,
        next_boards=max(laying.board_rounds) > 0,
        channel_joints=any(plate.kind == "joint" for plate in laying.wall.plates),
        channel_uprights=bool(uprights),
        inner_first=located[0],
        bare_first=not located[0],
        inner_next=any(located[1:]),
        bare_next=not all(located[1:]),
        field_screws=bool(laying.wall.heights.field) and any(located),
        full_height=full_height,
        above_board=not full_height,
        trench=job.spec.options.trench is not None,
    )
    words = _height_words(job, gap, laying) | _course_words(job, laying)
    words |= _end_words(job, laying, (near, far), parts)
    return StepFacts(holds=holds, words=words, counts={"once": 1, "joint": len(joints)})


def _height_words(job: Job, gap: int, laying: Laying) -> dict[str, str]:
    """Write the heights of a run's lines."""
    heights, text = laying.wall.heights, job.text
    return {
        "panel_top": text(heights.panel_top),
        "board_top": text(heights.board_top),
        "upper_line": text(heights.upper_line),
        "lower_line": text(heights.lower_line),
        "locating": text(heights.locating),
        "fields": " and ".join(text(z) for z in heights.field),
        "flange_line": text(heights.flange_line),
        "hip": text(heights.hip),
        "gap": text(gap),
        "lap": text(job.board.part.lap),
        "profile_short": text(job.limits.profile_clearance),
    }


def _course_words(job: Job, laying: Laying) -> dict[str, str]:
    """Write which pieces go up, in which order, meeting where."""
    run, text = laying.run, job.text
    joints = laying.wall.joints
    first = laying.panels[0]
    ordered = joints if laying.from_front else joints[::-1]

    def piece(one: Piece) -> str:
        return f"{one.id} ({text(one.length)})"

    def label(support: int) -> str:
        return laying.labels[support]

    def far_label(one: Piece) -> str:
        return label(one.end if laying.from_front else one.start)

    def timed(pair: tuple[Piece, int]) -> str:
        one, number = pair
        return f"at {label(laying.joints[number - 1])} {piece(one)}" if laying.joints else piece(one)

    plated = [plate.support for plate in laying.wall.plates if plate.kind == "joint"]
    boards = [pair for pair in zip(laying.boards, laying.board_rounds, strict=True) if pair[1]]
    channels = list(zip(laying.channels, laying.channel_rounds, strict=True))
    return {
        "run": run.id,
        "first_panel": piece(first),
        "far_of_first": f" ({far_label(first)})" if len(laying.panels) > 1 else "",
        "next_panels": listed(list(zip(laying.panels[1:], range(1, len(laying.panels)), strict=True)), timed),
        "joints": listed(ordered, lambda joint: f"{label(joint.support)} at {text(joint.x)}", MARKS),
        "first_boards": listed(
            [b for b, n in zip(laying.boards, laying.board_rounds, strict=True) if not n], piece
        ),
        "next_boards": listed(boards, timed),
        "channels": listed(channels, timed),
        "channel_joints": listed(plated if laying.from_front else plated[::-1], label),
    }


def _end_words(
    job: Job, laying: Laying, kinds: tuple[EndKind, EndKind], parts: Sequence[Part]
) -> dict[str, str]:
    """Write what stands at a run's two ends and how the first panel's end lies there."""
    run, text, first = laying.run, job.text, laying.panels[0]
    near, far = (run.supports[0], run.supports[-1])[:: 1 if laying.from_front else -1]
    cover = near.x - first.x_start if laying.from_front else first.x_end - near.x
    past = f"{text(abs(cover))} {'past' if cover > 0 else 'short of'} " if cover else "on "
    batten = next((p for p in parts if p.support == near.index and ROLES[p.role].over_end), None)
    profile = next((part for part in parts if part.role == "joint_profile"), None)
    cap = next((part for part in parts if part.role == "end_cap"), None)
    heights = laying.wall.heights
    return {
        "seat": "bow" if heights.flange_line > heights.post_top else "post",
        "channel_top": text(heights.channel_top),
        "cap_length": text(cap.length) if cap else "",
        "near_label": near.label,
        "close_joint": "press the profile's cap on" if laying.two_piece else "cut the joint profile and push it on",
        "fixed": "field" if laying.two_piece or not laying.joints else "joint profile's and field",
        "far_label": far.label,
        "end_line": text(end_line_offset(job)),
        "near_end": f"end {past}the centre of {near.label}",
        "near_holder": HOLDERS[kinds[0]],
        "far_holder": HOLDERS[kinds[1]],
        "batten_bottom": text(batten.bottom) if batten else "",
        "batten_top": text(batten.top) if batten else "",
        "profile_length": text(profile.length) if profile else "",
        "profile_clear": text(profile.length + job.limits.profile_clearance) if profile else "",
    }  # fmt: skip


def screw_sentences(job: Job, laying: Laying, driven: Iterable[Driven]) -> list[str]:
    """Say which screws go where: supports of equal screws together, then heights on equal supports.

    Parameters
    ----------
    job
        The settled job.
    laying
        The run as it is laid.
    driven
        The screws that a step drives.
    """
    level: dict[tuple[str, str, int, str, int], list[int]] = {}
    for own in driven:
        row, supports = own.row, own.supports
        items = row.screw.sku if row.washer is None else f"{row.screw.sku} with {row.washer.sku}"
        drilled = _drilled(row.clearance, row.pilot, row.layers, job.units)
        equal = (items, place_words(row), own.each, drilled, row.z)
        if equal in level:
            level[equal] += supports
        else:
            level[equal] = list(supports)
    upright: dict[tuple[str, str, int, str, tuple[int, ...]], list[int]] = {}
    for (items, place, each, drilled, z), supports in level.items():
        supports.sort(reverse=not laying.from_front)
        upright.setdefault((items, place, each, drilled, tuple(supports)), []).append(z)
    sentences: list[str] = []
    for (items, place, each, drilled, ordered), heights in upright.items():
        number = each * len(ordered) * len(heights)
        at = ", ".join(map(job.text, sorted(heights)))
        more = f", {each} each" if each > 1 else ""
        labels = listed(ordered, laying.labels.__getitem__)
        sentences.append(f"{number} x {items} ({place}, {at} above grade{more}{drilled}): {labels}.")
    return sentences


def place_words(row: FastenerRow) -> str:
    """Name the place of a row, telling a plate's screws from those of the channel and a cap's from a batten's."""
    outermost = row.layers[0].part
    if outermost == "splice_plate":
        return f"splice plate to the {row.layers[-1].part}"
    if row.place == "top_channel" and row.layers[-1].part == "splice_plate":
        return "top channel to its splice plate"
    return "corner cap" if outermost == "corner_cap" else PLACES[row.place]


@remembered("layers")
def _drilled(clearance: int | None, pilot: int | None, layers: tuple[Layer, ...], units: DisplayUnits) -> str:
    """Say what is drilled before a row's screws are driven: clearance so that the thread does not jack a metal off, a pilot."""
    said = ""
    if clearance is not None:
        metals = " and ".join(map(layer_noun, outer_metals(layers)))
        said = f", first a {drill_text(clearance, units)} clearance hole through the {metals} only"
    if pilot is not None:
        said += (
            f", {'then' if said else 'first'} a {drill_text(pilot, units)} pilot into the {layers[-1].part}"
        )
    return said
