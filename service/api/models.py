"""The shapes that every resource shares: the planner's request bodies and the problem.

Rules of this file
------------------
- Request shapes are frozen dataclasses that refuse unknown fields; answer shapes are typed dictionaries, for the
  contract only.
"""

from typing import Any, Final, NotRequired

from pydantic import ConfigDict, TypeAdapter, with_config
from typing_extensions import TypedDict

from service.planner.asked.catalog import CatalogDocument
from service.planner.asked.spec import Spec
from service.planner.writing import MessageCode

documented: Final = with_config(ConfigDict(use_attribute_docstrings=True))
"""Lets the sentences under the fields of an answer stand in the contract"""
SPEC: Final = TypeAdapter(Spec)
CATALOG: Final = TypeAdapter(CatalogDocument)


@documented
class FieldErrorDocument(TypedDict):
    """One field or parameter that needs correction."""

    pointer: NotRequired[str]
    """RFC 6901 pointer into the request's body"""
    parameter: NotRequired[str]
    """Name of a query parameter or a header"""
    row: NotRequired[int]
    """Row of a price list, the header being 1"""
    detail: str
    """What is wrong, in the language of the answer"""
    code: MessageCode
    """Names the detail for ever, in every language"""
    values: dict[str, Any]
    """What stands in the detail, by name; lengths in millimetres, their names end in `_mm`"""
    allowed: NotRequired[list[Any]]
    """Values that are allowed, where they are few"""
    suggestion: NotRequired[Any]
    """A value or a name that would work"""


@documented
class ProblemDocument(TypedDict):
    """A refusal (RFC 9457)."""

    type: str
    """Address that names and explains the kind of problem"""
    title: str
    """Short, the same for every problem of the kind"""
    status: int
    """HTTP status"""
    detail: str
    """About this occurrence, in the language of the answer"""
    code: MessageCode
    """Names the detail for ever, in every language"""
    values: dict[str, Any]
    """What stands in the detail, by name; lengths in millimetres, their names end in `_mm`"""
    instance: str
    """Names this occurrence, with the request id"""
    errors: NotRequired[list[FieldErrorDocument]]
    """Fields or parameters that need correction"""
