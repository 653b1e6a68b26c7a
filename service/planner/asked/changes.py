"""Changes to a request, applied to the spec that was read from it.

Rules of this file
------------------
- A change is a pointer into the request with the value to put there, written as a request writes it.
- Objects that are missing on the way are made, with their defaults; a value out of its field's bounds is refused.
"""

from dataclasses import fields, is_dataclass, replace
from types import UnionType
from typing import Any, TypeVar, cast, get_args, get_type_hints

from pydantic import TypeAdapter

from service.planner.asked.spec import Spec
from service.planner.keeping import remembered
from service.planner.pointers import read_pointer

Changes = tuple[tuple[str, Any], ...]
"""Pointers into the request with the values to put there; missing objects on the way are created."""
T = TypeVar("T")


def changed(spec: Spec, changes: Changes) -> Spec:
    """Apply changes to a spec.

    Parameters
    ----------
    spec
        The spec.
    changes
        Pointers with their values.

    Raises
    ------
    ValueError
        When a value does not fit its field; pydantic's own error is one.
    """
    for pointer, value in changes:
        spec = _put(spec, read_pointer(pointer), value)
    return spec


def _put(place: T, steps: tuple[str, ...], value: object) -> T:
    """Put a value under an object or into a list."""
    step, *rest = steps
    if isinstance(place, tuple):
        entries = list(place)
        entries[int(step)] = _put(entries[int(step)], tuple(rest), value)
        return cast("T", tuple(entries))
    if not rest:
        return _with(place, step, reader(cast("type", type(place)), step).validate_python(value))
    inner = getattr(place, step)
    if inner is None or not (is_dataclass(inner) or isinstance(inner, tuple)):
        inner = _object_of(type(place), step)()
    return _with(place, step, _put(inner, tuple(rest), value))


def _with(place: T, name: str, value: object) -> T:
    """Copy an object with one field changed."""
    return cast("T", replace(cast("Any", place), **{name: value}))


@remembered("fields")
def hints(kind: type) -> dict[str, Any]:
    """Return the types of a class's fields with their bounds; the spec's classes are few."""
    known = get_type_hints(kind, include_extras=True)
    return {field.name: known[field.name] for field in fields(kind)}


@remembered("fields")
def reader(kind: type, name: str) -> TypeAdapter[Any]:
    """Return what reads one field of a class of the spec."""
    return TypeAdapter(hints(kind)[name])


def _object_of(kind: type, name: str) -> type:
    """Return the class of an object that may be left out."""
    hint = hints(kind)[name]
    options = get_args(hint) if isinstance(hint, UnionType) or get_args(hint) else (hint,)
    return next(option for option in options if isinstance(option, type) and is_dataclass(option))
