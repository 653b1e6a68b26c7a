"""Jobs over HTTP: a bid list that outgrows a request, planned by workers of their own while its caller does something else.

Rules of this file
------------------
- A list is received whole before any of it is planned; what is wrong with it as a whole is a problem and leaves nothing behind.
- A job belongs to its dealer: for any other key it does not exist.
- Results come in the order of the list, from the first chunk on, and follow the work while it runs.
"""

import asyncio
from collections.abc import AsyncIterator
from functools import partial
from typing import Annotated, Any, Final, cast

import orjson
from anyio.to_thread import run_sync
from fastapi import APIRouter, Path
from redis.exceptions import RedisError
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from service.api import negotiate
from service.api.access import Planning
from service.api.answers import json_answer
from service.api.contract import KEYED, refusals
from service.api.problems import Problem
from service.api.questions import catalog_for
from service.api.state import Service, service_of
from service.batch import routes, writing
from service.batch.combining import too_many
from service.batch.ledger import Ledger
from service.batch.planner import Wanted, refused
from service.batch.queue import Queue
from service.batch.records import Record, Refused, read_json, records, split
from service.batch.stream import Asker
from service.planner.fields import money_text
from service.planner.messages import say

CHUNK_SECONDS: Final = 2.0
"""How much work a chunk of a job is meant to be [s]"""
LONGEST_CHUNK: Final = 200
"""Structures of a job's chunk at most [-]"""
POLL: Final = 0.25
"""How often results that are not there yet are looked for [s]"""
router: Final = APIRouter(prefix="/v1/jobs", tags=["batches"])
JobId = Annotated[str, Path(pattern=r"^[A-Za-z0-9_\-]{22}$", description="The job's id")]
_EXAMPLE: Final = {
    "id": "Q2hhcGVsIFN0cmVldCA0Mg", "state": "running", "structures": 10000, "done": 2500, "refused": 3, "rate_per_s": 210.4,
    "seconds_left": 35.6, "totals": {"USD": "2288375.00"}, "outcomes": {"pass": 1800, "caution": 697},
    "results": "/v1/jobs/Q2hhcGVsIFN0cmVldCA0Mg/results",
}  # fmt: skip
_TOLD: Final = {"application/json": {"schema": {"type": "object"}, "examples": {"demo": {"value": _EXAMPLE}}}}
ACCEPTED: Final[dict[int | str, dict[str, Any]]] = {
    202: {
        "description": "Received; workers begin",
        "content": _TOLD,
        "headers": {
            "Location": {
                "description": "Where the job is told of",
                "required": True,
                "schema": {"type": "string"},
            }
        },
    }
}
"""Documents that a job was received"""


def queue_of(request: Request) -> Queue:
    """The queue, or say what to configure where there is none."""
    queue = cast("Queue | None", request.scope["state"]["queue"])
    if queue is None:
        detail = say(
            "job.no_queue",
            "Jobs need a queue: set SHIN_WALL_QUEUE_URL to a Redis of its own and start workers; batches work without.",
        )
        raise Problem("no-queue", detail)
    return queue


async def _asked(call: Any) -> Any:  # noqa: ANN401  # any call of the ledger, and what it gives
    """Ask the ledger in a thread; a server that is away is a problem of its own."""
    try:
        return await run_sync(call)
    except RedisError:
        raise Problem(
            "queue-away",
            say("job.queue_away", "The queue's server does not answer."),
            headers={"retry-after": "5"},
        ) from None


