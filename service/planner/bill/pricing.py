"""Prices: needs to packs, packs to money, the bill with its totals.

Rules of this file
------------------
- Packs are rounded up once for each item, after everything on the order is summed.
- What is sold is the pack: its price is the line's, and an amount is packs times the price of a pack. A quantity break counts packs of one item on the whole order.
- Money is whole hundredths of the catalog's currency, so that the bill foots exactly.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import fsum

from service.planner.asked.catalog import Item
from service.planner.asked.parts import Sheet
from service.planner.asked.roles import ROLES, Unit
from service.planner.bill.takeoff import Need
from service.planner.records import record
from service.planner.units import METRE
from service.planner.wall.courses import stick_length


@record
class BillLine:
    """One line of the bill of materials."""

    item: Item
    """The item"""
    unit: Unit
    """UN/CEFACT Rec 20 code of required, spare and quantity: H87 piece, MTR metre"""
    required: int
    """What the plan uses [-] or, for tape, [nm]"""
    spare: int
    """What is added against loss [-] or [nm]"""
    per_pack: int
    """What one pack holds [-] or [nm]"""
    packs: int
    """Packs to buy [-]"""
    pack_price: int
    """Price of one pack at this quantity [hundredths]"""
    needed_by: tuple[str, ...]
    """Ids of what needs it"""

    @property
    def quantity(self) -> int:
        """What is delivered [-] or [nm]."""
        return self.packs * self.per_pack

    @property
    def amount(self) -> int:
        """Price of the line [hundredths]."""
        return self.packs * self.pack_price

    @property
    def unopened_worth(self) -> int:
        """Worth of what is delivered beyond need and spares, at the line's own price, half up [hundredths]."""
        left = self.quantity - self.required - self.spare
        return (2 * left * self.pack_price + self.per_pack) // (2 * self.per_pack)

    @property
    def pack_unit(self) -> str | None:
        """What it is packed in, a UN/CEFACT Rec 21 code behind an X; none where it is sold by the piece."""
        usual = "XRO" if self.unit == "MTR" else "XPK" if self.per_pack > 1 else None
        return self.item.pack_unit or usual

    @property
    def mass_kg(self) -> float:
        """Mass of what is delivered; the catalog states it for one piece, for tape for one roll [kg]."""
        return self.packs * self.item.pack_size * self.item.mass_kg


@record
class PricedBill:
    """The bill of materials."""

    lines: tuple[BillLine, ...]
    """One for each sku, in the order of the take-off"""
    total: int
    """Sum of the amounts, before tax and freight [hundredths]"""
    total_mass_kg: float
    """Sum of the masses, without packing [kg]"""
    longest: int
    """Longest piece to ship, 0 when no stock is bought [nm]"""

    @property
    def unopened_worth(self) -> int:
        """Worth of what is delivered beyond need and spares [hundredths]."""
        return sum(line.unopened_worth for line in self.lines)

    @property
    def lead_days(self) -> int:
        """When the slowest line can ship [d]."""
        return max((line.item.lead_days for line in self.lines), default=0)


def in_unit(amount: int, unit: Unit) -> int | float:
    """Write an amount in its own unit: pieces [-] as they are, nanometres of tape in metres [m]."""
    return amount if unit == "H87" else amount / METRE


def price_of_pack(item: Item, packs: int) -> int:
    """Return the price of one pack when so many are bought.

    Parameters
    ----------
    item
        The item.
    packs
        Packs of it on the order [-]

    Returns
    -------
        Price, the last break reached deciding [hundredths]
    """
    reached = [(step.packs, step.price) for step in item.breaks if step.packs <= packs]
    return max(reached)[1] if reached else item.price


def together(needs: Iterable[Need]) -> tuple[Need, ...]:
    """Sum the needs of several structures on one order, item by item; shares of spares are rounded once.

    Parameters
    ----------
    needs
        Needs, any item any number of times.

    Returns
    -------
        One need for each item, in the order of first mention; an item at two prices is two items.
    """
    found: dict[Item, list[Need]] = {}
    for need in needs:
        found.setdefault(need.item, []).append(need)
    return tuple(
        replace(
            same[0],
            required=sum(need.required for need in same),
            spare=_spares(same),
            needed_by=tuple(name for need in same for name in need.needed_by),
        )
        for same in found.values()
    )


def _spares(same: Sequence[Need]) -> int:
    """Sum spares: counts as they are, shares before they are rounded up."""
    counts = sum(need.spare for need in same if need.spare_percent is None)
    shares = sum(need.required * need.spare_percent for need in same if need.spare_percent is not None)
    return counts - -shares // 100


def price(needs: Iterable[Need]) -> PricedBill:
    """Price needs.

    Parameters
    ----------
    needs
        One need for each sku, as the take-off or ``together`` gives them.
    """
    lines = tuple(_line(need) for need in needs)
    return PricedBill(
        lines=lines,
        total=sum(line.amount for line in lines),
        total_mass_kg=fsum(line.mass_kg for line in lines),
        longest=max((shipped_length(line.item) for line in lines if line.packs), default=0),
    )


def _line(need: Need) -> BillLine:
    """Round one need up to packs."""
    packs = -(-(need.required + need.spare) // need.per_pack)
    return BillLine(
        item=need.item,
        unit=need.unit,
        required=need.required,
        spare=need.spare,
        per_pack=need.per_pack,
        packs=packs,
        pack_price=price_of_pack(need.item, packs),
        needed_by=need.needed_by,
    )


def shipped_length(item: Item) -> int:
    """Return the longest side of a sheet or stick as it travels; small parts travel in boxes [nm]."""
    part = item.part
    if isinstance(part, Sheet):
        return max(part.length, part.width)
    return stick_length(item) if ROLES[part.role].long else 0
