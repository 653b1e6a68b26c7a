"""Said once: what is the same along two runs goes out for the first of them, and the other refers to it.

Rules of this file
------------------
- A run that equals an earlier one is sent as its id, its side and the id of the other; so are its rows of the schedule,
  all of them or none, and each of its steps.
- Whoever reads it rebuilds what is left out: the other's description with this run's id wherever the other's id stands,
  in ids and in texts. `in_full` does just that.
- What many rows say stands once in a table, and they name it by its id there; so do steps their tools and cautions.
- Nothing is left out that would not come back so: it is compared before it is left out.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Final, TypeVar, cast

import orjson

from service.planner.answer.layout_shapes import (
    LayoutOut,
    RunOut,
)
from service.planner.answer.once_shapes import (
    EqualRun,
    LayoutOnce,
    PlanOnce,
    SameRun,
    SameStep,
    ScheduleOnce,
    SequenceOnce,
)
from service.planner.answer.shapes import (
    FastenerRowOut,
    FastenerSchedule,
    InstallSequence,
    NamedOut,
    Plan,
    StepOut,
)
from service.planner.writing import Told

Found = TypeVar("Found", bound=Mapping[str, Any])
_RUN: Final = re.compile(r"(?:left|right)-\d+(?=-)")
"""The run that a step's id begins with"""


def said_once(plan: Plan) -> PlanOnce:
    """Leave out of a plan what is said of an earlier run, row or line already.

    Parameters
    ----------
    plan
        A plan, or parts of one.
    """
    return cast("PlanOnce", _each_part(plan, _ONCE))


def in_full(once: PlanOnce) -> Plan:
    """Give back what was left out of a plan.

    Parameters
    ----------
    once
        A plan as it was sent.
    """
    return cast("Plan", _each_part(once, _FULL))


def _each_part(plan: Mapping[str, Any], turned: Mapping[str, Callable[[Any], Any]]) -> dict[str, Any]:
    return {name: turned[name](part) if name in turned else part for name, part in plan.items()}


def _layout_once(layout: LayoutOut) -> LayoutOnce:
    runs = layout["runs"]
    same = _equal([(run["id"], {**run, "side": ""}) for run in runs])
    sent = [_same_run(run, same) if run["id"] in same else run for run in runs]
    return cast("LayoutOnce", {**layout, "runs": sent})


def _layout_full(layout: LayoutOnce) -> dict[str, Any]:
    runs = {run["id"]: run for run in layout["runs"]}
    return {**layout, "runs": [_full_run(run, runs) for run in runs.values()]}


def _schedule_once(schedule: FastenerSchedule) -> dict[str, Any]:
    rows = schedule["rows"]
    same = _equal(_by_run((row["run"], row) for row in rows))
    drives, reasons = dict[bytes, NamedOut](), dict[bytes, NamedOut]()
    sent = [
        {**row, "drive": _named(row["drive"], drives), "why": _named(row["why"], reasons)}
        for row in rows
        if row["run"] not in same
    ]
    tables = {"drives": list(drives.values()), "reasons": list(reasons.values())}
    return {**schedule, "rows": sent, **tables, "equal_runs": _listed(same)}


def _schedule_full(schedule: ScheduleOnce) -> dict[str, Any]:
    drives, reasons = _by_id(schedule["drives"]), _by_id(schedule["reasons"])
    rows: list[Any] = [
        {**row, "drive": drives[row["drive"]], "why": reasons[row["why"]]} for row in schedule["rows"]
    ]
    rows += [
        _as(row, equal["same_as"], equal["id"])
        for equal in schedule["equal_runs"]
        for row in rows
        if row["run"] == equal["same_as"]
    ]
    return {"rows": sorted(rows, key=_place), "totals": schedule["totals"]}


def _sequence_once(sequence: InstallSequence) -> dict[str, Any]:
    return {**sequence, **_steps(sequence["steps"])}


def _sequence_full(sequence: SequenceOnce) -> dict[str, Any]:
    same = {equal["id"]: equal["same_as"] for equal in sequence["equal_runs"]}
    full = {**sequence, "steps": list(_full_steps(cast("Any", sequence["steps"]), same))}
    return {name: value for name, value in full.items() if name != "equal_runs"}


def _named(told: Told, table: dict[bytes, NamedOut]) -> str:
    """Put a text into a table, where it is not there yet, and give its id: its code, numbered where it says more than one thing."""
    written = orjson.dumps(told)
    if written not in table:
        before = sum(held["code"] == told["code"] for held in table.values())
        table[written] = {"id": f"{told['code']}-{before + 1}" if before else told["code"], **told}
    return table[written]["id"]


def _by_id(table: Iterable[NamedOut]) -> dict[str, Told]:
    """Give the texts of a table by their ids."""
    return {
        each["id"]: {"code": each["code"], "text": each["text"], "values": each["values"]} for each in table
    }


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


def _same_run(run: RunOut, same: Mapping[str, str]) -> SameRun:
    return {"id": run["id"], "side": run["side"], "same_as": same[run["id"]]}


def _full_run(run: Mapping[str, Any], runs: Mapping[str, Mapping[str, Any]]) -> Mapping[str, Any]:
    other = run.get("same_as")
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


_ONCE: Final[Mapping[str, Callable[[Any], Any]]] = {
    "layout": _layout_once,
    "fastener_schedule": _schedule_once,
    "install_sequence": _sequence_once,
}
"""How each part goes out"""
_FULL: Final[Mapping[str, Callable[[Any], Any]]] = {
    "layout": _layout_full,
    "fastener_schedule": _schedule_full,
    "install_sequence": _sequence_full,
}
"""How it is given back"""
