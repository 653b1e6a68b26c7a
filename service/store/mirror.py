"""How a worker's memory follows the server.

Rules of this module: it alone moves state from the server to the memory, and back when the server has lost it. The
server announces each change; besides, it is asked every `POLL_S`, so that a lost announcement costs no more than that.

What is read is believed only if it has the right form, and a document only if it has its own name. Everything else is
counted as rejected, and what the worker holds stays in use.

A register never goes back: a server that comes back with a lower generation, or with nothing, has lost what the worker
still holds, and is given it again. (A revision that is not active anywhere is not given again: no worker holds it.)
"""

import asyncio
import logging
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Generic, TypeVar

from redis.exceptions import RedisError

from service.store.commands import Commands, Publication
from service.store.contract import KeyRecord, Snapshot
from service.store.errors import StoreUnavailable
from service.store.keys import read_record
from service.store.memory import Clock, WorkerMemory
from service.store.names import is_name
from service.store.publication import read_pointer, read_register
from service.store.revision import usable_snapshot
from service.store.server import READING_BOUND_S, Server
from service.store.state_file import load_state, save_state

Parsed = TypeVar("Parsed")

POLL_S = 2.0
"""How often the server is asked whether anything changed [s]."""
RECONNECT_S = 0.5
"""How long after a failure the server is tried again [s]."""

log = logging.getLogger(__name__)


