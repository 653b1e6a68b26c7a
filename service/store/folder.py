"""The embedded store: catalogs from files in a folder, in one process, with no server.

Rules of this module: one process owns the folder (`service.store.shelf` says what is where). Publications are made one
after the other; reading never waits for them. Without a folder, what is published lasts as long as the process.
"""

import asyncio
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Generic, TypeVar

import orjson

from service.store.contract import (
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
from service.store.errors import CatalogUnknown, KeyTaken, LimitReached, RevisionUnknown, StoreUnavailable
from service.store.keys import read_record, write_record
from service.store.memory import WITHDRAWN, Clock, WorkerMemory, system_clock
from service.store.names import require
from service.store.publication import (
    CATALOGS_MOST,
    REVISIONS_MOST,
    check_match,
    read_pointer,
    read_register,
    spell,
    write_register,
)
from service.store.revision import DocumentDamaged, content_address, parse_snapshot, usable_snapshot
from service.store.shelf import Shelf, shipped_documents

Parsed = TypeVar("Parsed")

SHIPPED = Path(__file__).with_name("catalogs")
"""Where the catalogs lie that come with the service [-]."""
RETRY_AFTER_S = 30
"""When to ask again after a file could not be written [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FolderSettings:
    """Where the embedded store reads and writes.

    Attributes
    ----------
    shipped
        Folder of catalogs that come with the service, only read; None: none [-].
    folder
        Folder that publications are written to; None: a temporary one [-].
    plan_bytes
        The most that finished plans take in memory [B].
    plan_lifetime_s
        How long a finished plan is kept [s].
    """

    shipped: Path | None = SHIPPED
    folder: Path | None = None
    plan_bytes: int = 67_108_864
    plan_lifetime_s: float = 3600.0


class FolderStore(Generic[Parsed]):
    """`service.store.contract.Store` over files.

    Parameters
    ----------
    settings
        Where to read and write [-].
    parse
        The planner's reader of catalogs [-].
    clock
        The store's clocks [-].
    """

    def __init__(
        self, settings: FolderSettings, parse: Callable[[object], Parsed], clock: Clock | None = None
    ) -> None:
        self._settings = settings
        self._parse = parse
        self._clock = clock or system_clock()
        self._memory = WorkerMemory[Parsed](self._clock, settings.plan_bytes)
        self._shipped: dict[tuple[str, str], Snapshot[Parsed]] = {}
        self._shelf: Shelf | None = None
        self._writing = asyncio.Lock()
        self._secrets: dict[str, bytes] = {}
        self._rejected = 0
        self._refused_since: datetime | None = None

    async def start(self) -> None:
        """Read every file.

        Raises
        ------
        CatalogInvalid
            When a catalog that comes with the service is not one: that is a fault of the installation.
        """
        await asyncio.to_thread(self._read_shipped)
        if self._settings.folder is not None:
            self._shelf = Shelf(self._settings.folder)
            await asyncio.to_thread(self._read_shelf, self._shelf)

    async def close(self) -> None:
        """Remove what lasts no longer than the process."""
        if self._settings.folder is None and self._shelf is not None:
            await asyncio.to_thread(shutil.rmtree, self._shelf.folder, ignore_errors=True)

    def status(self) -> StoreStatus:
        """Tell how the store is."""
        trouble = Trouble.CORRUPT if self._rejected else None
        if self._refused_since is not None:
            trouble = Trouble.REFUSES_WRITES
        return StoreStatus(
            kind="folder",
            degraded=trouble is not None,
            trouble=trouble,
            since=self._refused_since,
            breaker="closed",
            snapshot_age_s=0.0,
            loaded=True,
            rejected=self._rejected,
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
        shipped = self._shipped.get((dealer, catalog_id))
        if shipped is not None and shipped.revision == revision:
            return shipped
        snapshot = self._memory.revision(dealer, catalog_id, revision)
        if snapshot is None:
            document = await asyncio.to_thread(self._document, dealer, catalog_id, revision)
            snapshot = self._parsed(dealer, catalog_id, revision, document)
        self._memory.keep_revision(snapshot)
        return snapshot

    async def revisions(self, dealer: str, catalog_id: str) -> tuple[RevisionRecord, ...]:
        """List the revisions of a catalog, newest first."""
        require(dealer=dealer, catalog=catalog_id)
        known = await asyncio.to_thread(self._known_revisions, dealer, catalog_id)
        if not known:
            raise CatalogUnknown(catalog_id)
        active = self._memory.active(dealer, catalog_id)
        newest_first = sorted(known.items(), key=_age, reverse=True)
        return tuple(
            RevisionRecord(
                revision=revision,
                published_at=moment,
                active=active is not None and active.revision == revision,
            )
            for revision, moment in newest_first
        )

    async def publish(
        self, dealer: str, catalog_id: str, document: object, *, if_match: str | None, activate: bool
    ) -> PublishOutcome:
        """Keep a document as a revision and, if asked, make it the active one."""
        require(dealer=dealer, catalog=catalog_id)
        spelling, catalog = await asyncio.to_thread(spell, document, self._parse)
        snapshot = Snapshot(
            dealer=dealer,
            catalog_id=catalog_id,
            revision=content_address(spelling),
            document=spelling,
            catalog=catalog,
        )
        async with self._writing:
            return await self._settle(snapshot, if_match, activate=activate)

    async def activate(
        self, dealer: str, catalog_id: str, revision: str, *, if_match: str | None
    ) -> PublishOutcome:
        """Make a published revision the active one."""
        snapshot = await self.revision(dealer, catalog_id, revision)
        async with self._writing:
            return await self._settle(snapshot, if_match, activate=True)

    async def put_key(self, record: KeyRecord) -> None:
        """Make a key known, or change what is known of it."""
        require(dealer=record.dealer, key=record.digest)
        if self._memory.taken(record):
            raise KeyTaken
        async with self._writing:
            held = self._memory.keys.get((record.dealer, record.digest))
            before = 0 if held is None else held.generation
            if before < WITHDRAWN:
                await self._write_key(WITHDRAWN if record.revoked else before + 1, record)

    async def revoke_key(self, dealer: str, digest: str) -> None:
        """Withdraw a dealer's key for good."""
        require(dealer=dealer, key=digest)
        held = self._memory.keys.get((dealer, digest))
        if held is not None:
            await self.put_key(replace(held.record, revoked=True))

    async def secret(self, name: str, made: bytes) -> bytes:
        """A secret of the installation; without a folder it lasts as long as the process."""
        require(secret=name)
        held = self._secrets.get(name)
        if held is None:
            held = made
            if self._settings.folder is not None:
                held = await self._first_written(name, made)
            held = self._secrets.setdefault(name, held)
        return held

    async def count(self, dealer: str, bucket: str, limit: RateLimit, *, units: int = 1) -> Allowance:
        """Count units against a rate limit; one process counts for all."""
        require(dealer=dealer, entry=bucket)
        return replace(self._memory.count(dealer, bucket, limit, units), shared=True)

    async def cached(self, dealer: str, digest: str) -> bytes | None:
        """A finished answer."""
        return self._memory.plan(dealer, digest)

    async def remember(self, dealer: str, digest: str, body: bytes) -> None:
        """Keep a finished answer for a while."""
        require(dealer=dealer, entry=digest)
        self._memory.keep_plan(dealer, digest, body, self._settings.plan_lifetime_s)

    async def _settle(
        self, snapshot: Snapshot[Parsed], if_match: str | None, *, activate: bool
    ) -> PublishOutcome:
        dealer, catalog_id, revision = snapshot.dealer, snapshot.catalog_id, snapshot.revision
        held = self._memory.catalogs.get((dealer, catalog_id))
        current = None if held is None else held.snapshot.revision
        check_match(current, revision, if_match, activate=activate)
        known = await asyncio.to_thread(self._known_revisions, dealer, catalog_id)
        self._check_limits(
            dealer, new_catalog=not known, new_revision=revision not in known, count=len(known)
        )
        if revision not in known:
            await self._write(Shelf.write_document, dealer, catalog_id, revision, snapshot.document)
        changed = activate and current != revision
        if changed:
            generation = (0 if held is None else held.generation) + 1
            register = write_register(generation, revision.encode())
            await self._write(Shelf.write_active, dealer, catalog_id, register)
            self._memory.hold_catalog(generation, snapshot)
        return PublishOutcome(
            revision=revision,
            created=revision not in known,
            activated=changed,
            active=revision if changed else current,
            previous=current,
        )

    def _check_limits(self, dealer: str, *, new_catalog: bool, new_revision: bool, count: int) -> None:
        if new_catalog and len(self._memory.catalog_records(dealer)) >= CATALOGS_MOST:
            raise LimitReached("catalogs", CATALOGS_MOST)
        if new_revision and count >= REVISIONS_MOST:
            raise LimitReached("revisions of a catalog", REVISIONS_MOST)

    async def _write_key(self, generation: int, record: KeyRecord) -> None:
        register = write_register(generation, write_record(record))
        await self._write(Shelf.write_key, record.dealer, record.digest, register)
        self._memory.hold_key(generation, record)

    async def _write(self, write: Callable[..., None], *arguments: object) -> None:
        try:
            if self._shelf is None:
                self._shelf = Shelf(Path(await asyncio.to_thread(tempfile.mkdtemp, prefix="shin-wall-")))
            await asyncio.to_thread(write, self._shelf, *arguments)
        except OSError as error:
            self._refused_since = self._refused_since or self._clock.now()
            raise StoreUnavailable(RETRY_AFTER_S, Trouble.REFUSES_WRITES) from error
        self._refused_since = None

    async def _first_written(self, name: str, made: bytes) -> bytes:
        shelf = self._shelf or Shelf(self._settings.folder or Path())
        try:
            return await asyncio.to_thread(shelf.secret, name, made)
        except OSError as error:
            raise StoreUnavailable(RETRY_AFTER_S, Trouble.REFUSES_WRITES) from error

    def _known_revisions(self, dealer: str, catalog_id: str) -> dict[str, datetime | None]:
        shipped = self._shipped.get((dealer, catalog_id))
        known: dict[str, datetime | None] = {} if shipped is None else {shipped.revision: None}
        return known if self._shelf is None else known | self._shelf.revisions(dealer, catalog_id)

    def _document(self, dealer: str, catalog_id: str, revision: str) -> bytes:
        document = None if self._shelf is None else self._shelf.document(dealer, catalog_id, revision)
        if document is None:
            raise RevisionUnknown(catalog_id, revision)
        return document

    def _parsed(self, dealer: str, catalog_id: str, revision: str, document: bytes) -> Snapshot[Parsed]:
        try:
            return parse_snapshot(dealer, catalog_id, revision, document, self._parse)
        except DocumentDamaged as error:
            raise StoreUnavailable(RETRY_AFTER_S, Trouble.CORRUPT) from error

    def _read_shipped(self) -> None:
        for dealer, catalog_id, text in shipped_documents(self._settings.shipped or Path(SHIPPED, "none")):
            require(dealer=dealer, catalog=catalog_id)
            spelling, catalog = spell(orjson.loads(text), self._parse)
            snapshot = Snapshot(
                dealer=dealer,
                catalog_id=catalog_id,
                revision=content_address(spelling),
                document=spelling,
                catalog=catalog,
            )
            self._shipped[dealer, catalog_id] = snapshot
            self._memory.hold_catalog(0, snapshot)

    def _read_shelf(self, shelf: Shelf) -> None:
        for dealer, catalog_id, written in shelf.active_registers():
            self._take_catalog(shelf, dealer, catalog_id, read_pointer(written))
        for dealer, digest, written in shelf.key_registers():
            generation, value = read_register(written) or (0, b"")
            record = read_record(dealer, digest, value)
            if record is None:
                self._rejected += 1
            else:
                self._memory.hold_key(generation, record)

    def _take_catalog(
        self, shelf: Shelf, dealer: str, catalog_id: str, pointer: tuple[int, str] | None
    ) -> None:
        snapshot = self._shipped.get((dealer, catalog_id))
        if pointer is not None and (snapshot is None or snapshot.revision != pointer[1]):
            document = shelf.document(dealer, catalog_id, pointer[1]) or b""
            snapshot = usable_snapshot(dealer, catalog_id, pointer[1], document, self._parse)
        if pointer is None or snapshot is None:
            self._rejected += 1
        else:
            self._memory.hold_catalog(pointer[0], snapshot)


def _age(line: tuple[str, datetime | None]) -> tuple[float, str]:
    revision, moment = line
    return (0.0 if moment is None else moment.timestamp(), revision)
