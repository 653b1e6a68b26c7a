"""Batches over HTTP: a bid list in, an answer a structure out while the list is still being sent.

Rules of this file
------------------
- What is wrong with the request as a whole is a problem before the first line; what is wrong with a line is in its line.
- Input, planning and output run side by side; each waits for the next when it is full, and all stop when the caller goes.
- The answer is a response of its own, since reading the request and writing the answer overlap.
"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import aclosing
from functools import partial
from typing import Annotated, Any, Final, cast

import structlog
from fastapi import APIRouter, Query
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.types import Receive, Send
from starlette.types import Scope as Connection

from service.api import negotiate
from service.api.access import PUBLIC, WINDOW, Planning, Principal, require_scope
from service.api.contract import KEYED, refusals
from service.api.exchange import exchange_of
from service.api.problems import PARAMETERS, Problem
from service.api.questions import catalog_for
from service.api.state import Service, service_of
from service.batch import writing
from service.batch.combining import Basket
from service.batch.inflow import Inflow
from service.batch.planner import Wanted
from service.batch.pool import Planners
from service.batch.records import Record, Refused, read_json, records, split
from service.batch.spool import Spool
from service.batch.stream import Asker, Batch
from service.planner.answer.shapes import PARTS, Part
from service.planner.messages import say
from service.settings import Settings
from service.store.contract import RateLimit, Scope, Snapshot

CSV: Final = "text/csv"
JSON_LINES: Final = ("application/jsonl", "application/x-ndjson")
"""The two names under which JSON Lines are known"""
SLICE: Final = 64
"""Structures that are counted at a time [-]"""
router: Final = APIRouter(prefix="/v1/batches", tags=["batches"])
log = structlog.get_logger("shin_wall.batch")


def media_type_of(request: Request) -> str:
    """Tell what the body is, or refuse it."""
    sent = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    offered = (*JSON_LINES, CSV)
    if sent not in offered:
        listed = ", ".join(offered)
        raise Problem(
            "unsupported-media-type",
            say("batch.media_type", "Send the bid list as {offered}.", offered=offered),
            headers={"accept-post": listed},
        )
    if request.headers.get("content-encoding", "identity").lower() != "identity":
        raise Problem(
            "unsupported-media-type",
            say("problem.no_coding", "Send the body without a content coding."),
            headers={"accept-encoding": "identity"},
        )
    return sent


def answer_type_of(request: Request, sent: str) -> str:
    """Choose how to answer: as asked, and as the list was sent where all are as welcome."""
    accept = request.headers.get("accept", "*/*")[:2000] or "*/*"
    weights = {offered: negotiate.weight(accept, offered) for offered in (sent, *JSON_LINES, CSV)}
    best = max(weights, key=weights.__getitem__)
    if not weights[best]:
        raise Problem(
            "not-acceptable",
            say("batch.answered_as", "A batch is answered as {offered}.", offered=(*JSON_LINES, CSV)),
        )
    return best


def wanted_of(request: Request, principal: Principal, parts: str | None) -> Wanted:
    """Say what is wanted of every structure, and what each may take."""
    return Wanted(
        parts=parts_of(parts),
        language=exchange_of(request).language,
        units=service_of(request).settings.line_units,
        tiers=principal.tiers,
    )


def basket_of(request: Request, principal: Principal, wanted: Wanted) -> Basket:
    """Begin the order that a list is to end in, where the key may make one."""
    require_scope(principal, Scope.ORDER)
    service = service_of(request)
    day = service.now().date().isoformat()
    return Basket(wanted=wanted, day=day, units=service.settings.order_units)


def parts_of(asked: str | None) -> tuple[Part, ...]:
    """Read the parts of a plan that each line is to hold."""
    named = (asked or "summary").split(",")
    unknown = [part for part in dict.fromkeys(named) if part not in PARTS]
    if unknown:
        found = [
            {
                "parameter": "parts",
                "detail": say("batch.no_part", "{part} is no part of a plan", part=repr(part[:40])),
                "allowed": list(PARTS),
            }
            for part in unknown[:5]
        ]
        raise Problem("invalid-parameters", PARAMETERS, found)
    return tuple(part for part in PARTS if part in named)


Parts = Annotated[
    str | None,
    Query(
        max_length=200,
        description="Parts of a plan that each line holds, parted by commas; `summary` by default",
    ),
]
Combine = Annotated[
    bool,
    Query(
        description="Whether the list ends in one order; asks for the scope `order`, and 500 lines at most"
    ),
]
_LINE: Final = '{"id": "north-1", "spec": {"structure": {"bays": 12, "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "8 mm"}}}\n'
_ANSWER: Final = (
    '{"index": 0, "row": 1, "id": "north-1", "reference": "", "status": 200, "outcome": "caution", "total": "915.75", ..}\n'
    '{"summed_up": {"structures": 1, "planned": 1, "refused": 0, "repeated": 0, "totals": {"USD": "915.75"}, ..}}\n'
)


def _documented(lines: str, table: str) -> dict[str, Any]:
    """Document a list in each of its media types, with an example; it is read and written line by line."""
    examples = {**dict.fromkeys(JSON_LINES, lines), CSV: table}
    return {
        name: {"schema": {"type": "string"}, "examples": {"demo": {"value": example}}}
        for name, example in examples.items()
    }


DOCUMENTED: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": _documented(_LINE, "id,bays,bay_spacing_ft,panel_thickness_mm\r\nnorth-1,12,4,8\r\n"),
    }
}
"""Documents the list that a batch reads"""
ANSWERED: Final[dict[int | str, dict[str, Any]]] = {
    200: {
        "description": "A line a structure, and one that sums up",
        "content": _documented(_ANSWER, ",".join(writing.RESULT)),
    }
}
"""Documents the lines that it answers"""
TEMPLATE: Final[dict[int | str, dict[str, Any]]] = {
    200: {
        "description": "The columns and an example",
        "content": {
            CSV: {"schema": {"type": "string"}, "examples": {"demo": {"value": "id,bays,bay_spacing_mm, .."}}}
        },
    }
}
"""Documents the template"""


def planners_of(request: Request) -> Planners:
    """The planner processes of this worker."""
    return cast("Planners", request.scope["state"]["planners"])


class BatchAnswer(Response):
    """An answer that is written while its request is still being read.

    Parameters
    ----------
    batch
        The batch.
    found
        Its structures as they come.
    inflow
        Where they come from.
    planners
        Where the batch is counted while it runs.
    spool
        What is answered and not yet fetched.
    """

    def __init__(
        self,
        batch: Batch,
        found: AsyncIterator[list[Record | Refused]],
        inflow: Inflow,
        planners: Planners,
        spool: Spool,
    ) -> None:
        super().__init__(media_type=f"{batch.answered_as}; charset=utf-8")
        del self.headers["content-length"]
        self._batch = batch
        self._found = found
        self._inflow = inflow
        self._planners = planners
        self._spool = spool

    async def __call__(self, scope: Connection, receive: Receive, send: Send) -> None:  # noqa: ARG002  # the protocol's
        """Run the batch and send its answers as they are made."""
        working = asyncio.create_task(self._work())
        try:
            await send({"type": "http.response.start", "status": 200, "headers": self.raw_headers})
            while content := await self._spool.get():
                await send({"type": "http.response.body", "body": content, "more_body": True})
            await working
            await send({"type": "http.response.body", "body": b"", "more_body": False})
        except ClientDisconnect:
            log.info("caller_left_batch", structures=self._batch.tally.structures)
        finally:
            self._planners.batches[self._batch.dealer] -= 1
            working.cancel()
            self._inflow.close()
            self._spool.close()

    async def _work(self) -> None:
        """Put answers on the spool until all are there or the caller has gone."""
        filling = asyncio.create_task(self._fill())
        leaving = asyncio.create_task(self._inflow.gone.wait())
        try:
            await asyncio.wait({filling, leaving}, return_when=asyncio.FIRST_COMPLETED)
            if not filling.done():
                raise ClientDisconnect
            await filling
        finally:
            filling.cancel()
            leaving.cancel()
            await self._spool.end()

    async def _fill(self) -> None:
        form = writing.FORMS[self._batch.answered_as]
        await self._spool.put(form.first())
        async with aclosing(self._batch.answers(self._found)) as answers:
            async for answered in answers:
                await self._spool.put(form.line(answered))
        await self._spool.put(form.order(await self._batch.order()))
        await self._spool.put(form.last(self._batch.tally.summed_up()))


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


async def in_turn(
    service: Service,
    principal: Principal,
    first: list[Record | Refused],
    rest: AsyncIterator[list[Record | Refused]],
) -> AsyncIterator[list[Record | Refused]]:
    """Count structures against what the key may plan, and wait where that is used up."""
    usual = RateLimit(units=service.settings.structure_limit, window_s=WINDOW)
    limit = (principal.key and principal.key.structures) or usual
    bucket = f"structures:{principal.key.digest if principal.key else 'open'}"
    found: list[Record | Refused] | None = first
    while found is not None:
        size = min(SLICE, limit.units)
        for begin in range(0, len(found), size):
            part = found[begin : begin + size]
            wait = 1.0
            while wait:
                told = await service.store.count(principal.dealer, bucket, limit, units=len(part))
                wait = 0.0 if told.allowed else min(1.0, max(0.05, told.retry_after_s))
                await asyncio.sleep(wait)
            yield part
        found = await anext(rest, None)


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
