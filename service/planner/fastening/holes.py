"""Holes: what a panel needs to move past its screws, and what metal needs so that a thread does not jack it off.

Rules of this file
------------------
- A hole in a panel is the screw and twice its travel, a distance x from the panel's middle, with the larger of
  warming and cooling; never less than the least oversize. It is rounded up to a bit.
- The crew drills two sizes: one past all intermediate supports of the wall, one where a panel ends in a jamb's cap.
  The largest of each counts. On end posts the hole is an open slot; at panel joints there is none.
- A washer that lies on the panel covers its hole all round, at rest and when the panel has moved as far as it can;
  where none does the hole becomes a slot along the panel, as long as the hole would have been wide. A washer on
  metal, a joint profile or a jamb's cap has no hole of the panel to cover.
- Outer metals get a clearance hole where the thread would bite them before the point has drilled the next metal, or
  where all metal together is past what the point drills.
"""

from collections.abc import Iterable, Sequence
from math import ceil
from typing import Final, Literal

from service.planner.asked.settle import Job
from service.planner.engineering.hardware import screw_diameter
from service.planner.fastening.layers import METALS
from service.planner.keeping import remembered
from service.planner.records import record
from service.planner.rules import Place
from service.planner.units import INCH, MILLIMETRE, SIXTEENTH, DisplayUnits, round_up
from service.planner.wall.layout import Layer, Layout, Movement

HoleKind = Literal["inner", "jamb"]
"""Past an intermediate support, or where a panel ends in a jamb's cap."""
SUPPORTS: Final = frozenset({"post", "bow", "jamb"})
"""Layers that belong to the support"""
CLEARANCE: Final = INCH // 32
"""What a clearance hole in metal is wider than its screw; judgement [nm]"""
DRILL_STEP: Final[dict[DisplayUnits, int]] = {"imperial": INCH // 64, "metric": MILLIMETRE // 2}
"""Steps in which drills are sold [nm]"""
BIT_STEP: Final[dict[DisplayUnits, int]] = {"imperial": SIXTEENTH, "metric": MILLIMETRE // 2}
"""Steps of the bits for plastic [nm]"""
_PASSING: Final[dict[HoleKind, tuple[Place, ...]]] = {
    "inner": ("board_upper", "board_lower", "locating", "field", "upright_over_panel"),
    "jamb": ("board_upper", "board_lower", "jamb_cap"),
}
"""Places of the fastening rules table whose screws pass such a hole"""


@record
class PanelHoles:
    """The holes that the crew drills in panels."""

    inner: int
    """Past intermediate supports [nm]"""
    jamb: int
    """At jambs; 0 without one [nm]"""
    slot_width: int
    """Width of a slot: the screw and the least oversize [nm]"""
    washers: tuple[int, ...]
    """For each run the diameter of a washer on the panel that covers its hole, at rest and when the panel has moved [nm]"""


def panel_holes(job: Job, layout: Layout) -> PanelHoles:
    """Size the holes in a wall's panels.

    Parameters
    ----------
    job
        The settled job.
    layout
        The layout; its movement counts, so that a wall may be judged on another site.
    """
    inner, jamb = [0] * len(layout.walls), -1
    for wall in layout.walls:
        run, panels, supports = wall.run, wall.panels, wall.run.supports
        for panel in panels:
            if panel.end - panel.start > 1:
                middle = (panel.x_start + panel.x_end) // 2
                near, far = supports[panel.start + 1].x, supports[panel.end - 1].x
                inner[run.index] = max(inner[run.index], middle - near, far - middle)
        for panel, at, kind in ((panels[0], 0, run.front_end), (panels[-1], run.last, run.back_end)):
            if kind == "jamb":
                jamb = max(jamb, abs(supports[at].x - (panel.x_start + panel.x_end) // 2))
    hole = _hole(job, layout.movement, "inner", max(inner))
    return PanelHoles(
        inner=hole,
        jamb=_hole(job, layout.movement, "jamb", jamb) if jamb >= 0 else 0,
        slot_width=_hole(job, layout.movement, "inner", 0),
        washers=tuple([_washer_over(job, hole, _travel(layout.movement, away)) for away in inner]),
    )


def _travel(movement: Movement, away: int) -> int:
    """How far a panel moves past a screw so far from its middle, alpha x dT with the larger dT [nm]."""
    return ceil(movement.expansion * away * max(movement.warming, movement.cooling))


def _hole(job: Job, movement: Movement, kind: HoleKind, away: int) -> int:
    """The hole for a screw so far from a panel's middle, d + 2 alpha x dT [nm]."""
    number = max([job.fastening[place].number for place in _PASSING[kind]])
    least = screw_diameter(number) + max(2 * _travel(movement, away), job.limits.hole_oversize)
    return round_up(least, BIT_STEP[job.units])


def _washer_over(job: Job, hole: int, travel: int) -> int:
    """The diameter of a washer that covers a hole, at rest and when the panel has moved so far [nm]."""
    return hole + max(2 * job.limits.washer_cover, 2 * travel + 2 * job.limits.moved_cover)


def lies_on_panel(layers: Sequence[Layer]) -> bool:
    """Tell whether a washer lies on the panel itself, so that it has a hole to cover."""
    return layers[0].part == "panel"


@remembered("layers")
def clearance(
    units: DisplayUnits, layers: tuple[Layer, ...], number: int, *, drills: int, point: int
) -> int | None:
    """The clearance hole that a row's outer metals get, none where they need none [nm].

    Parameters
    ----------
    units
        Units that drills are sold in.
    layers
        What the screw passes, outside to inside.
    number
        Its number [-].
    drills
        Most metal that its point drills [nm].
    point
        Length of its point [nm].
    """
    metal = sum(layer.thickness for layer in layers if layer.part in METALS)
    if not outer_metals(layers) or (metal <= drills and widest_room(layers) <= point):
        return None
    return round_up(screw_diameter(number) + CLEARANCE, DRILL_STEP[units])


def widest_room(layers: Iterable[Layer]) -> int:
    """The greatest distance between two metals of a row [nm]."""
    widest, between, met = 0, 0, False
    for layer in layers:
        if layer.part in METALS:
            widest, between, met = max(widest, between if met else 0), 0, True
        else:
            between += layer.thickness
    return widest


@remembered("layers")
def outer_metals(layers: tuple[Layer, ...]) -> tuple[str, ...]:
    """Name the metals outside the one that holds the thread: all but the support's, or all but the last."""
    metals = [layer.part for layer in layers if layer.part in METALS]
    outside = [part for part in metals if part not in SUPPORTS]
    return tuple(dict.fromkeys(outside if len(outside) < len(metals) else outside[:-1]))
