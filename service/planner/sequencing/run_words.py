"""What the precedence table's conditions and words mean for one run, and which screws go where.

Rules of this file
------------------
- The same rules as in ``step_words.py``; everything is told in the order in which the run is laid.
- Equal screws are told together: which supports at one height, which heights on the same supports.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Final, NamedTuple

from service.planner.asked.roles import ROLES, layer_noun
from service.planner.asked.settle import Job
from service.planner.engineering.bow import Remedy
from service.planner.fastening.holes import outer_metals
from service.planner.fastening.layers import packed_out
from service.planner.keeping import remembered
from service.planner.messages import All, Bore, Length, Message, Noun, Value, filled, say
from service.planner.nouns import BOW, POST
from service.planner.sequencing.laying import Laying
from service.planner.sequencing.step_uses import Driven
from service.planner.sequencing.step_words import MARKS, StepFacts, holding, listed, several
from service.planner.wall.courses import end_line_offset
from service.planner.wall.layout import EndKind, FastenerRow, Layer, Part, Piece

HOLDERS: Final[Mapping[EndKind, Noun]] = {
    "end_film": ROLES["end_batten"].noun, "end_open": ROLES["end_batten"].noun,
    "end_rigid": ROLES["corner_cap"].noun, "jamb": ROLES["end_cap"].noun,
}  # fmt: skip
"""What holds a panel's end, by what stands there."""
PLACES: Final[Mapping[str, Message]] = {
    "board_upper": say("place.board_upper", "upper lip of the baseboard"),
    "board_lower": say("place.board_lower", "lower lip of the baseboard"),
    "locating": say("place.locating", "locating screws, through the panel"),
    "field": say("place.field", "field screws, through the panel"),
    "joint_profile": say("place.joint_profile", "joint profile"),
    "top_channel": say("place.top_channel", "flange of the top channel"),
    "batten": say("place.batten", "end batten"),
    "upright_over_panel": say("place.upright_over_panel", "wind-flap upright, over the panel"),
    "upright_above_panel": say("place.upright_above_panel", "wind-flap upright, above the panel"),
    "jamb_cap": say("place.jamb_cap", "end cap at the jamb"),
    "plate_on_post": say("place.plate_on_post", "splice plate to the post"),
    "plate_on_bow": say("place.plate_on_bow", "splice plate to the bow"),
    "plate_on_jamb": say("place.plate_on_jamb", "splice plate to the jamb"),
    "channel_on_plate": say("place.channel_on_plate", "top channel to its splice plate"),
    "corner_cap": say("place.corner_cap", "corner cap"),
}
"""What the crew calls each place of the fastening rules table, and those that it tells apart."""


def run_facts(job: Job, gap: int, laying: Laying) -> StepFacts:
    """The facts of the steps along one run.

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


def _height_words(job: Job, gap: int, laying: Laying) -> dict[str, Value]:
    """Write the heights of a run's lines."""
    heights, text = laying.wall.heights, Length
    return {
        "panel_top": text(heights.panel_top),
        "board_top": text(heights.board_top),
        "upper_line": text(heights.upper_line),
        "lower_line": text(heights.lower_line),
        "locating": text(heights.locating),
        "fields": several(heights.field) if heights.field else "",
        "flange_line": text(heights.flange_line),
        "hip": text(heights.hip),
        "gap": text(gap),
        "lap": text(job.board.part.lap),
        "profile_short": text(job.limits.profile_clearance),
    }


