"""The contract, served by the service that keeps it.

Rules of this file
------------------
- The document is written once, at the first request, and kept as bytes.
"""

from typing import Final

import orjson
from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import PUBLIC
from service.api.answers import Finished, conditional, etag_of
from service.api.contract import CONDITIONAL, NOT_MODIFIED, refusals

router: Final = APIRouter(tags=["reference"])
_CACHE: Final = {"cache-control": "public, max-age=300"}


@router.get(
    "/openapi.json",
    operation_id="readContract",
    summary="Read the contract",
    dependencies=[PUBLIC],
    responses={**refusals(), **NOT_MODIFIED},
    openapi_extra=CONDITIONAL,
    response_model=dict[str, object],
)
async def read_contract(request: Request) -> Response:
    """Answer this document."""
    negotiate.require(request)
    held: Finished | None = getattr(request.app.state, "contract", None)
    if held is None:
        content = orjson.dumps(request.app.openapi())
        held = request.app.state.contract = Finished(content=content, etag=etag_of(content))
    return conditional(request, held, _CACHE)