@router.post(
    "",
    operation_id="makeJob",
    summary="Plan a bid list in the background",
    status_code=202,
    responses={
        **ACCEPTED,
        **refusals(
            *KEYED,
            "malformed-request",
            "unsupported-media-type",
            "bid-list-unreadable",
            "body-too-large",
            "limit-reached",
            "too-much-work",
            "no-queue",
            "queue-away",
        ),
    },
    openapi_extra=routes.DOCUMENTED,
    response_class=Response,
)
async def make_job(
    request: Request, principal: Planning, parts: routes.Parts = None, combine: routes.Combine = False
) -> Response:
    """Receive a bid list as a batch does, and answer where its progress and its results will be.

    The same lines, columns and `combine` as for a batch; results are kept for a day unless the operator says otherwise.
    """
    service, queue = service_of(request), queue_of(request)
    sent = routes.media_type_of(request)
    wanted = routes.wanted_of(request, principal, parts)
    basket = routes.basket_of(request, principal, wanted) if combine else None
    asker = Asker(dealer=principal.dealer, basket=basket)
    if await _asked(partial(queue.ledger.running, principal.dealer)) >= service.settings.jobs:
        raise Problem(
            "limit-reached",
            say(
                "job.running",
                "{jobs} jobs of this dealer are running; wait for one or cancel it.",
                jobs=service.settings.jobs,
            ),
        )
    job = await _asked(partial(queue.ledger.begin, principal.dealer))
    most = service.settings.max_body_bytes
    found = records(
        split(request.stream(), most), None if sent == routes.CSV else partial(read_json, most=most), most
    )
    try:
        counted = routes.in_turn(service, principal, await anext(found, []), found)
        chunks = await _Receiving(service, queue.ledger, job, wanted, asker).receive(counted)
        await _asked(partial(queue.start, principal.dealer, job, chunks))
    except BaseException:
        await run_sync(queue.ledger.cancel, principal.dealer, job)
        raise
    told = await _asked(partial(_told, queue.ledger, principal.dealer, job))
    return json_answer(told, 202, {"location": f"/v1/jobs/{job}"})


class _Receiving:
    """Takes a list in, chunk by chunk.

    Parameters
    ----------
    service, ledger, job
        Where from and where to.
    wanted
        What is wanted of every structure.
    asker
        For whom.
    """

    def __init__(
        self, service: Service, ledger: Ledger, job: str, wanted: Wanted, asker: Asker
    ) -> None:  # one request's circumstances
        self._service, self._ledger, self._job = service, ledger, job
        self._wanted, self._dealer, self._basket = wanted, asker.dealer, asker.basket
        self._lines: list[dict[str, Any]] = []
        self._catalogs: dict[str, list[str]] = {}
        self._chunks = self._received = 0

    async def receive(self, found: AsyncIterator[list[Record | Refused]]) -> int:
        """Keep every line and give the number of chunks."""
        size = await _asked(partial(self._ledger.chunk_size, CHUNK_SECONDS, LONGEST_CHUNK))
        async for some in found:
            for record in some:
                self._lines.append(await self._line(record))
                if len(self._lines) >= size:
                    await self._keep()
        await self._keep()
        if self._basket is not None and self._chunks:
            order = {"lines": [], "order": self._basket.as_values()}
            await _asked(partial(self._ledger.add, self._job, self._chunks, order, {}))
            self._chunks += 1
        return self._chunks

    async def _line(self, record: Record | Refused) -> dict[str, Any]:
        """Write a line as the ledger keeps it, its catalog found now, so that later revisions do not change the job."""
        head = writing.head_of(self._received, record)
        self._received += 1
        if self._received > self._service.settings.job_structures:
            raise Problem(
                "limit-reached",
                say(
                    "job.most_structures",
                    "A job may have {most} structures.",
                    most=self._service.settings.job_structures,
                ),
            )
        if self._basket is not None:
            self._basket.lines += 1
            if self._basket.full:
                raise too_many()
        problem = record.problem if isinstance(record, Refused) else None
        if isinstance(record, Record):
            try:
                catalog = await catalog_for(self._service, self._dealer, *record.catalog)
            except Problem as missing:
                problem = missing
            else:
                if self._basket is not None:
                    self._basket.add(record, catalog)
                self._catalogs[catalog.revision] = [
                    catalog.catalog_id,
                    catalog.revision,
                    catalog.document.decode(),
                ]
                return {
                    "head": head,
                    "body": record.body.decode(),
                    "revision": catalog.revision,
                    "refused": None,
                }
        assert problem is not None  # noqa: S101  # one of the two it is
        return {
            "head": head,
            "body": None,
            "revision": None,
            "refused": refused(problem, self._wanted.language).decode(),
        }

    async def _keep(self) -> None:
        """Hand a chunk to the ledger."""
        if self._lines:
            chunk = {"lines": self._lines, "wanted": self._wanted.as_values()}
            held = await _asked(partial(self._ledger.add, self._job, self._chunks, chunk, self._catalogs))
            if held > self._service.settings.job_bytes:
                raise Problem(
                    "limit-reached",
                    say(
                        "job.most_bytes",
                        "A job may hold {most} bytes.",
                        most=self._service.settings.job_bytes,
                    ),
                )
            self._lines, self._chunks = [], self._chunks + 1


