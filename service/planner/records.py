"""Records: values with many fields that nothing changes once they are made.

Rules of this file
------------------
- A record is frozen and slotted, and takes its fields by name. It is made by compiled code, in a fifth of the time that a
  dataclass takes: a plan holds more than a thousand.
- No record is part of a circle, so that the collector of circles need not look at any.
- The standard library takes it for a dataclass, so that `replace` and `fields` work as they do elsewhere.
- Which kind for a value: a record, for whatever the planner makes; a frozen dataclass, for what pydantic reads (spec,
  catalog, kinds of field) and for what is generic. What goes out as JSON is a dict whose type says its keys.
- Not values but parts of one: a tuple with names, for rows that compiled code reads or that are taken apart where they are
  met; a bare ``Struct``, for what is filled in after it is made or takes its few fields by position.
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
