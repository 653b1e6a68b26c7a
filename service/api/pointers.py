"""From a model's complaints to fields: where they are, what is allowed, the nearest name that exists.

Rules of this file
------------------
- A pointer leads into the body that was sent: steps of the validator that are no part of the body are dropped.
- A suggestion is the nearest known name or value; where nothing is near, none is made.
- Complaints about the same field are told once.
- The first faults are listed and nearest names looked for in the first few of them: a body of faults costs no more than
  one with fifty.
"""

import difflib
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError

from service.planner.complaints import choices, said
from service.planner.errors import FieldProblem
from service.planner.pointers import write_pointer
from service.planner.units import DisplayUnits

_NAME_LENGTH: Final = 60
"""Characters of an unknown name that are compared and repeated at most [-]"""
MOST_FAULTS: Final = 50
"""Faults listed at most [-]"""
_MOST_SUGGESTIONS: Final = 5
"""Faults for which a nearest name is looked for [-]"""


def nearest(name: str, known: Sequence[str]) -> str | None:
    """The known name nearest to one that is not known."""
    found = difflib.get_close_matches(name[:_NAME_LENGTH], known, n=1, cutoff=0.6)
    return found[0] if found else None


def _has(body: object, step: str | int) -> bool:
    """Tell whether decoded JSON has a member or an element."""
    if isinstance(body, Mapping):
        return step in body
    return isinstance(body, list) and isinstance(step, int) and step < len(body)


def _steps_in_body(body: object, location: Sequence[str | int], *, missing: bool) -> Iterator[str | int]:
    """Follow a location as far as the body has it; the last step of a missing field is kept."""
    for index, step in enumerate(location):
        if _has(body, step):
            body = body[step]  # type: ignore[index]  # _has has looked
        elif not (missing and index == len(location) - 1):
            continue
        yield step


def _text_at(body: object, steps: Sequence[str | int]) -> str:
    """The value at steps that the body has, as text."""
    for step in steps:
        body = body[step]  # type: ignore[index]  # the steps were followed before
    return str(body)


def _options(schema: Mapping[str, Any], root: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """Walk a schema's references and alternatives."""
    if "$ref" in schema:
        yield from _options(root["$defs"][schema["$ref"].rpartition("/")[2]], root)
        return
    yield schema
    for option in (*schema.get("anyOf", ()), *schema.get("oneOf", ())):
        yield from _options(option, root)


def known_names(root: Mapping[str, Any], steps: Sequence[str | int]) -> list[str]:
    """List the fields that a schema knows at the object that steps lead to."""
    here = list(_options(root, root))
    for step in steps:
        key = "items" if isinstance(step, int) else "properties"
        inner = [schema[key] for schema in here if key in schema]
        if key == "properties":
            inner = [fields[step] for fields in inner if step in fields]
        here = [option for schema in inner for option in _options(schema, root)]
    return sorted({name for schema in here for name in schema.get("properties", ())})


def _units_of(body: object) -> DisplayUnits:
    """The units that a body asks in."""
    return "metric" if isinstance(body, Mapping) and body.get("display_units") == "metric" else "imperial"


def _problem(
    error: Mapping[str, Any], body: object, root: Mapping[str, Any], *, compare: bool
) -> FieldProblem:
    """Turn one complaint of the validator into a field problem, compared with known names where asked."""
    kind = error["type"]
    steps = list(_steps_in_body(body, error["loc"], missing=kind == "missing"))
    allowed: tuple[str, ...] | None = None
    suggestion: str | None = None
    if kind == "unexpected_keyword_argument":
        suggestion = nearest(str(steps[-1]), known_names(root, steps[:-1])) if compare else None
    elif kind in {"literal_error", "enum"}:
        allowed = choices(error)
        suggestion = nearest(_text_at(body, steps), allowed) if compare else None
    else:
        # what the field asks back, such as a number with the unit that it lacks
        asked = error.get("ctx", {}).get("suggestion")
        suggestion = asked[_units_of(body)] if isinstance(asked, Mapping) else asked
    return FieldProblem(
        pointer=write_pointer(steps), detail=said(error), allowed=allowed, suggestion=suggestion
    )


@cache
def _schema_of(adapter: TypeAdapter[Any]) -> dict[str, Any]:
    """Write a model's schema once; models are few and live as long as the process."""
    return adapter.json_schema()


def field_problems(error: ValidationError, body: object, adapter: TypeAdapter[Any]) -> list[FieldProblem]:
    """List what is wrong with a body, each field once, in the validator's order: one more than may be told at most.

    Parameters
    ----------
    error
        The validator's complaint.
    body
        The body as decoded JSON.
    adapter
        The model that refused it; its schema knows the names.
    """
    root = _schema_of(adapter)
    found: dict[str, FieldProblem] = {}
    for complaint in sorted(error.errors(include_url=False, include_input=False), key=_of_a_whole_list):
        problem = _problem(complaint, body, root, compare=len(found) < _MOST_SUGGESTIONS)
        inner = any(place.startswith(f"{problem.pointer}/") for place in found)
        if not (inner and _of_a_whole_list(complaint)):
            found.setdefault(problem.pointer, problem)
        if len(found) > MOST_FAULTS:
            break
    return list(found.values())


def _of_a_whole_list(complaint: Mapping[str, Any]) -> bool:
    """Tell whether a list is called too short; it is, wherever one of its entries is wrong."""
    return bool(complaint["type"] == "too_short")
