"""What a planner process does: chunks of structures in as bytes, their answers out as bytes.

Rules of this file
------------------
- One structure that fails, however it fails, is one answer that says so; the next is planned all the same.
- Catalogs come with the chunk and are kept by revision, the last few.
"""

import os
import signal
from functools import lru_cache
from time import perf_counter
from typing import Any, Final

import orjson

from service.api import problems
from service.api.bodies import JsonBody
from service.api.models import SPEC
from service.api.problems import Problem
from service.planner.asked.catalog import Catalog
from service.planner.asked.catalog_rules import read_catalog
from service.planner.errors import PlanError
from service.planner.plan import make_plan
from service.planner.writing import Language
from service.words.languages import languages

GENTLE: Final = 10
"""By how much planners step behind what answers a single shopper [-]"""
_BODY: Final = JsonBody(SPEC)


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
        JSON: `parts` to answer, `language` of its texts, `catalogs` as [id, revision, document] and `structures` as [number of the catalog, spec].

    Returns
    -------
        Lines: the seconds that it took, then for each structure its gist (outcome, total and currency of a plan, nothing for
        a problem), a tab, and the answer or problem as JSON.
    """
    began = perf_counter()
    asked = orjson.loads(chunk)
    answers = [
        _answer(asked, asked["catalogs"][number], spec.encode()) for number, spec in asked["structures"]
    ]
    return b"\n".join([str(perf_counter() - began).encode(), *answers])


def _answer(asked: dict[str, Any], catalog: list[str], body: bytes) -> bytes:
    """Answer one structure."""
    _, revision, document = catalog
    language, units = languages()[asked["language"]], None
    try:
        spec = _BODY.parse(body)
        units = spec.display_units
        plan: dict[str, Any] = make_plan(spec, _catalog(document.encode()), revision, language)  # type: ignore[assignment]  # plain values
        return gist(plan) + b"\t" + orjson.dumps(chosen(plan, asked["parts"]))
    except Problem as problem:
        return refused(problem, language)
    except PlanError as error:
        return refused(problems.from_plan_error(error, units), language)
    except Exception:  # noqa: BLE001  # one structure must not take its neighbours along
        return refused(Problem("internal-error", "The service failed on this structure."), language)


def gist(plan: dict[str, Any]) -> bytes:
    """Say what a batch sums up of a plan: outcome, total, currency."""
    return " ".join(plan["summary"][name] for name in ("outcome", "total", "currency")).encode()


def chosen(plan: dict[str, Any], parts: list[str]) -> dict[str, Any]:
    """Choose what a line tells of a plan: its total and outcome, and the parts asked for."""
    summary = plan["summary"]
    told = {name: summary[name] for name in ("outcome", "total", "currency")}
    return {"status": 200, "plan_id": plan["plan_id"], **told, **{name: plan[name] for name in parts}}


def refused(problem: Problem, language: Language) -> bytes:
    """Write what stands in place of an answer."""
    document = problems.as_document(problem, "", language=language)
    del document["instance"]
    return b"\t" + orjson.dumps({"status": problem.kind.status, "problem": document}, default=str)
