"""Batches over HTTP: a bid list in, an answer a structure out while the list is still being sent.

Rules of this file
------------------
- What is wrong with the request as a whole is a problem before the first line; what is wrong with a line is in its line.
- A worker takes so many batches at once, and fewer of one dealer.
"""

from functools import partial
from typing import Any, Final, cast

from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import PUBLIC, Planning
from service.api.contract import KEYED, refusals
from service.api.problems import Problem
from service.api.questions import catalog_for
from service.api.state import Service, service_of
from service.batch import writing
from service.batch.answering import BatchAnswer
from service.batch.asking import (
    CSV,
    Combine,
    Parts,
    answer_type_of,
    basket_of,
    in_turn,
    media_type_of,
    wanted_of,
)
from service.batch.documented import ANSWERED, DOCUMENTED, TEMPLATE
from service.batch.inflow import Inflow
from service.batch.pool import Planners
from service.batch.records import Record, Refused, read_json, records, split
from service.batch.spool import Spool
from service.batch.stream import Asker, Batch
from service.planner.messages import say
from service.settings import Settings
from service.store.contract import Snapshot

router: Final = APIRouter(prefix="/v1/batches", tags=["batches"])


def planners_of(request: Request) -> Planners:
    """The planner processes of this worker."""
    return cast("Planners", request.scope["state"]["planners"])


@router.post(
    "",
    operation_id="makeBatch",
    summary="Plan a bid list",
    responses={
        **ANSWERED,
        **refusals(*KEYED, "malformed-request", "unsupported-media-type", "bid-list-unreadable", "busy"),
    },
    openapi_extra=DOCUMENTED,
    response_class=Response,
)
async def make_batch(
    request: Request, principal: Planning, parts: Parts = None, combine: Combine = False
) -> Response:
    """Answer a line a structure, in the order of the list, while the list is still being sent; the last line sums up.

    JSON Lines hold a structure spec a line, or `{"id": .., "spec": {..}}`. CSV names its columns in the first row, see the
    template. One line that cannot be planned has its problem in its place and never stops the rest. With `combine` the line
    before the last is the order of all that could be planned, as `POST /v1/orders` would make it.
    """
    service, planners = service_of(request), planners_of(request)
    sent = media_type_of(request)
    answered_as, wanted = answer_type_of(request, sent), wanted_of(request, principal, parts)
    basket = basket_of(request, principal, wanted) if combine else None
    _take_room(planners, principal.dealer, service.settings)
    most, room = service.settings.max_body_bytes, service.settings.batch_spool_bytes
    read_line = None if sent == CSV else partial(read_json, most=most)
    inflow = Inflow(request.receive, service.settings.batch_idle_seconds, room)
    found = records(split(inflow.chunks(), most), read_line, most)
    try:
        first: list[Record | Refused] = await anext(
            found, []
        )  # a header that cannot be read is a problem of the request
    except BaseException:
        inflow.close()
        planners.batches[principal.dealer] -= 1
        raise
    asker = Asker(dealer=principal.dealer, basket=basket)
    batch = Batch(planners, partial(_catalog, service, principal.dealer), wanted, answered_as, asker)
    return BatchAnswer(batch, in_turn(service, principal, first, found), inflow, planners, Spool(room))


def _take_room(planners: Planners, dealer: str, settings: Settings) -> None:
    """Count a batch in; refuse one more than the worker takes, or takes from one dealer."""
    wait = {"retry-after": "10"}
    if planners.batches[dealer] >= settings.dealer_batches:
        raise Problem(
            "rate-limited",
            say(
                "batch.dealer_running",
                "{batches} batches of this dealer are running.",
                batches=settings.dealer_batches,
            ),
            headers=wait,
        )
    if planners.batches.total() >= settings.batches:
        raise Problem(
            "busy",
            say("batch.worker_full", "As many batches as this worker takes are running."),
            headers=wait,
        )
    planners.batches[dealer] += 1


async def _catalog(service: Service, dealer: str, named: tuple[str, str | None]) -> Snapshot[Any]:
    """Find the catalog that a structure asks for."""
    return await catalog_for(service, dealer, *named)


@router.get(
    "/template.csv",
    operation_id="readBatchTemplate",
    summary="Read the columns of a bid list",
    dependencies=[PUBLIC],
    responses={**TEMPLATE, **refusals()},
    response_class=Response,
)
async def template(request: Request) -> Response:
    """Answer a CSV file that names every column in its first row and holds one structure of the demo in its second.

    Columns of lengths end in their unit: `_mm`, `_cm`, `_m`, `_in` or `_ft`. With semicolons between the cells a comma is the
    decimal mark. Lists are numbered: `opening_1_side`, `opening_2_side` and so on.
    """
    negotiate.require(request, CSV)
    return Response(writing.template(), media_type=f"{CSV}; charset=utf-8")
