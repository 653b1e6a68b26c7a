"""Actions: what the steps along one run do, one after the other, in a form that a program can follow.

Rules of this file
------------------
- An action names its step, its round and what is done with what; steps that repeat are followed round by round.
- Every screw is driven, every piece, part, plate and packing strip put up by exactly one action.
- Nothing is done where a panel or board does not hang yet; see ``laying.py`` for the rounds.

Path of data: a run as it is laid, its rows -> actions -> what each step uses, its words and the wire.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

from msgspec import Struct

from service.planner.asked.roles import ROLES
from service.planner.sequencing.laying import Laying
from service.planner.wall.layout import FastenerRow, Part

Doing = Literal[
    "clamp", "hang", "fit", "lay_on", "measure", "cut", "push_on", "press_on", "fasten", "drive", "fold"
]
"""What is done: clamp a panel, hang a board, fit a part, plate or packing strip, lay a length of top channel on the panel
ends, measure, cut, push a profile or cap on, press a cap on its base, fasten top channel, drive screws, fold a foot in"""


class Action(Struct, frozen=True, gc=False):
    """One thing done."""

    step: str
    """The step that it belongs to"""
    round: int
    """The round, see ``laying.py`` [-]"""
    do: Doing
    """What is done"""
    parts: tuple[str, ...] = ()
    """Ids of the pieces, parts, plates or strips that it is done with"""
    supports: tuple[int, ...] = ()
    """Where it is done [-]"""
    row: FastenerRow | None = None
    """The screws that are driven there"""


def actions_of(laying: Laying, rows: Sequence[FastenerRow]) -> tuple[Action, ...]:
    """List what is done along a run, step by step and within a step round by round.

    Parameters
    ----------
    laying
        The run as it is laid.
    rows
        Its rows of the schedule.
    """
    found = [*_bases(laying), *_panels(laying), *_boards(laying), *_ends(laying), *_uprights(laying)]
    found += [*_profiles(laying), *_channels(laying), *_folds(laying)]
    for row in rows:
        found += _driven(laying, row)
    return tuple(found)


def _bases(laying: Laying) -> Iterator[Action]:
    """Cut and fit the bases of two-piece profiles."""
    if laying.two_piece:
        for part in _joint_parts(laying):
            yield Action("bases", 0, "cut", (part.id,), (part.support,))
            yield Action("bases", 0, "fit", (part.id,), (part.support,))


def _joint_parts(laying: Laying) -> list[Part]:
    """The joint profiles in the order of laying."""
    parts = [part for part in laying.wall.parts if ROLES[part.role].goes_up == "joints"]
    return parts if laying.from_front else parts[::-1]


def _panels(laying: Laying) -> Iterator[Action]:
    """Clamp the panels, one a round."""
    for number, panel in enumerate(laying.panels):
        yield Action("next-panel" if number else "first-panel", number, "clamp", (panel.id,))


def _boards(laying: Laying) -> Iterator[Action]:
    """Hang the boards."""
    for board, number in zip(laying.boards, laying.board_rounds, strict=True):
        yield Action("next-board" if number else "first-board", number, "hang", (board.id,))


def _ends(laying: Laying) -> Iterator[Action]:
    """Hold both ends: plate and batten or corner cap at a post, an end cap cut to measure at a jamb."""
    for part in laying.wall.parts:
        goes_up, at = ROLES[part.role].goes_up, (part.support,)
        if goes_up not in ("ends", "panel_ends"):
            continue
        step, number = _end_step(laying, part.support)
        if goes_up == "panel_ends":
            yield Action(step, number, "lay_on", (), at)
            yield Action(step, number, "measure", (), at)
            yield Action(step, number, "cut", (part.id,), at)
            yield Action(step, number, "push_on", (part.id,), at)
            continue
        plates = [plate.id for plate in laying.wall.plates if plate.support == part.support]
        yield Action(step, number, "fit", (*plates, part.id), at)


def _end_step(laying: Laying, support: int) -> tuple[str, int]:
    """The step and round that hold an end."""
    if laying.place(support) == 0:
        return ("late-start" if laying.start_round else "start"), laying.start_round
    return "far-end", laying.last_round


def _uprights(laying: Laying) -> Iterator[Action]:
    """Set the wind-flap uprights: plate, packing strip, upright, then the channel that meets it is cut."""
    for part in laying.wall.parts:
        if ROLES[part.role].goes_up != "uprights":
            continue
        step, number = _upright_step(laying, part.support)
        plates = [plate.id for plate in laying.wall.plates if plate.support == part.support]
        strips = [strip.id for strip in laying.wall.packing if strip.support == part.support]
        yield Action(step, number, "fit", (*plates, *strips, part.id), (part.support,))


def _upright_step(laying: Laying, support: int) -> tuple[str, int]:
    """The step and round that set an upright."""
    return ("start-upright", 0) if laying.is_near(support) else ("far-upright", laying.last_round)


def _profiles(laying: Laying) -> Iterator[Action]:
    """Close the joints: a profile is cut to what is measured there and pushed on, a cap pressed on its base."""
    step = "early-profile" if laying.full_height else "profile"
    for number, part in enumerate(_joint_parts(laying), start=1):
        at = (part.support,)
        if laying.two_piece:
            yield Action(step, number, "press_on", (part.id,), at)
            continue
        yield Action(step, number, "lay_on", (), at)
        yield Action(step, number, "measure", (), at)
        yield Action(step, number, "cut", (part.id,), at)
        yield Action(step, number, "push_on", (part.id,), at)


def _channels(laying: Laying) -> Iterator[Action]:
    """Fasten the top channel; a piece that meets an upright is cut once the upright stands, a joint gets its plate."""
    uprights, first = laying.run.uprights, True
    plates = {plate.support: plate.id for plate in laying.wall.plates if plate.kind == "joint"}
    for piece, number in zip(laying.channels, laying.channel_rounds, strict=True):
        if {piece.start, piece.end} & set(uprights):
            yield Action("channel", number, "cut", (piece.id,))
        yield Action("channel", number, "fasten", (piece.id,))
        joint = piece.start if laying.from_front else piece.end
        if not first and joint in plates:
            yield Action("channel", number, "fit", (plates[joint],), (joint,))
        first = False


def _folds(laying: Laying) -> Iterator[Action]:
    """Fold in the feet of battens and uprights."""
    feet = tuple([part.id for part in laying.wall.parts if part.material == "film_channel"])
    if feet:
        yield Action("fold", laying.last_round, "fold", feet)


def _driven(laying: Laying, row: FastenerRow) -> Iterator[Action]:
    """Share a row's screws out to the steps and rounds that drive them, in the order of laying."""
    shares: defaultdict[tuple[str, int], list[int]] = defaultdict(list)
    ordered: Iterable[int] = row.supports if laying.from_front else row.supports[::-1]
    for support in ordered:
        shares[_when(laying, row, support)].append(support)
    for (step, number), supports in sorted(shares.items(), key=lambda share: share[0][1]):
        yield Action(step, number, "drive", (), tuple(supports), row)


