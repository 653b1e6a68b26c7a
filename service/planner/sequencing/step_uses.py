"""Which step uses what: every screw, piece, part and plate given to exactly one step of its run.

Rules of this file
------------------
- A run is read in the order in which it is laid: place 0 is the end laid first.
- A board's screws at a support wait for every panel and board that meets there.
- The top channel's last pieces wait for the far end: those that meet the far upright, or the very last one.
- One pass over rows and pieces; nothing is looked for twice.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final, Literal

from msgspec import Struct

from service.planner.asked.roles import ROLES, Unit
from service.planner.asked.settle import Job
from service.planner.bill.takeoff import Need
from service.planner.records import record
from service.planner.rules import Place
from service.planner.wall.layout import FastenerRow, Layout, Part, Piece, Plate, Run, RunWall

Source = Literal["bill", "on_hand", "cut"]
"""From a pack of the bill, from stock already on hand, or cut on site from either."""


@record
class Used:
    """Something that a step uses."""

    ref: str
    """Sku of an item, or id of a piece"""
    amount: int
    """How many pieces, or for tape the running length of roll [-] or [nm]"""
    unit: Unit
    """H87 piece or MTR metre"""
    source: Source
    """Where it comes from"""


@record
class Driven:
    """Screws of one row that one step drives."""

    row: FastenerRow
    """The row"""
    supports: Sequence[int]
    """Supports concerned, in the row's order [-]"""
    each: int
    """Screws on each of them [-]"""


class Use(Struct):
    """What one step uses; filled in while rows and pieces are walked."""

    driven: list[Driven] = []
    """Screws, with their washers"""
    others: list[Used] = []
    """Other items out of packs, and stock already on hand"""
    pieces: list[Piece | Part] = []
    """Pieces of courses and upright parts"""
    roles: dict[str, int] = {}
    """How many pieces of each role [-]"""

    def put_up(self, pieces: Sequence[Piece] | Sequence[Part]) -> None:
        """Put up pieces of one role."""
        role = pieces[0].role
        self.pieces += pieces
        self.roles[role] = self.roles.get(role, 0) + len(pieces)

    def counts(self) -> Mapping[str, int]:
        """Count what the step takes time for [-]."""
        screws = sum([own.each * len(own.supports) for own in self.driven])
        return {**self.roles, "screw": screws}

    def parts(self) -> tuple[Used, ...]:
        """Give all that the step uses, items first."""
        screws: dict[str, int] = {}
        for own in self.driven:
            row, number = own.row, own.each * len(own.supports)
            sku = row.screw.sku
            screws[sku] = screws.get(sku, 0) + number
            if row.washer is not None:
                sku = row.washer.sku
                screws[sku] = screws.get(sku, 0) + number
        return (
            *[Used(ref=sku, amount=number, unit="H87", source="bill") for sku, number in screws.items()],
            *self.others,
            *[Used(ref=piece.id, amount=1, unit="H87", source="cut") for piece in self.pieces],
        )


@record
class Laying:
    """A run as it is laid, from the end that is laid first."""

    wall: RunWall
    """The run with all that stands on it"""
    from_front: bool
    """Whether its front end is laid first"""
    labels: tuple[str, ...]
    """Labels of its supports"""
    panels: tuple[Piece, ...]
    """Panels in that order"""
    boards: tuple[Piece, ...]
    """Baseboards in that order"""
    channels: tuple[Piece, ...]
    """Top channel in that order"""
    two_piece: bool
    """Whether its joint profiles are a base and a cap"""
    early: int
    """Pieces of top channel that do not wait for the far end [-]"""
    before: Mapping[str, int]
    """Where the earlier of two steps stops, by what it does: places before this one are its own [-]"""

    @property
    def run(self) -> Run:
        """The run."""
        return self.wall.run

    def place(self, support: int) -> int:
        """Give a support's place in the order of laying [-]."""
        return support if self.from_front else self.run.last - support

    def is_early(self, what: str, support: int) -> bool:
        """Tell whether a support belongs to the earlier of two steps."""
        return self.place(support) < self.before[what]


@record
class Split:
    """Which of two steps drives the screws of a place of the fastening rules table."""

    what: str
    """What decides where the earlier step stops"""
    early: str
    """The earlier step"""
    late: str
    """The later step"""


_BOARD: Final = Split(what="board", early="first-board", late="next-boards")
_PANEL: Final = Split(what="panel", early="first-panel", late="next-panels")
_CHANNEL: Final = Split(what="channel", early="channel", late="last-channel")
_END: Final = Split(what="end", early="start", late="far-end")
_UPRIGHT: Final = Split(what="upright", early="start-upright", late="far-upright")
_BASES: Final = Split(what="end", early="bases", late="bases")
_FIX: Final = Split(what="end", early="fix", late="fix")

SPLIT_OF: Final[Mapping[Place, Split]] = {
    "board_upper": _BOARD,
    "board_lower": _BOARD,
    "locating": _PANEL,
    "field": _FIX,
    "joint_profile": _FIX,
    "top_channel": _CHANNEL,
    "batten": _END,
    "upright_over_panel": _UPRIGHT,
    "upright_above_panel": _UPRIGHT,
    "jamb_cap": _END,
}
"""For every place of the fastening rules table, which steps drive its screws."""


