"""Plans: a structure spec in, a complete buildable plan out.

Rules of this file
------------------
- What is the same for every question about a spec stands in `questions.py`; which parts are asked for in `parts.py`.
"""

from typing import Final

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.api.access import Shopping
from service.api.contract import BODY, KEYED, reads, refusals
from service.api.parts import Parts, PlanAnswer, plan_question, read_parts
from service.api.questions import UNBUILDABLE, ask
from service.planner.answer.shapes import PARTS

router: Final = APIRouter(prefix="/v1/plans", tags=["plans"])
PLAN: Final = plan_question(PARTS)


@router.post(
    "",
    operation_id="makePlan",
    summary="Plan a shin wall",
    responses=refusals(*KEYED, *BODY, *UNBUILDABLE, "busy", "too-late", "store-away"),
    response_model=PlanAnswer,
    openapi_extra=reads("Spec"),
)
async def plan(request: Request, principal: Shopping, parts: Parts = None) -> Response:
    """Answer layout, cutting, bill of materials, fastener schedule, order of work and checks of one structure.

    A failed check or an uneconomic choice is an answer. A spec that cannot be built is refused, with the support, the
    stock or the limit that prevents it, and a spec nearby that can be built. Where only some parts are wanted, only
    they are computed.
    """
    return await ask(request, principal, plan_question(read_parts(parts)))
