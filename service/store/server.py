"""The server behind the store, and how long anyone waits for it.

Rules of this module: no store logic. Every call goes through `Server.call`: at most `CALL_BOUND_S`, through the breaker,
and whatever goes wrong comes out as `StoreUnavailable` with the kind of trouble.

Notes
-----
The client's default retries keep a caller for seconds when the server is gone, so they are set: one repetition, at once.
"""

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from redis import exceptions
from redis.asyncio import BlockingConnectionPool, Redis, Sentinel, SSLConnection
from redis.asyncio.retry import Retry
from redis.backoff import NoBackoff
from redis.maint_notifications import MaintNotificationsConfig

from service.store.breaker import Breaker
from service.store.contract import Trouble
from service.store.errors import StoreUnavailable
from service.store.memory import Clock

Reply = TypeVar("Reply")

SOCKET_TIMEOUT_S = 0.1
"""The longest wait for a connection, and for each piece of a reply [s]."""
CALL_BOUND_S = 0.25
"""The longest that a call on behalf of a request takes, repetition included [s]."""
READING_BOUND_S = 3.0
"""The longest that reading everything anew in the background takes [s]."""
RETRY_AFTER_S = 2
"""When to ask again while the server is away [s]."""
CONNECTIONS_MOST = 64
"""The most connections of a worker [-]."""

PLACE = frozenset({"host", "port", "path"})
"""Options that say where one server is, which sentinels know better [-]."""
REFUSALS = ("READONLY", "OOM", "NOREPLICAS", "MISCONF", "MASTERDOWN", "NOPERM")
"""Words in the replies of a server that is there and does not take writes [-]."""
REFUSAL_ERRORS = (exceptions.ReadOnlyError, exceptions.OutOfMemoryError, exceptions.MasterDownError)
"""The same, where the client gives a name of its own to the reply [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Where the server is.

    Attributes
    ----------
    url
        ``redis://``, ``rediss://`` (TLS, with options such as ``ssl_ca_certs`` in the query) or ``unix://``; with
        sentinels it gives the user, password, database and TLS options of the primary (the sentinels take TLS likewise
        and no password), and its host is not used [-].
    sentinels
        Hosts and ports of sentinels that know the primary; empty: the URL says where it is [-].
    service
        The name under which the sentinels know the primary [-].
    """

    url: str
    sentinels: tuple[tuple[str, int], ...] = ()
    service: str = "shin-wall"


def connect(address: Address) -> tuple[Redis, tuple[Redis, ...]]:
    """Make a client and those of the sentinels that it asks; nothing is sent before the first call.

    Parameters
    ----------
    address
        Where the server is [-].
    """
    habits = {
        "retry": Retry(NoBackoff(), 1),
        "socket_connect_timeout": SOCKET_TIMEOUT_S,
        "socket_timeout": SOCKET_TIMEOUT_S,
        "protocol": 3,
        "maint_notifications_config": MaintNotificationsConfig(enabled=False),
    }
    pool = BlockingConnectionPool.from_url(
        address.url, max_connections=CONNECTIONS_MOST, timeout=CALL_BOUND_S, **habits
    )
    if not address.sentinels:
        return Redis.from_pool(pool), ()
    options = {name: value for name, value in pool.connection_kwargs.items() if name not in PLACE}
    options["ssl"] = issubclass(pool.connection_class, SSLConnection)
    transport = {name: value for name, value in options.items() if name.startswith("ssl")}
    sentinel = Sentinel(  # type: ignore[no-untyped-call]  # the client's own signature has no types
        address.sentinels, sentinel_kwargs=habits | transport, **options
    )
    return sentinel.master_for(address.service), tuple(sentinel.sentinels)


class Server:
    """A server that may fail.

    Parameters
    ----------
    address
        Where the server is [-].
    clock
        The store's clocks [-].
    """

    def __init__(self, address: Address, clock: Clock) -> None:
        self.client, self._sentinels = connect(address)
        self.breaker = Breaker(clock.monotonic)
        self.refused_since: datetime | None = None
        self._clock = clock

    async def call(
        self, ask: Callable[[], Awaitable[Reply]], *, writes: bool = False, bound_s: float = CALL_BOUND_S
    ) -> Reply:
        """Ask the server.

        Parameters
        ----------
        ask
            Sends the commands and gives the reply [-].
        writes
            Whether the answer tells if the server takes writes [-].
        bound_s
            The longest wait [s].

        Raises
        ------
        StoreUnavailable
            When there is no answer in time, or the server refuses.
        """
        if not self.breaker.admits():
            raise StoreUnavailable(RETRY_AFTER_S, Trouble.UNREACHABLE)
        try:
            async with asyncio.timeout(bound_s):
                reply = await ask()
        except (exceptions.ConnectionError, exceptions.TimeoutError, TimeoutError, OSError) as error:
            self.breaker.failed()
            raise StoreUnavailable(RETRY_AFTER_S, Trouble.UNREACHABLE) from error
        except exceptions.RedisError as error:
            self.breaker.succeeded()
            raise StoreUnavailable(RETRY_AFTER_S, self._refusal(error)) from error
        self.breaker.succeeded()
        if writes:
            self.refused_since = None
        return reply

    async def close(self) -> None:
        """Let go of all connections."""
        for client in (self.client, *self._sentinels):
            await client.aclose()
            await client.connection_pool.disconnect()

    def _refusal(self, error: exceptions.RedisError) -> Trouble:
        if not any(word in str(error) for word in REFUSALS) and not isinstance(error, REFUSAL_ERRORS):
            return Trouble.CORRUPT
        self.refused_since = self.refused_since or self._clock.now()
        return Trouble.REFUSES_WRITES
