"""Takes the list of a job in, chunk by chunk.

Rules of this file
------------------
- Chunks are equal times of work, by what workers have measured.
- Whatever decides what a structure comes to is kept with it: what its key may ask for, and the catalog of the moment.
"""

from collections.abc import AsyncIterator
from functools import partial
from typing import Any, Final

from anyio.to_thread import run_sync
from redis.exceptions import RedisError

from service.api.problems import Problem
from service.api.questions import catalog_for
from service.api.state import Service
from service.batch import writing
from service.batch.combining import too_many
from service.batch.ledger import Ledger
from service.batch.planner import Wanted, refused
from service.batch.records import Record, Refused
from service.batch.stream import Asker
from service.planner.messages import say
from service.store.contract import Snapshot

CHUNK_SECONDS: Final = 2.0
"""How much work a chunk of a job is meant to be [s]"""
LONGEST_CHUNK: Final = 200
"""Structures of a job's chunk at most [-]"""


async def ask(call: Any) -> Any:  # noqa: ANN401  # any call of the ledger, and what it gives
    """Ask the ledger in a thread; a server that is away is a problem of its own."""
    try:
        return await run_sync(call)
    except RedisError:
        raise Problem(
            "queue-away",
            say("job.queue_away", "The queue's server does not answer."),
            headers={"retry-after": "5"},
        ) from None


class Receiving:
    """Takes a list in, chunk by chunk.

    Parameters
    ----------
    service, ledger, job
        Where from and where to.
    wanted
        What is wanted of every structure.
    asker
        For whom.
    """

    def __init__(
        self, service: Service, ledger: Ledger, job: str, wanted: Wanted, asker: Asker
    ) -> None:  # one request's circumstances
        self._service, self._ledger, self._job = service, ledger, job
        self._wanted, self._dealer, self._basket = wanted, asker.dealer, asker.basket
        self._lines: list[dict[str, Any]] = []
        self._catalogs, self._sent = dict[str, list[str]](), set[str]()
        self._chunks = self._received = 0

    async def receive(self, found: AsyncIterator[list[Record | Refused]]) -> int:
        """Keep every line and give the number of chunks."""
        size = await ask(partial(self._ledger.chunk_size, CHUNK_SECONDS, LONGEST_CHUNK))
        async for some in found:
            for record in some:
                self._lines.append(await self._line(record))
                if len(self._lines) >= size:
                    await self._keep()
        await self._keep()
        if self._basket is not None and self._chunks:
            order = {"lines": [], "order": self._basket.as_values()}
            await ask(partial(self._ledger.add, self._job, self._chunks, order, {}))
            self._chunks += 1
        return self._chunks

    async def _line(self, record: Record | Refused) -> dict[str, Any]:
        """Write a line as the ledger keeps it, its catalog found now, so that later revisions do not change the job."""
        head = writing.head_of(self._received, record)
        self._received += 1
        if self._received > self._service.settings.job_structures:
            raise Problem(
                "limit-reached",
                say(
                    "job.most_structures",
                    "A job may have {most} structures.",
                    most=self._service.settings.job_structures,
                ),
            )
        if self._basket is not None:
            self._basket.lines += 1
            if self._basket.full:
                raise too_many()
        problem = record.problem if isinstance(record, Refused) else None
        line: dict[str, Any] = {"head": head, "body": None, "revision": None, "refused": None}
        if isinstance(record, Record):
            try:
                catalog = await catalog_for(self._service, self._dealer, *record.catalog)
            except Problem as missing:
                problem = missing
            else:
                self._note(record, catalog)
                line |= {"body": record.body.decode(), "revision": catalog.revision}
        if problem is not None:
            line["refused"] = refused(problem, self._wanted.language).decode()
        return line

    def _note(self, record: Record, catalog: Snapshot[Any]) -> None:
        """Keep the catalog for the chunk that names it first, and the structure for the order."""
        if self._basket is not None:
            self._basket.add(record, catalog)
        if catalog.revision not in self._sent:
            self._sent.add(catalog.revision)
            self._catalogs[catalog.revision] = [
                catalog.catalog_id,
                catalog.revision,
                catalog.document.decode(),
            ]

    async def _keep(self) -> None:
        """Hand a chunk to the ledger."""
        if self._lines:
            chunk = {"lines": self._lines, "wanted": self._wanted.as_values()}
            held = await ask(partial(self._ledger.add, self._job, self._chunks, chunk, self._catalogs))
            if held > self._service.settings.job_bytes:
                raise Problem(
                    "limit-reached",
                    say(
                        "job.most_bytes",
                        "A job may hold {most} bytes.",
                        most=self._service.settings.job_bytes,
                    ),
                )
            self._lines, self._catalogs, self._chunks = [], {}, self._chunks + 1
