"""Catalogs: a dealer's stock, prices and rules, read, published and activated in immutable revisions.

Rules of this file
------------------
- The representation of a catalog is its document; its `ETag` is its revision.
- The dealer comes from the key; a catalog of another dealer is not there.
- Changing what plans are made from asks for a precondition: nobody replaces what they have not seen.
"""

from dataclasses import asdict
from typing import Annotated, Final

import orjson
from anyio import to_thread
from fastapi import APIRouter, Path, Query
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Principal, Publishing, Reading
from service.api.answers import Finished, conditional, etag_of, json_answer
from service.api.bodies import JsonBody, decode, read, require_json
from service.api.contract import BODY, KEYED, WRITING, reads, refusals, represents
from service.api.models import ACTIVATION, CatalogList, ItemList, Published, RevisionList
from service.api.preconditions import etag, replaced
from service.api.problems import Problem
from service.api.state import Service, service_of
from service.planner.catalog import ROLES, Catalog
from service.store.contract import PublishOutcome, Snapshot

router: Final = APIRouter(prefix="/v1/catalogs", tags=["catalogs"])

CatalogId = Annotated[
    str, Path(pattern="^[a-z0-9][a-z0-9-]{0,39}$", description="Name of the catalog", examples=["demo"])
]
Revision = Annotated[
    str | None,
    Query(pattern="^r-[0-9a-f]{32}$", description="A revision; the active one by default"),
]
Role = Annotated[
    str | None,
    Query(pattern=f"^(?:{'|'.join(ROLES)})$", description="Only the items of this role", examples=["sheet"]),
]
Activate = Annotated[bool, Query(description="Whether plans use the document from now on")]
_FOREVER: Final = "private, max-age=31536000, immutable"
_ASK_FIRST: Final = "private, no-cache"
_ACTIVATION: Final = JsonBody(ACTIVATION)


async def snapshot_of(
    service: Service, principal: Principal, catalog_id: str, revision: str | None
) -> Snapshot[Catalog]:
    """Give a revision of a dealer's catalog, the active one by default.

    Raises
    ------
    Problem
        When the dealer has no such catalog.
    """
    if revision is not None:
        return await service.store.revision(principal.dealer, catalog_id, revision)
    active = service.store.active(principal.dealer, catalog_id)
    if active is None:
        raise Problem("not-found", "There is no such catalog.")
    return active


def _headers(revision: str | None) -> dict[str, str]:
    """Say how long an answer holds: a revision for ever, the active one until the next look."""
    return {"cache-control": _FOREVER if revision else _ASK_FIRST, "vary": "Authorization, X-API-Key"}


@router.get(
    "", operation_id="listCatalogs", summary="List the catalogs of the dealer",
    responses=refusals(*KEYED), response_model=CatalogList,
)  # fmt: skip
async def list_catalogs(request: Request, principal: Reading) -> Response:
    """Answer every catalog of the key's dealer with its active revision."""
    negotiate.require(request)
    records = service_of(request).store.catalogs(principal.dealer)
    rows = [
        {"id": record.catalog_id, "revision": record.revision, "generation": record.generation}
        for record in records
    ]
    return json_answer({"catalogs": rows}, headers=_headers(None))


@router.get(
    "/{catalog_id}", operation_id="readCatalog", summary="Read a catalog",
    responses={**refusals(*KEYED, "not-found", "invalid-parameters", "store-away"), **represents("CatalogDocument")},
)  # fmt: skip
async def read_catalog(
    request: Request, principal: Reading, catalog_id: CatalogId, revision: Revision = None
) -> Response:
    """Answer the document as it was published, spelled canonically; its `ETag` is its revision."""
    negotiate.require(request)
    snapshot = await snapshot_of(service_of(request), principal, catalog_id, revision)
    finished = Finished(content=snapshot.document, etag=etag(snapshot.revision))
    return conditional(request, finished, _headers(revision))


