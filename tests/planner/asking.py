"""Asking for plans in tests: a request as JSON values in, the plan's plain values out."""

from typing import Any, Final

from pydantic import TypeAdapter

from service.planner.answer.shapes import Plan
from service.planner.asked.catalog import Catalog
from service.planner.asked.settle import Job, settle
from service.planner.asked.spec import Spec
from service.planner.messages import Message
from service.planner.plan import make_plan
from service.planner.units import DisplayUnits
from service.planner.writing import ENGLISH, Writer

SPEC: Final[TypeAdapter[Spec]] = TypeAdapter(Spec)
PLAN: Final[TypeAdapter[Plan]] = TypeAdapter(Plan)
REVISION: Final = "r-00000000000000000000000000000000"
INCH: Final = 25.4
"""Millimetres in an inch"""


def request(
    *, structure: dict[str, Any] | None = None, wall: dict[str, Any] | None = None, **more: Any
) -> dict[str, Any]:
    """Build a request for a tunnel of 22 bays of 4 ft with an 8 mm wall, with changes."""
    base = {"bays": 22, "bay_spacing": "4 ft"} if "stations" not in (structure or {}) else {}
    return {"structure": base | (structure or {}), "wall": {"panel_thickness": "8 mm"} | (wall or {}), **more}


def spec_of(body: dict[str, Any]) -> Spec:
    """Read a request as the service does."""
    return SPEC.validate_python(body)


def job_of(body: dict[str, Any], catalog: Catalog) -> Job:
    """Settle a request."""
    return settle(spec_of(body), catalog)


def plan_of(body: dict[str, Any], catalog: Catalog) -> Plan:
    """Plan a request and check that the answer has the published shape."""
    return PLAN.validate_python(make_plan(spec_of(body), catalog, REVISION))


def material(plan: Plan, role: str) -> Any:
    """One material's cutting."""
    return next(m for m in plan["cutting"]["materials"] if m["role"] == role)


def line(plan: Plan, sku: str) -> Any:
    """One line of the bill."""
    return next(entry for entry in plan["bill_of_materials"]["lines"] if entry["sku"] == sku)


def screws(plan: Plan, *roles: str) -> int:
    """Count the screws of some rows of the fastening rules table."""
    return sum(row["count"] for row in plan["fastener_schedule"]["rows"] if row["role"] in roles)


def english(message: Message | str, units: DisplayUnits = "imperial") -> str:
    """Write a message in English."""
    return message if isinstance(message, str) else Writer(ENGLISH, units).text(message)


def inches(millimetres: float) -> float:
    """Turn millimetres into inches, to a millionth, so that 23 15/16 in compares as 23.9375."""
    return round(millimetres / INCH, 6)
