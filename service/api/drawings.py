"""Drawings: a structure spec in, its plan drawn.

Rules of this file
------------------
- The same body as a plan, the same refusals. All drawings asked for come as JSON; one of them as SVG or PNG by `Accept`.
- A picture is rendered from the very text that JSON carries, so that both show the same.
"""

from dataclasses import dataclass
from typing import Annotated, Any, Final

import orjson
from fastapi import APIRouter, Query
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Shopping
from service.api.answers import Finished, etag_of, finished_answer
from service.api.contract import BODY, KEYED, reads, refusals
from service.api.exchange import exchange_of, in_language
from service.api.problems import Problem
from service.api.questions import UNBUILDABLE, Question, answer_to
from service.api.state import service_of
from service.paper.drawings import KINDS, NARROWEST, WIDEST, WIDTH, DrawingsOut, as_values, draw
from service.paper.pixels import WIDEST as WIDEST_PICTURE
from service.paper.pixels import png
from service.paper.words import Words
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Spec
from service.planner.messages import say
from service.planner.plan import make_plan
from service.planner.solver.effort import Effort
from service.planner.writing import Language

router: Final = APIRouter(prefix="/v1/drawings", tags=["paper"])
SVG: Final = "image/svg+xml"
PNG: Final = "image/png"
_ONE: Final = "|".join(KINDS)

Kinds = Annotated[
    str,
    Query(
        pattern=f"^(?:{_ONE})(?:,(?:{_ONE})){{0,{len(KINDS) - 1}}}$",
        description=f"Kinds of drawing, separated by commas: {', '.join(KINDS)}",
        examples=["elevation,cutting"],
    ),
]
Paper = Annotated[float, Query(ge=NARROWEST, le=WIDEST, description="Width of the paper [mm]")]
Themed = Annotated[
    bool,
    Query(
        description="Whether the shopper's view takes its colours from the page: `--wall-paper`, `--wall-panel`, .."
    ),
]
Which = Annotated[
    str | None,
    Query(
        pattern=r"^[a-zA-Z0-9_\-]{1,60}$",
        description="Id of the drawing that is answered as a picture; the first by default",
    ),
]
Pixels = Annotated[int, Query(ge=100, le=WIDEST_PICTURE, description="Width of a PNG [px]")]


@dataclass(frozen=True, slots=True)
class _Asked:
    """Which drawings are asked for; called with a spec it answers them."""

    kinds: str
    width: float
    themed: bool

    def __call__(
        self, spec: Spec, catalog: Catalog, revision: str, language: Language, effort: Effort
    ) -> DrawingsOut:
        """Plan a structure and draw it."""
        plan = make_plan(spec, catalog, revision, language, effort)
        drawings = draw(plan, self.kinds.split(","), Words(language), self.width, themed=self.themed)
        return as_values(plan, drawings)


def drawings_question(kinds: str, paper: float, *, themed: bool) -> Question:
    """The question for drawings of a plan."""
    return Question(orjson.dumps(["drawings", kinds, paper, themed]), _Asked(kinds, paper, themed))


@router.post(
    "",
    operation_id="makeDrawings",
    summary="Draw a shin wall",
    responses=refusals(*KEYED, *BODY, *UNBUILDABLE, "no-such-drawing", "busy", "too-late", "store-away"),
    response_model=DrawingsOut,
    openapi_extra=reads("Spec"),
)
async def make_drawings(  # noqa: PLR0913, PLR0917  # each is a parameter of the address
    request: Request,
    principal: Shopping,
    kinds: Kinds = "tunnel,elevation",
    paper: Paper = WIDTH,
    themed: Themed = False,
    drawing: Which = None,
    pixels: Pixels = 1200,  # of the address
) -> Response:
    """Answer drawings of the plan of a structure.

    The shopper's view of the tunnel, elevations of the runs, cutting diagrams, drilling templates, sections of the
    fastenings and details. With `Accept: image/svg+xml` or `image/png` one of them.
    """
    media_type = negotiate.best(request, (negotiate.JSON, SVG, PNG))
    finished = await answer_to(request, principal, drawings_question(kinds, paper, themed=themed))
    spoken = in_language(exchange_of(request).language)
    if media_type == negotiate.JSON:
        return finished_answer(finished, spoken)
    picture = await picture_of(request, finished, drawing, media_type, pixels)
    return Response(picture.content, 200, {**spoken, "etag": picture.etag}, media_type)


async def picture_of(
    request: Request, finished: Finished, drawing: str | None, media_type: str, pixels: int
) -> Finished:
    """One of the drawings of an answer, as SVG or PNG."""
    svg = _chosen(orjson.loads(finished.content), drawing)["svg"]
    content = svg.encode()
    if media_type == PNG:
        content = await service_of(request).desk.rendered(exchange_of(request), lambda: png(svg, pixels))
    return Finished(content=content, etag=etag_of(content))


def _chosen(answer: dict[str, Any], name: str | None) -> dict[str, Any]:
    """Choose the drawing that is asked for.

    Raises
    ------
    Problem
        When there is none of that name.
    """
    for drawing in answer["drawings"]:
        if name in {None, drawing["id"]}:
            found: dict[str, Any] = drawing
            return found
    names = [drawing["id"] for drawing in answer["drawings"]]
    raise Problem(
        "no-such-drawing",
        say("problem.no_such_drawing", "The plan has no drawing of this id among the kinds asked for."),
        [
            {
                "parameter": "drawing",
                "detail": say("field.no_drawing", "is not the id of a drawing"),
                "allowed": names[:50],
            }
        ],
    )
