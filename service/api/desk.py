"""The desk: finished answers are handed out again, others are made once and kept.

Rules of this file
------------------
- The digest of an answer names everything that it depends on, so it is its `ETag` too.
- A dealer's answers are its own: the dealer is part of every name, and what one keeps never pushes another's out.
- Making an answer is work for a thread; looking one up is not.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic
from typing import Any, Final, TypeVar

import orjson

from service.api.answers import Finished
from service.api.exchange import Exchange
from service.api.metrics import Metrics
from service.api.work import Solvers
from service.planner.solver.effort import Effort
from service.store.contract import Store
from service.store.fair_cache import FairCache

T = TypeVar("T")
_SHORTCUTS: Final = 50_000
"""Bodies remembered at most [-]"""
_LIFETIME: Final = 3600.0
"""How long a body is remembered [s]"""


@dataclass(frozen=True, slots=True)
class Shortcut:
    """From the bytes of a body straight to its answer, while its catalog is the same."""

    catalog_id: str
    """The catalog planned from"""
    revision: str
    """Its revision"""
    pinned: bool
    """Whether the body names the revision itself"""
    digest: str
    """Names the answer"""


def digest_of(*parts: bytes) -> str:
    """Name an answer by everything that it depends on."""
    state = hashlib.blake2b(digest_size=20)
    for part in parts:
        state.update(b"%d:" % len(part))
        state.update(part)
    return state.hexdigest()


class Desk:
    """Where answers are kept and made.

    Parameters
    ----------
    store
        Keeps finished answers.
    solvers
        Makes new ones.
    metrics
        Counts look-ups.
    """

    def __init__(self, store: Store[Any], solvers: Solvers, metrics: Metrics) -> None:
        self._store = store
        self._solvers = solvers
        self._metrics = metrics
        self._shortcuts = FairCache[Shortcut](_SHORTCUTS, monotonic)

    def shortcut(self, dealer: str, body_digest: str) -> Shortcut | None:
        """The shortcut of a body seen before, unless its catalog has changed."""
        held = self._shortcuts.get(dealer, body_digest)
        if held is not None and not held.pinned:
            active = self._store.active(dealer, held.catalog_id)
            held = held if active is not None and active.revision == held.revision else None
        self._metrics.looked_up("body", hit=held is not None)
        return held

    def remember(self, dealer: str, body_digest: str, shortcut: Shortcut) -> None:
        """Remember where a body leads."""
        self._shortcuts.put(dealer, body_digest, shortcut, weight=1, lifetime_s=_LIFETIME)

    async def held(self, dealer: str, digest: str) -> Finished | None:
        """An answer made before, by any worker that shares its answers."""
        content = await self._store.cached(dealer, digest)
        self._metrics.looked_up("answer", hit=content is not None)
        return None if content is None else Finished(content=content, etag=f'"{digest}"')

    async def run(self, exchange: Exchange, work: Callable[[Effort], T], units: float) -> T:
        """Do work in a thread whose answer has no name before it is made."""
        with exchange.stage("wait_and_work"):
            return await self._solvers.run(exchange, work, units)

    async def keep(self, dealer: str, digest: str, content: bytes) -> Finished:
        """Keep an answer made by `run`."""
        await self._store.remember(dealer, digest, content)
        return Finished(content=content, etag=f'"{digest}"')

    async def make(
        self,
        exchange: Exchange,
        dealer: str,
        digest: str,
        work: Callable[[Effort], object],
        units: float = 0.0,
    ) -> Finished:
        """Make an answer in a thread, within some units, and keep it."""

        def worked(effort: Effort) -> bytes:
            with exchange.stage("solve"):
                value = work(effort)
            self._metrics.solved(value)
            with exchange.stage("dump"):
                return orjson.dumps(value)

        with exchange.stage("wait_and_work"):
            content = await self._solvers.run(exchange, worked, units)
        await self._store.remember(dealer, digest, content)
        return Finished(content=content, etag=f'"{digest}"')

    async def rendered(self, exchange: Exchange, work: Callable[[], bytes]) -> bytes:
        """Make bytes from an answer in a thread; they are not kept, since the answer is."""
        return await self._solvers.run(exchange, lambda _: work())
