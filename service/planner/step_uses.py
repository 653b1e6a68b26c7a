"""Which step uses what: every screw, piece, part and plate given to exactly one step of its run.

Rules of this file
------------------
- A run is read in the order in which it is laid: place 0 is the end laid first.
- A board's screws at a support wait for every panel and board that meets there.
- The top channel's last pieces wait for the far end: those that meet the far upright, or the very last one.
- One pass over rows and pieces; nothing is looked for twice.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from service.planner.layout import FastenerRow, Layout, Part, Piece, Run
from service.planner.rules import Place
from service.planner.settle import Job
from service.planner.takeoff import HOOK_SET, Need, Unit

Source = Literal["bill", "on_hand", "cut"]
"""From a pack of the bill, from stock already on hand, or cut on site from either."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepPart:
    """Something that a step uses."""

    ref: str
    """Sku of an item, or id of a piece"""
    count: int
    """How many pieces, or for tape the running length of roll [-] or [nm]"""
    unit: Unit
    """H87 piece or MTR metre"""
    source: Source
    """Where it comes from"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Driven:
    """Screws of one row that one step drives."""

    row: FastenerRow
    """The row"""
    supports: tuple[int, ...]
    """Supports concerned, in the row's order [-]"""

    @property
    def count(self) -> int:
        """Screws driven [-]."""
        return self.row.count // len(self.row.supports) * len(self.supports)


