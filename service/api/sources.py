"""What the rules, formulae and tables of the planner rest on.

Rules of this file
------------------
- The rows are the planner's own table; nothing is added here.
"""

from dataclasses import asdict
from typing import Final

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
from service.planner.sources import SOURCES, Source

router: Final = APIRouter(prefix="/v1/sources", tags=["reference"])
_CONTENT: Final = orjson.dumps({"sources": [asdict(source) for source in SOURCES]})
_ANSWER: Final = Finished(content=_CONTENT, etag=etag_of(_CONTENT))
_CACHE: Final = {"cache-control": "public, max-age=3600"}


@documented
class SourceList(TypedDict):
    """Everything that the planner rests on."""

    sources: list[Source]
    """By subject"""


@router.get(
    "",
    operation_id="listSources",
    summary="List what the rules and figures rest on",
    dependencies=[PUBLIC],
    responses={**refusals(), **NOT_MODIFIED},
    openapi_extra=CONDITIONAL,
    response_model=SourceList,
)
async def list_sources(request: Request) -> Response:
    """Answer every source with its edition, its clause and how certainly it is known."""
    negotiate.require(request)
    return conditional(request, _ANSWER, _CACHE)
