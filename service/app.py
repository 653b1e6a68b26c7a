"""The application: everything is built here, from one `Settings`.

Rules of this file
------------------
- Settings are read in `create_app` and handed on; nothing is built at import.
- Layers from outside in: guard, CORS, faults, content coding, routes. The lifespan starts the store and yields the one typed state.
"""

import gc
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from datetime import UTC, datetime
from functools import partial
from typing import Any

from fastapi import FastAPI
from fastapi.telemetry import TelemetryConfig

from service.api import (
    alternatives,
    catalogs,
    comparisons,
    contract,
    cut_lists,
    drawings,
    form,
    form_page,
    health,
    keys,
    logs,
    openapi,
    orders,
    packets,
    plans,
    problem_pages,
    publishing,
    quoted_paper,
    quotes,
    refusals,
    sources,
)
from service.api.coding import Coding
from service.api.cors import DealerCors
from service.api.desk import Desk
from service.api.guard import Faults, Guard
from service.api.metrics import Metrics
from service.api.signing import Signing
from service.api.state import Service, State
from service.api.stores import digest_with, open_store
from service.api.version import VERSION
from service.api.work import Solvers
from service.batch import job_routes
from service.batch import routes as batches
from service.batch.pool import Planners
from service.batch.queues import open_queue
from service.machine_code import compiled_once
from service.planner.plan import warm_up
from service.settings import Settings
from service.store.contract import Store


def _utc() -> datetime:
    return datetime.now(UTC)


ROUTERS = (
    plans.router, alternatives.router, quotes.router, quoted_paper.router, orders.router, keys.router, cut_lists.router, drawings.router,
    packets.router, form.router, form_page.router, catalogs.router, publishing.router, comparisons.router, batches.router, job_routes.router, sources.router,
    problem_pages.router, health.router, openapi.router,
)  # fmt: skip
"""One router per resource"""


def create_app(settings: Settings | None = None, now: Callable[[], datetime] = _utc) -> FastAPI:
    """Build the application.

    Parameters
    ----------
    settings
        The operator's settings; from the environment by default.
    now
        Tells the time, UTC.
    """
    settings = settings or Settings()
    logs.configure(settings.log_level)
    service = build(settings, now)
    app = FastAPI(
        title="Shin wall planner",
        version=VERSION,
        lifespan=_lifespan(service),
        redirect_slashes=False,
        openapi_url=None,
        telemetry=_telemetry(settings),
    )
    for router in ROUTERS:
        app.include_router(router)
    refusals.install(app, settings.public_url)
    app.openapi = partial(contract.write, app, settings.public_url)  # type: ignore[method-assign]  # the framework's own way
    app.add_middleware(Coding)
    app.add_middleware(Faults, public_url=settings.public_url)
    app.add_middleware(DealerCors, origins=service.origins)
    app.add_middleware(Guard, metrics=service.metrics, public_url=settings.public_url)
    return app


def _telemetry(settings: Settings) -> TelemetryConfig:
    """Say what the framework traces: nothing unless asked; never bodies, which exception messages could hold.

    Spans name the path, so what is asked under a token is not traced: a token is a right to read.
    """
    on = settings.telemetry
    return {
        "tracing": on,
        "metrics": on,
        "operation_spans": on,
        "logs": False,
        "auto_configure": on,
        "exclude": lambda scope: scope["path"].startswith(f"{quotes.ADDRESS}/"),
    }


def build(settings: Settings, now: Callable[[], datetime] = _utc) -> Service:
    """Build what the handlers share."""
    store, metrics = open_store(settings), Metrics()
    solvers = Solvers(settings.solver_threads, settings.solver_queue, settings.answer_seconds)
    metrics.watch(_gauges(store, solvers))
    return Service(
        settings=settings,
        store=store,
        digest=digest_with(settings),
        open_mode=settings.open_mode and settings.redis_url is None,
        metrics=metrics,
        desk=Desk(store, solvers, metrics),
        signing=Signing(settings, store),
        now=now,
    )


def _gauges(store: Store[Any], solvers: Solvers) -> dict[str, tuple[str, Callable[[], float]]]:
    """Name what is read when metrics are scraped."""
    openness = {"closed": 0.0, "half_open": 0.5, "open": 1.0}
    return {
        "shin_wall_work_accepted": ("Plans worked on or waiting", lambda: solvers.accepted),
        "shin_wall_work_running": ("Threads that work on something", lambda: solvers.working),
        "shin_wall_store_degraded": ("1 while the shared store is away", lambda: store.status().degraded),
        "shin_wall_store_breaker": (
            "0 closed, 0.5 half open, 1 open",
            lambda: openness[store.status().breaker],
        ),
        "shin_wall_store_age_seconds": (
            "Since the worker's memory was known to be current [s]",
            lambda: store.status().snapshot_age_s or 0.0,
        ),
    }


def _lifespan(service: Service) -> Callable[[FastAPI], AbstractAsyncContextManager[State]]:
    """Compile the solver and start the store before the first request, close the store after the last."""

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[State]:
        with compiled_once():
            warm_up()
        await service.store.start()
        gc.collect()
        gc.freeze()  # what is built at the start stays: the collector need not look at it again
        gc.set_threshold(20_000, *gc.get_threshold()[1:])  # a plan makes many values, but hardly any circles
        planners, queue = Planners(service.settings.planners), open_queue(service.settings)
        if queue is not None:
            told = "Chunks of jobs that wait or are worked on, about two seconds of work each"
            service.metrics.watch({"shin_wall_queue_chunks": (told, queue.waiting)})
        try:
            yield {"service": service, "planners": planners, "queue": queue}
        finally:
            planners.close()
            if queue is not None:
                queue.close()
            await service.store.close()

    return lifespan
