"""The shapes of a plan as it is sent: what equal runs, rows and lines share stands once.

Rules of this file
------------------
- Types only; what is left out and how it is given back stands in ``once.py``. Parts that go out whole have theirs in
  ``shapes.py``.
"""

from typing import Literal, NotRequired

from typing_extensions import TypedDict

from service.planner.answer.drilling_shapes import DrillingOut
from service.planner.answer.layout_shapes import DOCUMENTED, CuttingOut, MovementOut, OpeningOut, RunOut
from service.planner.answer.shapes import (
    Bill,
    CatalogRef,
    CheckOut,
    FastenerRowBase,
    FastenerTotal,
    NamedOut,
    NoticeOut,
    StepOut,
    Summary,
)
from service.planner.units import DisplayUnits
from service.planner.writing import Told


@DOCUMENTED
class EqualRun(TypedDict):
    """A run that equals another: what is said of that one holds of this one, its id in place of the other's."""

    id: str
    """The run"""
    same_as: str
    """Id of the run that it equals"""


@DOCUMENTED
class FastenerRowOnce(FastenerRowBase):
    """Screws of one kind at one height through the same layers."""

    drive: str
    """Id of its bit or driver"""
    why: str
    """Id of the reason for this screw"""


@DOCUMENTED
class SameRun(EqualRun):
    """A run laid out as another: everything but id and side is as there, this id in place of the other's."""

    side: Literal["left", "right"]
    """Seen from outside the front end wall"""


@DOCUMENTED
class SameStep(TypedDict):
    """A step that is as another of an equal run, that run's id replaced by this one's in ids and texts."""

    id: str
    same_as: str
    """Id of the step that it is as"""


@DOCUMENTED
class LayoutOnce(TypedDict):
    """Where everything goes."""

    runs: list[RunOut | SameRun]
    """Equal runs are described once"""
    openings: list[OpeningOut]
    movement: MovementOut


@DOCUMENTED
class ScheduleOnce(TypedDict):
    """Which screw goes where."""

    rows: list[FastenerRowOnce]
    """Rows of runs that equal no other"""
    drives: list[NamedOut]
    """Every bit and driver once"""
    reasons: list[NamedOut]
    """Every reason once"""
    equal_runs: list[EqualRun]
    """Runs whose rows are as another run's, their ids in place of the other's"""
    totals: list[FastenerTotal]
    """Over all runs"""


@DOCUMENTED
class SequenceOnce(TypedDict):
    """The order of work."""

    steps: list[StepOut | SameStep]
    """In order; steps along equal runs are described once"""
    equal_runs: list[EqualRun]
    """Runs with steps that are as another run's"""
    tools: list[NamedOut]
    """Every tool once"""
    cautions: list[NamedOut]
    """Every caution once"""
    minutes_note: Told
    """That minutes are an estimate"""


class PlanOnce(TypedDict):
    """A complete plan, or the parts of it that were asked for."""

    plan_id: str
    planner_version: str
    reference: str
    catalog: CatalogRef
    display_units: DisplayUnits
    summary: NotRequired[Summary]
    layout: NotRequired[LayoutOnce]
    cutting: NotRequired[CuttingOut]
    bill_of_materials: NotRequired[Bill]
    fastener_schedule: NotRequired[ScheduleOnce]
    drilling: NotRequired[DrillingOut]
    install_sequence: NotRequired[SequenceOnce]
    checks: NotRequired[list[CheckOut]]
    notices: NotRequired[list[NoticeOut]]
