"""One order from many walls: needs added up, packs rounded once, like materials cut together.

The path of the data::

    (id, Worked) of each structure --sum, round once--> a bill that never costs more than the parts
      --cut together where that costs less (`cutting.py`)--> Order --> plain values (`describing.py`) --> documents

Rules of this file
------------------
- An order of one structure is that structure's bill.
- Together never costs more: a material is cut together only where the whole bill gets cheaper by it.
- What an order comes to is shared in proportion to what each structure costs alone, to the last hundredth.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import islice

from service.planner.asked.roles import ROLES
from service.planner.bill.pricing import PricedBill, price, together
from service.planner.bill.takeoff import Need
from service.planner.errors import FieldProblem
from service.planner.messages import say
from service.planner.plan import Worked
from service.planner.records import record
from service.planner.wall.layout import Cutting
from service.sales.cutting import MOST_LOTS, Material, Recut, materials, recut
from service.sales.errors import OnHandClaimedTwice, OrderMixed


@record
class Structure:
    """One wall of an order."""

    id: str
    """Its id, which its pieces carry on the order"""
    reference: str
    """The customer's own words for it"""
    worked: Worked
    """What it is made of and costs alone"""
    quote: str | None = None
    """Short name of the quote that it comes from; none where it was asked for directly"""


@record
class Order:
    """Walls ordered together."""

    structures: tuple[Structure, ...]
    """The walls"""
    currency: str
    """ISO 4217 code"""
    bill: PricedBill
    """What is bought; ids of what needs it begin with a structure's id"""
    shares: tuple[int, ...]
    """Each structure's share of the total [hundredths]"""
    apart: int
    """What the structures cost in orders of their own [hundredths]"""
    summed: int
    """What they cost together with their cutting as it was [hundredths]"""
    recuts: tuple[Recut, ...]
    """Materials that are cut together"""


def combine(structures: Sequence[Structure]) -> Order:
    """Make one order.

    Parameters
    ----------
    structures
        At least one.

    Raises
    ------
    OrderMixed
        When they are in two currencies or at two tiers, or two have one id.
    OnHandClaimedTwice
        When they use more stock on hand than there is.
    """
    currency = _one_of_each(structures)
    _check_on_hand(structures)
    worked = [(structure.id, structure.worked) for structure in structures]
    needs = [need for each in structures for need in _named(each)]
    summed = price(together(needs))
    bill, recuts = summed, list[Recut]()
    left = MOST_LOTS
    for material, shares in materials(worked).items():
        cut = tuple(islice(recut(material, shares), left))
        left -= len(cut)
        tried = _replaced(needs, material, cut)
        if (cheaper := price(together(tried))).total < bill.total:
            needs, bill = tried, cheaper
            recuts.extend(cut)
    alone = [structure.worked.facts.bill.total for structure in structures]
    return Order(
        structures=tuple(structures),
        currency=currency,
        bill=bill,
        shares=shared(bill.total, alone),
        apart=sum(alone),
        summed=summed.total,
        recuts=tuple(recuts),
    )


def _named(structure: Structure) -> Iterable[Need]:
    """A structure's needs with ids that say whose they are."""
    for need in structure.worked.needs:
        yield replace(need, needed_by=tuple(f"{structure.id}/{name}" for name in need.needed_by))


def _replaced(needs: Sequence[Need], material: Material, cut: Sequence[Recut]) -> list[Need]:
    """Put the stock of a material cut together in the place of what each structure needed of it."""
    concerned = {structure for each in cut for structure in each.structures}
    items = {piece.item for piece in material.stock}
    kept = [
        need
        for need in needs
        if not (need.item in items and need.needed_by and need.needed_by[0].partition("/")[0] in concerned)
    ]
    unit = ROLES[material.role].unit
    opened = [
        Need(item=item, unit=unit, required=count, spare=0, per_pack=item.pack_size, needed_by=tuple(names))
        for each in cut
        for item, (count, names) in each.opened().items()
    ]
    return [*opened, *kept]


