"""Drilling templates turned into plain values for the wire.

Rules of this file
------------------
- It only turns: every number was decided before.
"""

from collections.abc import Iterable

from service.planner.answer.drilling_shapes import DrillingOut, HoleOut, SlotOut, TemplateOut
from service.planner.asked.settle import Job
from service.planner.fastening.drilling import Hole, Template
from service.planner.units import to_millimetres


def render_drilling(job: Job, templates: Iterable[Template]) -> DrillingOut:
    """Turn the drilling templates into plain values."""
    return DrillingOut(templates=[_template(job, template) for template in templates])


def _template(job: Job, template: Template) -> TemplateOut:
    panel = template.height is not None
    out: TemplateOut = {
        "id": template.id,
        "role": template.role,
        "drilled": "before" if panel else "in_place",
        "pieces": list(template.pieces),
        "count": len(template.pieces),
        "length_mm": to_millimetres(template.length),
        "length_text": job.text(template.length),
        "holes": [_hole(job, hole, panel=panel) for hole in template.holes],
    }
    if template.height is not None:
        out["height_mm"] = to_millimetres(template.height)
    return out


def _hole(job: Job, hole: Hole, *, panel: bool) -> HoleOut:
    up = job.text(hole.z)
    out: HoleOut = {
        "x_mm": to_millimetres(hole.x),
        "z_mm": to_millimetres(hole.z),
        "text": f"{job.text(hole.x)} x {up}" if panel else up,
    }
    if not hole.is_slot:
        out["diameter_mm"] = to_millimetres(hole.length)
        return out
    slot: SlotOut = {"length_mm": to_millimetres(hole.length), "height_mm": to_millimetres(hole.height)}
    if hole.open_end is not None:
        slot["open_end"] = hole.open_end
    out["slot"] = slot
    return out
