"""Published cutting instances read from a folder, solved and timed: a measurement, not a test.

Rules of this file
------------------
- The instances stay outside the project; each is a JSON file with its own source and known optimum.
- File access and the clock live here, never in the planner.
"""

import json
import statistics
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from service.planner.solver.cuts.cut_lists import CutDemand, CutList, CutListProblem, CutStock, solve_cut_list


@dataclass(frozen=True, slots=True, kw_only=True)
class Instance:
    """One published instance."""

    name: str
    """Name of the instance, with the direction of the first cut for sheets"""
    family: str
    """Class of instances it belongs to"""
    problem: CutListProblem
    """The problem"""
    optimum: int | None
    """Known optimum; None where the literature leaves it open"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """An instance solved."""

    instance: Instance
    """The instance"""
    answer: CutList
    """What the solver answered"""
    seconds: float
    """Time it took [s]"""

    @property
    def agrees(self) -> bool:
        """Whether the answer is consistent with the known optimum."""
        known = self.instance.optimum
        return known is None or self.answer.lower_bound <= known <= self.answer.objective


def read_instances(folder: Path) -> tuple[list[Instance], list[str]]:
    """Instances of a folder in the order of their names, and the names of the files that are not valid JSON."""
    instances: list[Instance] = []
    unreadable: list[str] = []
    for path in sorted(folder.glob("*.json")):
        try:
            data = json.loads(path.read_text(encoding="utf-8"))
        except ValueError:
            unreadable.append(path.name)
        else:
            instances.extend(_instances(path.stem, data) if isinstance(data, dict) else ())
    return instances, unreadable


def _instances(name: str, data: dict[str, Any]) -> Iterator[Instance]:
    family = name.split("_", maxsplit=1)[0]
    if "bin" in data:
        yield from _sheets(name, family, data)
        return
    stocks = data.get("stocks") or [{"length": data["capacity"], "cost": 1, "available": None}]
    problem = CutListProblem(
        stock=tuple(
            CutStock(length=row["length"], price=row["cost"], count=row["available"]) for row in stocks
        ),
        demand=tuple(CutDemand(length=length, count=count) for length, count in data["items"]),
        kerf=data.get("kerf", 0),
    )
    yield Instance(name=name, family=family, problem=problem, optimum=data["optimum"])


def _sheets(name: str, family: str, data: dict[str, Any]) -> Iterator[Instance]:
    for first_cut, along in (("horizontal", 0), ("vertical", 1)):
        problem = CutListProblem(
            stock=(CutStock(length=data["bin"][along], width=data["bin"][1 - along], price=1),),
            demand=tuple(
                CutDemand(length=row[along], width=row[1 - along], count=row[2]) for row in data["items"]
            ),
            trim=data["trim_allowed"],
        )
        optimum = data[f"optimum_{first_cut}_first"]
        yield Instance(name=f"{name}:{first_cut}", family=family, problem=problem, optimum=optimum)


def measure(instance: Instance) -> Measurement:
    """Solve an instance against the clock."""
    start = time.perf_counter()
    answer = solve_cut_list(instance.problem)
    return Measurement(instance=instance, answer=answer, seconds=time.perf_counter() - start)


def report(folder: Path) -> Iterator[str]:
    """Solve the instances of a folder one by one: a line for each, then the summary by class."""
    instances, unreadable = read_instances(folder)
    yield from (f"{name}: not valid JSON, left out" for name in unreadable)
    measurements = []
    for instance in instances:
        measurement = measure(instance)
        measurements.append(measurement)
        answer = measurement.answer
        verdict = "proven" if answer.proven_optimal else f"bound {answer.lower_bound}"
        known = "" if measurement.agrees else f", known optimum {instance.optimum} contradicted"
        yield f"{instance.name}: {answer.objective} {verdict}{known}, {measurement.seconds:.3f} s"
    yield from summary(measurements)


def summary(measurements: list[Measurement]) -> list[str]:
    """One line per class: how many, how many proven, median and worst seconds."""
    families: dict[str, list[Measurement]] = defaultdict(list)
    for measurement in measurements:
        families[measurement.instance.family].append(measurement)
    lines = [f"{'class':<12}{'count':>6}{'proven':>8}{'agree':>7}{'median s':>10}{'worst s':>10}"]
    for family, rows in families.items():
        seconds = [row.seconds for row in rows]
        proven = sum(row.answer.proven_optimal for row in rows)
        agree = sum(row.agrees for row in rows)
        lines.append(
            f"{family:<12}{len(rows):>6}{proven:>8}{agree:>7}"
            f"{statistics.median(seconds):>10.3f}{max(seconds):>10.3f}"
        )
    return lines
