"""Binding: what a key may ask about, whatever its question says.

Rules of this file
------------------
- A key bound to tiers gets no other prices, and no hint that there are any: a tier of another is a tier that is not.
- A shop page's key brings catalog, tier and day along: its questions cannot name them.
- What a key is bound to is part of the name of its answers, so that no other key's answer is handed to it.
"""

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime
from typing import Final

import orjson

from service.api.access import Principal
from service.api.answers import Finished
from service.api.desk import digest_of
from service.api.preconditions import etag
from service.api.problems import FIELDS, Problem, field_error
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Pricing, Spec
from service.planner.errors import FieldProblem, NoSuchItem
from service.planner.messages import say
from service.store.contract import Snapshot, Storefront

USUAL_CATALOG: Final = Spec.__dataclass_fields__["catalog"].default
"""The catalog of a question that names none"""


def name_of(principal: Principal, now: datetime) -> bytes:
    """What of a key decides about its answers; empty for a key that is bound to nothing.

    Parameters
    ----------
    principal
        Who asks.
    now
        When: a shop page is shown the prices of the day.
    """
    if principal.tiers is None:
        return b""
    storefront = principal.storefront
    shown = (storefront.catalog, now.date().isoformat()) if storefront else ()
    return "\n".join(("bound", *principal.tiers, "", *shown)).encode()


def aimed(principal: Principal, now: datetime, spec: Spec) -> Spec:
    """The question with the catalog and the prices that the key brings along.

    Raises
    ------
    Problem
        When a shop page's question names another catalog, a revision or prices.
    """
    storefront = principal.storefront
    if storefront is None:
        return spec
    _check_shopper(spec, storefront)
    day = now.date().isoformat() if storefront.tier else None
    return replace(spec, catalog=storefront.catalog, pricing=Pricing(tier=storefront.tier, date=day))


def _check_shopper(spec: Spec, storefront: Storefront) -> None:
    """Refuse what a shop page's question may not say."""
    said = ((spec.pricing != Pricing(), "/pricing"), (spec.catalog_revision is not None, "/catalog_revision"))
    wrong = [
        FieldProblem(pointer=pointer, detail=say("field.comes_with_key", "comes with this key: leave it out"))
        for found, pointer in said
        if found
    ]
    if wrong:
        raise Problem("invalid-fields", FIELDS, map(field_error, wrong))
    if spec.catalog not in {USUAL_CATALOG, storefront.catalog}:
        problem = FieldProblem(
            pointer="/catalog",
            detail=say("field.catalog_unknown", "is not a catalog of this dealer"),
            allowed=(storefront.catalog,),
        )
        raise Problem(
            "no-such-catalog",
            say("problem.no_catalog", "There is no such catalog to plan from."),
            [field_error(problem)],
        )


def check_tier(principal: Principal, spec: Spec, catalog: Catalog) -> None:
    """Refuse a tier that the key is not bound to, in the words for one that does not exist.

    Raises
    ------
    NoSuchItem
        When the tier is another's, or is none.
    Problem
        When a shop page's own prices do not hold today.
    """
    if principal.storefront is None:
        check_bound(principal.tiers, spec, catalog)
    elif spec.pricing.tier is not None:
        _check_today(spec, catalog)


def check_bound(bound: Collection[str] | None, spec: Spec, catalog: Catalog) -> None:
    """The same for a key that stands in no page, by the tiers that it is bound to; none: every tier."""
    if bound is None or spec.pricing.tier is None:
        return
    known = tuple(tier.name for tier in catalog.document.tiers if tier.name in bound)
    if spec.pricing.tier not in known:
        problem = FieldProblem(
            pointer="/pricing/tier",
            detail=say("spec.tier_unknown", "is no tier of this catalog"),
            allowed=known,
        )
        raise NoSuchItem(say("spec.no_tier", "The catalog has no such tier."), [problem])


def document_for(principal: Principal, snapshot: Snapshot[Catalog]) -> Finished:
    """The document of a revision as a key may read it: whole, or without the tiers that it is not bound to."""
    bound = principal.tiers
    if bound is None:
        return Finished(content=snapshot.document, etag=etag(snapshot.revision))
    document = orjson.loads(snapshot.document)
    if "tiers" in document:
        document["tiers"] = [tier for tier in document["tiers"] if tier["name"] in bound]
    ending = digest_of(*(name.encode() for name in bound))[:16]
    return Finished(content=orjson.dumps(document), etag=etag(f"{snapshot.revision}-{ending}"))


def _check_today(spec: Spec, catalog: Catalog) -> None:
    """Refuse a shop page whose own prices are not there today, without a word on how they are kept."""
    own = [tier for tier in catalog.document.tiers if tier.name == spec.pricing.tier]
    if not any(tier.valid_from <= (spec.pricing.date or "") <= tier.valid_until for tier in own):
        raise Problem(
            "no-such-catalog", say("problem.page_prices", "The prices of this page are not known today.")
        )
