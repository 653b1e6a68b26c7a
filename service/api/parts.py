"""Parts: which parts of a plan a request asks for.

Rules of this file
------------------
- Parts are named in one parameter, between commas; without it the plan is whole.
- Order and repetition mean nothing: the same parts are the same question.
"""

from functools import lru_cache, partial
from typing import Annotated, Final, get_args

from fastapi import Query

from service.api.problems import Problem
from service.api.questions import Question
from service.planner.answer.shapes import PARTS, Part
from service.planner.plan import make_plan

_NAMES: Final = frozenset(get_args(Part))
_ONE: Final = f"(?:{'|'.join(PARTS)})"

Parts = Annotated[
    str | None,
    Query(
        max_length=200,
        description="Parts of the plan that are computed and answered, between commas; all by default",
        examples=["summary,bill_of_materials"],
        json_schema_extra={"pattern": f"^{_ONE}(?:,{_ONE})*$"},
    ),
]


def read_parts(named: str | None) -> tuple[Part, ...]:
    """Read which parts are asked for, in the order of the answer.

    Raises
    ------
    Problem
        When a name is none of a part.
    """
    names = PARTS if named is None else [name.strip() for name in named.split(",")]
    if not _NAMES.issuperset(names):
        found = [
            {"parameter": "parts", "detail": "names a part that a plan does not have", "allowed": list(PARTS)}
        ]
        raise Problem("invalid-parameters", "Parameters need correction.", found)
    return tuple(part for part in PARTS if part in names)


@lru_cache(maxsize=256)
def plan_question(parts: tuple[Part, ...]) -> Question:
    """The question for parts of a plan."""
    return Question(b"plan " + ",".join(parts).encode(), partial(make_plan, parts=parts))
