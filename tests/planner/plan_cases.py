"""Tunnels that together make every row and sentence of the order of work appear, planned once each."""

from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from pydantic import TypeAdapter

from service.planner.asked.catalog import Catalog
from service.planner.asked.settle import Job, settle
from service.planner.asked.spec import Spec
from service.planner.bill.takeoff import Need, take_off
from service.planner.fastening.schedule import schedule
from service.planner.plan import PLAN_UNITS
from service.planner.sequencing.order import Step, install_sequence
from service.planner.solver.effort import Effort
from service.planner.wall.assembly import lay_out
from service.planner.wall.layout import FastenerRow, Layout
from service.planner.wall.runs import lay_runs
from tests.planner.scenarios import (
    catalog_with,
    demo_catalog,
    demo_document,
    example_a_catalog,
    with_part,
    without_items,
)

_SPEC: Final = TypeAdapter(Spec)


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A tunnel as far as its order of work."""

    job: Job
    layout: Layout
    rows: tuple[FastenerRow, ...]
    needs: tuple[Need, ...]
    steps: tuple[Step, ...]


def plan(spec: dict[str, Any], catalog: Catalog) -> Planned:
    """Plan a tunnel from its spec as sent."""
    job = settle(_SPEC.validate_python(spec), catalog)
    runs, _ = lay_runs(job)
    layout = lay_out(job, runs, Effort(PLAN_UNITS))
    rows = schedule(job, layout)
    needs = take_off(job, layout, rows)
    return Planned(
        job=job, layout=layout, rows=rows, needs=needs, steps=install_sequence(job, layout, rows, needs)
    )


def tunnel(
    bays: int = 6,
    *,
    wall: dict[str, Any] | None = None,
    options: dict[str, Any] | None = None,
    **structure: object,
) -> dict[str, Any]:
    """Write a spec of equal 4 ft bays."""
    return {
        "structure": {"bays": bays, "bay_spacing": "4 ft", **structure},
        "wall": {"panel_thickness": "8 mm", **(wall or {})},
        "options": options or {},
    }


EXAMPLE_A: Final = tunnel(22, width="28 ft")
"""28 x 88 ft, 22 bays of 4 ft, film end walls, all defaults; solved by hand."""

_CORNERS: Final = ["left-front", "left-back", "right-front", "right-back"]
_DOOR: Final = {"side": "left", "offset": "9 ft", "width": "30 in"}

CASES: Final[dict[str, dict[str, Any]]] = {
    "plain": tunnel(),
    "one bay": tunnel(1),
    "two bays, flaps": tunnel(2, options={"wind_flaps": _CORNERS}),
    "flaps, laid from the back": tunnel(9, options={"wind_flaps": _CORNERS[:3], "lay_from": "back"}),
    "door between studs": tunnel(openings=[_DOOR], sides=["left"]),
    "door, laid from the back": tunnel(openings=[_DOOR], options={"lay_from": "back"}),
    "door after twelve bays": tunnel(16, openings=[{"side": "left", "offset": "45 ft", "width": "30 in"}]),
    "door on posts": tunnel(openings=[{"side": "right", "offset": "8 ft", "width": "4 ft"}]),
    "rigid ends, existing tunnel": tunnel(
        end_walls={"front": "polycarbonate", "back": "open"}, options={"existing_tunnel": True}
    ),
    "film ends, existing tunnel": tunnel(options={"existing_tunnel": True}),
    "rigid ends, laid from the back": tunnel(
        end_walls={"front": "polycarbonate", "back": "polycarbonate"}, options={"lay_from": "back"}
    ),
    "flaps beside a rigid end": tunnel(
        9, end_walls={"front": "polycarbonate"}, options={"wind_flaps": _CORNERS}
    ),
    "buried": tunnel(wall={"height": "32 in", "bury_depth": "6 in"}, options={"trench": {}}),
    "upright flutes": tunnel(wall={"flutes": "upright"}),
    "full-height profiles": tunnel(wall={"joint_profile_extent": "full_height"}),
    "full-height profiles beside a door": tunnel(
        16, wall={"joint_profile_extent": "full_height"},
        options={"lay_from": "back", "longest_stock": "12 ft 3 in"},
        openings=[{"side": "left", "offset": "45 ft", "width": "30 in"}],
    ),
    "low wall": tunnel(wall={"height": "12 in"}),
    "no hooks, fixed sides": tunnel(roll_up_sides=False),
    "sides of two heights": tunnel(wall={"per_side": {"right": {"height": "30 in"}}}),
    "on hand": {
        **tunnel(),
        "on_hand": [
            {"sku": "PC08-48x192", "length": "16 ft", "count": 1},
            {"sku": "BB06-12L", "length": "99 in", "count": 2},
        ],
    },
    "metric": {
        "display_units": "metric",
        "structure": {"bays": 7, "bay_spacing": "2 m", "post": {"width": "60 mm"}},
        "wall": {"panel_thickness": "10 mm"},
    },
}  # fmt: skip
"""Specs as sent, by what is special about them; the demo dealer's catalog."""


@cache
def case(name: str) -> Planned:
    """Plan one of the cases."""
    return plan(CASES[name], demo_catalog())


@cache
def example_a() -> Planned:
    """Plan the hand-solved tunnel from its own catalog."""
    return plan(EXAMPLE_A, example_a_catalog())


@cache
def two_piece(extent: str = "above_baseboard") -> Planned:
    """Plan a tunnel whose joint profile is a base with a cap."""
    profile = next(
        item["sku"]
        for item in demo_document()["items"]
        if item["part"]["role"] == "joint_profile" and item["part"]["thickness"] == "8 mm"
    )
    catalog = catalog_with(with_part(demo_document(), profile, pieces="two_piece"))
    return plan(tunnel(wall={"joint_profile_extent": extent}), catalog)


@cache
def small_washers() -> Planned:
    """Plan a tunnel put up in frost, whose panels' holes no washer stocked covers."""
    site = {"install_temperature_c": 0, "highest_temperature_c": 60}
    return plan({**tunnel(), "site": site}, catalog_with(without_items(demo_document(), "WS-100")))
