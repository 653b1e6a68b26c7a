"""Said once: what is the same along two runs goes out for the first of them, and the other refers to it.

Rules of this file
------------------
- A run that equals an earlier one is sent as its id, its side and the id of the other; so are its rows of the schedule,
  all of them or none, and each of its steps.
- Whoever reads it rebuilds what is left out: the other's description with this run's id wherever the other's id stands,
  in ids and in texts. `in_full` does just that.
- Nothing is left out that would not come back so: it is compared before it is left out.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final, Literal, NotRequired, TypeVar, cast

import orjson
from pydantic import ConfigDict, with_config
from typing_extensions import TypedDict

from service.planner.answer.drilling_shapes import DrillingOut
from service.planner.answer.layout_shapes import DOCUMENTED, CuttingOut, MovementOut, OpeningOut, RunOut
from service.planner.answer.shapes import (
    Bill,
    CatalogRef,
    CheckOut,
    FastenerRowOut,
    FastenerTotal,
    NamedOut,
    NoticeOut,
    Plan,
    StepOut,
    Summary,
)
from service.planner.units import DisplayUnits
from service.planner.writing import Told

Found = TypeVar("Found", bound=Mapping[str, Any])
_RUN: Final = re.compile(r"(?:left|right)-\d+(?=-)")
"""The run that a step's id begins with"""


@DOCUMENTED
class EqualRun(TypedDict):
    """A run that equals another: what is said of that one holds of this one, its id in place of the other's."""

    id: str
    """The run"""
    same_as: str
    """Id of the run that it equals"""


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


@with_config(ConfigDict(use_attribute_docstrings=True))
class LayoutOnce(TypedDict):
    """Where everything goes."""

    runs: list[RunOut | SameRun]
    """Equal runs are described once"""
    openings: list[OpeningOut]
    movement: MovementOut


@DOCUMENTED
class ScheduleOnce(TypedDict):
    """Which screw goes where."""

    rows: list[FastenerRowOut]
    """Rows of runs that equal no other"""
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


def said_once(plan: Plan) -> PlanOnce:
    """Leave out of a plan what is said of an earlier run already.

    Parameters
    ----------
    plan
        A plan, or parts of one.
    """
    once: dict[str, Any] = dict(plan)
    if "layout" in plan:
        runs = plan["layout"]["runs"]
        same = _equal([(run["id"], {**run, "side": ""}) for run in runs])
        once["layout"] = {**plan["layout"], "runs": [_run(run, same) for run in runs]}
    if "fastener_schedule" in plan:
        rows = plan["fastener_schedule"]["rows"]
        same = _equal(_by_run((row["run"], row) for row in rows))
        kept = [row for row in rows if row["run"] not in same]
        once["fastener_schedule"] = {**plan["fastener_schedule"], "rows": kept, "equal_runs": _listed(same)}
    if "install_sequence" in plan:
        once["install_sequence"] = {**plan["install_sequence"], **_steps(plan["install_sequence"]["steps"])}
    return cast("PlanOnce", once)


def in_full(once: PlanOnce) -> Plan:
    """Give back what was left out of a plan.

    Parameters
    ----------
    once
        A plan as it was sent.
    """
    plan: dict[str, Any] = dict(once)
    if "layout" in once:
        runs = {run["id"]: run for run in once["layout"]["runs"]}
        full = [_full_run(run, runs) for run in runs.values()]
        plan["layout"] = {**once["layout"], "runs": full}
    if "fastener_schedule" in once:
        schedule: dict[str, Any] = dict(once["fastener_schedule"])
        same = {equal["id"]: equal["same_as"] for equal in schedule.pop("equal_runs")}
        rows = schedule["rows"]
        more = [_as(row, other, run) for run, other in same.items() for row in rows if row["run"] == other]
        plan["fastener_schedule"] = {**schedule, "rows": sorted(rows + more, key=_place)}
    if "install_sequence" in once:
        sequence: dict[str, Any] = dict(once["install_sequence"])
        same = {equal["id"]: equal["same_as"] for equal in sequence.pop("equal_runs")}
        plan["install_sequence"] = {**sequence, "steps": list(_full_steps(sequence["steps"], same))}
    return cast("Plan", plan)