def _told(ledger: Ledger, dealer: str, job: str) -> dict[str, Any]:
    """Tell how a job is going.

    Raises
    ------
    Problem
        When the dealer has no such job.
    """
    held = ledger.told(dealer, job)
    if held is None:
        raise Problem("not-found", say("job.none", "There is no such job."))
    done, structures = int(held.get("done", 0)), int(held["structures"])
    ended = float(held["ended"]) if "ended" in held else ledger.now()
    seconds = ended - float(held.get("started", ended))
    rate = done / seconds if seconds > 0 and done else None
    return {
        "id": job,
        "state": held["state"],
        "structures": structures,
        "done": done,
        "refused": int(held.get("refused", 0)),
        "rate_per_s": rate and round(rate, 2),
        "seconds_left": rate and round((structures - done) / rate, 1),
        "totals": {
            name[6:]: money_text(int(sum_))
            for name, sum_ in sorted(held.items())
            if name.startswith("total:")
        },
        "outcomes": {
            name[8:]: int(count) for name, count in sorted(held.items()) if name.startswith("outcome:")
        },
        "results": f"/v1/jobs/{job}/results",
    }


@router.get(
    "/{job}",
    operation_id="readJob",
    summary="Read how a job is going",
    responses={
        200: {"description": "Its progress", "content": _TOLD},
        **refusals(*KEYED, "not-found", "no-queue", "queue-away"),
    },
    response_class=Response,
)
async def read_job(request: Request, principal: Planning, job: JobId) -> Response:
    """Answer how many structures are done and refused, the rate, and when the rest will be done at this rate."""
    negotiate.require(request)
    return json_answer(await _asked(partial(_told, queue_of(request).ledger, principal.dealer, job)))


@router.get(
    "/{job}/results",
    operation_id="readJobResults",
    summary="Read a job's results",
    responses={**routes.ANSWERED, **refusals(*KEYED, "not-found", "no-queue", "queue-away")},
    response_class=Response,
)
async def read_results(request: Request, principal: Planning, job: JobId) -> Response:
    """Answer a line a structure, in the order of the list, following the work while it runs; the last line sums up."""
    ledger = queue_of(request).ledger
    held = await _asked(partial(_told, ledger, principal.dealer, job))
    answered_as = routes.answer_type_of(request, routes.JSON_LINES[0])
    return StreamingResponse(
        _results(ledger, principal.dealer, held["id"], answered_as),
        media_type=f"{answered_as}; charset=utf-8",
    )


async def _results(ledger: Ledger, dealer: str, job: str, answered_as: str) -> AsyncIterator[bytes]:
    """Follow a job's chunks to its end, or to where it was cancelled."""
    table = answered_as == routes.CSV
    form = writing.FORMS[answered_as]
    yield form.first()
    number = 0
    while True:
        held = await run_sync(ledger.told, dealer, job)
        if held is None or (held["state"] != "receiving" and number >= int(held["chunks"])):
            break
        content = await run_sync(ledger.result, job, number)
        if content is not None:
            yield (
                b"".join(map(writing.csv_row_of, map(orjson.loads, content.splitlines())))
                if table
                else content
            )
            number += 1
        elif held["state"] == "cancelled":
            break
        else:
            await asyncio.sleep(POLL)
    told = await run_sync(_told, ledger, dealer, job)
    yield form.last(
        {
            **{name: told[name] for name in ("structures", "refused", "totals", "state")},
            "planned": told["done"] - told["refused"],
            "repeated": 0,
            "outcomes": {
                name: {"count": count, "share": round(count / max(1, told["done"] - told["refused"]), 4)}
                for name, count in told["outcomes"].items()
            },
            "seconds": round(told["done"] / told["rate_per_s"], 3) if told["rate_per_s"] else 0.0,
        }
    )


@router.delete(
    "/{job}",
    operation_id="cancelJob",
    summary="Cancel a job",
    status_code=204,
    responses={204: {"description": "Cancelled"}, **refusals(*KEYED, "not-found", "no-queue", "queue-away")},
    response_class=Response,
)
async def cancel_job(request: Request, principal: Planning, job: JobId) -> Response:
    """Stop a job: what is being planned is finished, the rest is forgotten; results so far stay readable."""
    ledger = queue_of(request).ledger
    await _asked(partial(_told, ledger, principal.dealer, job))
    await _asked(partial(ledger.cancel, principal.dealer, job))
    return Response(status_code=204)
