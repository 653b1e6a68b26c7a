"""An order as plain values: what is answered, and what every document is written from.

Rules of this file
------------------
- It only turns: every number was decided in `orders.py`.
- Documents are written from these values and from nothing else, so that none says what another does not.
"""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import asdict, replace
from typing import Any

import rfc8785

from service.planner.answer.cutting_rendering import render_cutting
from service.planner.answer.rendering import render_line
from service.planner.bill.pricing import BillLine
from service.planner.fields import money_text
from service.planner.messages import Counted, Money, Share, noun, say
from service.planner.units import to_millimetres
from service.planner.wall.layout import Cutting
from service.planner.writing import Told, Writer
from service.sales.orders import Order, Structure
from service.sales.packing import USUAL_STEPS, bundles
from service.sales.shapes import (
    BundleOut,
    CuttingOut,
    OrderLineOut,
    OrderOut,
    OrderRequest,
    PickOut,
    SavingOut,
    ShareOut,
)

_WALL = noun("noun.wall", "wall", "walls")


def describe_order(order: Order, request: OrderRequest, day: str, writer: Writer) -> OrderOut:
    """Turn an order into plain values.

    Parameters
    ----------
    order
        The order.
    request
        What was asked: parties and references pass through.
    day
        Day of the order, ISO 8601.
    writer
        Writes its texts.
    """
    lines = [_line(at, line, order.currency) for at, line in enumerate(order.bill.lines, 1)]
    steps = order.structures[0].worked.facts.job.catalog.document.carrier_lengths or USUAL_STEPS
    out = OrderOut(
        order_id=_order_id(order, request),
        reference=request.reference,
        note=request.note,
        ordered_on=day,
        currency=order.currency,
        lines=lines,
        total=money_text(order.bill.total),
        unopened_worth=money_text(order.bill.unopened_worth),
        total_mass_kg=round(order.bill.total_mass_kg, 3),
        longest_mm=to_millimetres(order.bill.longest),
        lead_days=order.bill.lead_days,
        structures=[_share(each, share) for each, share in zip(order.structures, order.shares, strict=True)],
        saving=_saving(order, writer),
        packing=[
            BundleOut(
                kind=bundle.kind,
                packs=bundle.packs,
                longest_mm=to_millimetres(bundle.longest),
                length_step_mm=None if bundle.step is None else to_millimetres(bundle.step),
                mass_kg=round(bundle.mass_kg, 3),
                skus=list(bundle.skus),
            )
            for bundle in bundles(order.bill.lines, steps)
        ],
        picking=_picking(order.bill.lines),
        cutting=list(_cutting(order)),
    )
    out.update(_passed_through(request))  # type: ignore[typeddict-item]  # its names are the order's
    return out


def _passed_through(request: OrderRequest) -> dict[str, Any]:
    """The parties and terms that were said."""
    said: dict[str, Any] = {
        name: asdict(value)
        for name in ("buyer", "seller", "deliver_to")
        if (value := getattr(request, name)) is not None
    }
    terms = {"requested_by": request.requested_by, "payment_terms": request.payment_terms}
    return said | {name: value for name, value in terms.items() if value}


def _line(number: int, line: BillLine, currency: str) -> OrderLineOut:
    item = line.item
    extras = {"place": item.place, "gtin": item.gtin, "customs_code": item.customs_code}
    said = {name: value for name, value in extras.items() if value}
    return {**render_line(line), "line": number, "currency": currency, **said}  # type: ignore[typeddict-item]  # as above


def _share(structure: Structure, share: int) -> ShareOut:
    out = ShareOut(
        id=structure.id,
        reference=structure.reference,
        alone=money_text(structure.worked.facts.bill.total),
        share=money_text(share),
    )
    if structure.quote:
        out["quote_id"] = structure.quote
    return out


def _saving(order: Order, writer: Writer) -> SavingOut:
    together, saved = order.bill.total, order.apart - order.bill.total
    percent = round(100 * saved / order.apart, 1) if order.apart else 0.0
    return SavingOut(
        apart=money_text(order.apart),
        together=money_text(together),
        saved=money_text(saved),
        saved_percent=percent,
        by_packs=money_text(order.apart - order.summed),
        by_cutting=money_text(order.summed - together),
        message=_told(order, saved, percent, writer),
    )


def _told(order: Order, saved: int, percent: float, writer: Writer) -> Told:
    def money(amount: int) -> Money:
        return Money(amount, order.currency)

    if len(order.structures) == 1:
        return writer.told(say("order.one_wall", "One wall costs {total}.", total=money(order.bill.total)))
    return writer.told(
        say(
            "order.saving",
            "Ordered together {walls} cost {together} instead of {apart}: {saved} less ({share}), of which {packs} by packs and quantity breaks and"
            " {cutting} by cutting like materials together.",
            walls=Counted(len(order.structures), _WALL),
            together=money(order.bill.total),
            apart=money(order.apart),
            saved=money(saved),
            share=Share(percent, 1),
            packs=money(order.apart - order.summed),
            cutting=money(order.summed - order.bill.total),
        )
    )


def _picking(lines: Iterable[BillLine]) -> list[PickOut]:
    """List what is fetched where: by place in the yard, else by role."""
    found: dict[str, list[int]] = {}
    for number, line in enumerate(lines, 1):
        found.setdefault(line.item.place or line.item.part.role, []).append(number)
    return [PickOut(place=place, lines=numbers) for place, numbers in sorted(found.items())]


def _cutting(order: Order) -> Iterator[CuttingOut]:
    """List the cutting of every material: together where it is, else structure by structure."""
    joint = {(structure, each.material.role) for each in order.recuts for structure in each.structures}
    for each in order.recuts:
        (material,) = render_cutting(each.job, [each.cutting])["materials"]
        yield CuttingOut(structures=list(each.structures), together=True, material=material)
    for structure in order.structures:
        facts = structure.worked.facts
        for cutting in facts.layout.cuttings:
            left = _left(structure.id, cutting, together=(structure.id, cutting.role) in joint)
            if left.patterns:
                (material,) = render_cutting(facts.job, [left])["materials"]
                yield CuttingOut(structures=[structure.id], together=False, material=material)


def _left(structure: str, cutting: Cutting, *, together: bool) -> Cutting:
    """What of a structure's cutting stays as it was, its pieces named for the order."""
    kept = [pattern for pattern in cutting.patterns if pattern.from_on_hand or not together]
    return replace_patterns(structure, cutting, kept)


def replace_patterns(structure: str, cutting: Cutting, patterns: Iterable[Any]) -> Cutting:
    """A cutting with these patterns, their pieces named for the order."""
    named = tuple(
        replace(
            pattern,
            strips=tuple(
                replace(
                    strip,
                    pieces=tuple(tuple(f"{structure}/{name}" for name in each) for each in strip.pieces),
                )
                for strip in pattern.strips
            ),
        )
        for pattern in patterns
    )
    return replace(cutting, patterns=named)


def _order_id(order: Order, request: OrderRequest) -> str:
    """Name an order by what is ordered, by whom and where to."""
    lines = [[line.item.sku, line.packs, money_text(line.pack_price)] for line in order.bill.lines]
    said: dict[str, Any] = {
        "structures": [structure.id for structure in order.structures],
        "lines": lines,
        "reference": request.reference,
        **_passed_through(request),
    }
    return "o-" + hashlib.sha256(rfc8785.dumps(said)).hexdigest()[:16]