class Mirror(Generic[Parsed]):
    """Keeps a memory like the server, and the server like the memory.

    Parameters
    ----------
    server
        The server [-].
    commands
        What is said to it [-].
    memory
        The worker's memory [-].
    parse
        The planner's reader of catalogs [-].
    clock
        The store's clocks [-].
    """

    def __init__(
        self,
        server: Server,
        commands: Commands,
        memory: WorkerMemory[Parsed],
        parse: Callable[[object], Parsed],
        clock: Clock,
    ) -> None:
        self.rejected = 0
        self.rejected_since: datetime | None = None
        self.fresh_at: float | None = None
        self.fresh_since: datetime = clock.now()
        self._server = server
        self._commands = commands
        self._memory = memory
        self._parse = parse
        self._clock = clock
        self._token: bytes | None = None
        self._unsaved = False

    def take_catalog(self, generation: int, snapshot: Snapshot[Parsed]) -> None:
        """Hold an active catalog, and save it with the next state."""
        self._memory.hold_catalog(generation, snapshot)
        self._unsaved = True

    def take_key(self, generation: int, record: KeyRecord) -> None:
        """Hold a key, and save it with the next state."""
        self._memory.hold_key(generation, record)
        self._unsaved = True

    async def refresh(self) -> None:
        """Make the memory like the server.

        Raises
        ------
        StoreUnavailable
            When the server is away; the memory stays as it is.
        """
        token, dealers = await self._commands.overview()
        if token is None or token != self._token or self.rejected:
            held = {dealer for dealer, _ in (*self._memory.catalogs, *self._memory.keys)}
            named = sorted(held | {dealer for dealer in dealers if is_name("dealer", dealer)})
            rejected = await self._read_catalogs(named) + await self._read_keys(named)
            self._note_rejected(rejected)
            self._token = token
        self.fresh_at = self._clock.monotonic()
        self.fresh_since = self._clock.now()

    async def follow(self, state_file: Path | None) -> None:
        """Follow the server until cancelled.

        Parameters
        ----------
        state_file
            Where the state is saved whenever it changed; None: nowhere [-].
        """
        while True:
            try:
                await self._listen(state_file)
            except (StoreUnavailable, RedisError, OSError) as error:
                log.debug("the server is away: %s", error)
            except Exception:
                log.exception("following the server failed")
            await self.save(state_file)
            await asyncio.sleep(RECONNECT_S)

    def recall(self, state_file: Path) -> None:
        """Fill the memory from the last good state, if there is one."""
        load_state(state_file, self._memory, self._parse)

    async def save(self, state_file: Path | None) -> None:
        """Save the state if it changed; a disk that does not take it is reported and tried again."""
        if state_file is None or not self._unsaved:
            return
        self._unsaved = False
        try:
            await asyncio.to_thread(save_state, state_file, self._memory)
        except OSError as error:
            self._unsaved = True
            log.warning("the state cannot be saved: %s", error)

    async def _listen(self, state_file: Path | None) -> None:
        async with self._server.client.pubsub() as notices:
            await self._server.call(lambda: notices.subscribe(self._commands.layout.changes))
            while True:
                await self.refresh()
                await self.save(state_file)
                await notices.get_message(ignore_subscribe_messages=True, timeout=POLL_S)

    async def _read_catalogs(self, dealers: list[str]) -> int:
        rejected, wanted, found = 0, list[tuple[str, str, str, int]](), dict[tuple[str, str], int]()
        for dealer, fields in zip(dealers, await self._commands.registers(dealers, "active"), strict=True):
            rejected += fields is None
            for catalog_id, written in (fields or {}).items():
                pointer = read_pointer(written)
                if pointer is None or not is_name("catalog", catalog_id):
                    rejected += 1
                    continue
                found[dealer, catalog_id] = pointer[0]
                if self._later(dealer, catalog_id, *pointer):
                    wanted.append((dealer, catalog_id, pointer[1], pointer[0]))
        for dealer, catalog_id in await self._fetch(wanted):
            rejected += 1
            del found[dealer, catalog_id]
        await self._give_back_catalogs(found)
        return rejected

    def _later(self, dealer: str, catalog_id: str, generation: int, revision: str) -> bool:
        held = self._memory.catalogs.get((dealer, catalog_id))
        if held is None:
            return True
        # Two sides of a broken network may have set the same generation: the server's counts.
        return generation > held.generation or (
            generation == held.generation and revision != held.snapshot.revision
        )

    async def _fetch(self, wanted: list[tuple[str, str, str, int]]) -> list[tuple[str, str]]:
        """Take documents into the memory; gives the catalogs whose document is not usable."""
        names = [(dealer, catalog_id, revision) for dealer, catalog_id, revision, _ in wanted]
        documents = await self._commands.documents(names, READING_BOUND_S) if names else []
        unusable = list[tuple[str, str]]()
        for (dealer, catalog_id, revision, generation), document in zip(wanted, documents, strict=True):
            snapshot = await asyncio.to_thread(
                usable_snapshot, dealer, catalog_id, revision, document, self._parse
            )
            if snapshot is None:
                unusable.append((dealer, catalog_id))
            else:
                self.take_catalog(generation, snapshot)
        return unusable

    async def _give_back_catalogs(self, found: dict[tuple[str, str], int]) -> None:
        for name, held in list(self._memory.catalogs.items()):
            if found.get(name, 0) < held.generation:
                snapshot = held.snapshot
                publication = Publication(
                    dealer=snapshot.dealer,
                    catalog_id=snapshot.catalog_id,
                    revision=snapshot.revision,
                    document=snapshot.document,
                    known=(held.generation, snapshot.revision),
                )
                with suppress(StoreUnavailable):
                    await self._commands.publish(publication)

    async def _read_keys(self, dealers: list[str]) -> int:
        rejected, found = 0, dict[tuple[str, str], int]()
        for dealer, fields in zip(dealers, await self._commands.registers(dealers, "keys"), strict=True):
            rejected += fields is None
            for digest, written in (fields or {}).items():
                generation, value = read_register(written) or (0, b"")
                record = read_record(dealer, digest, value) if is_name("key", digest) else None
                if record is None:
                    rejected += 1
                    continue
                found[dealer, digest] = generation
                held = self._memory.keys.get((dealer, digest))
                if held is None or (held.generation <= generation and held.record != record):
                    self.take_key(generation, record)
        await self._give_back_keys(found)
        return rejected

    async def _give_back_keys(self, found: dict[tuple[str, str], int]) -> None:
        for name, held in list(self._memory.keys.items()):
            if found.get(name, 0) < held.generation:
                with suppress(StoreUnavailable):
                    await self._commands.put_key(held.record, held.generation, step=False)

    def _note_rejected(self, rejected: int) -> None:
        self.rejected = rejected
        self.rejected_since = (self.rejected_since or self._clock.now()) if rejected else None
