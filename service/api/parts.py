"""Parts: which parts of a plan a request asks for.

Rules of this file
------------------
- Parts are named in one parameter, between commas; without it the plan is whole.
- Order and repetition mean nothing: the same parts are the same question.
- Drawings are made from a plan that is whole; they are part of an answer only where they are asked for.
"""

from collections.abc import Iterable
from functools import lru_cache, partial
from typing import Annotated, Final, NotRequired, cast

from fastapi import Query

from service.api.problems import PARAMETERS, Problem
from service.api.questions import Question
from service.paper.drawings import DrawingOut, as_values, draw
from service.paper.words import Words
from service.planner.answer.once import said_once
from service.planner.answer.once_shapes import PlanOnce
from service.planner.answer.shapes import PARTS, Part, Plan
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Spec
from service.planner.messages import say
from service.planner.plan import make_plan
from service.planner.solver.effort import Effort
from service.planner.writing import Language

DRAWINGS: Final = "drawings"
"""The part that is asked for by name alone"""
NAMES: Final = (*PARTS, DRAWINGS)
_ONE: Final = f"(?:{'|'.join(NAMES)})"
_DRAWN: Final = ("tunnel", "elevation")
"""Kinds of drawing that a plan carries"""

Parts = Annotated[
    str | None,
    Query(
        max_length=200,
        description="Parts of the plan that are computed and answered, between commas; all by default",
        examples=["summary,bill_of_materials"],
        json_schema_extra={"pattern": f"^{_ONE}(?:,{_ONE})*$"},
    ),
]


class PlanAnswer(PlanOnce):
    """A plan, with drawings where they were asked for."""

    drawings: NotRequired[list[DrawingOut]]


def read_parts(named: str | None) -> tuple[str, ...]:
    """Read which parts are asked for, in the order of the answer.

    Raises
    ------
    Problem
        When a name is none of a part.
    """
    names = PARTS if named is None else [name.strip() for name in named.split(",")]
    if not set(NAMES).issuperset(names):
        found = [
            {
                "parameter": "parts",
                "detail": say("field.no_part", "names a part that a plan does not have"),
                "allowed": list(NAMES),
            }
        ]
        raise Problem("invalid-parameters", PARAMETERS, found)
    return tuple(part for part in NAMES if part in names)


@lru_cache(maxsize=256)
def plan_question(parts: tuple[str, ...]) -> Question:
    """The question for parts of a plan."""
    name = b"plan " + ",".join(parts).encode()
    own = tuple(part for part in PARTS if part in parts)
    return Question(name, partial(_drawn if DRAWINGS in parts else _planned, parts=own))


def _planned(  # a question's arguments, and the parts
    spec: Spec, catalog: Catalog, revision: str, language: Language, effort: Effort, *, parts: Iterable[Part]
) -> PlanOnce:
    """Make a plan, what its runs share said once."""
    return said_once(make_plan(spec, catalog, revision, language, effort, tuple(parts)))


def _drawn(  # a question's arguments, and the parts
    spec: Spec, catalog: Catalog, revision: str, language: Language, effort: Effort, *, parts: Iterable[Part]
) -> PlanAnswer:
    """Make a plan, draw it, and keep the parts that were asked for."""
    whole = make_plan(spec, catalog, revision, language, effort)
    drawings = as_values(whole, draw(whole, _DRAWN, Words(language)))["drawings"]
    kept = {name: value for name, value in whole.items() if name not in PARTS or name in parts}
    return cast("PlanAnswer", {**said_once(cast("Plan", kept)), DRAWINGS: drawings})
