"""Publishing: new revisions of a catalog, from a document or a price list, and which one plans are made from.

Rules of this file
------------------
- Changing what plans are made from asks for a precondition: nobody replaces what they have not seen.
- A document or a list with anything wrong is refused as a whole, with everything that is wrong.
"""

import re
from dataclasses import asdict
from http import HTTPStatus
from typing import Annotated, Final

import orjson
from anyio import to_thread
from fastapi import APIRouter, Path, Query
from pydantic import TypeAdapter
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Principal, Publishing
from service.api.answers import json_answer
from service.api.bodies import JsonBody, decode, read, require_json, require_type
from service.api.catalogs import CatalogId, snapshot_of
from service.api.contract import BODY, KEYED, LIST, PRECONDITIONS, WRITING, reads, refusals
from service.api.preconditions import etag, replaced
from service.api.problems import Problem, field_error
from service.api.revision_shapes import ACTIVATION, PriceListAnswer, Published
from service.api.state import Service, service_of
from service.planner.asked.catalog import Catalog, Item
from service.planner.errors import FieldProblem
from service.planner.fields import SKU_PATTERN
from service.planner.messages import say
from service.store.contract import ANY_REVISION, PublishOutcome, Snapshot
from service.store.stock_table import TableUpdate, update_stock, upsert

router: Final = APIRouter(prefix="/v1/catalogs", tags=["catalogs"])

Activate = Annotated[bool, Query(description="Whether plans use the document from now on")]
ItemSku = Annotated[str, Path(pattern=SKU_PATTERN, description="Its sku", examples=["PC08-48x120"])]
_ACTIVATION: Final = JsonBody(ACTIVATION)
_ITEM: Final = JsonBody(TypeAdapter(Item))
_CSV: Final = re.compile("text/csv", re.IGNORECASE)
_LIST: Final = {"requestBody": {"required": True, "content": {"text/csv": {"schema": {"type": "string"}}}}}


@router.put(
    "/{catalog_id}",
    operation_id="publishCatalog",
    summary="Publish a catalog",
    responses={
        **refusals(*KEYED, *BODY, *WRITING, "not-found", "catalog-invalid"),
        201: {"description": "Published, the first of its name", "model": Published},
    },
    response_model=Published,
    openapi_extra={**reads("CatalogDocument"), **PRECONDITIONS},
)
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
    "/{catalog_id}/activation",
    operation_id="activateRevision",
    summary="Activate a revision",
    responses=refusals(*KEYED, *BODY, *WRITING, "not-found", "catalog-invalid"),
    response_model=Published,
    openapi_extra={**reads("Activation"), **PRECONDITIONS},
)
async def activate_revision(request: Request, principal: Publishing, catalog_id: CatalogId) -> Response:
    """Plan from a revision published before; an older one rolls back. Say in `If-Match` which one it replaces."""
    negotiate.require(request)
    service = service_of(request)
    wanted = await _ACTIVATION.read(request, service.settings.max_body_bytes)
    if_match = replaced(request, _active(service, principal, catalog_id))
    outcome = await service.store.activate(principal.dealer, catalog_id, wanted.revision, if_match=if_match)
    return _published(catalog_id, outcome)


@router.put(
    "/{catalog_id}/items/{sku}",
    operation_id="publishItem",
    summary="Publish one item",
    responses=refusals(*KEYED, *BODY, *WRITING, "not-found", "catalog-invalid"),
    response_model=Published,
    openapi_extra={**reads("Item"), **PRECONDITIONS},
)
async def publish_item(
    request: Request, principal: Publishing, catalog_id: CatalogId, sku: ItemSku
) -> Response:
    """Publish the active catalog with the item in the place of the one with its sku, or at the end where there is none.

    Say in `If-Match` which revision is changed.
    """
    negotiate.require(request)
    service = service_of(request)
    require_json(request)
    body = await read(request, service.settings.max_body_bytes)
    await _ITEM.parse_aside(body)
    item = await to_thread.run_sync(decode, body)
    if item["sku"] != sku:
        detail = say("field.other_sku", "is not the sku of the address")
        wrong = FieldProblem(pointer="/sku", detail=detail, suggestion=sku)
        raise Problem(
            "invalid-fields", say("problem.field", "A field needs correction."), [field_error(wrong)]
        )
    snapshot, seen = await _replaced_by(request, principal, catalog_id)
    changed = upsert(orjson.loads(snapshot.document), item)
    outcome = await service.store.publish(principal.dealer, catalog_id, changed, if_match=seen, activate=True)
    return _published(catalog_id, outcome)