@router.get(
    "/{catalog_id}/items", operation_id="listItems", summary="List the items of a catalog",
    responses=refusals(*KEYED, "not-found", "invalid-parameters", "store-away"), response_model=ItemList,
)  # fmt: skip
async def list_items(
    request: Request, principal: Reading, catalog_id: CatalogId, revision: Revision = None, role: Role = None
) -> Response:
    """Answer the stock list, or the items of one role."""
    negotiate.require(request)
    snapshot = await snapshot_of(service_of(request), principal, catalog_id, revision)
    items = [
        item for item in orjson.loads(snapshot.document)["items"] if role in {None, item["part"]["role"]}
    ]
    content = orjson.dumps({"catalog": {"id": catalog_id, "revision": snapshot.revision}, "items": items})
    return conditional(request, Finished(content=content, etag=etag_of(content)), _headers(revision))


@router.get(
    "/{catalog_id}/revisions", operation_id="listRevisions", summary="List the revisions of a catalog",
    responses=refusals(*KEYED, "not-found", "store-away"), response_model=RevisionList,
)  # fmt: skip
async def list_revisions(request: Request, principal: Reading, catalog_id: CatalogId) -> Response:
    """Answer every revision, newest first, and which one plans use."""
    negotiate.require(request)
    records = await service_of(request).store.revisions(principal.dealer, catalog_id)
    rows = [
        {"revision": record.revision, "published_at": record.published_at, "active": record.active}
        for record in records
    ]
    return json_answer({"revisions": rows}, headers=_headers(None))


@router.put(
    "/{catalog_id}", operation_id="publishCatalog", summary="Publish a catalog",
    responses={**refusals(*KEYED, *BODY, *WRITING, "catalog-invalid"), 201: {"description": "Published, the first of its name", "model": Published}},
    response_model=Published, openapi_extra=reads("CatalogDocument"),
)  # fmt: skip
async def publish_catalog(
    request: Request, principal: Publishing, catalog_id: CatalogId, activate: Activate = True
) -> Response:
    """Keep the document as a revision and, unless asked otherwise, plan from it from now on.

    The same document gives the same revision, so repeating a publication changes nothing. Everything that is wrong
    with the document is told at once. Say in `If-Match` which revision it replaces.
    """
    negotiate.require(request)
    service = service_of(request)
    require_json(request)
    body = await read(request, service.settings.max_catalog_bytes)
    document = await to_thread.run_sync(decode, body)
    if_match = replaced(request, _active(service, principal, catalog_id))
    outcome = await service.store.publish(
        principal.dealer, catalog_id, document, if_match=if_match, activate=activate
    )
    return _published(catalog_id, outcome)


@router.post(
    "/{catalog_id}/activation", operation_id="activateRevision", summary="Activate a revision",
    responses=refusals(*KEYED, *BODY, *WRITING, "not-found", "catalog-invalid"),
    response_model=Published, openapi_extra=reads("Activation"),
)  # fmt: skip
async def activate_revision(request: Request, principal: Publishing, catalog_id: CatalogId) -> Response:
    """Plan from a revision published before; an older one rolls back. Say in `If-Match` which one it replaces."""
    negotiate.require(request)
    service = service_of(request)
    wanted = await _ACTIVATION.read(request, service.settings.max_body_bytes)
    if_match = replaced(request, _active(service, principal, catalog_id))
    outcome = await service.store.activate(principal.dealer, catalog_id, wanted.revision, if_match=if_match)
    return _published(catalog_id, outcome)


def _active(service: Service, principal: Principal, catalog_id: str) -> str | None:
    """Give the active revision of a catalog, none where there is none."""
    snapshot = service.store.active(principal.dealer, catalog_id)
    return snapshot.revision if snapshot else None


def _published(catalog_id: str, outcome: PublishOutcome) -> Response:
    """Answer what publishing or activating did."""
    headers = {"content-location": f"/v1/catalogs/{catalog_id}?revision={outcome.revision}"}
    if outcome.active is not None:
        headers["etag"] = etag(outcome.active)
    first = outcome.created and outcome.previous is None and outcome.activated
    return json_answer(asdict(outcome), 201 if first else 200, headers)
