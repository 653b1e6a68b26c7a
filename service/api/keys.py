"""The public keys of quotes, so that anybody verifies one without asking.

Rules of this file
------------------
- Any page and any program may read them, across origins too; there is nothing else here.
"""

from typing import Any, Final

import orjson
from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response
from typing_extensions import TypedDict

from service.api import negotiate
from service.api.access import PUBLIC
from service.api.answers import Finished, conditional, etag_of
from service.api.contract import CONDITIONAL, NOT_MODIFIED, refusals
from service.api.models import documented
from service.api.state import service_of
from service.sales.keys import published

router: Final = APIRouter(tags=["quotes"])
_HEADERS: Final = {
    "cache-control": "public, max-age=300",
    "access-control-allow-origin": "*",
    "cross-origin-resource-policy": "cross-origin",
}


@documented
class KeySet(TypedDict):
    """A JWK set (RFC 7517, section 5)."""

    keys: list[dict[str, Any]]
    """Public Ed25519 keys (RFC 8037), each with `kid`, its thumbprint, and `alg`; the first one signs"""


@router.get(
    "/.well-known/jwks.json",
    operation_id="readKeys",
    summary="Read the public keys of quotes",
    responses={**refusals("store-away"), **NOT_MODIFIED},
    response_model=KeySet,
    openapi_extra=CONDITIONAL,
    dependencies=[PUBLIC],
)
async def read_keys(request: Request) -> Response:
    """Answer every key that a quote may be signed with; a key goes when its last quote has ended."""
    negotiate.require(request)
    content = orjson.dumps(published(await service_of(request).signing.ring()))
    return conditional(request, Finished(content=content, etag=etag_of(content)), _HEADERS)