@dataclass(slots=True)
class Use:
    """What one step uses; filled in while the rows are walked."""

    driven: list[Driven] = field(default_factory=list)
    cut: list[str] = field(default_factory=list)
    items: dict[str, tuple[int, Unit]] = field(default_factory=dict)
    on_hand: dict[str, int] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    longest_panel: int = 0

    def count(self, kind: str, number: int) -> None:
        """Count something for the step's minutes."""
        self.counts[kind] = self.counts.get(kind, 0) + number

    def take(self, sku: str, number: int, unit: Unit = "H87") -> None:
        """Take items out of packs."""
        before, _ = self.items.get(sku, (0, unit))
        self.items[sku] = before + number, unit

    def drive(self, driven: Driven) -> None:
        """Drive screws, with their washers."""
        self.driven.append(driven)
        self.count("screw", driven.count)
        for item in (driven.row.screw, driven.row.washer):
            if item is not None:
                self.take(item.sku, driven.count)

    def place(self, piece: Piece) -> None:
        """Put up a piece of a course."""
        self.cut.append(piece.id)
        self.count(piece.role, 1)
        if piece.role == "panel":
            self.longest_panel = max(self.longest_panel, piece.length)

    @property
    def parts(self) -> tuple[StepPart, ...]:
        """Give all that it uses, items first."""
        return (
            *(StepPart(ref=s, count=n, unit=unit, source="bill") for s, (n, unit) in self.items.items()),
            *(StepPart(ref=s, count=n, unit="H87", source="on_hand") for s, n in self.on_hand.items()),
            *(StepPart(ref=name, count=1, unit="H87", source="cut") for name in self.cut),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Laying:
    """A run as it is laid, from the end that is laid first."""

    run: Run
    """The run"""
    from_front: bool
    """Whether its front end is laid first"""
    panels: tuple[Piece, ...]
    """Panels in that order"""
    boards: tuple[Piece, ...]
    """Baseboards in that order"""
    channels: tuple[Piece, ...]
    """Top channel in that order"""
    hung: int
    """Board screws at places before this one are driven with the first board [-]"""
    early: int
    """Pieces of top channel that do not wait for the far end [-]"""

    def place(self, support: int) -> int:
        """Give a support's place in the order of laying [-]."""
        return support if self.from_front else self.run.last - support

    def far(self, piece: Piece) -> int:
        """Give the place where a piece ends, away from the end laid first [-]."""
        return self.place(piece.end if self.from_front else piece.start)

    @property
    def waits(self) -> int:
        """Channel screws from this place on wait for the far end [-]."""
        return self.far(self.channels[self.early - 1]) if self.early else 0

    @property
    def far_upright(self) -> int | None:
        """Place of the far end's upright [-]."""
        has = self.run.back_upright if self.from_front else self.run.front_upright
        return self.run.last - 1 if has else None

    @property
    def near_upright(self) -> int | None:
        """Place of the near end's upright [-]."""
        has = self.run.front_upright if self.from_front else self.run.back_upright
        return 1 if has else None


def lay(job: Job, layout: Layout, run: Run) -> Laying:
    """Put a run into the order in which it is laid."""
    front = job.spec.options.lay_from == "front"
    courses = (layout.panels[run.index], layout.boards[run.index], layout.channels[run.index])
    panels, boards, channels = courses if front else tuple(course[::-1] for course in courses)
    laid = Laying(
        run=run, from_front=front, panels=panels, boards=boards, channels=channels, hung=0, early=0
    )  # fmt: skip
    ends = (laid.far(panels[0]), laid.far(boards[0]))
    hung = min(end if end < run.last else run.last + 1 for end in ends)
    from_here = run.last if laid.far_upright is None else laid.far_upright
    early = sum(laid.far(piece) < from_here for piece in channels)
    return Laying(
        run=run, from_front=front, panels=panels, boards=boards, channels=channels, hung=hung, early=early
    )  # fmt: skip


def _board(laying: Laying, place: int, _row: FastenerRow) -> str:
    return "first-board" if place < laying.hung else "next-boards"


def _locating(laying: Laying, place: int, _row: FastenerRow) -> str:
    return "first-panel" if place <= laying.far(laying.panels[0]) else "next-panels"


def _fix(_laying: Laying, _place: int, _row: FastenerRow) -> str:
    return "fix"


def _end(laying: Laying, place: int, _row: FastenerRow | None = None) -> str:
    return "start" if place < laying.run.last else "far-end"


def _upright(laying: Laying, place: int, _row: FastenerRow | None = None) -> str:
    return "start-upright" if place == laying.near_upright else "far-upright"


def _channel(laying: Laying, place: int, row: FastenerRow) -> str:
    """Plates that end posts carry go on before the channel: their layers have no channel yet."""
    at_end = place in (0, laying.run.last)
    if at_end and all(layer.part != "top_channel" for layer in row.layers):
        return _end(laying, place)
    return "channel" if place < laying.waits else "last-channel"


STEP_OF: Final[Mapping[Place, Callable[[Laying, int, FastenerRow], str]]] = {
    "board_upper": _board,
    "board_lower": _board,
    "locating": _locating,
    "field": _fix,
    "joint_profile": _fix,
    "top_channel": _channel,
    "batten": _end,
    "jamb_cap": _end,
    "upright_over_panel": _upright,
    "upright_above_panel": _upright,
}
"""For every place of the fastening rules table, which step drives its screws at a support."""


def _part_step(laying: Laying, part: Part) -> str:
    """Give the step that puts up a part."""
    place = laying.place(part.support)
    if part.role == "joint_profile":
        return "next-panels"
    if part.role == "end_cap":
        return "first-panel" if not place or len(laying.panels) == 1 else "next-panels"
    return _upright(laying, place) if part.role == "upright" else _end(laying, place)


def uses_of_runs(
    layings: Sequence[Laying], layout: Layout, rows: Sequence[FastenerRow], plate_sku: str
) -> tuple[dict[str, Use], ...]:
    """Give every screw, piece, part and plate to a step of its run.

    Parameters
    ----------
    layings
        The runs as they are laid.
    layout
        The layout.
    rows
        The fastener schedule.
    plate_sku
        Sku of the splice plates.

    Returns
    -------
        For every run the uses by step.
    """
    uses = tuple(_courses(laying) for laying in layings)
    for row in rows:
        laying, find = layings[row.run], STEP_OF[row.place]
        split: dict[str, list[int]] = {}
        for support in row.supports:
            split.setdefault(find(laying, laying.place(support), row), []).append(support)
        for step, supports in split.items():
            _use(uses[row.run], step).drive(Driven(row=row, supports=tuple(supports)))
    for part in layout.parts:
        use = _use(uses[part.run], _part_step(layings[part.run], part))
        use.cut.append(part.id)
        use.count(part.role, 1)
    for plate in layout.plates:
        laying = layings[plate.run]
        place = laying.place(plate.support)
        late = "channel" if place < laying.waits else "last-channel"
        _use(uses[plate.run], _end(laying, place) if plate.kind == "end" else late).take(plate_sku, 1)
    return uses


def _use(uses: dict[str, Use], step: str) -> Use:
    """Give a step's use, a new one where it has none yet."""
    return uses.setdefault(step, Use())


def _courses(laying: Laying) -> dict[str, Use]:
    """Give the pieces of the courses to their steps."""
    uses: dict[str, Use] = {}
    for number, panel in enumerate(laying.panels):
        _use(uses, "next-panels" if number else "first-panel").place(panel)
    for number, board in enumerate(laying.boards):
        _use(uses, "next-boards" if number else "first-board").place(board)
    for number, channel in enumerate(laying.channels):
        _use(uses, "channel" if number < laying.early else "last-channel").place(channel)
    return uses


_JOB_STEP: Final[Mapping[str, str]] = {
    "sheet": "strips", "foil_tape": "cut-panels", "vented_tape": "cut-panels", "baseboard": "metal",
    "top_channel": "metal", "joint_profile": "metal", "film_channel": "metal", "corner_cap": "metal",
    "end_cap": "metal", **dict.fromkeys(HOOK_SET, "hooks"),
}  # fmt: skip
"""Which step before or after the runs uses the items of a role."""


def uses_of_job(layout: Layout, needs: Sequence[Need]) -> dict[str, Use]:
    """Give stock, tape and hook sets to the steps before and after the runs."""
    uses: dict[str, Use] = {}
    for need in needs:
        step = _JOB_STEP.get(need.role)
        if step is not None:
            _use(uses, step).take(need.item.sku, need.required, need.unit)
    for cutting in layout.cuttings:
        on_hand = _use(uses, _JOB_STEP[cutting.role]).on_hand
        for pattern in cutting.patterns:
            if pattern.from_on_hand:
                on_hand[pattern.sku] = on_hand.get(pattern.sku, 0) + pattern.repeat
    return uses
