"""Bill, fastener schedule and steps turned into plain values for the wire.

Rules of this file
------------------
- It only turns: every number was decided before. Layout and cutting have ``layout_rendering.py``.
"""

from collections.abc import Iterable, Sequence

from service.planner.answer.shapes import (
    Bill,
    BillLineOut,
    ByOthersOut,
    Change,
    CheckOut,
    FastenerRowOut,
    FastenerSchedule,
    FastenerTotal,
    InstallSequence,
    LayerOut,
    NoticeOut,
    StepOut,
)  # fmt: skip
from service.planner.asked.settle import Job
from service.planner.bill.pricing import Bill as PricedBill
from service.planner.bill.pricing import BillLine, in_unit
from service.planner.bill.takeoff import ByOthers
from service.planner.fastening.holes import outer_metals
from service.planner.fastening.schedule import totals
from service.planner.fastening.window import screw_of
from service.planner.fields import money_text
from service.planner.judging.checks.verdict import Check
from service.planner.judging.notices import Notice
from service.planner.keeping import remembered
from service.planner.sequencing.order import Step
from service.planner.sequencing.tools import bit_for
from service.planner.units import MILLIMETRE, to_millimetres
from service.planner.wall.layout import FastenerRow, Layer, Layout
from service.planner.writing import Writer


def render_bill(job: Job, bill: PricedBill, others: Iterable[ByOthers], writer: Writer) -> Bill:
    """Turn the bill into plain values."""
    return Bill(
        currency=job.catalog.document.currency,
        lines=[render_line(line) for line in bill.lines],
        by_others=[
            ByOthersOut(
                id=other.id, description=writer.told(other.description), count=other.count,
                length_mm=None if other.length is None else to_millimetres(other.length),
            )
            for other in others
        ],
        total=money_text(bill.total),
        unopened_worth=money_text(bill.unopened_worth),
        lead_days=bill.lead_days,
        total_mass_kg=round(bill.total_mass_kg, 3),
        longest_mm=to_millimetres(bill.longest),
    )  # fmt: skip


def render_line(line: BillLine) -> BillLineOut:
    """Turn one line of the bill into plain values."""
    item, unit = line.item, line.unit
    out: BillLineOut = {
        "sku": item.sku,
        "role": item.part.role,
        "description": item.description,
        "required": in_unit(line.required, unit),
        "spare": in_unit(line.spare, unit),
        "pack_size": in_unit(line.per_pack, unit),
        "packs": line.packs,
        "quantity": in_unit(line.packs * line.per_pack, unit),
        "unit": unit,
        "pack_price": money_text(line.pack_price),
        "amount": money_text(line.amount),
        "unopened_worth": money_text(line.unopened_worth),
        "mass_kg": round(line.mass_kg, 3),
        "lead_days": item.lead_days,
        "from": list(line.needed_by),
    }
    if line.pack_unit:
        out["pack_unit"] = line.pack_unit
    if item.tax_category:
        out["tax_category"] = item.tax_category
    return out


def render_schedule(job: Job, layout: Layout, rows: Sequence[FastenerRow]) -> FastenerSchedule:
    """Turn the fastener schedule into plain values."""
    passed: dict[tuple[Layer, ...], tuple[list[LayerOut], float]] = {}
    for row in rows:
        if row.layers not in passed:
            layers: list[LayerOut] = [
                {"part": part, "thickness_mm": _fine(thickness)} for part, thickness in row.layers
            ]
            passed[row.layers] = layers, _fine(row.grip)
    return FastenerSchedule(
        rows=[_row(job, layout, row, *passed[row.layers]) for row in rows],
        totals=[FastenerTotal(sku=sku, count=count) for sku, count in sorted(totals(rows).items())],
    )


def _row(
    job: Job, layout: Layout, row: FastenerRow, layers: list[LayerOut], grip_mm: float
) -> FastenerRowOut:
    run, screw = layout.walls[row.run].run, screw_of(row.screw)
    supports = run.supports
    out: FastenerRowOut = {
        "id": row.id,
        "role": row.place,
        "sku": row.screw.sku,
        "run": run.id,
        "supports": list(row.supports),
        "labels": [supports[number].label for number in row.supports],
        "z_mm": _fine(row.z),
        "z_text": job.text(row.z),
        "x_mm": [_fine(x) for x in row.xs],
        "x_text": [job.text(x) for x in row.xs],
        "count": row.count,
        "layers": layers,
        "grip_mm": grip_mm,
        "shortest_mm": _fine(row.shortest),
        "longest_mm": _fine(row.longest),
        "drive": bit_for(screw.number, screw.drive),
        "open_slot": row.slot,
        "why": job.fastening[row.place].why + _slotted(row),
    }
    if row.washer is not None:
        out["washer_sku"] = row.washer.sku
    if row.pilot is not None:
        out["pilot_mm"] = to_millimetres(row.pilot)
    if row.clearance is not None:
        out["clearance_mm"] = to_millimetres(row.clearance)
        out["clearance_in"] = list(outer_metals(row.layers))
    return out


def _slotted(row: FastenerRow) -> str:
    """Say that no washer covers a round hole, where a washered row has a slot."""
    if row.washer is None or not row.slot:
        return ""
    return "; no washer in this catalog covers the round hole, so it is a slot along the panel"


@remembered("readings")
def _fine(length: int) -> float:
    """Give a thickness in millimetres to the micrometre."""
    return round(length / MILLIMETRE, 3)


def render_steps(steps: Iterable[Step]) -> InstallSequence:
    """Turn the order of work into plain values."""
    return InstallSequence(
        steps=[_step(step) for step in steps],
        minutes_are="an estimate for a crew of two; judgement, not measured",
    )


def _step(step: Step) -> StepOut:
    out: StepOut = {
        "id": step.id,
        "title": step.title,
        "detail": step.detail,
        "why": step.why,
        "requires": list(step.requires),
        "parts": [
            {
                "id": part.ref,
                "count": in_unit(part.amount, part.unit),
                "unit": part.unit,
                "source": part.source,
            }
            for part in step.parts
        ],
        "tools": list(step.tools),
        "cautions": list(step.cautions),
        "minutes": step.minutes,
    }
    if step.hold_point:
        out["hold_point"] = step.hold_point
    return out


def render_checks(checks: Iterable[Check]) -> list[CheckOut]:
    """Turn checks into plain values.

    Parameters
    ----------
    checks
        The checks.
    """
    return [
        CheckOut(
            id=check.id, title=check.title, demand=check.demand, capacity=check.capacity, unit=check.unit,
            utilisation=check.utilisation, outcome=check.outcome, source=check.source, advice=check.advice,
            changes=[Change(pointer=pointer, value=value) for pointer, value in check.changes],
        )
        for check in checks
    ]  # fmt: skip


def render_notices(notices: Iterable[Notice]) -> list[NoticeOut]:
    """Turn notices into plain values.

    Parameters
    ----------
    notices
        The notices.
    """
    return [
        NoticeOut(
            id=notice.id, text=notice.text, changes=[Change(pointer=p, value=v) for p, v in notice.changes]
        )
        for notice in notices
    ]
