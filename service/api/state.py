"""The one typed state of the service, made by `create_app` and reached through the request.

Rules of this file
------------------
- What the handlers share stands here; nothing is global.
- The store's parsed catalogs are the planner's `Catalog`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, TypedDict, cast

from starlette.requests import HTTPConnection

from service.api.desk import Desk
from service.api.metrics import Metrics
from service.api.signing import Signing
from service.settings import Settings
from service.store.contract import Store


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """What the handlers share."""

    settings: Settings
    """The operator's settings"""
    store: Store[Any]
    """Catalogs, keys, counters"""
    digest: Callable[[str], str]
    """Keyed digest of an API key"""
    open_mode: bool
    """Whether loopback callers need no key"""
    metrics: Metrics
    """What is counted"""
    desk: Desk
    """Where answers are made and kept"""

    signing: Signing
    """The keys of quotes"""
    now: Callable[[], datetime]
    """What time it is, UTC"""

    def origins(self) -> frozenset[str]:
        """The web origins whose pages may call."""
        return self.store.origins().union(self.settings.open_origins if self.open_mode else ())


class State(TypedDict):
    """What the lifespan yields."""

    service: Service
    planners: object
    queue: object


def service_of(connection: HTTPConnection) -> Service:
    """The state that a request is answered with."""
    return cast("Service", connection.scope["state"]["service"])
