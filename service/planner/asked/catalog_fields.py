"""Reading the fields of a catalog document: every field that is wrong, and what of the document stays sound.

Rules of this file
------------------
- Whatever comes in, the answer is a reading: nothing raises.
- A pointer leads into the document that was sent: the validator's own steps are no part of it.
- Entries with a wrong field are left out, so that the rules over the whole can still judge the others.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError
from pydantic_core import from_json

from service.planner.asked.catalog import CatalogDocument
from service.planner.asked.catalog_view import Steps
from service.planner.asked.roles import CATALOG_ROLES
from service.planner.complaints import choices, said
from service.planner.errors import FieldProblem
from service.planner.messages import Message, say
from service.planner.pointers import write_pointer

CATALOG_DOCUMENT: Final = TypeAdapter(CatalogDocument)
_LISTS: Final = ("items", "fastening", "limits", "tiers")
_STAND_INS: Final[Mapping[str, Any]] = {
    "title": "",
    "currency": "USD",
    "allowances": {"joint": "0", "cut": "0"},
}
"""What takes the place of a required field that is wrong, so that the rest can be read"""
_MOST_PROBLEMS: Final = 1000
"""Problems told at most; a document with more is not a catalog [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was read of a document, and what was wrong with its fields."""

    document: CatalogDocument | None
    """The sound part; none when nothing can be judged"""
    problems: tuple[FieldProblem, ...] = ()
    """Fields that are wrong, in document order"""
    unsound: frozenset[str] = frozenset()
    """Top-level fields of which a part is wrong"""
    kept: Mapping[str, tuple[int, ...]]
    """Where the sound entries of each list stood in the document [-]"""


def read_fields(document: object) -> Reading:
    """Read a document field by field.

    Parameters
    ----------
    document
        The decoded document, or its JSON text.

    Returns
    -------
        The whole document and no problems, or the sound part of it and every problem.
    """
    try:
        decoded = _decoded(document)
    except ValueError:
        return _unreadable(say("catalog.not_json", "is not JSON"))
    try:
        return Reading(document=CATALOG_DOCUMENT.validate_python(decoded), kept={})
    except ValidationError as error:
        return _partial(decoded, error)


def _decoded(document: object) -> object:
    if isinstance(document, str):
        document = document.encode()
    return from_json(document, allow_inf_nan=False) if isinstance(document, bytes) else document


def _unreadable(detail: Message) -> Reading:
    return Reading(document=None, problems=(FieldProblem(pointer="", detail=detail),), kept={})


def _partial(decoded: object, error: ValidationError) -> Reading:
    """Tell what is wrong, and read again without the entries that are."""
    if error.error_count() > _MOST_PROBLEMS:
        return _unreadable(
            say(
                "catalog.too_wrong",
                "has {count} wrong fields: it is not a catalog",
                count=error.error_count(),
            )
        )
    complaints = error.errors(include_url=False, include_input=False)
    places = {complaint["loc"][:2] for complaint in complaints}
    kept = _sound_entries(decoded, places) if isinstance(decoded, Mapping) else {}
    return Reading(
        document=_read_sound(decoded, kept, places) if isinstance(decoded, Mapping) else None,
        problems=tuple(_problem(complaint) for complaint in complaints),
        unsound=frozenset(str(place[0]) for place in places if place),
        kept=kept,
    )


def _sound_entries(decoded: Mapping[str, Any], places: set[Steps]) -> dict[str, tuple[int, ...]]:
    """Return the indices of the entries without a wrong field, list by list."""
    return {
        name: tuple(index for index in range(len(decoded[name])) if (name, index) not in places)
        for name in _LISTS
        if isinstance(decoded.get(name), list | tuple)
    }


def _read_sound(
    decoded: Mapping[str, Any], kept: Mapping[str, tuple[int, ...]], places: set[Steps]
) -> CatalogDocument | None:
    """Read the sound entries with stand-ins for required fields that are wrong."""
    wrong = {place[0] for place in places if place}
    sound = dict(_STAND_INS) | {
        name: decoded[name] for name in _STAND_INS if name in decoded and name not in wrong
    }
    sound |= {name: [decoded[name][index] for index in indices] for name, indices in kept.items()}
    try:
        return CATALOG_DOCUMENT.validate_python(sound)
    except ValidationError:
        return None


def _problem(complaint: Mapping[str, Any]) -> FieldProblem:
    """Turn one complaint of the validator into a field problem."""
    kind, steps = complaint["type"], complaint["loc"]
    if len(steps) > 3 and steps[2] == "part":  # the validator names the role after /items/n/part
        steps = (*steps[:3], *steps[4:])
    allowed: tuple[str, ...] | None = None
    if kind.startswith("union_tag"):
        steps, allowed = (*steps, "role"), CATALOG_ROLES
    elif kind == "literal_error":
        allowed = choices(complaint)
    return FieldProblem(pointer=write_pointer(steps), detail=said(complaint), allowed=allowed)