def _when(laying: Laying, row: FastenerRow, support: int) -> tuple[str, int]:
    """The step and round that drive a row's screws on one support."""
    at = laying.place(support)
    if row.place in ("board_upper", "board_lower"):
        number = max(laying.panel_round(at), laying.board_round(at))
        return ("next-board" if number else "first-board"), number
    if row.place in ("locating", "field"):
        return _when_panel(laying, row, laying.over(at))
    if row.place == "joint_profile":
        return ("bases", 0) if laying.two_piece else ("fix", laying.joints.index(support) + 1)
    if row.place == "top_channel":
        return _when_channel(laying, row, support)
    return (_end_step if row.place in ("batten", "jamb_cap") else _upright_step)(laying, support)


def _when_panel(laying: Laying, row: FastenerRow, panel: int) -> tuple[str, int]:
    """The step and round of a panel's own screws: field screws once both its ends are closed."""
    if row.place == "locating":
        return ("next-panel" if panel else "first-panel"), panel
    return "fix", min(panel + 1, laying.last_round)


def _when_channel(laying: Laying, row: FastenerRow, support: int) -> tuple[str, int]:
    """The step and round of the top channel's screws; a plate alone goes on its post or bow before it is covered."""
    if row.layers[0].part == "splice_plate":
        ends = (0, laying.run.last)
        return _end_step(laying, support) if support in ends else _upright_step(laying, support)
    return "channel", laying.channel_round(laying.place(support))