def _as(value: Found, other: str, run: str) -> Found:
    """Say of a run what is said of another: its id wherever the other's stands."""
    return cast("Found", orjson.loads(orjson.dumps(value).replace(other.encode(), run.encode())))


def _place(row: FastenerRowOut) -> tuple[str, int]:
    """Order rows by their run: sides by name, runs of a side by number."""
    side, _, number = row["run"].partition("-")
    return side, int(number)


def _equal(described: Iterable[tuple[str, object]]) -> dict[str, str]:
    """Find the runs that an earlier one describes but for its id; each with the first such run."""
    first: dict[str, bytes] = {}
    same: dict[str, str] = {}
    for run, value in described:
        written = orjson.dumps(value)
        for other, held in first.items():
            if held.replace(other.encode(), run.encode()) == written:
                same[run] = other
                break
        else:
            first[run] = written
    return same


def _by_run(rows: Iterable[tuple[str, FastenerRowOut]]) -> Iterable[tuple[str, list[FastenerRowOut]]]:
    """Gather the rows of each run."""
    found: dict[str, list[FastenerRowOut]] = {}
    for run, row in rows:
        found.setdefault(run, []).append(row)
    return found.items()


def _listed(same: Mapping[str, str]) -> list[EqualRun]:
    return [{"id": run, "same_as": other} for run, other in same.items()]


def _run(run: RunOut, same: Mapping[str, str]) -> RunOut | SameRun:
    if run["id"] not in same:
        return run
    return {"id": run["id"], "side": run["side"], "same_as": same[run["id"]]}


def _full_run(run: RunOut | SameRun, runs: Mapping[str, RunOut | SameRun]) -> Mapping[str, Any]:
    other = cast("Any", run).get("same_as")
    return run if other is None else {**_as(runs[other], other, run["id"]), "side": run["side"]}


def _steps(steps: Iterable[StepOut]) -> dict[str, Any]:
    """Leave out the steps that are as an earlier run's."""
    written: dict[str, bytes] = {}
    sent: list[StepOut | SameStep] = []
    same: dict[str, str] = {}
    for step in steps:
        found, own = _RUN.match(step["id"]), orjson.dumps(step)
        run = found[0] if found else ""
        others = [same[run]] if run in same else dict.fromkeys(_runs_of(written)) if run else ()
        other = next((name for name in others if _as_there(written, step["id"], name, run) == own), None)
        if other is None:
            written[step["id"]] = own
            sent.append(step)
        else:
            same[run] = other
            sent.append({"id": step["id"], "same_as": step["id"].replace(run, other)})
    return {"steps": sent, "equal_runs": _listed(same)}


def _runs_of(names: Iterable[str]) -> Iterator[str]:
    """Name the runs that steps belong to."""
    return (found[0] for found in map(_RUN.match, names) if found)


def _as_there(written: Mapping[str, bytes], name: str, other: str, run: str) -> bytes | None:
    """Write the step of another run as this run's; none where that run has no such step."""
    held = written.get(name.replace(run, other))
    return None if held is None or other == run else held.replace(other.encode(), run.encode())


def _full_steps(steps: Iterable[dict[str, Any]], same: Mapping[str, str]) -> Iterator[dict[str, Any]]:
    """Give every step in full."""
    held: dict[str, dict[str, Any]] = {}
    for step in steps:
        if "same_as" in step:
            found = _RUN.match(step["id"])
            run = found[0] if found else ""
            held[step["id"]] = _as(held[step["same_as"]], same[run], run)
        else:
            held[step["id"]] = step
        yield held[step["id"]]
