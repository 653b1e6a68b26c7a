"""Bill, fastener schedule and steps turned into plain values for the wire.

Rules of this file
------------------
- It only turns: every number was decided before. Layout and cutting have ``layout_rendering.py``.
"""

from collections.abc import Iterable, Sequence
from itertools import chain
from typing import Final

from service.planner.answer.counting_on import counted_on
from service.planner.answer.shapes import (
    ActionOut,
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
    NamedOut,
    NoticeOut,
    StepOut,
)
from service.planner.asked.settle import Job
from service.planner.bill.pricing import BillLine, PricedBill, in_unit
from service.planner.bill.takeoff import ByOthers
from service.planner.fastening.holes import outer_metals
from service.planner.fastening.layers import packed_out
from service.planner.fastening.schedule import totals
from service.planner.fastening.window import screw_of
from service.planner.fields import money_text
from service.planner.judging.checks.verdict import Check
from service.planner.judging.notices import Notice
from service.planner.keeping import remembered
from service.planner.messages import Bore, Message, say
from service.planner.sequencing.actions import Action
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
                id=other.id,
                description=writer.told(other.description),
                count=other.count,
                length_mm=None if other.length is None else to_millimetres(other.length),
            )
            for other in others
        ],
        total=money_text(bill.total),
        unopened_worth=money_text(bill.unopened_worth),
        lead_days=bill.lead_days,
        total_mass_kg=round(bill.total_mass_kg, 3),
        longest_mm=to_millimetres(bill.longest),
    )


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
        "needed_by": list(counted_on(line.needed_by)),
    }
    if line.pack_unit:
        out["pack_unit"] = line.pack_unit
    if item.tax_category:
        out["tax_category"] = item.tax_category
    return out


def render_schedule(
    job: Job, layout: Layout, rows: Sequence[FastenerRow], writer: Writer
) -> FastenerSchedule:
    """Turn the fastener schedule into plain values."""
    passed: dict[tuple[Layer, ...], tuple[list[LayerOut], float]] = {}
    for row in rows:
        if row.layers not in passed:
            layers: list[LayerOut] = [
                {"part": part, "thickness_mm": _fine(thickness)} for part, thickness in row.layers
            ]
            passed[row.layers] = layers, _fine(row.grip)
    return FastenerSchedule(
        rows=[_row(job, layout, row, *passed[row.layers], writer) for row in rows],
        totals=[FastenerTotal(sku=sku, count=count) for sku, count in sorted(totals(rows).items())],
    )


def _row(
    job: Job, layout: Layout, row: FastenerRow, layers: list[LayerOut], grip_mm: float, writer: Writer
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
        "shortest_screw_mm": _fine(row.shortest),
        "longest_screw_mm": _fine(row.longest),
        "drive": writer.told(bit_for(screw.number, screw.drive)),
        "open_slot": row.slot,
        "why": writer.told(_why(job, row)),
    }
    if row.washer is not None:
        out["washer_sku"] = row.washer.sku
    serves, away = packed_out(row.layers)
    if serves != "none":
        out["packed_out_mm"], out["packed_out_with"] = _fine(away), serves
    if row.pilot is not None:
        out["pilot_mm"] = to_millimetres(row.pilot)
    if row.clearance is not None:
        out["clearance_mm"] = to_millimetres(row.clearance)
        out["clearance_in"] = list(outer_metals(row.layers))
    return out


def _why(job: Job, row: FastenerRow) -> Message:
    """Say why a row has its screw; where no washer covers a round hole, a washered row has a slot."""
    why = job.fastening[row.place].why
    if row.washer is None or not row.slot:
        return why
    return say(
        "why.slotted",
        "{why}; no washer in this catalog covers the round hole, so it is a slot along the panel",
        why=why,
    )


@remembered("readings")
def _fine(length: int) -> float:
    """A thickness in millimetres to the micrometre."""
    return round(length / MILLIMETRE, 3)


_ESTIMATE: Final = say(
    "plan.minutes_note",
    "Minutes are an estimate for a crew of two; they are judgement and were not measured.",
)


def render_steps(steps: Sequence[Step], writer: Writer) -> InstallSequence:
    """Turn the order of work into plain values; what repeats stands once and is named by the steps."""
    tools = _named(chain.from_iterable(step.tools for step in steps))
    cautions = _named(chain.from_iterable(step.cautions for step in steps))
    return InstallSequence(
        steps=[_step(step, writer) for step in steps],
        tools=[NamedOut(id=name, **writer.told(tool)) for name, tool in tools.items()],
        cautions=[NamedOut(id=name, **writer.told(caution)) for name, caution in cautions.items()],
        minutes_note=writer.told(_ESTIMATE),
    )


def _named(messages: Iterable[Message]) -> dict[str, Message]:
    """Give each message once, by the id that steps refer to it by."""
    return {_id(message): message for message in messages}


def _id(message: Message) -> str:
    """Name a tool or a caution: its code without the kind, and the sizes that tell it from others."""
    sizes = [
        f"{to_millimetres(value.size):g}-mm" if isinstance(value, Bore) else str(value)
        for value in message.values.values()
    ]
    return "-".join([message.code.partition(".")[2], *sizes]).replace(" ", "-")


def _step(step: Step, writer: Writer) -> StepOut:
    told = writer.told
    out: StepOut = {
        "id": step.id,
        "title": told(step.title),
        "detail": [told(sentence) for sentence in step.sentences],
        "why": told(step.why),
        "requires": list(step.requires),
        "parts": [
            {
                "id": part.ref,
                "count": in_unit(part.amount, part.unit),
                "unit": part.unit,
                "taken_from": part.source,
            }
            for part in step.parts
        ],
        "tools": [_id(tool) for tool in step.tools],
        "cautions": [_id(caution) for caution in step.cautions],
        "minutes": step.minutes,
    }
    if step.actions:
        out["actions"] = [_action(action) for action in step.actions]
    if step.repeats:
        out["repeats"] = True
    if step.hold_point is not None:
        out["hold_point"] = told(step.hold_point)
    return out


def _action(action: Action) -> ActionOut:
    out: ActionOut = {"round": action.round, "do": action.do}
    if action.parts:
        out["parts"] = list(action.parts)
    if action.row is not None:
        out["row"] = action.row.id
    if action.supports:
        out["supports"] = list(action.supports)
    return out


def render_checks(checks: Iterable[Check], writer: Writer) -> list[CheckOut]:
    """Turn checks into plain values.

    Parameters
    ----------
    checks
        The checks.
    """
    return [_check(check, writer) for check in checks]


def _check(check: Check, writer: Writer) -> CheckOut:
    told = writer.told if check.outcome == "pass" else writer.told_apart
    out: CheckOut = {
        "id": check.id,
        "title": writer.told(Message(code=f"check.{check.id}", text=check.title, values={})),
        "demand": check.demand,
        "capacity": check.capacity,
        "unit": check.unit,
        "utilisation": check.utilisation,
        "outcome": check.outcome,
        "source": check.source,
        "advice": told(check.advice),
        "changes": [Change(pointer=pointer, value=value) for pointer, value in check.changes],
    }
    if check.load_source is not None:
        out["load_source"] = check.load_source
    return out


def render_notices(notices: Iterable[Notice], writer: Writer) -> list[NoticeOut]:
    """Turn notices into plain values.

    Parameters
    ----------
    notices
        The notices.
    writer
        Writes their texts.
    """
    return [
        NoticeOut(
            id=notice.id,
            **writer.told_apart(notice.said),
            changes=[Change(pointer=pointer, value=value) for pointer, value in notice.changes],
        )
        for notice in notices
    ]
