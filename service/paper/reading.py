"""What drawings read of a plan, each field in one place.

Rules of this file
------------------
- Whatever may be named otherwise in another version of the answer is read here and nowhere else.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast

from service.planner.answer.layout_shapes import PartOut, RunOut
from service.planner.answer.shapes import FastenerRowOut, Plan
from service.planner.units import DisplayUnits, from_millimetres, length_text

_PART_WIDTHS: Final[Mapping[str, float]] = {"joint_profile": 50.0, "end_cap": 30.0}
"""How wide upright parts are drawn, since a plan gives their lengths alone [mm of wall]"""
_OTHER_WIDTH: Final = 38.0


@dataclass(frozen=True, slots=True)
class Measures:
    """Writes lengths in the plan's display units."""

    units: DisplayUnits

    def __call__(self, length_mm: float) -> str:
        """Write a length [mm] for people."""
        return length_text(from_millimetres(length_mm), self.units)


def measures(plan: Plan) -> Measures:
    """What writes lengths in a plan's display units."""
    return Measures(plan["display_units"])


def message(value: object) -> str:
    """The text of something a person reads: plain, with its code and values beside it, or sentence by sentence."""
    if isinstance(value, Mapping):
        return str(cast("Mapping[str, Any]", value)["text"])
    if isinstance(value, list):
        return " ".join(map(message, cast("list[object]", value)))
    return str(value)


def runs(plan: Plan) -> Sequence[RunOut]:
    """The runs of a plan, left side first."""
    return plan["layout"]["runs"]


def parts(run: RunOut) -> Iterator[PartOut]:
    """Walk the upright parts of a run."""
    yield from (*run["joint_profiles"], *run["end_battens"], *run["uprights"])


def part_width(part: PartOut) -> float:
    """How wide an upright part is drawn [mm of wall]."""
    return _PART_WIDTHS.get(part["role"], _OTHER_WIDTH)


def screws(plan: Plan) -> Sequence[FastenerRowOut]:
    """The rows of the fastener schedule."""
    return plan["fastener_schedule"]["rows"]


def description(plan: Plan, sku: str) -> str:
    """The description of an item of the bill, or its sku."""
    lines = plan["bill_of_materials"]["lines"]
    return next((message(line["description"]) for line in lines if line["sku"] == sku), sku)


def screw_length(row: FastenerRowOut) -> float | None:
    """The length of a row's screw under its head, where the plan says it [mm]."""
    held = cast("Mapping[str, Any]", row).get("screw_length_mm")
    return None if held is None else float(held)


def fine(plan: Plan, thickness_mm: float) -> str:
    """Write a thickness [mm] finer than a tape shows: thousandths of an inch or tenths of a millimetre."""
    if plan["display_units"] == "imperial":
        return f'{thickness_mm / 25.4:.3f}"'
    return f"{thickness_mm:.1f} mm"
