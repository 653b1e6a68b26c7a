"""Which panels are drilled alike, and where.

Rules of this file
------------------
- Places along a panel come from its holes, heights from the rows of the schedule that pass it at the same support.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from service.paper.reading import runs, screws
from service.planner.answer.layout_shapes import PieceOut, RunOut
from service.planner.answer.shapes import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """Holes or slots of a panel at one support."""

    label: str
    """Label of the support in the first panel of the kind"""
    x: float
    """From the panel's end towards the front [mm]"""
    heights: tuple[float, ...]
    """From the panel's foot [mm]"""
    diameter: float
    """Diameter, or height of a slot [mm]"""
    slot: bool
    """Whether it is open to the panel's end, or long"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drilled:
    """Panels that are drilled alike."""

    panels: tuple[str, ...]
    """Their ids"""
    length: float
    height: float
    mirrored: bool
    """Whether the end towards the front is at the right hand from outside"""
    holes: tuple[Hole, ...]

    @property
    def heights(self) -> list[float]:
        """List the heights at which there are holes, from the foot [mm]."""
        return sorted({height for hole in self.holes for height in hole.heights})

    @property
    def counts(self) -> Counter[tuple[float, bool]]:
        """Count holes and slots of each size."""
        counted: Counter[tuple[float, bool]] = Counter()
        for hole in self.holes:
            counted[hole.diameter, hole.slot] += len(hole.heights)
        return counted


def drilled_kinds(plan: Plan) -> Iterator[Drilled]:
    """Group panels that are drilled alike, in the order of the first of each kind."""
    heights = _screw_heights(plan)
    kinds: dict[tuple[object, ...], list[tuple[RunOut, PieceOut, tuple[Hole, ...]]]] = {}
    for run in runs(plan):
        for panel in run["panels"]:
            holes = tuple(_holes(run, panel, heights))
            key = (
                run["side"], panel["length_mm"], panel.get("height_mm"),
                tuple((hole.x, hole.heights, hole.diameter, hole.slot) for hole in holes),
            )  # fmt: skip
            kinds.setdefault(key, []).append((run, panel, holes))
    for alike in kinds.values():
        run, panel, holes = alike[0]
        yield Drilled(
            panels=tuple(piece["id"] for _, piece, _ in alike), length=panel["length_mm"],
            height=panel.get("height_mm", 0.0), mirrored=run["side"] == "left", holes=holes,
        )  # fmt: skip


def _screw_heights(plan: Plan) -> dict[tuple[str, str], set[float]]:
    """List the heights at which screws pass a panel, by run and label of the support."""
    found: defaultdict[tuple[str, str], set[float]] = defaultdict(set)
    for row in screws(plan):
        if any(layer["part"] == "panel" for layer in row["layers"]):
            for label in row["labels"]:
                found[row["run"], label].add(row["z_mm"])
    return found


def _holes(run: RunOut, panel: PieceOut, heights: dict[tuple[str, str], set[float]]) -> Iterator[Hole]:
    """Walk the holes of a panel from front to back."""
    foot = run["elevations"]["panel_foot_mm"]
    for hole in panel.get("holes", []):
        above = sorted(round(z - foot, 4) for z in heights.get((run["id"], hole["support"]), ()))
        yield Hole(
            label=hole["support"], x=hole["from_end_mm"], heights=tuple(above), diameter=hole["diameter_mm"],
            slot=hole["slot"],
        )  # fmt: skip
