"""The application: everything is built here, from one `Settings`.

Rules of this file
------------------
- Settings are read in `create_app` and handed on; nothing is built at import.
- Layers from outside in: guard, CORS, faults, routes. The lifespan starts the store and yields the one typed state.
"""

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from functools import partial

from fastapi import FastAPI

from service.api import (
    alternatives,
    catalogs,
    comparisons,
    contract,
    cut_lists,
    health,
    logs,
    openapi,
    plans,
    problem_pages,
    publishing,
    refusals,
    sources,
)  # fmt: skip
from service.api.cors import DealerCors
from service.api.desk import Desk
from service.api.guard import Faults, Guard
from service.api.metrics import Metrics
from service.api.state import Service, State
from service.api.stores import digest_with, open_store
from service.api.version import VERSION
from service.api.work import Solvers
from service.settings import Settings

ROUTERS = (
    plans.router, alternatives.router, cut_lists.router, catalogs.router, publishing.router, comparisons.router,
    sources.router, problem_pages.router, health.router, openapi.router,
)  # fmt: skip
"""One router per resource"""


def create_app(settings: Settings | None = None) -> FastAPI:
    """Build the application.

    Parameters
    ----------
    settings
        The operator's settings; from the environment by default.
    """
    settings = settings or Settings()
    logs.configure(settings.log_level)
    service = build(settings)
    app = FastAPI(
        title="Shin wall planner",
        version=VERSION,
        lifespan=_lifespan(service),
        redirect_slashes=False,
        openapi_url=None,
    )
    for router in ROUTERS:
        app.include_router(router)
    refusals.install(app, settings.public_url)
    app.openapi = partial(contract.write, app, settings.public_url)  # type: ignore[method-assign]  # the framework's own way
    app.add_middleware(Faults, public_url=settings.public_url)
    app.add_middleware(DealerCors, origins=service.origins)
    app.add_middleware(Guard, metrics=service.metrics, public_url=settings.public_url)
    return app


def build(settings: Settings) -> Service:
    """Build what the handlers share."""
    store, metrics = open_store(settings), Metrics()
    solvers = Solvers(settings.solver_threads, settings.solver_queue)
    return Service(
        settings=settings,
        store=store,
        digest=digest_with(settings),
        open_mode=settings.open_mode and settings.redis_url is None,
        metrics=metrics,
        desk=Desk(store, solvers, metrics),
    )


def _lifespan(service: Service) -> Callable[[FastAPI], AbstractAsyncContextManager[State]]:
    """Start the store before the first request, close it after the last."""

    @asynccontextmanager
    async def lifespan(_app: FastAPI) -> AsyncIterator[State]:
        await service.store.start()
        try:
            yield {"service": service}
        finally:
            await service.store.close()

    return lifespan
