"""Agreed prices: the catalog as one tier of customers sees it on one day.

Rules of this file
------------------
- The most specific price wins: a contract price, else the tier's percentage off, else the list.
- The day comes with the request, so that the same question has the same answer on any day.
- A percentage is rounded half up to a hundredth; quantity breaks take it too, and go where a contract price stands.
"""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

from service.planner.asked.catalog import Catalog, CatalogDocument, Item, Tier, index
from service.planner.asked.spec import Pricing
from service.planner.errors import FieldProblem, FieldsDisagree, NoSuchItem
from service.planner.keeping import kept_with_catalog
from service.planner.messages import say


def priced(catalog: Catalog, pricing: Pricing) -> Catalog:
    """Return the catalog with a tier's prices.

    Parameters
    ----------
    catalog
        The catalog at list prices.
    pricing
        Tier and day; without a tier the list stands.

    Raises
    ------
    NoSuchItem
        When the catalog has no such tier.
    FieldsDisagree
        When the tier comes without a day, or is not valid on it.
    """
    return catalog if pricing.tier is None else _at_agreed_prices(catalog, pricing)


@kept_with_catalog("catalogs")
def _at_agreed_prices(catalog: Catalog, pricing: Pricing) -> Catalog:
    """Make the catalog with a tier's prices."""
    tier = _tier(catalog.document, pricing)
    contract = {price.sku: price.price for price in tier.prices}
    items = tuple(_item(item, tier, contract.get(item.sku)) for item in catalog.document.items)
    return index(replace(catalog.document, items=items))


def _tier(document: CatalogDocument, pricing: Pricing) -> Tier:
    """Find the tier and check that it is valid on the day."""
    tiers = {tier.name: tier for tier in document.tiers}
    tier = tiers.get(pricing.tier or "")
    if tier is None:
        problem = FieldProblem(
            pointer="/pricing/tier",
            detail=say("field.tier_unknown", "is no tier of this catalog"),
            allowed=tuple(tiers),
        )
        raise NoSuchItem(say("spec.no_tier", "The catalog has no such tier."), [problem])
    if pricing.date is None or not tier.valid_from <= pricing.date <= tier.valid_until:
        detail = say(
            "field.tier_valid",
            "the tier is valid from {first} to {last}",
            first=tier.valid_from,
            last=tier.valid_until,
        )
        problem = FieldProblem(pointer="/pricing/date", detail=detail, suggestion=tier.valid_until)
        raise FieldsDisagree(say("spec.tier_not_valid", "The tier is not valid on that day."), [problem])
    return tier


def _item(item: Item, tier: Tier, contract: int | None) -> Item:
    """An item its price in the tier."""
    if contract is not None:
        return replace(item, price=contract, breaks=())
    if not tier.percent_off:
        return item
    breaks = tuple(replace(step, price=_off(step.price, tier)) for step in item.breaks)
    return replace(item, price=_off(item.price, tier), breaks=breaks)


def _off(price: int, tier: Tier) -> int:
    """Take the tier's percentage off a price, at least a hundredth staying [hundredths]."""
    left = Decimal(price) * (100 - Decimal(str(tier.percent_off))) / 100
    return max(1, int(left.quantize(Decimal(1), rounding=ROUND_HALF_UP)))
