"""Catalogs: a dealer's stock, prices and rules, read in immutable revisions.

Rules of this file
------------------
- The representation of a catalog is its document; its `ETag` is its revision.
- The dealer comes from the key; a catalog of another dealer is not there.
"""

from typing import Annotated, Final

import orjson
from fastapi import APIRouter, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Principal, Reading
from service.api.answers import JSON, Finished, conditional, etag_of, json_answer
from service.api.binding import document_for
from service.api.contract import CONDITIONAL, KEYED, NOT_MODIFIED, refusals, represents
from service.api.problems import Problem
from service.api.revision_shapes import CatalogList, ItemList, RevisionList
from service.api.state import Service, service_of
from service.planner.asked.catalog import Catalog
from service.planner.asked.roles import CATALOG_ROLES
from service.planner.messages import say
from service.sales.documents.tables import table
from service.store.contract import Snapshot
from service.store.stock_table import HEADER, stock_rows

router: Final = APIRouter(prefix="/v1/catalogs", tags=["catalogs"])

CatalogId = Annotated[
    str, Path(pattern=r"^[a-z0-9][a-z0-9\-]{0,39}$", description="Name of the catalog", examples=["demo"])
]
Revision = Annotated[
    str | None,
    Query(pattern="^r-[0-9a-f]{32}$", description="A revision; the active one by default"),
]
Role = Annotated[
    str | None,
    Query(
        pattern=f"^(?:{'|'.join(CATALOG_ROLES)})$",
        description="Only the items of this role",
        examples=["sheet"],
    ),
]
CSV: Final = "text/csv"
_TABLE: Final = {
    "schema": {"type": "string"},
    "examples": {"demo": {"value": f"{','.join(HEADER)}\r\nPC08-48x120,8 mm sheet,84.00,1,,2\r\n"}},
}
_FOREVER: Final = "private, max-age=31536000, immutable"
_ASK_FIRST: Final = "private, no-cache"


async def snapshot_of(
    service: Service, principal: Principal, catalog_id: str, revision: str | None
) -> Snapshot[Catalog]:
    """A revision of a dealer's catalog, the active one by default.

    Raises
    ------
    Problem
        When the dealer has no such catalog.
    """
    if revision is not None:
        return await service.store.revision(principal.dealer, catalog_id, revision)
    active = service.store.active(principal.dealer, catalog_id)
    if active is None:
        raise Problem("not-found", say("problem.catalog_unknown", "There is no such catalog."))
    return active


def _headers(revision: str | None) -> dict[str, str]:
    """Say how long an answer holds: a revision for ever, the active one until the next look."""
    return {"cache-control": _FOREVER if revision else _ASK_FIRST, "vary": "Authorization, X-API-Key"}


@router.get(
    "",
    operation_id="listCatalogs",
    summary="List the catalogs of the dealer",
    responses=refusals(*KEYED),
    response_model=CatalogList,
)
async def list_catalogs(request: Request, principal: Reading) -> Response:
    """Answer every catalog of the key's dealer with its active revision."""
    negotiate.require(request)
    records = service_of(request).store.catalogs(principal.dealer)
    rows = [
        {"id": record.catalog_id, "revision": record.revision, "activation_count": record.generation}
        for record in records
    ]
    return json_answer({"catalogs": rows}, headers=_headers(None))


@router.get(
    "/{catalog_id}",
    operation_id="readCatalog",
    summary="Read a catalog",
    responses={
        **NOT_MODIFIED,
        **refusals(*KEYED, "not-found", "store-away"),
        **represents("CatalogDocument"),
    },
    openapi_extra=CONDITIONAL,
)
async def read_catalog(
    request: Request, principal: Reading, catalog_id: CatalogId, revision: Revision = None
) -> Response:
    """Answer the document as it was published, spelled canonically; its `ETag` is its revision.

    A key that is bound to tiers reads it without the others, under a validator of its own.
    """
    negotiate.require(request)
    snapshot = await snapshot_of(service_of(request), principal, catalog_id, revision)
    return conditional(request, document_for(principal, snapshot), _headers(revision))


@router.get(
    "/{catalog_id}/items",
    operation_id="listItems",
    summary="List the items of a catalog",
    responses={
        **refusals(*KEYED, "not-found", "store-away"),
        **NOT_MODIFIED,
        200: {"content": {CSV: _TABLE}},
    },
    response_model=ItemList,
    openapi_extra=CONDITIONAL,
)
async def list_items(
    request: Request, principal: Reading, catalog_id: CatalogId, revision: Revision = None, role: Role = None
) -> Response:
    """Answer the stock list, or the items of one role; as `text/csv` a table that can be sent back with other values."""
    wanted = negotiate.best(request, (JSON, CSV))
    snapshot = await snapshot_of(service_of(request), principal, catalog_id, revision)
    items = [
        item for item in orjson.loads(snapshot.document)["items"] if role in {None, item["part"]["role"]}
    ]
    headers = _headers(revision) | {"vary": "Accept, Authorization, X-API-Key"}
    if wanted == CSV:
        content, media_type = table(HEADER, stock_rows({"items": items})), f"{CSV}; header=present"
    else:
        catalog = {"id": catalog_id, "revision": snapshot.revision}
        content, media_type = orjson.dumps({"catalog": catalog, "items": items}), JSON
    headers["content-type"] = media_type
    return conditional(request, Finished(content=content, etag=etag_of(content)), headers)


@router.get(
    "/{catalog_id}/revisions",
    operation_id="listRevisions",
    summary="List the revisions of a catalog",
    responses=refusals(*KEYED, "not-found", "store-away"),
    response_model=RevisionList,
)
async def list_revisions(request: Request, principal: Reading, catalog_id: CatalogId) -> Response:
    """Answer every revision, newest first, and which one plans use."""
    negotiate.require(request)
    records = await service_of(request).store.revisions(principal.dealer, catalog_id)
    rows = [
        {"revision": record.revision, "published_at": record.published_at, "active": record.active}
        for record in records
    ]
    return json_answer({"revisions": rows}, headers=_headers(None))
