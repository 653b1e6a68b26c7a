"""A question in few words: what of a spec differs from the defaults, as it would be sent again.

Rules of this file
------------------
- The model is the only list of fields: its defaults decide what is left out, its kinds of field how a value is written.
- Reading what was written gives the same spec, to the nanometre and the hundredth.
"""

from collections.abc import Iterator
from dataclasses import MISSING, Field, fields, is_dataclass
from functools import lru_cache
from typing import Any, get_args, get_type_hints

from service.planner.fields import LengthField, MoneyField, money_text
from service.planner.units import to_millimetres


def differing(value: Any) -> Any:  # noqa: ANN401  # a field of a spec is any of its kinds
    """Write what of a spec differs from its defaults, as JSON values.

    Parameters
    ----------
    value
        A spec, or a part of one.
    """
    kinds = _kinds(type(value))  # type: ignore[arg-type]  # a class is hashable
    return {
        field.name: _written(getattr(value, field.name), kinds[field.name])
        for field in fields(value)
        if getattr(value, field.name) != _default(field)
    }


def defaulted(value: Any, at: str = "") -> Iterator[tuple[str, Any]]:  # noqa: ANN401  # see above
    """Walk the fields of a spec that have their default: pointer (RFC 6901) and value as it would be sent.

    Fields without a value of their own, and empty lists, are left out.
    """
    kinds = _kinds(type(value))  # type: ignore[arg-type]  # a class is hashable
    for field in fields(value):
        held, pointer = getattr(value, field.name), f"{at}/{field.name}"
        if is_dataclass(held):
            yield from defaulted(held, pointer)
        elif held == _default(field) and held not in (None, "", ()):
            yield pointer, _written(held, kinds[field.name])


def _default(field: Field[Any]) -> Any:  # noqa: ANN401  # see above
    """A field's default; a required field has one that nothing equals."""
    return field.default if field.default_factory is MISSING else field.default_factory()


def _written(value: Any, kind: type | None) -> Any:  # noqa: ANN401  # see above
    """Write a value of a kind of field."""
    if is_dataclass(value):
        return differing(value)
    if isinstance(value, tuple):
        return [_written(each, kind) for each in value]
    if isinstance(value, int) and not isinstance(value, bool):
        return (
            to_millimetres(value)
            if kind is LengthField
            else money_text(value)
            if kind is MoneyField
            else value
        )
    return value


@lru_cache(maxsize=64)
def _kinds(model: type) -> dict[str, type | None]:
    """Tell for each field of a model whether its numbers are lengths, money or plain."""
    hints = get_type_hints(model, include_extras=True)
    return {name: next(_named(hint), None) for name, hint in hints.items()}


def _named(hint: Any) -> Iterator[type]:  # noqa: ANN401  # a hint is any annotation
    """Walk the kinds of field that an annotation names."""
    for part in get_args(hint):
        if isinstance(part, LengthField | MoneyField):
            yield type(part)
        yield from _named(part)
