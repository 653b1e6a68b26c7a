"""The store over a Redis-protocol server, for any number of workers.

Rules of this module: what the contract promises, said in terms of the worker's memory (read), the server (written) and
the mirror that keeps one like the other. Nothing a plan needs is read from the server while a request waits; a counter
and a shared finished plan are asked for within `service.store.server.CALL_BOUND_S` or done without.
"""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Generic, TypeVar

from service.store.commands import Commands, Publication
from service.store.contract import (
    STALENESS_BOUND_S,
    Allowance,
    CatalogRecord,
    KeyRecord,
    PublishOutcome,
    RateLimit,
    RevisionRecord,
    Snapshot,
    StoreStatus,
    Trouble,
)
from service.store.errors import (
    ActiveRevisionDiffers,
    CatalogUnknown,
    KeyTaken,
    LimitReached,
    MatchRequired,
    RevisionUnknown,
    StoreUnavailable,
)
from service.store.memory import WITHDRAWN, Clock, WorkerMemory, system_clock
from service.store.mirror import Mirror
from service.store.names import is_name, require
from service.store.publication import CATALOGS_MOST, REVISIONS_MOST, spell
from service.store.revision import DocumentDamaged, content_address, parse_snapshot
from service.store.scripts import KeyLayout
from service.store.server import RETRY_AFTER_S, Address, Server

Parsed = TypeVar("Parsed")


@dataclass(frozen=True, slots=True, kw_only=True)
class RedisSettings:
    """Where the server is and what a worker keeps.

    Attributes
    ----------
    address
        Where the server is [-].
    prefix
        What all our keys begin with [-].
    state_file
        Where the last good state is kept; None: nowhere, and a start without the server knows nothing [-].
    plan_bytes
        The most that finished plans take in a worker [B].
    plan_lifetime_s
        How long a finished plan is kept in a worker [s].
    shared_plan_lifetime_s
        How long it is kept in the server; 0: not at all. The server then needs ``maxmemory-policy volatile-lru``,
        which lets go of plans before it refuses to write [s].
    """

    address: Address
    prefix: str = "shin-wall"
    state_file: Path | None = None
    plan_bytes: int = 67_108_864
    plan_lifetime_s: float = 3600.0
    shared_plan_lifetime_s: int = 0


