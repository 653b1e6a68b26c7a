"""The pages that problem types lead to: what each kind means and what to do.

Rules of this file
------------------
- The address of a kind is the `type` of its problems; the pages are the rows of `problems.KINDS`.
"""

from typing import Annotated, Final

import orjson
from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import Response
from typing_extensions import TypedDict

from service.api import negotiate
from service.api.access import PUBLIC
from service.api.answers import Finished, conditional, etag_of
from service.api.contract import CONDITIONAL, NOT_MODIFIED, refusals
from service.api.exchange import exchange_of, in_language
from service.api.models import documented
from service.api.problems import KINDS, Kind, Problem, type_of
from service.api.state import service_of
from service.planner.messages import say
from service.planner.writing import Writer

router: Final = APIRouter(prefix="/problems", tags=["problems"])
Slug = Annotated[
    str,
    Path(
        pattern=r"^[a-z\-]{1,40}$", description="Last part of a problem's type", examples=["invalid-fields"]
    ),
]
_CACHE: Final = {"cache-control": "public, max-age=3600"}


@documented
class KindPage(TypedDict):
    """A kind of problem."""

    type: str
    """The `type` of its problems"""
    status: int
    """HTTP status"""
    title: str
    """Its title, the same every time"""
    meaning: str
    """When it is answered"""
    remedy: str
    """What the caller can do"""


@documented
class KindList(TypedDict):
    """Every kind of problem."""

    problems: list[KindPage]
    """In the order of their status"""


def _page(kind: Kind, base: str, writer: Writer) -> KindPage:
    return {
        "type": type_of(kind, base),
        "status": kind.status,
        "title": writer.text(kind.title),
        "meaning": writer.text(kind.meaning),
        "remedy": writer.text(kind.remedy),
    }


def _answer(request: Request, value: object) -> Response:
    negotiate.require(request)
    content = orjson.dumps(value)
    headers = _CACHE | in_language(exchange_of(request).language)
    return conditional(request, Finished(content=content, etag=etag_of(content)), headers)


@router.get(
    "",
    operation_id="listProblems",
    summary="List every kind of problem",
    dependencies=[PUBLIC],
    responses={**refusals(), **NOT_MODIFIED},
    openapi_extra=CONDITIONAL,
    response_model=KindList,
)
async def list_problems(request: Request) -> Response:
    """Answer all kinds, by status."""
    base = service_of(request).settings.public_url
    writer = Writer(exchange_of(request).language)
    return _answer(request, {"problems": [_page(kind, base, writer) for kind in KINDS.values()]})


@router.get(
    "/{slug}",
    operation_id="explainProblem",
    summary="Explain a kind of problem",
    dependencies=[PUBLIC],
    responses={**refusals("not-found"), **NOT_MODIFIED},
    openapi_extra=CONDITIONAL,
    response_model=KindPage,
)
async def explain_problem(request: Request, slug: Slug) -> Response:
    """Answer what a kind of problem means and what to do."""
    if slug not in KINDS:
        raise Problem("not-found", say("problem.no_kind", "There is no such kind of problem."))
    writer = Writer(exchange_of(request).language)
    return _answer(request, _page(KINDS[slug], service_of(request).settings.public_url, writer))