def lay(job: Job, wall: RunWall) -> Laying:
    """Put a run into the order in which it is laid.

    Parameters
    ----------
    job
        The settled job.
    wall
        The run with all that stands on it.
    """
    run = wall.run
    front, last = job.spec.options.lay_from == "front", run.last
    courses = (wall.panels, wall.boards, wall.channels)
    panels, boards, channels = courses if front else tuple(course[::-1] for course in courses)
    ends = [
        [piece.end if front else last - piece.start for piece in course]
        for course in (panels, boards, channels)
    ]
    near, far = (run.front_upright, run.back_upright)[:: 1 if front else -1]
    early = sum(end < (last - 1 if far else last) for end in ends[2])
    before = {
        "board": min(course[0] if course[0] < last else last + 1 for course in ends[:2]),
        "panel": ends[0][0],
        "channel": ends[2][early - 1] if early else 0,
        "end": last,
        "upright": 2 if near else 0,
    }
    return Laying(
        wall=wall, from_front=front, labels=tuple([support.label for support in run.supports]),
        panels=panels, boards=boards, channels=channels, early=early, before=before,
        two_piece=job.profile.part.pieces == "two_piece",
    )  # fmt: skip


def _split_of(row: FastenerRow, laying: Laying) -> Split:
    """Give a row's split.

    A plate goes on an end post before the channel, so its layers have no channel yet; of a two-piece profile the
    base is screwed before the panels.
    """
    last = laying.run.last
    if row.place == "joint_profile" and laying.two_piece:
        return _BASES
    if row.place == "top_channel" and row.supports[0] in (0, last) and row.layers[0].part == "splice_plate":
        return _END
    return SPLIT_OF[row.place]


def _step_of_part(laying: Laying, part: Part) -> str:
    """Give the step that puts up a part."""
    goes_up = ROLES[part.role].goes_up
    if goes_up == "joints":
        return "bases" if laying.two_piece else "next-panels"
    if goes_up == "panel_ends":
        first = laying.is_early("end", part.support) or len(laying.panels) == 1
        return "first-panel" if first else "next-panels"
    split = _UPRIGHT if goes_up == "uprights" else _END
    return split.early if laying.is_early(split.what, part.support) else split.late


def _step_of_plate(laying: Laying, plate: Plate) -> str:
    """Give the step that puts up a plate."""
    split = _END if plate.kind == "end" else _CHANNEL
    return split.early if laying.is_early(split.what, plate.support) else split.late


def uses_of_runs(
    layings: Sequence[Laying], rows: Sequence[FastenerRow], plate_sku: str
) -> tuple[dict[str, Use], ...]:
    """Give every screw, piece, part and plate to a step of its run.

    Parameters
    ----------
    layings
        The runs as they are laid.
    rows
        The fastener schedule.
    plate_sku
        Sku of the splice plates.

    Returns
    -------
        For every run the uses by step.
    """
    uses = tuple([_courses(laying) for laying in layings])
    for row in rows:
        _drive(uses[row.run], layings[row.run], row)
    for use, laying in zip(uses, layings, strict=True):
        for part in laying.wall.parts:
            _use(use, _step_of_part(laying, part)).put_up((part,))
        plated = Counter([_step_of_plate(laying, plate) for plate in laying.wall.plates])
        for step, plates in plated.items():
            _use(use, step).others.append(Used(ref=plate_sku, amount=plates, unit="H87", source="bill"))
    return uses


def _drive(uses: dict[str, Use], laying: Laying, row: FastenerRow) -> None:
    """Give a row's screws to the earlier and the later of its two steps."""
    split, each = _split_of(row, laying), row.count // len(row.supports)
    if split.early == split.late:
        _use(uses, split.early).driven.append(Driven(row=row, supports=row.supports, each=each))
        return
    stop = laying.before[split.what]
    # the supports of the step at the run's front are those before this one
    border = stop if laying.from_front else laying.run.last - stop + 1
    front = [support for support in row.supports if support < border]
    back = [support for support in row.supports if support >= border] if front else row.supports
    early, late = (front, back) if laying.from_front else (back, front)
    if early:
        _use(uses, split.early).driven.append(Driven(row=row, supports=early, each=each))
    if late:
        _use(uses, split.late).driven.append(Driven(row=row, supports=late, each=each))


def _use(uses: dict[str, Use], step: str) -> Use:
    """Give a step's use, a new one where it has none yet."""
    found = uses.get(step)
    if found is None:
        found = uses[step] = Use()
    return found


def _courses(laying: Laying) -> dict[str, Use]:
    """Give the pieces of the courses to their steps."""
    courses = (
        ("first-panel", "next-panels", laying.panels, 1),
        ("first-board", "next-boards", laying.boards, 1),
        ("channel", "last-channel", laying.channels, laying.early),
    )
    uses: dict[str, Use] = {}
    for early, late, pieces, stop in courses:
        for step, own in ((early, pieces[:stop]), (late, pieces[stop:])):
            if own:
                _use(uses, step).put_up(own)
    return uses


def uses_of_job(layout: Layout, needs: Sequence[Need]) -> dict[str, Use]:
    """Give stock, tape and hook sets to the steps before and after the runs."""
    uses: dict[str, Use] = {}
    for need in needs:
        step = ROLES[need.role].step
        if step is not None:
            _use(uses, step).others.append(
                Used(ref=need.item.sku, amount=need.required, unit=need.unit, source="bill")
            )
    on_hand: Counter[tuple[str, str]] = Counter()
    for cutting in layout.cuttings:
        step = ROLES[cutting.role].step
        for pattern in cutting.patterns:
            if step and pattern.from_on_hand:
                on_hand[step, pattern.sku] += pattern.repeat
    for (step, sku), number in on_hand.items():
        _use(uses, step).others.append(Used(ref=sku, amount=number, unit="H87", source="on_hand"))
    return uses