class RedisStore(Generic[Parsed]):
    """`service.store.contract.Store` over a server.

    Parameters
    ----------
    settings
        Where the server is and what a worker keeps [-].
    parse
        The planner's reader of catalogs [-].
    clock
        The store's clocks [-].
    """

    def __init__(
        self, settings: RedisSettings, parse: Callable[[object], Parsed], clock: Clock | None = None
    ) -> None:
        self._settings = settings
        self._parse = parse
        self._clock = clock or system_clock()
        self._memory = WorkerMemory[Parsed](self._clock, settings.plan_bytes)
        self._server = Server(settings.address, self._clock)
        self._commands = Commands(self._server, KeyLayout(settings.prefix))
        self._mirror = Mirror(self._server, self._commands, self._memory, parse, self._clock)
        self._secrets: dict[str, bytes] = {}
        self._following: asyncio.Task[None] | None = None

    async def start(self) -> None:
        """Recall the last good state, read the server if it is there, and begin to follow it."""
        if self._settings.state_file is not None:
            await asyncio.to_thread(self._mirror.recall, self._settings.state_file)
        with suppress(StoreUnavailable):
            await self._mirror.refresh()
        self._following = asyncio.create_task(self._mirror.follow(self._settings.state_file))

    async def close(self) -> None:
        """Stop following the server and let go of connections."""
        if self._following is not None:
            # Before Python 3.12 `asyncio.wait_for`, which the client uses, may swallow a cancellation: ask again.
            while not self._following.done():
                self._following.cancel()
                await asyncio.wait({self._following}, timeout=0.1)
            await self._mirror.save(self._settings.state_file)
        await self._server.close()

    def status(self) -> StoreStatus:
        """Tell how the store is."""
        fresh_at = self._mirror.fresh_at
        age = None if fresh_at is None else self._clock.monotonic() - fresh_at
        trouble, since = self._trouble(age)
        return StoreStatus(
            kind="redis",
            degraded=trouble is not None,
            trouble=trouble,
            since=since,
            breaker=self._server.breaker.state,
            snapshot_age_s=age,
            loaded=age is not None or bool(self._memory.catalogs),
            rejected=self._mirror.rejected,
        )

    def active(self, dealer: str, catalog_id: str) -> Snapshot[Parsed] | None:
        """The active revision."""
        return self._memory.active(dealer, catalog_id)

    def catalogs(self, dealer: str) -> tuple[CatalogRecord, ...]:
        """List the dealer's catalogs."""
        return self._memory.catalog_records(dealer)

    def key(self, digest: str) -> KeyRecord | None:
        """What is known of a key."""
        return self._memory.key(digest)

    def keys(self, dealer: str) -> tuple[KeyRecord, ...]:
        """List the dealer's keys."""
        return self._memory.key_records(dealer)

    def origins(self) -> frozenset[str]:
        """Give every web origin that a key lists."""
        return self._memory.origins()

    async def revision(self, dealer: str, catalog_id: str, revision: str) -> Snapshot[Parsed]:
        """One revision, active or not."""
        require(dealer=dealer, catalog=catalog_id, revision=revision)
        snapshot = self._memory.revision(dealer, catalog_id, revision)
        if snapshot is None:
            (document,) = await self._commands.documents([(dealer, catalog_id, revision)])
            if not document:
                raise RevisionUnknown(catalog_id, revision)
            snapshot = await asyncio.to_thread(self._parsed, dealer, catalog_id, revision, document)
        self._memory.keep_revision(snapshot)
        return snapshot

    async def revisions(self, dealer: str, catalog_id: str) -> tuple[RevisionRecord, ...]:
        """List the revisions of a catalog, newest first."""
        require(dealer=dealer, catalog=catalog_id)
        found = await self._commands.revisions(dealer, catalog_id)
        active = self._memory.active(dealer, catalog_id)
        records = [
            RevisionRecord(
                revision=revision,
                published_at=_moment(written),
                active=active is not None and active.revision == revision,
            )
            for revision, written in found.items()
            if is_name("revision", revision)
        ]
        if not records:
            raise CatalogUnknown(catalog_id)
        return tuple(sorted(records, key=_age, reverse=True))

    async def publish(
        self, dealer: str, catalog_id: str, document: object, *, if_match: str | None, activate: bool
    ) -> PublishOutcome:
        """Keep a document as a revision and, if asked, make it the active one."""
        require(dealer=dealer, catalog=catalog_id)
        spelling, catalog = await asyncio.to_thread(spell, document, self._parse)
        revision = content_address(spelling)
        snapshot = Snapshot(
            dealer=dealer, catalog_id=catalog_id, revision=revision, document=spelling, catalog=catalog
        )
        return await self._settle(snapshot, if_match, activate=activate)

    async def activate(
        self, dealer: str, catalog_id: str, revision: str, *, if_match: str | None
    ) -> PublishOutcome:
        """Make a published revision the active one."""
        snapshot = await self.revision(dealer, catalog_id, revision)
        return await self._settle(snapshot, if_match, activate=True)

    async def put_key(self, record: KeyRecord) -> None:
        """Make a key known, or change what is known of it."""
        require(dealer=record.dealer, key=record.digest)
        if self._memory.taken(record):
            raise KeyTaken
        held = self._memory.keys.get((record.dealer, record.digest))
        known = 0 if held is None else held.generation
        asked = WITHDRAWN if record.revoked else known
        generation = await self._commands.put_key(record, asked, step=not record.revoked)
        if generation:
            self._mirror.take_key(generation, record)

    async def revoke_key(self, dealer: str, digest: str) -> None:
        """Withdraw a dealer's key for good."""
        require(dealer=dealer, key=digest)
        held = self._memory.keys.get((dealer, digest))
        if held is not None:
            await self.put_key(replace(held.record, revoked=True))

    async def secret(self, name: str, made: bytes) -> bytes:
        """A secret of the installation, the same for every worker."""
        require(secret=name)
        if name not in self._secrets:
            self._secrets[name] = await self._commands.secret(name, made)
        return self._secrets[name]

    async def count(self, dealer: str, bucket: str, limit: RateLimit, *, units: int = 1) -> Allowance:
        """Count units for all workers, or in this one while the server is away."""
        require(dealer=dealer, entry=bucket)
        try:
            return await self._commands.count(dealer, bucket, limit, units)
        except StoreUnavailable:
            return self._memory.count(dealer, bucket, limit, units)

    async def cached(self, dealer: str, digest: str) -> bytes | None:
        """A finished answer from this worker or, if they are shared, from another."""
        body = self._memory.plan(dealer, digest)
        if body is None and self._settings.shared_plan_lifetime_s:
            require(dealer=dealer, entry=digest)
            with suppress(StoreUnavailable):
                body = await self._commands.plan(dealer, digest)
            if body is not None:
                self._memory.keep_plan(dealer, digest, body, self._settings.plan_lifetime_s)
        return body

    async def remember(self, dealer: str, digest: str, body: bytes) -> None:
        """Keep a finished answer for a while, in this worker and, if they are shared, in the server."""
        require(dealer=dealer, entry=digest)
        self._memory.keep_plan(dealer, digest, body, self._settings.plan_lifetime_s)
        if self._settings.shared_plan_lifetime_s:
            with suppress(StoreUnavailable):
                await self._commands.keep_plan(dealer, digest, body, self._settings.shared_plan_lifetime_s)

    async def _settle(
        self, snapshot: Snapshot[Parsed], if_match: str | None, *, activate: bool
    ) -> PublishOutcome:
        held = self._memory.catalogs.get((snapshot.dealer, snapshot.catalog_id))
        publication = Publication(
            dealer=snapshot.dealer,
            catalog_id=snapshot.catalog_id,
            revision=snapshot.revision,
            document=snapshot.document,
            known=(0, "") if held is None else (held.generation, held.snapshot.revision),
            if_match=if_match,
            activate=activate,
            moment=self._clock.now().isoformat(),
        )
        reply = await self._commands.publish(publication)
        if reply[0] != b"done":
            raise _refusal(reply, if_match)
        created, changed, previous, generation = (
            int(reply[1]),
            int(reply[2]),
            _revision(reply[3]),
            int(reply[4]),
        )
        if changed:
            self._mirror.take_catalog(generation, snapshot)
        return PublishOutcome(
            revision=snapshot.revision,
            created=created == 1,
            activated=changed == 1,
            active=snapshot.revision if changed else previous,
            previous=previous,
        )

    def _parsed(self, dealer: str, catalog_id: str, revision: str, document: bytes) -> Snapshot[Parsed]:
        try:
            return parse_snapshot(dealer, catalog_id, revision, document, self._parse)
        except DocumentDamaged as error:
            raise StoreUnavailable(RETRY_AFTER_S, Trouble.CORRUPT) from error

    def _trouble(self, age: float | None) -> tuple[Trouble | None, datetime | None]:
        if self._server.breaker.state != "closed" or age is None or age > STALENESS_BOUND_S:
            return Trouble.UNREACHABLE, self._mirror.fresh_since
        if self._server.refused_since is not None:
            return Trouble.REFUSES_WRITES, self._server.refused_since
        if self._mirror.rejected:
            return Trouble.CORRUPT, self._mirror.rejected_since
        return None, None


def _refusal(reply: list[bytes | int], if_match: str | None) -> Exception:
    match reply[0]:
        case b"differs":
            return ActiveRevisionDiffers(if_match or "", _revision(reply[1]))
        case b"required":
            return MatchRequired(_revision(reply[1]) or "")
        case b"catalogs":
            return LimitReached("catalogs", CATALOGS_MOST)
        case _:
            return LimitReached("revisions of a catalog", REVISIONS_MOST)


def _revision(written: bytes | int) -> str | None:
    return written.decode("ascii") or None if isinstance(written, bytes) else None


def _moment(written: bytes) -> datetime | None:
    try:
        return datetime.fromisoformat(written.decode("ascii"))
    except ValueError:
        return None


def _age(record: RevisionRecord) -> tuple[float, str]:
    moment = record.published_at
    return (0.0 if moment is None else moment.timestamp(), record.revision)