def shared(total: int, alone: Sequence[int]) -> tuple[int, ...]:
    """Share an amount in proportion, to the last hundredth: by largest remainder, of equal ones the earlier.

    Parameters
    ----------
    total
        What is shared [hundredths]
    alone
        What it is shared by, none below zero [-]

    Returns
    -------
        Shares that add up to the total; none is more than what it is shared by when the total is not more than their sum.
    """
    whole = sum(alone)
    if not whole:
        return (0,) * len(alone)
    shares = [total * part // whole for part in alone]
    rests = sorted(range(len(alone)), key=lambda at: (-(total * alone[at] % whole), at))
    for at in rests[: total - sum(shares)]:
        shares[at] += 1
    return tuple(shares)


def _one_of_each(structures: Sequence[Structure]) -> str:
    """Insist on one currency and one tier, and on ids of their own; give the currency."""
    jobs = [structure.worked.facts.job for structure in structures]
    currencies = sorted({job.catalog.document.currency for job in jobs})
    if len(currencies) > 1:
        raise OrderMixed(
            say(
                "order.two_currencies",
                "An order has one currency; these structures have {currencies}.",
                currencies=tuple(currencies),
            )
        )
    if len({job.spec.pricing.tier for job in jobs}) > 1:
        raise OrderMixed(
            say("order.two_tiers", "An order has one tier; these structures are priced at several.")
        )
    twice = sorted(name for name, count in Counter(each.id for each in structures).items() if count > 1)
    if twice:
        raise OrderMixed(
            say(
                "order.id_twice",
                "Every structure of an order has an id of its own; these stand twice: {ids}.",
                ids=tuple(twice),
            )
        )
    return currencies[0]


_Heap = tuple[str, int, int | None]
"""Sku, length and width [nm] of stock on hand"""


def _used(cuttings: Iterable[Cutting]) -> Counter[_Heap]:
    """Count the stock on hand that a structure cuts up."""
    used: Counter[_Heap] = Counter()
    for cutting in cuttings:
        for pattern in cutting.patterns:
            if pattern.from_on_hand:
                used[pattern.sku, pattern.length, pattern.width] += pattern.repeat
    return used


def _stated(structure: Structure) -> Mapping[tuple[str, int], int]:
    """How many pieces of each sku and length a structure says there are."""
    stated: Counter[tuple[str, int]] = Counter()
    for own in structure.worked.facts.job.spec.on_hand:
        stated[own.sku, own.length] += own.count
    return stated


def _check_on_hand(structures: Sequence[Structure]) -> None:
    """Refuse to use more of a heap than the largest count that any structure states: they all describe one yard."""
    heaps: defaultdict[tuple[str, int], int] = defaultdict(int)
    used: Counter[tuple[str, int]] = Counter()
    users: defaultdict[tuple[str, int], list[int]] = defaultdict(list)
    for at, structure in enumerate(structures):
        job = structure.worked.facts.job
        for heap, count in _stated(structure).items():
            heaps[heap] = max(heaps[heap], count)
        for (sku, length, width), count in _used(structure.worked.facts.layout.cuttings).items():
            heap = (sku, (width or 0) if job.upright_flutes and width is not None else length)
            used[heap] += count
            users[heap].append(at)
    short = sorted(heap for heap, count in used.items() if count > heaps[heap])
    if short:
        names = dict.fromkeys(structures[at].id for heap in short for at in users[heap])
        detail = say("order.on_hand.field", "uses stock on hand that another structure of the order uses too")
        raise OnHandClaimedTwice(
            say(
                "order.on_hand",
                "More pieces of {skus} are used than there are: {structures} name the same stock.",
                skus=tuple(dict.fromkeys(sku for sku, _ in short)),
                structures=tuple(names),
            ),
            [
                FieldProblem(pointer=f"/structures/{at}/spec/on_hand", detail=detail)
                for at, structure in enumerate(structures)
                if structure.id in names
            ],
        )
