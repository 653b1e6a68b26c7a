"""Jobs over HTTP: a bid list that outgrows a request, planned by workers of their own while its caller does something else.

Rules of this file
------------------
- A list is received whole before any of it is planned; what is wrong with it as a whole is a problem and leaves nothing behind.
- A job belongs to its dealer: for any other key it does not exist.
- Results come in the order of the list, from the first chunk on, and follow the work while it runs.
"""

from contextlib import suppress
from functools import partial
from typing import Annotated, Any, Final, cast

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
from service.api.state import service_of
from service.batch import asking
from service.batch.documented import ANSWERED, DOCUMENTED
from service.batch.queue import Queue
from service.batch.receiving import Receiving, ask
from service.batch.records import read_json, records, split
from service.batch.stream import Asker
from service.batch.telling import results, told
from service.planner.messages import say

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
    openapi_extra=DOCUMENTED,
    response_class=Response,
)
async def make_job(
    request: Request, principal: Planning, parts: asking.Parts = None, combine: asking.Combine = False
) -> Response:
    """Receive a bid list as a batch does, and answer where its progress and its results will be.

    The same lines, columns and `combine` as for a batch; results are kept for a day unless the operator says otherwise.
    """
    service, queue = service_of(request), queue_of(request)
    sent = asking.media_type_of(request)
    wanted = asking.wanted_of(request, principal, parts)
    basket = asking.basket_of(request, principal, wanted) if combine else None
    asker = Asker(dealer=principal.dealer, basket=basket)
    if await ask(partial(queue.ledger.running, principal.dealer)) >= service.settings.jobs:
        raise Problem(
            "limit-reached",
            say(
                "job.running",
                "{jobs} jobs of this dealer are running; wait for one or cancel it.",
                jobs=service.settings.jobs,
            ),
        )
    job = await ask(partial(queue.ledger.begin, principal.dealer))
    most = service.settings.max_body_bytes
    found = records(
        split(request.stream(), most), None if sent == asking.CSV else partial(read_json, most=most), most
    )
    try:
        counted = asking.in_turn(service, principal, await anext(found, []), found)
        chunks = await Receiving(service, queue.ledger, job, wanted, asker).receive(counted)
        await ask(partial(queue.start, principal.dealer, job, chunks))
    except BaseException:
        with suppress(RedisError):
            await run_sync(queue.ledger.cancel, principal.dealer, job)
        raise
    begun = await ask(partial(told, queue.ledger, principal.dealer, job))
    return json_answer(begun, 202, {"location": f"/v1/jobs/{job}"})


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
    return json_answer(await ask(partial(told, queue_of(request).ledger, principal.dealer, job)))


@router.get(
    "/{job}/results",
    operation_id="readJobResults",
    summary="Read a job's results",
    responses={**ANSWERED, **refusals(*KEYED, "not-found", "no-queue", "queue-away")},
    response_class=Response,
)
async def read_results(request: Request, principal: Planning, job: JobId) -> Response:
    """Answer a line a structure, in the order of the list, following the work while it runs; the last line sums up."""
    ledger = queue_of(request).ledger
    held = await ask(partial(told, ledger, principal.dealer, job))
    answered_as = asking.answer_type_of(request, asking.JSON_LINES[0])
    return StreamingResponse(
        results(ledger, principal.dealer, held["id"], answered_as),
        media_type=f"{answered_as}; charset=utf-8",
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
    await ask(partial(told, ledger, principal.dealer, job))
    await ask(partial(ledger.cancel, principal.dealer, job))
    return Response(status_code=204)
