"""Alternatives: what else the catalog allows for the same structure.

Rules of this file
------------------
- The same body as a plan, the same refusals; the answer is a short list of which none is worse in every respect.
"""

from typing import Final

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.api.access import Shopping
from service.api.contract import BODY, KEYED, reads, refusals
from service.api.questions import UNBUILDABLE, Question, ask
from service.planner.alternatives import Alternatives, find_alternatives

router: Final = APIRouter(prefix="/v1/alternatives", tags=["plans"])
ALTERNATIVES: Final = Question(
    b"alternatives",
    lambda spec, catalog, _revision, language, effort: find_alternatives(spec, catalog, effort, language),
    lambda settings: settings.alternatives_units,
)


@router.post(
    "",
    operation_id="findAlternatives",
    summary="Compare what else the catalog allows",
    responses=refusals(*KEYED, *BODY, *UNBUILDABLE, "busy", "too-late", "store-away"),
    response_model=Alternatives,
    openapi_extra=reads("Spec"),
)
async def find(request: Request, principal: Shopping) -> Response:
    """Answer ways to build the wall that are not worse in cost, joints, waste and longest piece all at once.

    Each says which fields of the request to change, and in words what it saves.
    """
    return await ask(request, principal, ALTERNATIVES)
