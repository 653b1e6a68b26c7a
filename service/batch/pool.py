"""The planner processes of a worker: started when first needed, started again when one dies.

Rules of this file
------------------
- Chunks go out and answers come back as bytes; nothing else crosses between processes.
- Chunks are as long as a fraction of a second's work, by the time the last ones took, so that work stops soon after its
  caller has gone and no caller waits long for a planner.
- A structure that ends its planner twice is set aside with a problem; its neighbours are planned.
"""

import asyncio
import multiprocessing
import os
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from typing import Any, Final

import orjson

from service.api.problems import Problem
from service.batch.combining import Basket, combined, not_combined
from service.batch.planner import Wanted, begin, plan_chunk, refused
from service.batch.turns import Turns
from service.planner.messages import say
from service.store.contract import Snapshot

CHUNK_SECONDS: Final = 0.1
"""How much work a chunk is meant to be [s]"""
LONGEST_CHUNK: Final = 64
"""Structures of a chunk at most [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Structure:
    """One structure as it goes to a planner."""

    body: bytes
    """The spec as JSON"""
    catalog: Snapshot[Any]
    """The catalog to plan it from"""


class Planners:
    """The planner processes.

    Parameters
    ----------
    number
        How many; 0 takes one for each processor [-].
    """

    def __init__(self, number: int) -> None:
        self.number = number or os.cpu_count() or 1
        self._pool: ProcessPoolExecutor | None = None
        self._seconds = CHUNK_SECONDS / 8
        self.batches = Counter[str]()
        """Batches that are running, by dealer [-]"""
        self.places = Turns(self.number + 1)
        """One chunk for each planner and one that waits, so that none is idle"""

    @property
    def chunk(self) -> int:
        """How many structures the next chunk should hold [-]."""
        return max(1, min(LONGEST_CHUNK, int(CHUNK_SECONDS / self._seconds)))

    def _processes(self) -> ProcessPoolExecutor:
        """Start the planners, or find them started."""
        if self._pool is None:
            context = multiprocessing.get_context("forkserver")
            context.set_forkserver_preload(["service.batch.forked"])
            self._pool = ProcessPoolExecutor(self.number, mp_context=context, initializer=begin)
        return self._pool

    def _drop(self, broken: ProcessPoolExecutor) -> None:
        """Let go of planners of which one has died; the next chunk starts new ones."""
        if self._pool is broken:
            self._pool = None
        broken.shutdown(wait=False, cancel_futures=True)

    async def plan(self, structures: Sequence[Structure], wanted: Wanted) -> list[bytes]:
        """Plan a chunk.

        Parameters
        ----------
        structures
            The structures.
        wanted
            What is wanted of each.

        Returns
        -------
            For each structure its gist, a tab, and its answer or problem as JSON, in their order.
        """
        try:
            return await self._ask(structures, wanted)
        except BrokenProcessPool:
            return [await self._alone(structure, wanted) for structure in structures]

    async def combine(self, basket: Basket) -> bytes:
        """Make the order of a list.

        Parameters
        ----------
        basket
            Its structures.

        Returns
        -------
            The line that answers it.
        """
        content = orjson.dumps(basket.as_values())
        for _ in range(2):
            try:
                return await self._run(combined, content)
            except BrokenProcessPool:
                continue
        return not_combined(
            Problem(
                "internal-error",
                say("batch.order_set_aside", "This order ended its planner and is set aside."),
            ),
            basket.wanted,
        )

    async def _run(self, work: Callable[[bytes], bytes], content: bytes) -> bytes:
        """Have a planner do something."""
        pool = self._processes()
        try:
            return await asyncio.get_running_loop().run_in_executor(pool, work, content)
        except BrokenProcessPool:
            self._drop(pool)
            raise

    async def _ask(self, structures: Sequence[Structure], wanted: Wanted) -> list[bytes]:
        done = await self._run(plan_chunk, _written(structures, wanted))
        seconds, *answers = done.split(b"\n")
        self._seconds += 0.3 * (float(seconds) / len(answers) - self._seconds)
        return answers

    async def _alone(self, structure: Structure, wanted: Wanted) -> bytes:
        """Plan one structure by itself, since one of its chunk has ended a planner."""
        for _ in range(2):
            try:
                return (await self._ask([structure], wanted))[0]
            except BrokenProcessPool:
                continue
        ended = Problem(
            "internal-error",
            say("batch.set_aside", "This structure ended its planner twice and is set aside."),
        )
        return refused(ended, wanted.language)

    def close(self) -> None:
        """Stop the planners; what they work on is given up."""
        if self._pool is not None:
            for process in list((self._pool._processes or {}).values()):  # noqa: SLF001  # the library offers no other way to end work
                process.terminate()
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None


def _written(structures: Sequence[Structure], wanted: Wanted) -> bytes:
    """Write a chunk for a planner."""
    revisions = list(dict.fromkeys(structure.catalog.revision for structure in structures))
    held = {structure.catalog.revision: structure.catalog for structure in structures}
    return orjson.dumps(
        {
            "wanted": wanted.as_values(),
            "catalogs": [[held[name].catalog_id, name, held[name].document.decode()] for name in revisions],
            "structures": [
                [revisions.index(structure.catalog.revision), structure.body.decode()]
                for structure in structures
            ],
        }
    )
