"""What a plan tells the crew, as plain texts.

Rules of this file
------------------
- Texts of the plan stand as the plan says them, in its language; nothing is told twice.
"""

from collections.abc import Mapping
from typing import Any, Final, cast

from service.paper.reading import measures, message
from service.paper.words import Words
from service.planner.answer.shapes import Plan

_TO_DECIDE: Final = frozenset({"caution", "fail"})


def what_is_built(plan: Plan, words: Words) -> str:
    """Say in one sentence what is built, without its price."""
    summary = plan["summary"]
    return words(
        "what",
        length=measures(plan)(summary["wall_length_mm"]),
        panels=summary["panels"],
        joints=summary["panel_joints"],
        sheets=summary["sheets"],
        mass=f"{summary['total_mass_kg']:.0f}",
    )


def _told(plan: Plan, table: str, held: object) -> str:
    """A text, or the one that its id stands for in a table of the plan."""
    if isinstance(held, str):
        rows = _tables(plan).get(table, {})
        return rows.get(held, held)
    return message(held)


def _tables(plan: Plan) -> dict[str, dict[str, str]]:
    """Find tables of texts that steps refer to by id, where the plan has them."""
    found: dict[str, dict[str, str]] = {}
    for table in ("cautions", "tools"):
        rows = cast("Mapping[str, Any]", plan["install_sequence"]).get(table, [])
        found[table] = {row["id"]: message(row.get("text", row)) for row in rows}
    return found


def cautions(plan: Plan) -> list[str]:
    """List every caution of the steps once, in the order of the work."""
    told = (
        _told(plan, "cautions", held)
        for step in plan["install_sequence"]["steps"]
        for held in step["cautions"]
    )
    return list(dict.fromkeys(told))


def attention(plan: Plan) -> list[str]:
    """List the advice of every check that somebody has to decide on."""
    return [
        f"{message(check['title'])}: {message(check['advice'])}"
        for check in plan["checks"]
        if check["outcome"] in _TO_DECIDE
    ]


def others(plan: Plan) -> list[str]:
    """List what others supply."""
    text = measures(plan)
    listed = []
    for other in plan["bill_of_materials"]["by_others"]:
        size = "" if other["length_mm"] is None else f" ({text(other['length_mm'])})"
        count = "" if other["count"] is None else f"{other['count']} × "
        listed.append(f"{count}{message(other['description'])}{size}")
    return listed


def steps(plan: Plan) -> list[dict[str, Any]]:
    """The steps of the work as they are printed."""
    return [
        {
            "title": message(step["title"]),
            "detail": message(step["detail"]),
            "tools": ", ".join(_told(plan, "tools", tool) for tool in step["tools"]),
            "parts": ", ".join(_part(part["id"], part["count"], part["unit"]) for part in step["parts"]),
            "cautions": [_told(plan, "cautions", held) for held in step["cautions"]],
            "hold": message(step["hold_point"]) if "hold_point" in step else "",
        }
        for step in plan["install_sequence"]["steps"]
    ]


def _part(name: str, count: float, unit: str) -> str:
    """Write a part of a step; one piece needs no count."""
    if unit == "MTR":
        return f"{name} {count:g} m"
    return name if count == 1 else f"{count:g} × {name}"


def care(words: Words) -> list[str]:
    """List how the wall is kept."""
    return [words(f"care_{index}") for index in range(1, 5)]