def _course_words(job: Job, laying: Laying) -> dict[str, Value]:
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
        return f"{label(laying.joints[number - 1])}: {piece(one)}" if laying.joints else piece(one)

    plated = [plate.support for plate in laying.wall.plates if plate.kind == "joint"]
    boards = [pair for pair in zip(laying.boards, laying.board_rounds, strict=True) if pair[1]]
    channels = list(zip(laying.channels, laying.channel_rounds, strict=True))
    return {
        "run": run.id,
        "first_panel": piece(first),
        "far_of_first": f" ({far_label(first)})" if len(laying.panels) > 1 else "",
        "next_panels": listed(list(zip(laying.panels[1:], range(1, len(laying.panels)), strict=True)), timed),
        "joints": listed(ordered, lambda joint: f"{label(joint.support)} ({text(joint.x)})", MARKS),
        "first_boards": listed(
            [b for b, n in zip(laying.boards, laying.board_rounds, strict=True) if not n], piece
        ),
        "next_boards": listed(boards, timed),
        "channels": listed(channels, timed),
        "channel_joints": listed(plated if laying.from_front else plated[::-1], label),
    }


def _near_end(cover: int, label: str) -> Message:
    """Say where the first panel's end lies."""
    if not cover:
        return say("words.end_on", "its end on the centre of {support}", support=label)
    if cover > 0:
        return say(
            "words.end_past",
            "its end {cover} past the centre of {support}",
            cover=Length(cover),
            support=label,
        )
    return say(
        "words.end_short",
        "its end {cover} short of the centre of {support}",
        cover=Length(-cover),
        support=label,
    )


def _end_words(
    job: Job, laying: Laying, kinds: tuple[EndKind, EndKind], parts: Sequence[Part]
) -> dict[str, Value]:
    """Write what stands at a run's two ends and how the first panel's end lies there."""
    run, text, first = laying.run, Length, laying.panels[0]
    near, far = (run.supports[0], run.supports[-1])[:: 1 if laying.from_front else -1]
    cover = near.x - first.x_start if laying.from_front else first.x_end - near.x
    batten = next((p for p in parts if p.support == near.index and ROLES[p.role].over_end), None)
    profile = next((part for part in parts if part.role == "joint_profile"), None)
    cap = next((part for part in parts if part.role == "end_cap"), None)
    heights = laying.wall.heights
    return {
        "seat": BOW if heights.flange_line > heights.post_top else POST,
        "channel_top": text(heights.channel_top),
        "cap_length": text(cap.length) if cap else "",
        "near_label": near.label,
        "close_joint": say("words.press_cap", "press the profile's cap on")
        if laying.two_piece
        else say("words.push_profile", "cut the joint profile and push it on"),
        "fixed": say("words.field", "field")
        if laying.two_piece or not laying.joints
        else say("words.profile_and_field", "joint profile's and field"),
        "far_label": far.label,
        "end_line": text(end_line_offset(job)),
        "near_end": _near_end(cover, near.label),
        "near_holder": HOLDERS[kinds[0]],
        "far_holder": HOLDERS[kinds[1]],
        "batten_bottom": text(batten.bottom) if batten else "",
        "batten_top": text(batten.top) if batten else "",
        "profile_length": text(profile.length) if profile else "",
        "profile_clear": text(profile.length + job.limits.profile_clearance) if profile else "",
    }


def screw_sentences(laying: Laying, driven: Sequence[Driven]) -> list[Message]:
    """Say which screws go where: supports of equal screws together, then heights on equal supports.

    Parameters
    ----------
    laying
        The run as it is laid.
    driven
        The screws that a step drives.
    """
    level: dict[tuple[_Equal, int], list[int]] = {}
    for own in driven:
        row, supports = own.row, own.supports
        items = row.screw.sku if row.washer is None else f"{row.screw.sku} + {row.washer.sku}"
        first = row.layers if row.clearance is not None or row.pilot is not None else None
        equal = _Equal(items, place_of(row), own.each, row.clearance, row.pilot, first), row.z
        if equal in level:
            level[equal] += supports
        else:
            level[equal] = list(supports)
    upright: dict[tuple[_Equal, tuple[int, ...]], list[int]] = {}
    for (same, z), supports in level.items():
        supports.sort(reverse=not laying.from_front)
        upright.setdefault((same, tuple(supports)), []).append(z)
    told = [_screws(laying, same, ordered, heights) for (same, ordered), heights in upright.items()]
    rooms = dict.fromkeys([packed_out(own.row.layers) for own in driven])
    return told + [_FILLS[serves](away) for serves, away in rooms if serves in _FILLS]


