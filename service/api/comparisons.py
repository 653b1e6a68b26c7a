"""Comparisons: what changed from one revision of a catalog to another, and what that does to a price.

Rules of this file
------------------
- Changes are told entry by entry, an item by its sku.
- The price is that of a reference structure, planned in full from both revisions; the caller may send another one.
"""

from dataclasses import asdict
from decimal import Decimal
from typing import Any, Final

import orjson
from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Principal, Reading
from service.api.answers import finished_answer
from service.api.binding import check_tier, document_for, name_of
from service.api.bodies import JsonBody
from service.api.catalogs import CatalogId, snapshot_of
from service.api.contract import BODY, KEYED, reads, refusals
from service.api.desk import digest_of
from service.api.exchange import exchange_of, in_language
from service.api.problems import detail_of
from service.api.revision_shapes import COMPARISON, REFERENCE, ComparisonAnswer
from service.api.state import service_of
from service.api.version import VERSION
from service.planner.answer.shapes import Part
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Spec
from service.planner.errors import PlanError
from service.planner.plan import make_plan
from service.planner.writing import Language, Writer
from service.store.compare import compare
from service.store.contract import Snapshot

_TOTAL: Final[tuple[Part, ...]] = ("summary",)
"""The part of a plan that has its total"""
router: Final = APIRouter(prefix="/v1/catalogs", tags=["catalogs"])
_BODY: Final = JsonBody(COMPARISON)


def price_of(spec: Spec, snapshot: Snapshot[Catalog], language: Language) -> dict[str, Any]:
    """Plan a structure from a revision and give its total, or why it has none."""
    row: dict[str, Any] = {
        "revision": snapshot.revision,
        "total": None,
        "currency": snapshot.catalog.document.currency,
        "refused": None,
    }
    try:
        return row | {
            "total": make_plan(spec, snapshot.catalog, snapshot.revision, parts=_TOTAL)["summary"]["total"]
        }
    except PlanError as error:
        return row | {"refused": detail_of(error.detail, Writer(language, spec.display_units))["detail"]}


def _difference(before: dict[str, Any], after: dict[str, Any]) -> str | None:
    """The newer total less the older one, where both are in one currency."""
    totals = [row["total"] for row in (before, after) if row["currency"] == before["currency"]]
    older, newer = (*totals, None)[:2]
    return None if older is None or newer is None else str(Decimal(newer) - Decimal(older))


def compared(
    principal: Principal, spec: Spec, before: Snapshot[Catalog], after: Snapshot[Catalog], language: Language
) -> dict[str, Any]:
    """Compare two revisions as a key may read them, as plain values."""
    older_document, newer_document = (
        orjson.loads(document_for(principal, snapshot).content) for snapshot in (before, after)
    )
    changes = compare(older_document, newer_document)
    older, newer = price_of(spec, before, language), price_of(spec, after, language)
    return {
        "before": older,
        "after": newer,
        "difference": _difference(older, newer),
        "changes": [asdict(change) for change in changes],
    }


@router.post(
    "/{catalog_id}/comparisons",
    operation_id="compareRevisions",
    summary="Compare two revisions of a catalog",
    responses=refusals(*KEYED, *BODY, "not-found", "busy", "too-late", "store-away"),
    response_model=ComparisonAnswer,
    openapi_extra=reads("ComparisonRequest"),
)
async def compare_revisions(request: Request, principal: Reading, catalog_id: CatalogId) -> Response:
    """Answer every change, and what the changes do to the price of a reference structure."""
    negotiate.require(request)
    service = service_of(request)
    wanted = await _BODY.read(request, service.settings.max_body_bytes)
    before = await snapshot_of(service, principal, catalog_id, wanted.before)
    after = await snapshot_of(service, principal, catalog_id, wanted.after)
    spec = wanted.structure or REFERENCE
    for snapshot in (before, after):
        check_tier(principal, spec, snapshot.catalog)
    exchange = exchange_of(request)
    language = exchange.language
    now = service.now()
    names = (
        language.tag.encode(),
        name_of(principal, now),
        before.revision.encode(),
        after.revision.encode(),
        orjson.dumps(spec),
    )
    digest = digest_of(b"comparison", VERSION.encode(), *names)
    finished = await service.desk.held(principal.dealer, digest) or await service.desk.make(
        exchange, principal.dealer, digest, lambda _: compared(principal, spec, before, after, language)
    )
    return finished_answer(finished, in_language(language))
