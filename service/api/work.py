"""Work that would hold up the event loop: done in threads, bounded, shed when there is too much.

Rules of this file
------------------
- The loop never computes a plan; it hands it to a thread and goes on answering.
- At most so many plans are worked on and so many wait; the next one is turned away with 503 and `Retry-After`.
"""

import math
from asyncio import get_running_loop
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from time import perf_counter
from typing import TypeVar

from service.api.problems import Problem
from service.planner.messages import say

T = TypeVar("T")


class Solvers:
    """The threads in which plans are worked on.

    Parameters
    ----------
    threads
        Plans worked on at once [-].
    queue
        Plans that may wait [-].
    """

    def __init__(self, threads: int, queue: int) -> None:
        self._pool = ThreadPoolExecutor(threads, thread_name_prefix="solver")
        self._threads = threads
        self._most = threads + queue
        self._mean = 0.01
        self.accepted = 0

    @property
    def retry_after(self) -> int:
        """When the work accepted so far will be done, by the mean of the last pieces [s]."""
        return max(1, math.ceil(self.accepted * self._mean / self._threads))

    async def run(self, work: Callable[[], T]) -> T:
        """Do a piece of work in a thread.

        Raises
        ------
        Problem
            When too much is waiting already.
        """
        if self.accepted >= self._most:
            raise Problem(
                "busy",
                say("problem.busy", "Too many plans are waiting."),
                headers={"retry-after": str(self.retry_after)},
            )
        self.accepted += 1
        try:
            return await get_running_loop().run_in_executor(self._pool, self._timed, work)
        finally:
            self.accepted -= 1

    def _timed(self, work: Callable[[], T]) -> T:
        """Do the work and learn from it how long work takes."""
        began = perf_counter()
        try:
            return work()
        finally:
            self._mean += 0.1 * (perf_counter() - began - self._mean)
