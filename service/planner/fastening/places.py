"""Where screws go: for each row of the fastening rules table the supports, heights and layers that it means.

Rules of this file
------------------
- One function a place of the table, and one table of them.
- Supports are sorted into classes first: what is the same everywhere is said once.
- A screw sits on its support's line: the centre, the line beside an end post's centre, or the mark of a panel joint
  where it passes one. Screws of the top channel beside a joint have places of their own.
- Screws on an end post pass an open slot in the panel, because the panel ends there; at a panel joint the board's
  screws pass the gap.
- No screw is chosen and no support looked into here.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final, NamedTuple

from service.planner.asked.settle import Job
from service.planner.engineering.hardware import screw_diameter
from service.planner.fastening.layers import Frame, Skins
from service.planner.records import record
from service.planner.rules import Place
from service.planner.wall.courses import channel_shift
from service.planner.wall.layout import Heights, Layer, PanelJoint, Part, Piece, Plate, Run

BoardClass = tuple[bool, bool, bool]
"""A support to the board: whether two boards lap there, two panels meet there, the panel ends there on an end post"""


@record
class Wall:
    """One run with all that its screws hold."""

    job: Job
    """The settled question"""
    skins: Skins
    """The layers that lie on supports"""
    frame: Frame
    """The supports behind them"""
    run: Run
    """The run"""
    heights: Heights
    """Its heights"""
    crossed: tuple[int, ...]
    """Supports that a panel crosses, but for those under an upright [-]"""
    board_classes: Mapping[BoardClass, tuple[int, ...]]
    """Its supports, sorted by how the board is screwed on there [-]"""
    parts: Sequence[Part]
    """Its joint profiles, battens, caps and uprights"""
    plates: Sequence[Plate]
    """Its splice plates"""
    studs: frozenset[int]
    """Supports that are jamb studs [-]"""
    lines: tuple[int, ...]
    """Where a board's screws sit at each support, from the run's zero [nm]"""
    channels: Sequence[Piece]
    """Its top channel, front to back"""
    covering: int
    """Diameter of a washer on the panel that covers its hole, at rest and when the panel has moved [nm]"""

    def of_role(self, *roles: str) -> Iterable[Part]:
        """The parts of some roles."""
        return (part for part in self.parts if part.role in roles)


class Screws(NamedTuple):
    """Equal screws at one height on some supports."""

    supports: tuple[int, ...]
    """The supports [-]"""
    z: int
    """Height [nm]"""
    skins: tuple[Layer, ...]
    """What they pass before they reach the support, outside to inside"""
    xs: tuple[int, ...] = ()
    """Where each sits from the run's zero, support by support; on the supports' centres where none is said [nm]"""
    slot: bool = False
    """Whether their hole in the panel is an open slot"""
    backed: bool = True
    """Whether they reach the support; else they join two metals beside it"""


def evenly(first: int, last: int, count: int) -> list[int]:
    """Spread heights evenly from first to last, both taken [nm].

    Parameters
    ----------
    first
        The lowest [nm].
    last
        The highest [nm].
    count
        How many, at least two [-].
    """
    return [first + (last - first) * number // (count - 1) for number in range(count)]


def board_classes(
    run: Run, boards: Sequence[Piece], joints: Iterable[PanelJoint]
) -> Mapping[BoardClass, tuple[int, ...]]:
    """Sort a run's supports by how the board is screwed on there, each class in order.

    Parameters
    ----------
    run
        The run.
    boards
        Its baseboards, front to back.
    joints
        Its panel joints.
    """
    laps, joined = {board.end for board in boards[:-1]}, {joint.support for joint in joints}
    ends = {at for at, kind in ((0, run.front_end), (run.last, run.back_end)) if kind != "jamb"}
    found: dict[BoardClass, list[int]] = {}
    for at in range(run.last + 1):
        found.setdefault((at in laps, at in joined, at in ends), []).append(at)
    return {kind: tuple(supports) for kind, supports in found.items()}


def _board(wall: Wall, z: int) -> Iterable[Screws]:
    """Screw a lip of the board on every support; through both boards at a lap."""
    skins = wall.skins
    for (lapped, joined, ended), supports in wall.board_classes.items():
        behind = _joint_core(wall) if joined else (skins.panel,)
        boards = (skins.board, skins.board) if lapped else (skins.board,)
        yield Screws(supports, z, boards + behind, tuple([wall.lines[at] for at in supports]), slot=ended)


def crossed(run: Run, panels: Iterable[Piece]) -> tuple[int, ...]:
    """The intermediate supports of a run's panels that stand under no upright, in order [-]."""
    uprights = run.uprights
    return tuple([at for panel in panels for at in range(panel.start + 1, panel.end) if at not in uprights])