@router.post(
    "/{catalog_id}/prices",
    operation_id="updatePrices",
    summary="Publish new prices, packs and lead times from a list",
    responses=refusals(*KEYED, *WRITING, *LIST, "not-found", "catalog-invalid"),
    response_model=PriceListAnswer,
    openapi_extra={**_LIST, **PRECONDITIONS},
)
async def update(request: Request, principal: Publishing, catalog_id: CatalogId) -> Response:
    """Publish the active catalog with what a table says of its items (RFC 4180, UTF-8).

    The table has the column `sku` and one or more of `price`, `pack_size`, `pack_unit` and `lead_days`; a `description` may
    stand there for people and is not read. The items of a catalog as `text/csv` are such a table.
    A refused row refuses the list: then nothing is published, and every refused row is told. Say in `If-Match` which
    revision is changed.
    """
    negotiate.require(request)
    service = service_of(request)
    require_type(request, _CSV, "text/csv")
    table = await read(request, service.settings.max_catalog_bytes)
    snapshot, seen = await _replaced_by(request, principal, catalog_id)
    changed = await to_thread.run_sync(update_stock, orjson.loads(snapshot.document), table)
    _require_taken(changed)
    outcome = await service.store.publish(
        principal.dealer, catalog_id, changed.document, if_match=seen, activate=True
    )
    rows = [{name: value for name, value in asdict(row).items() if name != "detail"} for row in changed.rows]
    return json_answer({"published": asdict(outcome), "rows": rows}, 200, _headers(catalog_id, outcome))


async def _replaced_by(
    request: Request, principal: Principal, catalog_id: str
) -> tuple[Snapshot[Catalog], str | None]:
    """The active revision that a change is made to, and the one that the caller says it changes."""
    snapshot = await snapshot_of(service_of(request), principal, catalog_id, None)
    seen = replaced(request, snapshot.revision)
    return snapshot, snapshot.revision if seen == ANY_REVISION else seen


def _require_taken(changed: TableUpdate) -> None:
    """Refuse a list of which a row was refused."""
    refused = [row for row in changed.rows if row.outcome == "refused"]
    if refused:
        found = [{"row": row.line, "detail": row.detail} for row in refused]
        raise Problem(
            "price-list-refused",
            say(
                "problem.price_rows",
                "{refused} of {rows} rows need correction.",
                refused=len(refused),
                rows=len(changed.rows),
            ),
            found,
        )


def _active(service: Service, principal: Principal, catalog_id: str) -> str | None:
    """The active revision of a catalog, none where there is none."""
    snapshot = service.store.active(principal.dealer, catalog_id)
    return snapshot.revision if snapshot else None


def _headers(catalog_id: str, outcome: PublishOutcome) -> dict[str, str]:
    """Say where the revision can be read, and which one is active now."""
    address = {"content-location": f"/v1/catalogs/{catalog_id}?revision={outcome.revision}"}
    return address | ({"etag": etag(outcome.active)} if outcome.active else {})


def _published(catalog_id: str, outcome: PublishOutcome) -> Response:
    """Answer what publishing or activating did."""
    first = outcome.created and outcome.previous is None and outcome.activated
    status = HTTPStatus.CREATED if first else HTTPStatus.OK
    return json_answer(asdict(outcome), status, _headers(catalog_id, outcome))