_FILLS: Final[Mapping[Remedy, Callable[[int], Message]]] = {
    "shim": lambda away: say(
        "step.shims",
        "Put shims between wall and bow at screws where the bow stands back: {away} in all.",
        away=Length(away),
    ),
    "stand_off": lambda away: say(
        "step.blocks",
        "Put a block {away} deep between wall and bow at screws where the bow stands back.",
        away=Length(away),
    ),
}
"""How the room between wall and bow is filled, by what serves"""


class _Equal(NamedTuple):
    """What is the same for screws that are told together."""

    items: str
    place: str
    each: int
    clearance: int | None
    pilot: int | None
    layers: tuple[Layer, ...] | None


_SCREWS: Final = say("step.screws", "{number} x {items} ({place}), {heights} above grade: {supports}.")
_SCREWS_EACH: Final = say(
    "step.screws_each", "{number} x {items} ({place}), {heights} above grade, {each} at each: {supports}."
)
_SCREWS_DRILLED: Final = say(
    "step.screws_drilled", "{number} x {items} ({place}), {heights} above grade: {supports}. {drilled}"
)
_SCREWS_EACH_DRILLED: Final = say(
    "step.screws_each_drilled",
    "{number} x {items} ({place}), {heights} above grade, {each} at each: {supports}. {drilled}",
)


def _screws(laying: Laying, same: _Equal, supports: tuple[int, ...], heights: Sequence[int]) -> Message:
    """Say how many equal screws go where."""
    drilled = None if same.layers is None else _drilled(same.clearance, same.pilot, same.layers)
    if drilled is None:
        told = _SCREWS_EACH if same.each > 1 else _SCREWS
    else:
        told = _SCREWS_EACH_DRILLED if same.each > 1 else _SCREWS_DRILLED
    return filled(
        told,
        {
            "number": same.each * len(supports) * len(heights),
            "items": same.items,
            "place": PLACES[same.place],
            "heights": tuple([Length(z) for z in sorted(heights)]),
            "each": same.each,
            "supports": listed(supports, laying.labels.__getitem__),
            "drilled": drilled or "",
        },
    )


def place_of(row: FastenerRow) -> str:
    """Name the place of a row, telling a plate's screws from those of the channel and a cap's from a batten's."""
    outermost, innermost = row.layers[0].part, row.layers[-1].part
    if outermost == "splice_plate":
        return f"plate_on_{innermost}"
    if row.place == "top_channel" and innermost == "splice_plate":
        return "channel_on_plate"
    return "corner_cap" if outermost == "corner_cap" else row.place


@remembered("layers")
def _drilled(clearance: int | None, pilot: int | None, layers: tuple[Layer, ...]) -> Message | None:
    """Say what is drilled before a row's screws are driven: clearance so that the thread does not jack a metal off, a pilot."""
    seat = layer_noun(layers[-1].part)
    through = All(tuple([layer_noun(part) for part in outer_metals(layers)]))
    if clearance is None:
        return (
            None
            if pilot is None
            else say(
                "step.pilot",
                "First drill a {pilot} pilot hole into this: {seat}.",
                pilot=Bore(pilot),
                seat=seat,
            )
        )
    if pilot is None:
        return say(
            "step.clearance",
            "First drill a {clearance} clearance hole through this only: {metals}.",
            clearance=Bore(clearance),
            metals=through,
        )
    return say(
        "step.clearance_pilot",
        "First drill a {clearance} clearance hole through this only: {metals}; then a {pilot} pilot hole into this: {seat}.",
        clearance=Bore(clearance),
        metals=through,
        pilot=Bore(pilot),
        seat=seat,
    )
