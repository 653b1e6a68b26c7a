"""How an order travels: bundles by kind, their longest piece, their mass, and the carrier's length steps.

Rules of this file
------------------
- Long stock travels in bundles of its kind, everything else in boxes; packing itself is not weighed.
- Freight grows in steps with the longest piece. The steps are those of the catalog, else 8, 12, 16 and 20 ft (common
  practice, no source).
"""

from collections.abc import Iterable, Sequence
from math import fsum
from typing import Final

from service.planner.asked.roles import ROLES
from service.planner.bill.pricing import BillLine, shipped_length
from service.planner.records import record
from service.planner.units import FOOT

USUAL_STEPS: Final = (8 * FOOT, 12 * FOOT, 16 * FOOT, 20 * FOOT)
"""Lengths up to which freight costs the same, common practice, no source [nm]"""
BOXES: Final = "boxes"
"""The kind of everything that is not long"""


@record
class Bundle:
    """What travels together."""

    kind: str
    """Role of long stock, or boxes"""
    packs: int
    """Packs in it [-]"""
    longest: int
    """Longest piece; 0 in boxes [nm]"""
    step: int | None
    """Length step of the carrier that it falls into; none beyond the last [nm]"""
    mass_kg: float
    """Mass, without packing [kg]"""
    skus: tuple[str, ...]
    """What is in it"""


def bundles(lines: Iterable[BillLine], steps: Sequence[int]) -> tuple[Bundle, ...]:
    """Sort the lines of an order into bundles, long stock first.

    Parameters
    ----------
    lines
        The lines.
    steps
        Length steps of the carrier, any order [nm]
    """
    kinds: dict[str, list[BillLine]] = {}
    for line in lines:
        role = line.item.part.role
        kinds.setdefault(role if ROLES[role].long else BOXES, []).append(line)
    ordered = sorted(kinds.items(), key=lambda entry: entry[0] == BOXES)
    return tuple(_bundle(kind, own, sorted(steps)) for kind, own in ordered)


def _bundle(kind: str, lines: Sequence[BillLine], steps: Sequence[int]) -> Bundle:
    longest = max(shipped_length(line.item) for line in lines)
    return Bundle(
        kind=kind,
        packs=sum(line.packs for line in lines),
        longest=longest,
        step=next((step for step in steps if step >= longest), None),
        mass_kg=fsum(line.mass_kg for line in lines),
        skus=tuple(line.item.sku for line in lines),
    )
