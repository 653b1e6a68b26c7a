"""The shapes that the edge itself reads and writes, besides those of the planner.

Rules of this file
------------------
- Request shapes are frozen dataclasses that refuse unknown fields; answer shapes are typed dictionaries, for the
  contract only.
"""

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final, NotRequired

from pydantic import ConfigDict, Field, TypeAdapter, with_config
from typing_extensions import TypedDict

from service.planner.catalog import CatalogDocument, Item
from service.planner.fields import CLOSED
from service.planner.spec import Spec

documented: Final = with_config(ConfigDict(use_attribute_docstrings=True))
"""Lets the sentences under the fields of an answer stand in the contract"""
REVISION_PATTERN: Final = r"^r-[0-9a-f]{32}$"
"""What a revision looks like"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Activation:
    """Which revision plans are to use."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    revision: Annotated[str, Field(strict=True, pattern=REVISION_PATTERN)]
    """A revision published before"""


SPEC: Final = TypeAdapter(Spec)
CATALOG: Final = TypeAdapter(CatalogDocument)
ACTIVATION: Final = TypeAdapter(Activation)


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
    """What is wrong"""
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
    """About this occurrence"""
    instance: str
    """Names this occurrence, with the request id"""
    errors: NotRequired[list[FieldErrorDocument]]
    """Fields or parameters that need correction"""


@documented
class CatalogRow(TypedDict):
    """A catalog of the dealer."""

    id: str
    """Its name"""
    revision: str
    """The active revision"""
    generation: int
    """How often the active revision has been set"""


@documented
class CatalogList(TypedDict):
    """The catalogs of the dealer."""

    catalogs: list[CatalogRow]
    """By name"""


@documented
class CatalogRevision(TypedDict):
    """A catalog and its revision."""

    id: str
    """Name of the catalog"""
    revision: str
    """Its revision"""


@documented
class ItemList(TypedDict):
    """Items of a catalog."""

    catalog: CatalogRevision
    """What they were read from"""
    items: list[Item]
    """In the order of the stock list"""


@documented
class RevisionRow(TypedDict):
    """A revision of a catalog."""

    revision: str
    """Content address of the document"""
    published_at: str | None
    """When it was first published, RFC 3339; null for one that comes with the service"""
    active: bool
    """Whether plans use it now"""


@documented
class RevisionList(TypedDict):
    """The revisions of a catalog."""

    revisions: list[RevisionRow]
    """Newest first"""


@documented
class Published(TypedDict):
    """What publishing or activating did."""

    revision: str
    """The revision published or activated"""
    created: bool
    """Whether it was new to the catalog"""
    activated: bool
    """Whether the active revision changed"""
    active: str | None
    """The active revision now"""
    previous: str | None
    """The active revision before"""
