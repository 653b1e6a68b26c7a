"""Drilling: every hole and slot of every kind of piece, as a template is set out.

Rules of this file
------------------
- One template a kind of piece: pieces of one role, size and hole pattern share it.
- Across a panel x is measured from its end towards the front, up it z from its foot, outside face up. On an upright
  part x is measured from its centre line, z from its lower end.
- Panels are drilled before they are hung. Upright parts are drilled in place, where a row asks for a pilot or for
  clearance; a part whose screws drill their own way has no template.
- Sizes of holes come from ``holes.py``, places of screws from the schedule; nothing is decided here.

Path of data: rows of the schedule, with each screw's x and z -> holes of each piece -> equal pieces together.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final, Literal, TypedDict

from service.planner.asked.settle import Job
from service.planner.fastening.holes import PanelHoles, panel_holes
from service.planner.records import record
from service.planner.rules import Place
from service.planner.wall.layout import FastenerRow, Layout, Piece, Run

PART_ROLES: Final[Mapping[Place, frozenset[str]]] = {
    "joint_profile": frozenset({"joint_profile"}),
    "batten": frozenset({"end_batten", "corner_cap"}),
    "upright_over_panel": frozenset({"upright"}),
    "upright_above_panel": frozenset({"upright"}),
    "jamb_cap": frozenset({"end_cap"}),
}
"""Which upright parts the screws of a place go through"""


@record
class Hole:
    """A round hole or a slot."""

    x: int
    """Where its screw sits along the piece, or off an upright part's centre line [nm]"""
    z: int
    """Where it sits above the piece's foot or lower end [nm]"""
    length: int
    """Size along the piece: the diameter of a round hole [nm]"""
    height: int
    """Size across: the diameter of a round hole [nm]"""
    open_end: Literal["front", "back"] | None = None
    """The end of the piece that a slot is open to"""

    @property
    def is_slot(self) -> bool:
        """Whether it is longer than high, or open."""
        return self.open_end is not None or self.length != self.height


@record
class Template:
    """One kind of piece with its holes."""

    id: str
    """Such as panel-template-1"""
    role: str
    """What the pieces are, a row of the table of roles"""
    pieces: tuple[str, ...]
    """Ids of the pieces"""
    length: int
    """Length of a panel along the wall, or of an upright part [nm]"""
    height: int | None
    """Ripped height of a panel; none for an upright part [nm]"""
    holes: tuple[Hole, ...]
    """From the first end on, and upwards"""


def templates(job: Job, layout: Layout, rows: Sequence[FastenerRow]) -> tuple[Template, ...]:
    """Set out what is drilled.

    Parameters
    ----------
    job
        The settled question.
    layout
        The layout.
    rows
        The fastener schedule.
    """
    kinds: dict[tuple[str, int, int | None, tuple[Hole, ...]], list[str]] = defaultdict(list)
    rows_of: defaultdict[int, list[FastenerRow]] = defaultdict(list)
    for row in rows:
        rows_of[row.run].append(row)
    sizes = panel_holes(job, layout)
    for wall in layout.walls:
        run, own, heights = wall.run, rows_of[wall.run.index], wall.heights
        for panel in wall.panels:
            holes = tuple(sorted(_panel_holes(run, panel, own, sizes, heights.foot), key=_order))
            kinds["panel", panel.length, heights.ripped, holes].append(panel.id)
    for part in layout.parts:
        holes = tuple(
            sorted(_part_holes(part.role, part.support, part.bottom, rows_of[part.run]), key=_order)
        )
        kinds[part.role, part.length, None, holes].append(part.id)
    return tuple(_numbered(kinds))


def _numbered(
    kinds: Mapping[tuple[str, int, int | None, tuple[Hole, ...]], Sequence[str]],
) -> Iterator[Template]:
    """A numbered template to each kind of piece that has holes."""
    numbers: defaultdict[str, int] = defaultdict(int)
    for (role, length, height, holes), pieces in kinds.items():
        if holes:
            numbers[role] += 1
            yield Template(
                id=f"{role.replace('_', '-')}-template-{numbers[role]}",
                role=role,
                pieces=tuple(pieces),
                length=length,
                height=height,
                holes=holes,
            )


def _order(hole: Hole) -> tuple[int, int]:
    """Order holes from the first end on, and upwards."""
    return hole.x, hole.z


def _panel_holes(
    run: Run, panel: Piece, rows: Iterable[FastenerRow], sizes: PanelHoles, foot: int
) -> Iterator[Hole]:
    """The holes of one panel: where its run's screws pass it, its joints left out."""
    for row in rows:
        if all(layer.part != "panel" for layer in row.layers):
            continue
        each = row.count // len(row.supports)
        own = bisect_left(row.supports, panel.start), bisect_right(row.supports, panel.end)
        for number in range(*own):
            for x in row.xs[number * each : (number + 1) * each]:
                at = x - panel.x_start
                sized = _size(run, row.supports[number], row, sizes, (at, panel.length - at))
                yield Hole(x=at, z=row.z - foot, **sized)


class _Size(TypedDict):
    """Size of a hole or slot."""

    length: int
    height: int
    open_end: Literal["front", "back"] | None


def _size(run: Run, support: int, row: FastenerRow, sizes: PanelHoles, to_ends: tuple[int, int]) -> _Size:
    """Size a hole: a slot open to the panel's end on an end post, larger at a jamb, else past a support."""
    ends = {0: run.front_end, run.last: run.back_end}
    if support not in ends:
        return _Size(length=sizes.inner, height=sizes.slot_width if row.slot else sizes.inner, open_end=None)
    if ends[support] == "jamb":
        return _Size(length=sizes.jamb, height=sizes.jamb, open_end=None)
    open_end: Literal["front", "back"] = "front" if support == 0 else "back"
    reach = to_ends[open_end == "back"]
    return _Size(length=reach + sizes.slot_width // 2, height=sizes.slot_width, open_end=open_end)


def _part_holes(role: str, support: int, bottom: int, rows: Iterable[FastenerRow]) -> Iterator[Hole]:
    """The holes that are drilled through an upright part: clearance where the thread would bite it, else a pilot."""
    for row in rows:
        size = row.clearance or row.pilot
        if size and support in row.supports and role in PART_ROLES.get(row.place, ()):
            yield Hole(x=0, z=row.z - bottom, length=size, height=size)
