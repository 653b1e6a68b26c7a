"""Stock items by role: what a dealer sells, in which sizes, for how much.

Rules of this file
------------------
- An item is what is sold (sku, price, pack, mass); its part says what it is and how big.
- Adding an item is editing data. Items of one role that differ only in stock length share a section.
- Whether a document makes sense as a whole is decided in ``catalog_rules.py``.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar, Literal

from pydantic import ConfigDict, Field, StringConstraints

from service.planner.asked.parts import Part, Screw
from service.planner.asked.roles import CATALOG_ROLES
from service.planner.fields import (
    CLOSED,
    Amount,
    Day,
    Flag,
    Identifier,
    LengthField,
    NumberField,
    Price,
    ShortText,
    Sku,
    WholeField,
)
from service.planner.rules import LARGEST_LIMIT, Drive, Head, Place
from service.planner.units import METRE, MILLIMETRE

Currency = Literal["USD", "CAD", "EUR", "GBP", "AUD", "NZD", "CHF", "SEK", "NOK", "DKK", "MXN"]
"""ISO 4217 codes with two minor digits."""

TaxCategory = Literal["S", "Z", "E", "AE", "K", "G", "O", "L", "M"]
"""UN/CEFACT 5305 codes as EN 16931-1 takes them: S standard rate, Z zero rated, E exempt, AE reverse charge, K intra-community,
G export, O outside the scope of tax, L and M the taxes of the Canary Islands and of Ceuta and Melilla; codes of directory
D.20A, their meanings from memory."""
PackUnit = Literal["XBG", "XBE", "XBX", "XCT", "XPK", "XPA", "XPX", "XRO", "XTU"]
"""UN/CEFACT Recommendation 21 codes behind an X, as Recommendation 20 refers to them: bag, bundle, box, carton, package, packet,
pallet, roll, tube; codes of the list of 2006, their meanings from memory."""


_Step = Annotated[int, LengthField(100 * MILLIMETRE, 15 * METRE)]


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBreak:
    """A lower price from a number of packs on."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    packs: Annotated[int, WholeField(2, 1_000_000)]
    """From this many packs of the item on one order"""
    price: Price
    """Price of one pack"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of the dealer's stock list."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    sku: Sku
    """The dealer's own code"""
    description: ShortText
    """What it is called"""
    part: Annotated[Part, Field(discriminator="role")]
    """What it is and how big"""
    price: Price
    """Price of one pack"""
    pack_size: Annotated[int, WholeField(1, 100_000)] = 1
    """Pieces in one pack; a roll of tape is one pack"""
    mass_kg: Annotated[float, NumberField(0, 2000)]
    """Mass of one piece, of one roll for tape [kg]"""
    breaks: Annotated[tuple[PriceBreak, ...], Field(max_length=10)] = ()
    """Prices from larger quantities on"""
    lead_days: Annotated[int, WholeField(0, 365)] = 0
    """Days until it can ship"""
    pack_unit: PackUnit | None = None
    """What it is packed in; by default a package where a pack holds more than one piece, a roll for tape, else none"""
    tax_category: TaxCategory | None = None
    """Tax category of the item; prices are without tax"""
    place: ShortText = ""
    """Where it lies in the yard, such as B-04"""
    gtin: Annotated[str, StringConstraints(strict=True, pattern=r"^(?:[0-9]{8}|[0-9]{12,14})$")] | None = None
    """Global trade item number of one pack, with its check digit"""
    customs_code: Annotated[str, StringConstraints(strict=True, pattern=r"^[0-9]{6,10}$")] | None = None
    """Harmonized System heading, or a national code that begins with it"""
    currency: Currency | None = None
    """Only to be the same as the catalog's"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TierPrice:
    """A contract price."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    sku: Sku
    """The item"""
    price: Price
    """Price of one pack"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tier:
    """Prices agreed with a group of customers for a time."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    name: Identifier
    """Name of the tier"""
    valid_from: Day
    """First day"""
    valid_until: Day
    """Last day"""
    percent_off: Annotated[float, NumberField(0, 90)] = 0.0
    """Off the list price of items without a contract price [%]"""
    prices: Annotated[tuple[TierPrice, ...], Field(max_length=2000)] = ()
    """Contract prices; they win over the percentage"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FasteningChange:
    """A row of the fastening rules table that the dealer sets otherwise."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    place: Place
    """Where the screw goes"""
    number: Annotated[int, WholeField(6, 14)]
    """Screw number"""
    length: Annotated[int, LengthField(10 * MILLIMETRE, 150 * MILLIMETRE)]
    """Length that is taken where it lies in the window"""
    head: Head
    """Shape of the head"""
    drive: Drive
    """Drive of the head"""
    washer: Flag
    """Whether a sealing washer goes under the head"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitChange:
    """A limit that the dealer sets otherwise."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    name: ShortText
    """Name of the limit"""
    value: Annotated[int, LengthField(0, LARGEST_LIMIT)]
    """Its value"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogAllowances:
    """What joints and cuts are worth to this dealer's customers."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    joint: Amount
    """Parts and work of one panel joint"""
    metal_joint: Amount = 200
    """Work of one lap or joint in metal"""
    cut: Amount
    """Work of one crosscut"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogDocument:
    """A dealer's catalog as it is published."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    title: ShortText
    """Title of the catalog"""
    note: ShortText = ""
    """A note that every plan from this catalog carries, such as that its data are invented"""
    currency: Currency
    """Currency of every price"""
    allowances: CatalogAllowances
    """What joints and cuts are worth"""
    items: Annotated[tuple[Item, ...], Field(min_length=1, max_length=2000)]
    """The stock list; where several sections would serve, the first listed is taken"""
    fastening: Annotated[tuple[FasteningChange, ...], Field(max_length=20)] = ()
    """Rows of the fastening rules table set otherwise"""
    limits: Annotated[tuple[LimitChange, ...], Field(max_length=60)] = ()
    """Limits set otherwise"""
    tiers: Annotated[tuple[Tier, ...], Field(max_length=50)] = ()
    """Agreed prices"""
    carrier_lengths: Annotated[tuple[_Step, ...], Field(max_length=20)] = ()
    """Lengths up to which the carrier's freight is the same; 8, 12, 16 and 20 ft by default"""


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Catalog:
    """A catalog ready to plan from."""

    document: CatalogDocument
    """What was published"""
    by_role: Mapping[str, tuple[Item, ...]]
    """Items of each role, in the order listed"""
    by_sku: Mapping[str, Item]
    """Items by their sku"""
    screws: Mapping[tuple[int, Head, Drive], tuple[Item, ...]]
    """Screws by number, head and drive, in the order listed"""
    kept: dict[Hashable, dict[Hashable, Any]] = field(default_factory=dict, init=False, repr=False)
    """What follows from it, by function and question; only ``keeping.py`` reads and fills it"""


def index(document: CatalogDocument) -> Catalog:
    """Index a catalog document by role and sku."""
    by_role: dict[str, tuple[Item, ...]] = dict.fromkeys(CATALOG_ROLES, ())
    screws: dict[tuple[int, Head, Drive], tuple[Item, ...]] = {}
    for item in document.items:
        part = item.part
        by_role[part.role] = (*by_role.get(part.role, ()), item)
        if isinstance(part, Screw):
            kind = (part.number, part.head, part.drive)
            screws[kind] = (*screws.get(kind, ()), item)
    return Catalog(document, by_role, {item.sku: item for item in document.items}, screws)
