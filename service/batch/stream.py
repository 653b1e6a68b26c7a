"""A batch as it runs: structures in, answers out in the same order, as many on their way as the planners can take.

Rules of this file
------------------
- At most `WINDOW` structures are between input and output; then reading waits, so memory does not grow with the input.
- A structure that equals one before, its reference aside, gets that one's answer; small answers are remembered for it.
- Whoever leaves this generator, its caller gone or a fault, leaves no task behind.
"""

import asyncio
import hashlib
from collections import OrderedDict
from collections.abc import AsyncGenerator, AsyncIterator, Awaitable, Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Final

from service.api.problems import Problem
from service.batch.combining import Basket
from service.batch.planner import Wanted, refused
from service.batch.pool import Planners, Structure
from service.batch.records import Record, Refused
from service.batch.tally import Tally
from service.store.contract import Snapshot

WINDOW: Final = 512
"""Structures between input and output at most [-]"""
REMEMBERED: Final = 4096
"""Answers remembered for equal structures [-]"""
SMALL: Final = 8192
"""Size of an answer that is remembered [B]"""

CatalogOf = Callable[[tuple[str, str | None]], Awaitable[Snapshot[Any]]]
"""Finds the catalog that a structure asks for; raises `Problem` where there is none"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asker:
    """For whom a list is planned."""

    dealer: str
    """Whose turn a chunk of it takes"""
    basket: Basket | None = None
    """Collects the order that the list is to end in"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """One line of the output."""

    index: int
    """Number of the structure, from 0 [-]"""
    record: Record | Refused
    """What was asked"""
    content: bytes
    """The answer or the problem, a JSON object"""


@dataclass(slots=True, kw_only=True)
class _Waiting:
    """A structure on its way."""

    record: Record | Refused
    answer: asyncio.Future[bytes]
    repeated: bool = False


class Batch:
    """One batch.

    Parameters
    ----------
    planners
        The planner processes.
    catalog_of
        Finds catalogs.
    wanted
        What is wanted of every structure.
    answered_as
        Media type of its answer.
    asker
        Whose it is, and the basket of the order that it is to end in, if any.
    """

    def __init__(
        self, planners: Planners, catalog_of: CatalogOf, wanted: Wanted, answered_as: str, asker: Asker
    ) -> None:
        self.tally = Tally()
        self.dealer, self.basket = asker.dealer, asker.basket
        self.answered_as = answered_as
        self._planners = planners
        self._catalog_of = catalog_of
        self._wanted = wanted
        self._waiting = asyncio.Queue[_Waiting | None](WINDOW)
        self._to_plan = asyncio.Queue[tuple[Structure, asyncio.Future[bytes]]]()
        self._known = OrderedDict[bytes, asyncio.Future[bytes]]()
        self._tasks = set[asyncio.Task[Any]]()

    async def answers(self, records: AsyncIterator[Sequence[Record | Refused]]) -> AsyncGenerator[Answered]:
        """Answer structures in their order.

        Parameters
        ----------
        records
            The structures as they come.
        """
        reading = self._begin(self._read(records))
        dispatching = self._begin(self._dispatch())
        try:
            index = 0
            while (waiting := await self._waiting.get()) is not None:
                gist, _, content = (await waiting.answer).partition(b"\t")
                self.tally.note(gist, repeated=waiting.repeated)
                yield Answered(index=index, record=waiting.record, content=content)
                index += 1
            await reading
        finally:
            dispatching.cancel()
            for task in tuple(self._tasks):
                task.cancel()
            with suppress(asyncio.CancelledError):
                await dispatching

    async def order(self) -> bytes:
        """Answer the line of the order, once every structure is answered; nothing where none is wanted."""
        if self.basket is None:
            return b""
        await self._planners.places.take(self.dealer)
        try:
            return await self._planners.combine(self.basket)
        finally:
            self._planners.places.give()

    def _begin(self, work: Any) -> asyncio.Task[Any]:  # noqa: ANN401  # any coroutine
        task = asyncio.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return task

    async def _read(self, records: AsyncIterator[Sequence[Record | Refused]]) -> None:
        """Put structures in line as they come; the end, or a fault of the input, ends the line."""
        try:
            async for found in records:
                for record in found:
                    await self._waiting.put(await self._in_line(record))
        except Exception:
            await self._waiting.put(None)
            raise
        await self._waiting.put(None)

    async def _in_line(self, record: Record | Refused) -> _Waiting:
        """Find a structure's place: refused, answered before, or to be planned."""
        answer = asyncio.get_running_loop().create_future()
        if self.basket is not None:
            self.basket.lines += 1
        if isinstance(record, Refused):
            answer.set_result(refused(record.problem, self._wanted.language))
            return _Waiting(record=record, answer=answer)
        try:
            catalog = await self._catalog_of(record.catalog)
        except Problem as problem:
            answer.set_result(refused(problem, self._wanted.language))
            return _Waiting(record=record, answer=answer)
        if self.basket is not None:
            self.basket.add(record, catalog)
        name = hashlib.blake2b(catalog.revision.encode() + record.body, digest_size=16).digest()
        known = self._known.get(name)
        if known is not None:
            return _Waiting(record=record, answer=known, repeated=True)
        self._remember(name, answer)
        self._to_plan.put_nowait((Structure(body=record.body, catalog=catalog), answer))
        return _Waiting(record=record, answer=answer)

    def _remember(self, name: bytes, answer: asyncio.Future[bytes]) -> None:
        """Remember an answer for equal structures, unless it turns out large."""
        self._known[name] = answer
        if len(self._known) > REMEMBERED:
            self._known.popitem(last=False)

        def drop_large(done: asyncio.Future[bytes]) -> None:
            if done.cancelled() or len(done.result()) > SMALL:
                self._known.pop(name, None)

        answer.add_done_callback(drop_large)

    async def _dispatch(self) -> None:
        """Hand structures to planners, as many at a time as are there and a chunk holds."""
        while True:
            first = await self._to_plan.get()
            await self._planners.places.take(self.dealer)
            chunk = [first]
            while len(chunk) < self._planners.chunk and not self._to_plan.empty():
                chunk.append(self._to_plan.get_nowait())
            # given back also where the work is cancelled before it began
            self._begin(self._plan(chunk)).add_done_callback(lambda _: self._planners.places.give())

    async def _plan(self, chunk: list[tuple[Structure, asyncio.Future[bytes]]]) -> None:
        """Plan a chunk and give out its answers."""
        try:
            answers = await self._planners.plan([structure for structure, _ in chunk], self._wanted)
            for (_, future), answer in zip(chunk, answers, strict=True):
                future.set_result(answer)
        except Exception as error:  # noqa: BLE001  # whoever waits for an answer gets it
            for _, future in chunk:
                future.set_exception(error)
