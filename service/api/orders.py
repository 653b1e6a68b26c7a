"""Orders: many walls bought together, as values, as tables and as UBL documents.

Rules of this file
------------------
- An order is worked out, not kept: the same request gives the same order. `Idempotency-Key` is given back as it came.
- The media type that is accepted and the document asked for decide what is written; all are written from the same values.
"""

from typing import Annotated, Any, Final, Literal

import orjson
from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import BEARING, Ordering
from service.api.answers import Finished, conditional, etag_of
from service.api.bodies import JsonBody
from service.api.contract import BODY, CONDITIONAL, KEYED, NOT_MODIFIED, reads, refusals
from service.api.exchange import exchange_of, in_language
from service.api.ordering import order, ordered
from service.api.questions import UNBUILDABLE
from service.api.quoted import read_token, require_addressable, require_live
from service.api.quotes import TOKEN_REFUSALS, TokenPath, read_headers
from service.api.sales_shapes import ORDER_REQUEST
from service.api.state import service_of
from service.sales.documents.tables import ORDER_COLUMNS, TABLES
from service.sales.documents.ubl import DOCUMENTS
from service.sales.shapes import OrderOut, OrderRequest

router: Final = APIRouter(prefix="/v1", tags=["orders"])
_ORDER: Final = JsonBody(ORDER_REQUEST)
JSON, CSV, XML = "application/json", "text/csv", "application/xml"
Document = Annotated[
    Literal["order", "quotation", "picking"],
    Query(description="What is written as a table or as XML; a picking list is a table"),
]


def _shown(example: str) -> dict[str, Any]:
    """Document a text with the beginning of one."""
    return {"schema": {"type": "string"}, "examples": {"beginning": {"value": example}}}


_TABLE: Final = _shown(",".join(ORDER_COLUMNS) + "\r\n")
_UBL: Final = _shown('<Order xmlns="urn:oasis:names:specification:ubl:schema:xsd:Order-2">')
_REPRESENTATIONS: Final[dict[int | str, dict[str, Any]]] = {
    200: {"description": "The order, in the media type accepted", "content": {CSV: _TABLE, XML: _UBL}}
}
_QUOTED: Final = (*TOKEN_REFUSALS, "token-too-long", "quote-expired")


@router.post(
    "/orders",
    operation_id="makeOrder",
    summary="Order walls together",
    responses={
        **refusals(
            *KEYED,
            *BODY,
            *UNBUILDABLE,
            *TOKEN_REFUSALS,
            "quote-expired",
            "quote-of-another-dealer",
            "order-mixed",
            "on-hand-claimed-twice",
            "structure-refused",
        ),
        **_REPRESENTATIONS,
    },
    response_model=OrderOut,
    openapi_extra=reads("OrderRequest"),
)
async def make(request: Request, principal: Ordering, document: Document = "order") -> Response:
    """Answer one order for quotes or structures: needs added up, packs and spares rounded once, like materials cut together.

    By `Accept`: JSON; a table (columns as in the guide); a UBL 2.1 Order or Quotation. Each structure's share of the total
    adds up to the cent, and what ordering together saves is told.
    """
    wanted = negotiate.best(request, (JSON, CSV, XML))
    service, exchange = service_of(request), exchange_of(request)
    asked = await _ORDER.read(request, service.settings.max_order_bytes)
    answer = _written(await order(service, exchange, principal, asked), wanted, document)
    answer.headers.update(in_language(exchange.language))
    answer.headers["vary"] = "Accept, Accept-Language"
    if "idempotency-key" in request.headers:
        answer.headers["idempotency-key"] = request.headers["idempotency-key"][:255]
    return answer


def _written(found: OrderOut, wanted: str, document: str) -> Response:
    """Write an order in a media type; a picking list has no XML, so it is a table there too."""
    if wanted == JSON:
        return Response(orjson.dumps(found), media_type=JSON)
    if wanted == CSV or document not in DOCUMENTS:
        return Response(TABLES[document](found), media_type="text/csv; header=present")
    return Response(DOCUMENTS[document](found), media_type=XML)


def _unless_held(request: Request, written: Response) -> Response:
    """Answer a document of a quote, or that the caller has it already."""
    content = bytes(written.body)
    headers = read_headers(exchange_of(request)) | {"content-type": written.headers["content-type"]}
    return conditional(request, Finished(content=content, etag=etag_of(content)), headers)


async def _of_quote(request: Request, token: str) -> OrderOut:
    """Make the order of one quote, for whoever holds it: a document to read, no order placed."""
    require_addressable(token)
    service, exchange = service_of(request), exchange_of(request)
    quoted = await read_token(service, token)
    require_live(quoted.pins, service.now())
    asked = OrderRequest(quotes=(token,), reference=quoted.spec.reference)
    return await ordered(service, exchange, [quoted], [], asked, service.now().date().isoformat())


@router.get(
    "/quotes/{token}/order.xml",
    operation_id="readQuotedOrder",
    summary="Read a quote as a UBL document",
    responses={
        **refusals(*_QUOTED),
        **NOT_MODIFIED,
        200: {"description": "A UBL 2.1 document", "content": {XML: _UBL}},
    },
    response_class=Response,
    openapi_extra=CONDITIONAL,
    dependencies=[BEARING],
)
async def read_xml(
    request: Request, token: TokenPath, document: Annotated[Literal["order", "quotation"], Query()] = "order"
) -> Response:
    """Answer the UBL 2.1 Order, or Quotation, of one quote."""
    negotiate.require(request, XML)
    return _unless_held(request, _written(await _of_quote(request, token), XML, document))


@router.get(
    "/quotes/{token}/order.csv",
    operation_id="readQuotedTable",
    summary="Read a quote as a table",
    responses={
        **refusals(*_QUOTED),
        **NOT_MODIFIED,
        200: {"description": "A table", "content": {CSV: _TABLE}},
    },
    response_class=Response,
    openapi_extra=CONDITIONAL,
    dependencies=[BEARING],
)
async def read_csv(
    request: Request, token: TokenPath, document: Annotated[Literal["order", "picking"], Query()] = "order"
) -> Response:
    """Answer the lines of one quote as a table, or its picking list."""
    negotiate.require(request, CSV)
    return _unless_held(request, _written(await _of_quote(request, token), CSV, document))
