"""What a planner process does: chunks of structures in as bytes, their answers out as bytes.

Rules of this file
------------------
- One structure that fails, however it fails, is one answer that says so; the next is planned all the same.
- Catalogs come with the chunk and are kept by revision, the last few.
- Only the parts that are asked for are made; the outcome that every line tells comes from checks without their texts.
"""

import os
import signal
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from time import perf_counter
from typing import Any, Final, Self

import orjson

from service.api import problems
from service.api.binding import check_bound
from service.api.bodies import JsonBody
from service.api.models import SPEC
from service.api.problems import Problem
from service.planner.answer.once import said_once
from service.planner.answer.shapes import Part
from service.planner.asked.catalog import Catalog
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.spec import Spec
from service.planner.errors import PlanError
from service.planner.fields import money_text
from service.planner.judging.checks.table import run_checks, worst
from service.planner.messages import say
from service.planner.plan import Worked, render_plan, work_out
from service.planner.solver.effort import Effort
from service.planner.writing import Language
from service.words.languages import languages

GENTLE: Final = 10
"""By how much planners step behind what answers a single shopper [-]"""
BODY: Final = JsonBody(SPEC)
"""Reads the spec of a structure"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is wanted of every structure of a list, and what each may take."""

    parts: tuple[Part, ...]
    """Parts of a plan that are answered"""
    language: Language
    """The language of its texts"""
    units: int
    """Work that one may take before the best so far is answered [units]"""
    tiers: tuple[str, ...] | None = None
    """Tiers whose prices may be asked for; none: every tier"""

    def as_values(self) -> dict[str, Any]:
        """Write it for another process."""
        return {
            "parts": self.parts,
            "language": self.language.tag,
            "units": self.units,
            "tiers": self.tiers,
        }

    @classmethod
    def read(cls, values: Mapping[str, Any]) -> Self:
        """Read what was written."""
        return cls(
            parts=tuple(values["parts"]),
            language=languages()[values["language"]],
            units=values["units"],
            tiers=values["tiers"],
        )


def begin() -> None:
    """Step behind the process that answers requests, and leave its signals to it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.nice(GENTLE)


@lru_cache(maxsize=8)
def _catalog(document: bytes) -> Catalog:
    return read_catalog(orjson.loads(document))


def plan_chunk(chunk: bytes) -> bytes:
    """Plan the structures of a chunk.

    Parameters
    ----------
    chunk
        JSON: what is `wanted`, `catalogs` as [id, revision, document] and `structures` as [number of the catalog, spec].

    Returns
    -------
        Lines: the seconds that it took, then for each structure its gist (outcome, total and currency of a plan, nothing for
        a problem), a tab, and the answer or problem as JSON.
    """
    began = perf_counter()
    asked = orjson.loads(chunk)
    wanted = Wanted.read(asked["wanted"])
    answers = [
        _answer(wanted, asked["catalogs"][number], spec.encode()) for number, spec in asked["structures"]
    ]
    return b"\n".join([str(perf_counter() - began).encode(), *answers])


def _answer(wanted: Wanted, catalog: list[str], body: bytes) -> bytes:
    """Answer one structure."""
    language, units = wanted.language, None
    try:
        spec = BODY.parse(body)
        units = spec.display_units
        worked = work_out_line(wanted, spec, catalog, Effort(wanted.units))
        return told(worked, catalog[1], wanted)
    except Problem as problem:
        return refused(problem, language)
    except PlanError as error:
        return refused(problems.from_plan_error(error, units), language)
    except Exception:  # noqa: BLE001  # one structure must not take its neighbours along
        return refused(
            Problem("internal-error", say("batch.failed", "The service failed on this structure.")), language
        )


def work_out_line(wanted: Wanted, spec: Spec, catalog: list[str], effort: Effort) -> Worked:
    """Work out a structure of a list within what a line may take, and what is left of an effort.

    Raises
    ------
    SpecError
        When it cannot be built, or asks for prices that its key is not bound to.
    """
    held = _catalog(catalog[2].encode())
    check_bound(wanted.tiers, spec, held)
    with effort.within(wanted.units):
        return work_out(spec, held, effort)


def told(worked: Worked, revision: str, wanted: Wanted) -> bytes:
    """Write what a batch sums up of a plan (outcome, total, currency), a tab, and its answer."""
    plan: dict[str, Any] = said_once(render_plan(worked, revision, wanted.language, wanted.parts))  # type: ignore[assignment]  # plain values
    outcome: str = plan.get("summary", {}).get("outcome") or worst(run_checks(worked.facts))
    gist: dict[str, str] = {
        "outcome": outcome,
        "total": money_text(worked.facts.bill.total),
        "currency": worked.facts.job.catalog.document.currency,
    }
    answer: dict[str, object] = {"status": 200, "plan_id": plan["plan_id"], **gist}
    answer.update((name, plan[name]) for name in wanted.parts)
    return " ".join(gist.values()).encode() + b"\t" + orjson.dumps(answer)


def refused(problem: Problem, language: Language) -> bytes:
    """Write what stands in place of an answer."""
    document = problems.as_document(problem, "", language=language)
    del document["instance"]
    return b"\t" + orjson.dumps({"status": problem.kind.status, "problem": document}, default=str)