def _joint_core(wall: Wall) -> tuple[Layer, ...]:
    """What is behind the board at a panel joint."""
    skins = wall.skins
    if wall.job.spec.wall.joint_profile_extent == "full_height":
        return (skins.profile, skins.gap, skins.profile)
    return (skins.gap,)


def _board_upper(wall: Wall) -> Iterable[Screws]:
    """Screw the upper lip."""
    return _board(wall, wall.heights.upper_line)


def _board_lower(wall: Wall) -> Iterable[Screws]:
    """Screw the lower lip."""
    return _board(wall, wall.heights.lower_line)


def _on_panels(wall: Wall, heights: Iterable[int]) -> Iterable[Screws]:
    """Screw panels on the supports that they cross."""
    if wall.crossed:
        for z in heights:
            yield Screws(wall.crossed, z, (wall.skins.panel,))


def _locating(wall: Wall) -> Iterable[Screws]:
    """Hold the panels on their line."""
    return _on_panels(wall, (wall.heights.locating,))


def _field(wall: Wall) -> Iterable[Screws]:
    """Hold the middle of the panels; heights leave out those too near the locating screws."""
    return _on_panels(wall, wall.heights.field)


def _thirds(wall: Wall, part: Part) -> tuple[int, ...]:
    """The heights of a profile's or cap's screws, on the length that stands clear of the board."""
    bottom = max(part.bottom, wall.heights.board_top)
    length = part.top - bottom
    if length < wall.job.limits.short_profile:
        return (bottom + length // 2,)
    return (bottom + length // 3, bottom + 2 * length // 3)


def _joint_profile(wall: Wall) -> Iterable[Screws]:
    """Screw the joint profiles, through both legs and the gap; of two pieces only the base is screwed."""
    profiles: dict[tuple[int, ...], list[Part]] = {}
    for part in wall.of_role("joint_profile"):
        profiles.setdefault(_thirds(wall, part), []).append(part)
    leg, gap = wall.skins.profile, wall.skins.gap
    skins = (leg, gap, leg) if wall.job.profile.part.pieces == "one_piece" else (leg,)
    for heights, parts in profiles.items():
        supports, xs = tuple([part.support for part in parts]), tuple([part.x for part in parts])
        for z in heights:
            yield Screws(supports, z, skins, xs)


def _top_channel(wall: Wall) -> Iterable[Screws]:
    """Screw the top channel's flange, plates included."""
    z, skins = wall.heights.flange_line, wall.skins
    joined = (skins.channel, skins.plate)
    kinds: dict[str, list[int]] = {"joint": [], "upright": [], "end": []}
    for plate in wall.plates:
        kinds[plate.kind].append(plate.support)
    plated = {plate.support for plate in wall.plates}
    plain = [support for support in range(wall.run.last + 1) if support not in plated]
    rows = (
        # supports, skins, where on each, whether they reach the support
        (plain, (skins.channel,), _on_centre, True),
        (kinds["joint"], joined, _in_both_pieces, False),
        (kinds["joint"], joined, _beside_joint, True),
        (kinds["upright"], (skins.plate,), _on_centre, True),
        (kinds["upright"], joined, _in_both_pieces, False),
        (kinds["end"], (skins.plate,), _on_end_line, True),
        (kinds["end"], joined, _in_end_piece, False),
    )
    for supports, layers, where, backed in rows:
        if supports:
            xs = tuple([x for at in supports for x in where(wall, at)])
            yield Screws(tuple(supports), z, layers, xs, backed=backed)


def _on_centre(wall: Wall, support: int) -> tuple[int, ...]:
    """Put a screw on a support's centre [nm]."""
    return (wall.run.supports[support].x,)


def _on_end_line(wall: Wall, support: int) -> tuple[int, ...]:
    """Put a screw on an end post's screw line [nm]."""
    return (wall.lines[support],)


def _in_both_pieces(wall: Wall, support: int) -> tuple[int, ...]:
    """Put a screw in each piece of channel, in the middle of the plate behind it [nm]."""
    before, after = _pieces_at(wall, support)
    middle, half = (before.x_end + after.x_start) // 2, wall.job.plate.part.length // 2
    return ((middle - half + before.x_end) // 2, (after.x_start + middle + half) // 2)


def _beside_joint(wall: Wall, support: int) -> tuple[int, ...]:
    """Put a screw through one flange beside a joint, or on the centre of a tube too narrow for that [nm]."""
    centre = wall.run.supports[support].x
    if channel_shift(wall.job):
        return (centre,)
    before, after = _pieces_at(wall, support)
    away = screw_diameter(wall.job.fastening["top_channel"].number)
    # the end that was placed against the joint is the exact one
    return (after.x_start + away if wall.job.spec.options.lay_from == "front" else before.x_end - away,)


def _in_end_piece(wall: Wall, support: int) -> tuple[int, ...]:
    """Put a screw in the channel's end piece; its plate reaches inwards from the end post's centre [nm]."""
    centre, length = wall.run.supports[support].x, wall.job.plate.part.length
    if support == 0:
        return ((wall.channels[0].x_start + centre + length) // 2,)
    return ((wall.channels[-1].x_end + centre - length) // 2,)


def _pieces_at(wall: Wall, support: int) -> tuple[Piece, Piece]:
    """The pieces of top channel that meet at a support, front to back."""
    at = bisect_left(wall.channels, support, key=lambda piece: piece.end)
    return wall.channels[at], wall.channels[at + 1]


def _over_panel(wall: Wall, bottom: int, length: int) -> list[int]:
    """Spread the screws of a batten or upright over the panel, from near its foot to near the panel's top edge [nm]."""
    limits, top = wall.job.limits, wall.heights.panel_top
    inset = min(limits.batten_top_screw, (top - bottom) // 3)
    return evenly(bottom + inset, top - inset, _spaced(wall, length) + 1)


def _spaced(wall: Wall, length: int) -> int:
    """Count the spaces that a length falls into at the batten screws' spacing [-]."""
    return -(-length // wall.job.limits.batten_screw_spacing)


def _batten(wall: Wall) -> Iterable[Screws]:
    """Screw end battens and corner caps; a rigid end wall's sheet stands on the post's face, not under the cap's screws."""
    skins = wall.skins
    outer = {
        "end_batten": (skins.film_channel, skins.panel),
        "corner_cap": (skins.corner_cap, skins.panel),
    }
    for part in wall.of_role("end_batten", "corner_cap"):
        for z in _over_panel(wall, part.bottom, part.length):
            yield Screws((part.support,), z, outer[part.role], (part.x,), slot=True)


def _upright_over_panel(wall: Wall) -> Iterable[Screws]:
    """Screw wind-flap uprights through the panel."""
    for part in wall.of_role("upright"):
        for z in _over_panel(wall, part.bottom, wall.heights.panel_top - part.bottom):
            yield Screws((part.support,), z, (wall.skins.film_channel, wall.skins.panel))


def _upright_above_panel(wall: Wall) -> Iterable[Screws]:
    """Screw wind-flap uprights above the panel, each screw in the middle of its share of the packing's height."""
    heights, skins = wall.heights, wall.skins
    count, packed = _spaced(wall, heights.hip - heights.panel_top), heights.hip - heights.channel_top
    for part in wall.of_role("upright"):
        for number in range(count):
            z = heights.channel_top + packed * (2 * number + 1) // (2 * count)
            yield Screws((part.support,), z, (skins.film_channel, skins.packing))


def _jamb_cap(wall: Wall) -> Iterable[Screws]:
    """Screw end caps at jambs, through both legs and the panel."""
    skins = wall.skins
    for part in wall.of_role("end_cap"):
        for z in _thirds(wall, part):
            yield Screws((part.support,), z, (skins.end_cap, skins.panel, skins.end_cap))


PLACES: Final[Mapping[Place, Callable[[Wall], Iterable[Screws]]]] = {
    "board_upper": _board_upper,
    "board_lower": _board_lower,
    "locating": _locating,
    "field": _field,
    "joint_profile": _joint_profile,
    "top_channel": _top_channel,
    "batten": _batten,
    "upright_over_panel": _upright_over_panel,
    "upright_above_panel": _upright_above_panel,
    "jamb_cap": _jamb_cap,
}
"""For every row of the fastening rules table where its screws go."""
