"""Packets and labels: a structure spec in, what the crew takes along as PDF out.

Rules of this file
------------------
- The same body as a plan, the same refusals. Finished PDFs are kept like other answers, as text in one field.
"""

from base64 import b64decode, b64encode
from collections.abc import Awaitable
from dataclasses import dataclass
from typing import Annotated, Any, Final

import orjson
from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Planning
from service.api.answers import Finished, conditional
from service.api.contract import BODY, KEYED, reads, refusals
from service.api.exchange import exchange_of, in_language
from service.api.problems import Problem
from service.api.questions import UNBUILDABLE, Question, answer_to
from service.paper.labels import LabelStock, labels
from service.paper.packet import Choice, PacketTooLong, PaperSize, packet
from service.paper.words import Words
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Spec
from service.planner.messages import say
from service.planner.plan import make_plan
from service.planner.solver.effort import Effort
from service.planner.writing import Language

router: Final = APIRouter(prefix="/v1", tags=["paper"])
PDF: Final = "application/pdf"
_REFUSED: Final = (*KEYED, *BODY, *UNBUILDABLE, "packet-too-long", "busy", "too-late", "store-away")
ANSWER: Final[dict[int | str, dict[str, Any]]] = {
    200: {"description": "A PDF", "content": {PDF: {"schema": {"type": "string", "format": "binary"}}}}
}

PaperChoice = Annotated[PaperSize, Query(description="Paper to print on")]
Size = Annotated[float, Query(ge=15, le=300, description="Of a label, or from label to label [mm]")]
Edge = Annotated[float, Query(ge=0, le=100, description="From the paper's edge to the first label [mm]")]
Prices = Annotated[bool, Query(description="Whether the order list has prices")]


@dataclass(frozen=True, slots=True)
class _Asked:
    """Which document is asked for; called with a spec it answers it."""

    wanted: Choice | LabelStock

    def __call__(
        self, spec: Spec, catalog: Catalog, revision: str, language: Language, effort: Effort
    ) -> dict[str, str]:
        """Plan a structure and typeset it."""
        plan, words = make_plan(spec, catalog, revision, language, effort), Words(language)
        if isinstance(self.wanted, Choice):
            pdf = packet(plan, words, self.wanted)
        else:
            pdf = labels(plan, words, self.wanted)
        return {"plan_id": plan["plan_id"], "pdf": b64encode(pdf).decode()}


def document_question(name: str, wanted: Choice | LabelStock) -> Question:
    """The question for a document of a plan."""
    return Question(orjson.dumps([name, repr(wanted)]), _Asked(wanted))


async def typeset(request: Request, name: str, making: Awaitable[Finished]) -> Response:
    """Answer a document as PDF.

    Raises
    ------
    Problem
        When it would have too many pages.
    """
    try:
        finished = await making
    except PacketTooLong as error:
        told = say(
            "problem.packet_too_long",
            "The document would hold {drawings} drawings and {rows} rows of marks or labels.",
            drawings=error.drawings,
            rows=error.marks,
        )
        raise Problem("packet-too-long", told) from None
    answer = orjson.loads(finished.content)
    headers = {
        **in_language(exchange_of(request).language),
        "content-type": PDF,
        "content-disposition": f'inline; filename="{name}-{answer["plan_id"]}.pdf"',
    }
    return conditional(request, Finished(content=b64decode(answer["pdf"]), etag=finished.etag), headers)


@router.post(
    "/packets",
    operation_id="makePacket",
    summary="Typeset the crew's packet",
    responses={**refusals(*_REFUSED), **ANSWER},
    response_class=Response,
    openapi_extra=reads("Spec"),
)
async def make_packet(
    request: Request,
    principal: Planning,
    paper: PaperChoice = "a4",
    prices: Prices = False,  # of the address
) -> Response:
    """Answer what the crew needs on paper, as a tagged PDF (PDF/UA-1) in the language of `Accept-Language`.

    Cautions, elevations, order list, cutting diagrams, drilling templates, marks, screws, steps with hold points to
    sign, a form for what was built, spares and care. Prices only when asked for.
    """
    negotiate.require(request, PDF)
    question = document_question("packet", Choice(paper=paper, prices=prices))
    return await typeset(request, "packet", answer_to(request, principal, question))


@router.post(
    "/labels",
    operation_id="makeLabels",
    summary="Print labels for cut pieces",
    responses={**refusals(*_REFUSED), **ANSWER},
    response_class=Response,
    openapi_extra=reads("Spec"),
)
async def make_labels(  # noqa: PLR0913, PLR0917  # each is a parameter of the address
    request: Request,
    principal: Planning,
    paper: PaperChoice = "a4",
    width: Size = 63.5,
    height: Size = 38.1,
    left: Edge = 7.2,
    top: Edge = 15.1,
    pitch_x: Size = 66.0,
    pitch_y: Size = 38.1,
) -> Response:
    """Answer sheets of labels as PDF: id, length, side up and the id as a QR code of every piece that is cut.

    The sheet of labels is given by its sizes; three by seven on A4 by default.
    """
    negotiate.require(request, PDF)
    stock = LabelStock(
        paper=paper,
        width=width,
        height=height,
        left=left,
        top=top,
        pitch_x=max(width, pitch_x),
        pitch_y=max(height, pitch_y),
    )
    if not stock.columns * stock.rows:
        raise Problem(
            "invalid-parameters",
            say("problem.no_label_fits", "No label of this size fits on the paper."),
            [
                {
                    "parameter": "width",
                    "detail": say(
                        "problem.label_too_large",
                        "with `left` it is wider than the paper, or `height` with `top` is taller",
                    ),
                }
            ],
        )
    question = document_question("labels", stock)
    return await typeset(request, "labels", answer_to(request, principal, question))
