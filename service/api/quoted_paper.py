"""Drawings and the crew's packet of a quote, for whoever holds its token.

Rules of this file
------------------
- They are those of the quote's plan, worked out as the quote was; a quote that has ended shows them too.
- The same parameters as where a structure is posted, and the same pictures.
"""

from typing import Final

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import BEARING
from service.api.answers import Finished, conditional
from service.api.contract import CONDITIONAL, NOT_MODIFIED, refusals
from service.api.drawings import PNG, SVG, Kinds, Paper, Pixels, Themed, Which, drawings_question, picture_of
from service.api.exchange import exchange_of
from service.api.packets import ANSWER, PDF, PaperChoice, Prices, document_question, typeset
from service.api.questions import Question, about
from service.api.quoted import pinned_to, read_token, require_addressable, shown
from service.api.quotes import ADDRESS, TOKEN_REFUSALS, TokenPath, read_headers
from service.api.state import service_of
from service.paper.drawings import WIDTH, DrawingsOut
from service.paper.packet import Choice

router: Final = APIRouter(prefix=ADDRESS, tags=["quotes"])
_PICTURE: Final = {
    "schema": {"type": "string"},
    "examples": {"beginning": {"value": '<svg xmlns="http://www.w3.org/2000/svg">'}},
}
_REFUSED: Final = (*TOKEN_REFUSALS, "token-too-long")


async def _asked(request: Request, token: str, question: Question) -> Finished:
    """The answer to a question about a quote's plan."""
    require_addressable(token)
    service, exchange = service_of(request), exchange_of(request)
    quoted = await read_token(service, token)
    await shown(service, exchange, quoted)
    return await about(service, exchange, pinned_to(quoted, question), quoted.spec, quoted.snapshot)


@router.get(
    "/{token}/drawings",
    operation_id="readQuotedDrawings",
    summary="Read drawings of a quote",
    responses={**refusals(*_REFUSED, "no-such-drawing"), **NOT_MODIFIED},
    response_model=DrawingsOut,
    openapi_extra=CONDITIONAL,
    dependencies=[BEARING],
)
async def read_drawings(  # noqa: PLR0913, PLR0917  # each is a parameter of the address
    request: Request,
    token: TokenPath,
    kinds: Kinds = "tunnel,elevation",
    paper: Paper = WIDTH,
    themed: Themed = False,
    drawing: Which = None,
    pixels: Pixels = 1200,  # of the address
) -> Response:
    """Answer drawings of the plan that the quote was made from; with `Accept: image/svg+xml` or `image/png` one of them."""
    media_type = negotiate.best(request, (negotiate.JSON, SVG, PNG))
    finished = await _asked(request, token, drawings_question(kinds, paper, themed=themed))
    headers = read_headers(exchange_of(request)) | {"vary": "Accept, Accept-Language"}
    if media_type != negotiate.JSON:
        finished = await picture_of(request, finished, drawing, media_type, pixels)
    return conditional(request, finished, headers | {"content-type": media_type})


@router.get(
    "/{token}/elevation.svg",
    operation_id="readQuotedElevation",
    summary="Read an elevation of a quote",
    responses={
        **refusals(*_REFUSED, "no-such-drawing"),
        **NOT_MODIFIED,
        200: {"description": "A picture", "content": {SVG: _PICTURE}},
    },
    response_class=Response,
    openapi_extra=CONDITIONAL,
    dependencies=[BEARING],
)
async def read_elevation(
    request: Request, token: TokenPath, drawing: Which = None, paper: Paper = WIDTH
) -> Response:
    """Answer the elevation of the first run, or the one that is named, as a picture for a mail or a cart."""
    negotiate.require(request, SVG)
    finished = await _asked(request, token, drawings_question("elevation", paper, themed=False))
    picture = await picture_of(request, finished, drawing, SVG, 0)
    return conditional(request, picture, read_headers(exchange_of(request)) | {"content-type": SVG})


@router.get(
    "/{token}/packet.pdf",
    operation_id="readQuotedPacket",
    summary="Read the crew's packet of a quote",
    responses={**refusals(*_REFUSED, "packet-too-long"), **NOT_MODIFIED, **ANSWER},
    response_class=Response,
    openapi_extra=CONDITIONAL,
    dependencies=[BEARING],
)
async def read_packet(
    request: Request, token: TokenPath, paper: PaperChoice = "a4", prices: Prices = False
) -> Response:
    """Answer what the crew needs on paper for the plan that the quote was made from, as a tagged PDF (PDF/UA-1)."""
    negotiate.require(request, PDF)
    question = document_question("packet", Choice(paper=paper, prices=prices))
    return await typeset(request, "packet", _asked(request, token, question))
