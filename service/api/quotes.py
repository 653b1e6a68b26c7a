"""Quotes: a bill whose price holds for a time, as a token that any replica reads again.

Rules of this file
------------------
- Making a quote asks for a key; reading one asks for the token and nothing else, since that is what a link in a mail has.
- Tokens too long for an address are posted. No log and no metric ever holds one.
"""

from typing import Annotated, Final

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import BEARING, Shopping
from service.api.answers import conditional, finished_answer
from service.api.bodies import JsonBody
from service.api.contract import BODY, CONDITIONAL, KEYED, NOT_MODIFIED, reads, refusals
from service.api.exchange import Exchange, exchange_of, in_language
from service.api.parts import Parts, PlanAnswer, plan_question, read_parts
from service.api.questions import UNBUILDABLE, about
from service.api.quoted import LONGEST_ADDRESS, make_quote, pinned_to, read_token, require_addressable, shown
from service.api.sales_shapes import QUOTE_REQUEST, TOKEN_REQUEST
from service.api.state import service_of
from service.sales.shapes import QuoteOut

ADDRESS: Final = "/v1/quotes"
"""Under it and a token hangs what the token gives"""
router: Final = APIRouter(prefix=ADDRESS, tags=["quotes"])
_QUOTE: Final = JsonBody(QUOTE_REQUEST)
_TOKEN: Final = JsonBody(TOKEN_REQUEST)
TOKEN_REFUSALS: Final = (
    "quote-altered", "quote-algorithm", "quote-key-unknown", "quote-gone", "quote-superseded", "rate-limited", "key-required",
    "origin-not-allowed", "busy", "too-late", "store-away",
)  # fmt: skip
"""What reading a token may be refused for"""


def read_headers(exchange: Exchange) -> dict[str, str]:
    """Say that a quote is shown to who asks, who asks again whether it still holds, and in which language."""
    return {"cache-control": "private, no-cache", **in_language(exchange.language)}


TokenPath = Annotated[
    str, Path(min_length=1, description="Token of a quote", examples=["eyJhbGciOiJFZDI1NTE5In0.e30.c2ln"])
]


@router.post(
    "",
    operation_id="makeQuote",
    summary="Quote a shin wall",
    responses=refusals(*KEYED, *BODY, *UNBUILDABLE, "busy", "too-late", "store-away"),
    response_model=QuoteOut,
    openapi_extra=reads("QuoteRequest"),
)
async def make(request: Request, principal: Shopping) -> Response:
    """Answer the priced bill of a structure at the prices of today, and a token that gives it again until it ends.

    The token is the quote: keep it in a link, a mail or a cart. `Location` is its address where it is short enough for one.
    """
    negotiate.require(request)
    service, exchange = service_of(request), exchange_of(request)
    asked = await _QUOTE.read(request, service.settings.max_body_bytes)
    token, quote = await make_quote(service, exchange, principal, asked)
    address = {"location": f"{ADDRESS}/{token}"} if len(token) <= LONGEST_ADDRESS else {}
    return finished_answer(quote, address | in_language(exchange.language))


@router.post(
    "/read",
    operation_id="readLongQuote",
    summary="Read a quote whose token is long",
    responses=refusals(*BODY, *TOKEN_REFUSALS),
    response_model=QuoteOut,
    openapi_extra=reads("TokenRequest"),
    dependencies=[BEARING],
)
async def read_long(request: Request) -> Response:
    """Answer the quote of a token in the body, as its address would."""
    negotiate.require(request)
    service, exchange = service_of(request), exchange_of(request)
    asked = await _TOKEN.read(request, service.settings.max_body_bytes)
    quoted = await read_token(service, asked.token)
    return finished_answer(await shown(service, exchange, quoted), read_headers(exchange))


@router.get(
    "/{token}",
    operation_id="readQuote",
    summary="Read a quote",
    responses={**refusals(*TOKEN_REFUSALS, "token-too-long"), **NOT_MODIFIED},
    response_model=QuoteOut,
    openapi_extra=CONDITIONAL,
    dependencies=[BEARING],
)
async def read_one(request: Request, token: TokenPath) -> Response:
    """Answer the same bill again, on any replica and after any restart; one that has ended is marked."""
    negotiate.require(request)
    require_addressable(token)
    service, exchange = service_of(request), exchange_of(request)
    quoted = await read_token(service, token)
    return conditional(request, await shown(service, exchange, quoted), read_headers(exchange))


@router.get(
    "/{token}/plan",
    operation_id="readQuotedPlan",
    summary="Read the plan of a quote",
    responses={**refusals(*TOKEN_REFUSALS, "token-too-long"), **NOT_MODIFIED},
    response_model=PlanAnswer,
    openapi_extra=CONDITIONAL,
    dependencies=[BEARING],
)
async def read_plan(request: Request, token: TokenPath, parts: Parts = None) -> Response:
    """Answer the plan that the quote was made from, or the parts of it that are asked for."""
    negotiate.require(request)
    require_addressable(token)
    service, exchange = service_of(request), exchange_of(request)
    quoted = await read_token(service, token)
    wanted = pinned_to(quoted, plan_question(read_parts(parts)))
    await shown(service, exchange, quoted)
    plan = await about(service, exchange, wanted, quoted.spec, quoted.snapshot)
    return conditional(request, plan, read_headers(exchange))
