"""What is drilled where, as the plan lists it.

Rules of this file
------------------
- A template is the plan's own; it is only put in the order in which a crew measures: along the panel, then up.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from service.planner.answer.drilling_shapes import HoleOut, TemplateOut
from service.planner.answer.shapes import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilled:
    """Panels that are drilled alike."""

    template: TemplateOut

    @property
    def length(self) -> float:
        """Give their length [mm]."""
        return self.template["length_mm"]

    @property
    def height(self) -> float:
        """Give their height [mm]."""
        return self.template.get("height_mm", 0.0)

    @property
    def mirrored(self) -> bool:
        """Tell whether all are of the left side: from outside their front end is at the right hand."""
        return all(piece.startswith("left") for piece in self.template["pieces"])

    @property
    def mixed(self) -> bool:
        """Tell whether panels of both sides are drilled so."""
        return len({piece.partition("-")[0] for piece in self.template["pieces"]}) > 1

    @property
    def heights(self) -> list[float]:
        """List the heights at which there are holes, from the foot [mm]."""
        return sorted({hole["z_mm"] for hole in self.template["holes"]})

    @property
    def columns(self) -> dict[float, list[HoleOut]]:
        """Put the holes in columns by their distance from the front end [mm], each from the foot up."""
        columns: dict[float, list[HoleOut]] = {}
        for hole in sorted(self.template["holes"], key=lambda hole: (hole["x_mm"], hole["z_mm"])):
            columns.setdefault(hole["x_mm"], []).append(hole)
        return columns


def drilled_kinds(plan: Plan) -> Iterator[Drilled]:
    """Walk the templates of panels that are drilled before they are hung."""
    for template in plan["drilling"]["templates"]:
        if template["role"] == "panel" and template["holes"]:
            yield Drilled(template=template)
