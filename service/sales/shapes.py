"""Quotes and orders on the wire: what is asked and what is answered.

Rules of this file
------------------
- Requests are frozen dataclasses that refuse unknown fields and bound everything; answers are typed dictionaries.
"""

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final, NotRequired

from pydantic import ConfigDict, Field, StringConstraints
from typing_extensions import TypedDict

from service.planner.answer.layout_shapes import DOCUMENTED, MaterialOut
from service.planner.answer.shapes import Bill, BillLineOut, CatalogRef
from service.planner.asked.spec import Spec
from service.planner.fields import CLOSED, TEXT_CHARACTERS, Day, ShortText, WholeField
from service.planner.writing import Told

_SEGMENTS: Final = r"^[A-Za-z0-9_.\-]+$"
Token = Annotated[str, StringConstraints(strict=True, min_length=1, max_length=200_000, pattern=_SEGMENTS)]
Days = Annotated[int, WholeField(1, 180)]
Name = Annotated[str, StringConstraints(strict=True, min_length=1, max_length=200, pattern=TEXT_CHARACTERS)]
StructureId = Annotated[str, StringConstraints(strict=True, pattern=r"^[A-Za-z0-9][A-Za-z0-9._\-]{0,39}$")]


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteRequest(Spec):
    """A plan's body, and how long its price is to hold."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    valid_days: Days = 30
    """How many days the quote holds. Default 30."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TokenRequest:
    """A quote's token, where it is too long for an address."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    token: Token
    """The token as it was given"""


@DOCUMENTED
class FilledIn(TypedDict):
    """A field of the question that was left out, and what was taken for it."""

    pointer: str
    """RFC 6901 pointer into the request"""
    value: Any
    """What was taken"""


@DOCUMENTED
class QuoteOut(TypedDict):
    """A priced bill that holds for a time."""

    quote_id: str
    """Short name of the quote, for people and documents"""
    plan_id: str
    planner_version: str
    reference: str
    issued: str
    """When it was made, RFC 3339; its day, in UTC, is the pricing date"""
    valid_until: str
    """When it ends, RFC 3339"""
    tier: str | None
    """Opaque id of the prices that it was made at; null at list prices"""
    catalog: CatalogRef
    currency: str
    total: str
    """Sum of the bill's lines, tax and freight excluded"""
    lines_digest: str
    """SHA-256 over the canonical JSON (RFC 8785) of [sku, packs, pack_price] of each line, as base64url; signed"""
    bill_of_materials: Bill
    filled_in: list[FilledIn]
    """What was taken for fields that were left out"""
    token: str
    """The quote itself: a JWS (RFC 7515) whose claims pin all of the above; a bearer right to read it, nothing more"""
    expired: NotRequired[bool]
    """Whether its end has passed"""
    orderable: NotRequired[bool]
    """Whether it can still be ordered from"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """A postal address."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    street: ShortText = ""
    """Street and number."""
    city: ShortText = ""
    """City."""
    postal_code: Annotated[str, StringConstraints(strict=True, max_length=20, pattern=TEXT_CHARACTERS)] = ""
    """Postal code."""
    region: ShortText = ""
    """State or province."""
    country: Annotated[str, StringConstraints(strict=True, pattern=r"^[A-Z]{2}$")] | None = None
    """ISO 3166-1 alpha-2 code."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Party:
    """A buyer or a seller; passed through to the documents."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    name: Name
    """Name."""
    id: Annotated[str, StringConstraints(strict=True, max_length=60, pattern=TEXT_CHARACTERS)] = ""
    """The number that the other side knows it by."""
    address: Address | None = None
    """Where it is."""
    contact: ShortText = ""
    """Whom to ask."""
    email: ShortText = ""
    """Mail address."""
    phone: Annotated[str, StringConstraints(strict=True, max_length=40, pattern=TEXT_CHARACTERS)] = ""
    """Telephone number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StructureRequest:
    """One wall of an order, asked for directly."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    id: StructureId
    """Its id on the order."""
    spec: Spec
    """A plan's body."""


MOST_STRUCTURES: Final = 500
"""Structures of one order at most [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRequest:
    """What is ordered, by whom and where to."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    quotes: Annotated[tuple[Token, ...], Field(max_length=MOST_STRUCTURES)] = ()
    """Tokens of quotes, each a structure; they keep their prices."""
    structures: Annotated[tuple[StructureRequest, ...], Field(max_length=MOST_STRUCTURES)] = ()
    """Structures at the prices of today; instead of quotes."""
    reference: ShortText = ""
    """The buyer's order number."""
    note: ShortText = ""
    """A note for the documents."""
    buyer: Party | None = None
    """Who orders."""
    seller: Party | None = None
    """Who sells."""
    deliver_to: Address | None = None
    """Where it goes."""
    requested_by: Day | None = None
    """The day it is wanted."""
    payment_terms: ShortText = ""
    """Terms of payment, in words."""


class OrderLineOut(BillLineOut):
    """A line of an order: a line of a bill, with what documents and the yard ask of it."""

    line: int
    currency: str
    place: NotRequired[str]
    gtin: NotRequired[str]
    customs_code: NotRequired[str]


@DOCUMENTED
class ShareOut(TypedDict):
    """What one structure comes to on the order."""

    id: str
    reference: str
    quote_id: NotRequired[str]
    alone: str
    """What it costs in an order of its own"""
    share: str
    """Its share of the order's total, in proportion to that; shares add up to the total"""


@DOCUMENTED
class SavingOut(TypedDict):
    """What ordering together saves."""

    apart: str
    """Total of separate orders"""
    together: str
    """Total of this order"""
    saved: str
    saved_percent: float
    by_packs: str
    """Saved by rounding packs and spares once and by quantity breaks"""
    by_cutting: str
    """Saved by cutting like materials together"""
    message: Told
    """The same in a sentence"""


@DOCUMENTED
class BundleOut(TypedDict):
    """What travels together."""

    kind: str
    """Role of long stock, or boxes"""
    packs: int
    longest_mm: float
    """Longest piece to ship"""
    length_step_mm: float | None
    """The carrier's length step that it falls into; null beyond the last"""
    mass_kg: float
    skus: list[str]


@DOCUMENTED
class PickOut(TypedDict):
    """What is fetched from one place."""

    place: str
    """Place in the yard, or the role where the catalog has no place"""
    lines: list[int]
    """Numbers of the lines"""


@DOCUMENTED
class CuttingOut(TypedDict):
    """How one material of the order is cut."""

    structures: list[str]
    """Whose pieces"""
    together: bool
    """Whether they are cut together; the objective is then the price of the stock alone"""
    material: MaterialOut
    """Patterns; ids of pieces begin with their structure's id"""


@DOCUMENTED
class OrderOut(TypedDict):
    """One order from many walls."""

    order_id: str
    """Follows from what is ordered: the same order has the same id"""
    reference: str
    note: str
    ordered_on: str
    """Day of the order, UTC"""
    currency: str
    lines: list[OrderLineOut]
    total: str
    """Sum of the amounts, tax and freight excluded"""
    unopened_worth: str
    total_mass_kg: float
    longest_mm: float
    """Longest piece to ship"""
    lead_days: int
    """Days until the slowest line can ship"""
    structures: list[ShareOut]
    saving: SavingOut
    packing: list[BundleOut]
    picking: list[PickOut]
    cutting: list[CuttingOut]
    buyer: NotRequired[dict[str, Any]]
    seller: NotRequired[dict[str, Any]]
    deliver_to: NotRequired[dict[str, Any]]
    requested_by: NotRequired[str]
    payment_terms: NotRequired[str]
