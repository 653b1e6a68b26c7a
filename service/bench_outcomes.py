"""What is told about realistic structures: the share of each outcome, of each code, and of each notice, as tables.

Rules of this file
------------------
- Every structure is planned whole, from the demo catalog; one that cannot be built is counted as refused.
- A plan counts once for a code, however many of its checks or notices carry it.
"""

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from random import Random
from typing import Final

from pydantic import TypeAdapter

import service.store
from service.bench_specs import make_spec
from service.planner.answer.shapes import Plan
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.spec import Spec
from service.planner.errors import SpecError
from service.planner.plan import make_plan

_SPEC: Final[TypeAdapter[Spec]] = TypeAdapter(Spec)
_DEMO: Final = Path(service.store.__file__).with_name("catalogs") / "demo.json"
_REVISION: Final = "r-00000000000000000000000000000000"


def outcomes(count: int, seed: int) -> Iterator[str]:
    """Plan structures and give the lines of the tables.

    Parameters
    ----------
    count
        How many structures.
    seed
        Seed of the structures.
    """
    catalog = read_catalog(json.loads(_DEMO.read_text("utf-8")))
    walls, codes, notices = Counter[str](), Counter[tuple[str, str]](), Counter[str]()
    for index in range(count):
        random = Random(f"{seed}/{index}")  # noqa: S311 - no secret
        try:
            plan = make_plan(_SPEC.validate_python(make_spec(random, "")), catalog, _REVISION)
        except SpecError:
            walls["refused"] += 1
            continue
        _count(plan, walls, codes, notices)
    planned = count - walls["refused"]
    yield from _table("outcome of the wall", walls, count)
    yield from _table(
        "checks",
        {f"{code}: {outcome}": n for (outcome, code), n in codes.items() if outcome != "pass"},
        planned,
    )
    yield from _table("notices", notices, planned)


def _count(plan: Plan, walls: Counter[str], codes: Counter[tuple[str, str]], notices: Counter[str]) -> None:
    """Count one plan."""
    walls[plan["summary"]["outcome"]] += 1
    codes.update({(check["outcome"], check["id"]) for check in plan["checks"]})
    notices.update({notice["id"] for notice in plan["notices"]})


def _table(title: str, counted: Mapping[str, int], of: int) -> Iterator[str]:
    """A table's lines, the largest share first."""
    yield f"{title}, of {of}:"
    for name, number in sorted(counted.items(), key=lambda row: (-row[1], row[0])):
        yield f"  {number / of:6.1%}  {name}"
