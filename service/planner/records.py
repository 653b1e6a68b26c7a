"""Records: values with many fields that nothing changes once they are made.

Rules of this file
------------------
- A record is frozen, slotted and takes its fields by name. The type checker refuses every change; no test of it is
  made at run time, because that makes a record three times as dear and a plan holds hundreds.
- What pydantic reads (spec and catalog) and what is made a few times a plan are plain frozen dataclasses.
"""

from dataclasses import dataclass, field
from typing import TypeVar, dataclass_transform

T = TypeVar("T")


@dataclass_transform(kw_only_default=True, frozen_default=True, field_specifiers=(field,))
def record(kind: type[T]) -> type[T]:
    """Make a class a record.

    Parameters
    ----------
    kind
        The class, its fields annotated.
    """
    return dataclass(slots=True, kw_only=True, unsafe_hash=True)(kind)
