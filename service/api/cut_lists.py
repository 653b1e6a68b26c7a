"""Cut lists: stock and demand in, proven least-cost cutting out.

Rules of this file
------------------
- The wire speaks millimetres and decimal money; the planner speaks nanometres and hundredths. They meet here.
- Stock without a price costs its length; prices are given for all stock or for none.
"""

from collections.abc import Iterator
from itertools import islice
from typing import Any, Final

import orjson
from anyio import to_thread
from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Planning
from service.api.answers import finished_answer
from service.api.bodies import JsonBody
from service.api.contract import BODY, KEYED, reads, refusals
from service.api.cut_list_shapes import CUT_LIST, CutListAnswer, CutListRequest
from service.api.desk import digest_of
from service.api.exchange import exchange_of
from service.api.pointers import MOST_FAULTS
from service.api.state import service_of
from service.api.version import VERSION
from service.planner.errors import FieldProblem, FieldsDisagree
from service.planner.fields import money_text
from service.planner.messages import say
from service.planner.solver.cuts.cut_lists import solve_cut_list
from service.planner.solver.cuts.problem import CutDemand, CutList, CutListProblem, CutStock, Pattern, Strip
from service.planner.units import from_millimetres, to_millimetres

router: Final = APIRouter(prefix="/v1/cut-lists", tags=["cutting"])

_BODY: Final = JsonBody(CUT_LIST)


def _complaints(request: CutListRequest) -> Iterator[FieldProblem]:
    """Find fields that do not go with the first stock: widths for all or none, prices for all or none."""
    first = request.stock[0]
    widths = [(f"/stock/{index}", stock.width_mm) for index, stock in enumerate(request.stock)]
    widths += [(f"/demand/{index}", piece.width_mm) for index, piece in enumerate(request.demand)]
    for place, width in widths:
        if (width is None) != (first.width_mm is None):
            yield FieldProblem(
                pointer=f"{place}/width_mm",
                detail=say("field.width_everywhere", "give a width everywhere or nowhere"),
            )
    for index, stock in enumerate(request.stock):
        if (stock.price is None) != (first.price is None):
            yield FieldProblem(
                pointer=f"/stock/{index}/price",
                detail=say("field.price_for_all", "give a price for all stock or for none"),
            )


def _width(width_mm: float | None) -> int | None:
    return None if width_mm is None else from_millimetres(width_mm)


def as_problem(request: CutListRequest) -> CutListProblem:
    """Turn what was sent into the planner's question.

    Raises
    ------
    FieldsDisagree
        When widths or prices are given for a part of the list.
    """
    complaints = tuple(islice(_complaints(request), MOST_FAULTS))
    if complaints:
        raise FieldsDisagree(
            say("problem.whole_list", "Widths and prices are given for the whole list or not at all."),
            complaints,
        )
    return CutListProblem(
        stock=tuple(
            CutStock(
                length=from_millimetres(stock.length_mm),
                width=_width(stock.width_mm),
                price=stock.price or round(stock.length_mm * 100),
                count=stock.count,
            )
            for stock in request.stock
        ),
        demand=tuple(
            CutDemand(
                length=from_millimetres(piece.length_mm), width=_width(piece.width_mm), count=piece.count
            )
            for piece in request.demand
        ),
        kerf=from_millimetres(request.kerf_mm),
        trim=request.trim_to_width,
    )


def _cuts(strip: Strip, demand: tuple[CutDemand, ...]) -> list[dict[str, Any]]:
    return [
        {"length_mm": to_millimetres(demand[cut.demand].length), "count": cut.count} for cut in strip.cuts
    ]


def _stock_row(stock: CutStock, prefix: str) -> dict[str, Any]:
    """Write the size of a stock; a stick has no width."""
    row: dict[str, Any] = {f"{prefix}length_mm": to_millimetres(stock.length)}
    return row if stock.width is None else row | {f"{prefix}width_mm": to_millimetres(stock.width)}


def _pattern(problem: CutListProblem, pattern: Pattern) -> dict[str, Any]:
    row = _stock_row(problem.stock[pattern.stock], "stock_")
    if problem.stock[pattern.stock].width is None:
        row["cuts"] = [cut for strip in pattern.strips for cut in _cuts(strip, problem.demand)]
    else:
        row["strips"] = [
            {"width_mm": to_millimetres(strip.width or 0), "cuts": _cuts(strip, problem.demand)}
            for strip in pattern.strips
        ]
    return row | {"repeat": pattern.repeat}


def as_answer(problem: CutListProblem, found: CutList) -> dict[str, Any]:
    """Write the planner's answer as plain values."""
    used = zip(problem.stock, found.stock_used, strict=True)
    return {
        "objective": money_text(found.objective),
        "lower_bound": money_text(found.lower_bound),
        "proven_optimal": found.proven_optimal,
        "stock_used": [_stock_row(stock, "") | {"count": count} for stock, count in used if count],
        "patterns": [_pattern(problem, pattern) for pattern in found.patterns],
    }


@router.post(
    "",
    operation_id="solveCutList",
    summary="Cut a demand from the cheapest stock",
    responses=refusals(
        *KEYED, *BODY, "fields-disagree", "piece-fits-no-stock", "stock-runs-out", "busy", "too-late"
    ),
    response_model=CutListAnswer,
    openapi_extra=reads("CutListRequest"),
)
async def solve(request: Request, principal: Planning) -> Response:
    """Answer patterns that cut every piece exactly once at the least price, with the bound that proves it."""
    negotiate.require(request)
    service = service_of(request)
    wanted = await _BODY.read(request, service.settings.max_body_bytes)
    units = service.settings.cut_list_units
    digest = digest_of(b"cut-list", VERSION.encode(), str(units).encode(), orjson.dumps(wanted))
    problem = await to_thread.run_sync(as_problem, wanted)
    finished = await service.desk.held(principal.dealer, digest) or await service.desk.make(
        exchange_of(request),
        principal.dealer,
        digest,
        lambda effort: as_answer(problem, solve_cut_list(problem, effort)),
        units,
    )
    return finished_answer(finished)
