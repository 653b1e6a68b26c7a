"""The shapes of catalogs and their revisions on the wire, besides the catalog document itself.

Rules of this file
------------------
- Request shapes are frozen dataclasses that refuse unknown fields; answer shapes are typed dictionaries, for the
  contract only.
"""

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final, Literal

from pydantic import ConfigDict, Field, TypeAdapter
from typing_extensions import TypedDict

from service.api.models import documented
from service.planner.asked.catalog import Item
from service.planner.asked.spec import Spec, Structure, Wall
from service.planner.fields import CLOSED
from service.planner.units import FOOT, MILLIMETRE

REVISION_PATTERN: Final = r"^r-[0-9a-f]{32}$"
"""What a revision looks like"""
Revision = Annotated[str, Field(strict=True, pattern=REVISION_PATTERN)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Activation:
    """Which revision plans are to use."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    revision: Revision
    """A revision published before"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonRequest:
    """Two revisions to compare."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    before: Revision
    """The older revision"""
    after: Revision | None = None
    """The newer revision; the active one by default"""
    structure: Spec | None = None
    """What is priced with both, its catalog fields aside. Default 18 bays of 5 ft on both sides with 8 mm sheet"""


ACTIVATION: Final = TypeAdapter(Activation)
COMPARISON: Final = TypeAdapter(ComparisonRequest)
REFERENCE: Final = Spec(
    structure=Structure(bays=18, bay_spacing=5 * FOOT), wall=Wall(panel_thickness=8 * MILLIMETRE)
)
"""The reference structure"""


@documented
class CatalogRow(TypedDict):
    """A catalog of the dealer."""

    id: str
    """Its name"""
    revision: str
    """The active revision"""
    activation_count: int
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


@documented
class ValueChange(TypedDict):
    """A value of an item that a price list changed."""

    pointer: str
    """RFC 6901 pointer to it in the catalog"""
    before: str | int | None
    """What it was"""
    after: str | int | None
    """What it is now"""


@documented
class PriceRowAnswer(TypedDict):
    """What became of a row of a price list."""

    line: int
    """Line of the list that the row ends on, the header's is 1"""
    sku: str
    """The item, as written"""
    outcome: Literal["changed", "unchanged"]
    """What became of it"""
    changes: list[ValueChange]
    """What it changed"""


@documented
class PriceListAnswer(TypedDict):
    """What a price list did."""

    published: Published
    """The revision with the new prices"""
    rows: list[PriceRowAnswer]
    """The answer to every row, in order"""


@documented
class ChangeRow(TypedDict):
    """A difference between two revisions."""

    kind: Literal["added", "removed", "changed", "reordered"]
    """What happened"""
    pointer: str
    """RFC 6901 pointer; into the older document for what was removed, into the newer one for everything else"""
    name: str | None
    """The entry that it lies in, an item's sku as a rule"""
    before: Any
    """The older value; null when it was added or reordered"""
    after: Any
    """The newer value; null when it was removed or reordered"""


@documented
class ReferencePrice(TypedDict):
    """What a structure costs from a revision."""

    revision: str
    """The revision"""
    total: str | None
    """Total of the bill; null when the structure cannot be planned from it"""
    currency: str
    """ISO 4217 code"""
    refused: str | None
    """Why it cannot be planned; null when it can"""


@documented
class ComparisonAnswer(TypedDict):
    """What changed between two revisions."""

    before: ReferencePrice
    """The structure's price from the older revision"""
    after: ReferencePrice
    """The structure's price from the newer revision"""
    difference: str | None
    """Newer total less older total; null without both, or when the currency changed"""
    changes: list[ChangeRow]
    """Every difference, in the order of the newer document"""
