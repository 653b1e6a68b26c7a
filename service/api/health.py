"""Health and metrics: whether the process lives, whether it can answer plans, what it has counted.

Rules of this file
------------------
- `/livez` does no work; `/readyz` asks whether a plan could be answered now. A store that is away is degraded, not
  dead: plans go on from the last good catalog.
- Neither says a version, an address or a dealer.
"""

import hmac
from typing import Final, Literal

from anyio.to_thread import run_sync
from fastapi import APIRouter
from starlette.requests import Request
from starlette.responses import Response
from typing_extensions import TypedDict

from service.api import metrics, negotiate
from service.api.access import PUBLIC, on_loopback, sent_key
from service.api.answers import json_answer
from service.api.contract import refusals
from service.api.models import documented
from service.api.problems import Problem
from service.api.state import Service, service_of
from service.planner.messages import say

router: Final = APIRouter(tags=["operation"])


@documented
class Live(TypedDict):
    """The process lives."""

    status: Literal["pass"]


@documented
class Ready(TypedDict):
    """Plans can be answered."""

    status: Literal["pass", "warn"]
    """`warn`: from the last good catalogs, because the shared store is away"""
    store: Literal["folder", "redis"]
    """Kind of store"""
    breaker: Literal["closed", "open", "half_open"]
    """State of the circuit breaker before the store"""


@router.get(
    "/livez",
    operation_id="live",
    summary="Tell whether the process lives",
    dependencies=[PUBLIC],
    responses=refusals(),
    response_model=Live,
)
async def live(request: Request) -> Response:
    """Answer without any work."""
    negotiate.require(request)
    return json_answer({"status": "pass"})


@router.get(
    "/readyz",
    operation_id="ready",
    summary="Tell whether plans can be answered",
    dependencies=[PUBLIC],
    responses=refusals("not-ready"),
    response_model=Ready,
)
async def ready(request: Request) -> Response:
    """Answer 200 while plans can be answered, even from older catalogs; 503 before there is any catalog."""
    negotiate.require(request)
    status = service_of(request).store.status()
    if not status.loaded:
        raise Problem(
            "not-ready", say("problem.not_ready", "No catalog is loaded yet."), headers={"retry-after": "1"}
        )
    return json_answer(
        {"status": "warn" if status.degraded else "pass", "store": status.kind, "breaker": status.breaker}
    )


def _may_scrape(request: Request, service: Service) -> bool:
    """Tell whether a caller may read the metrics: by the scraper's key, or on loopback where none is set."""
    wanted = service.settings.metrics_key
    if wanted is None:
        return on_loopback(request)
    return hmac.compare_digest((sent_key(request) or "").encode(), wanted.get_secret_value().encode())


@router.get(
    "/metrics",
    operation_id="readMetrics",
    summary="Read the metrics",
    dependencies=[PUBLIC],
    responses={**refusals("key-required"), 200: {"content": {"text/plain": {"schema": {"type": "string"}}}}},
    response_class=Response,
)
async def read_metrics(request: Request) -> Response:
    """Answer in the Prometheus text format."""
    service = service_of(request)
    if not _may_scrape(request, service):
        raise Problem(
            "key-required",
            say("problem.scraper_key", "Send the scraper's key."),
            headers={"www-authenticate": "Bearer"},
        )
    content = await run_sync(service.metrics.text)  # what is read for it may wait for the queue's server
    return Response(content, media_type=metrics.MEDIA_TYPE)
