"""What a request with a bid list asks for, and how its structures are counted; the same for batches and jobs.

Rules of this file
------------------
- What is wrong with the request as a whole is a problem before the first line is read.
- Structures are counted as they are read, against the key's limit; where it is used up they wait.
"""

import asyncio
from collections.abc import AsyncIterator
from typing import Annotated, Final

from fastapi import Query
from starlette.requests import Request

from service.api import negotiate
from service.api.access import WINDOW, Principal, require_scope
from service.api.exchange import exchange_of
from service.api.problems import PARAMETERS, Problem
from service.api.state import Service, service_of
from service.batch.combining import Basket
from service.batch.planner import Wanted
from service.batch.records import Record, Refused
from service.planner.answer.shapes import PARTS, Part
from service.planner.messages import say
from service.store.contract import RateLimit, Scope

CSV: Final = "text/csv"
JSON_LINES: Final = ("application/jsonl", "application/x-ndjson")
"""The two names under which JSON Lines are known"""
SLICE: Final = 64
"""Structures that are counted at a time [-]"""
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
