"""Records: values with many fields that nothing changes once they are made.

Rules of this file
------------------
- A record is frozen and slotted, and takes its fields by name. It is made by compiled code, in a fifth of the time that a
  dataclass takes: a plan holds more than a thousand.
- No record is part of a circle, so that the collector of circles need not look at any.
- The standard library takes it for a dataclass, so that `replace` and `fields` work as they do elsewhere.
- What pydantic reads (spec and catalog) and what is made a few times a plan may be plain frozen dataclasses; what is
  filled in after it is made, or takes its few fields by position, is a `Struct`.
"""

from dataclasses import dataclass
from typing import TypeVar, cast, dataclass_transform

from msgspec import Struct, StructMeta

T = TypeVar("T")


@dataclass_transform(kw_only_default=True, frozen_default=True)
def record(kind: type[T]) -> type[T]:
    """Make a class a record.

    Parameters
    ----------
    kind
        The class, its fields annotated.
    """
    own = {name: value for name, value in vars(kind).items() if name not in ("__dict__", "__weakref__")}
    own["__dataclass_fields__"] = vars(dataclass(kw_only=True)(kind))["__dataclass_fields__"]
    return cast("type[T]", StructMeta(kind.__name__, (Struct,), own, kw_only=True, frozen=True, gc=False))
