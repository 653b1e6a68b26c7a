"""What each step uses: screws with their washers, pieces, parts, plates and packing strips, told by its actions.

Rules of this file
------------------
- What is done along a run is decided in ``actions.py``; here it is added up.
- Items that are opened or used before and after the runs go to the step that their role names.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct

from service.planner.asked.roles import ROLES, Unit
from service.planner.bill.takeoff import Need
from service.planner.records import record
from service.planner.sequencing.actions import Action
from service.planner.sequencing.laying import Laying
from service.planner.wall.layout import FastenerRow, Layout, PackingStrip, Part, Piece

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
    pieces: list[Piece | Part | PackingStrip] = []
    """Pieces of courses, upright parts and packing strips"""
    roles: dict[str, int] = {}
    """How many pieces of each role [-]"""
    actions: list[Action] = []
    """What is done, in order"""

    def put_up(self, piece: Piece | Part | PackingStrip) -> None:
        """Put a piece up."""
        self.pieces.append(piece)
        role = "packing" if isinstance(piece, PackingStrip) else piece.role
        self.roles[role] = self.roles.get(role, 0) + 1

    def counts(self) -> Mapping[str, int]:
        """Count what the step takes time for [-]."""
        screws = sum([own.each * len(own.supports) for own in self.driven])
        return {**self.roles, "screw": screws}

    def parts(self) -> tuple[Used, ...]:
        """All that the step uses, items first."""
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


_PUTS_UP = frozenset({"clamp", "hang", "fit", "push_on", "fasten"})
"""What puts a piece up; a two-piece profile goes up with its base"""


def uses_of_run(laying: Laying, actions: Iterable[Action], plate_sku: str) -> dict[str, Use]:
    """Add up what each step along a run uses.

    Parameters
    ----------
    laying
        The run as it is laid.
    actions
        What is done along it.
    plate_sku
        Sku of the splice plates.
    """
    wall, uses = laying.wall, dict[str, Use]()
    pieces: dict[str, Piece | Part | PackingStrip] = {
        piece.id: piece
        for course in (wall.panels, wall.boards, wall.channels, wall.parts, wall.packing)
        for piece in course
    }
    plates: Counter[str] = Counter()
    for action in actions:
        use = _use(uses, action.step)
        use.actions.append(action)
        if action.row is not None:
            each = action.row.count // len(action.row.supports)
            use.driven.append(Driven(row=action.row, supports=action.supports, each=each))
        elif action.do in _PUTS_UP:
            for part in action.parts:
                if part in pieces:
                    use.put_up(pieces[part])
                else:
                    plates[action.step] += 1
    for step, number in plates.items():
        uses[step].others.append(Used(ref=plate_sku, amount=number, unit="H87", source="bill"))
    return uses


def _use(uses: dict[str, Use], step: str) -> Use:
    """A step's use, a new one where it has none yet."""
    found = uses.get(step)
    if found is None:
        found = uses[step] = Use()
    return found


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
