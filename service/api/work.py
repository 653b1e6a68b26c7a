"""Work that would hold up the event loop: done in threads, bounded, shed when there is too much, stopped when nobody waits.

Rules of this file
------------------
- The loop never computes a plan; it hands it to a thread and goes on answering.
- At most so many plans are worked on and so many wait; the next one is turned away with 503 and `Retry-After`.
- Work whose caller left, or whose time is over, is stopped through its counter of effort: the planner knows no clock.
"""

import math
from asyncio import CancelledError, Future, Task, get_running_loop
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from time import perf_counter
from typing import Any, Final, TypeVar

from starlette.requests import ClientDisconnect

from service.api.exchange import Exchange
from service.api.problems import Problem
from service.planner.messages import say
from service.planner.solver.effort import Cancelled, Effort

T = TypeVar("T")
_SHORT: Final = 0.1
"""Work that is done by then is not watched [s]"""


class _Watch:
    """Stops work when its caller leaves or its time is over.

    Parameters
    ----------
    work
        What is waited for.
    effort
        What the work charges.
    exchange
        The request.
    seconds
        How long it may take.
    """

    def __init__(self, work: Future[Any], effort: Effort, exchange: Exchange, seconds: float) -> None:
        self._work, self._effort, self._exchange, self._seconds = work, effort, exchange, seconds
        self._loop = get_running_loop()
        self._timer = self._loop.call_later(_SHORT, self._begin)
        self._watching: Task[None] | None = None
        self.reason: Exception | None = None

    def _begin(self) -> None:
        """Watch work that turns out not to be short."""
        self._timer = self._loop.call_later(
            max(0.0, self._seconds - _SHORT), self._stop, _late(self._seconds)
        )
        self._watching = self._loop.create_task(self._until_left())

    async def _until_left(self) -> None:
        await self._exchange.left()
        self._stop(ClientDisconnect())

    def _stop(self, reason: Exception) -> None:
        """Take work that has not begun out of the line, and stop it where it has."""
        self.reason = reason
        self._effort.cancel()
        self._work.cancel()

    def end(self) -> None:
        """Watch no longer."""
        self._timer.cancel()
        if self._watching is not None:
            self._watching.cancel()


def _late(seconds: float) -> Problem:
    return Problem(
        "too-late",
        say("problem.too_late", "The answer was not ready within {seconds} s.", seconds=f"{seconds:g}"),
    )


class Solvers:
    """The threads in which plans are worked on.

    Parameters
    ----------
    threads
        Plans worked on at once [-].
    queue
        Plans that may wait [-].
    seconds
        How long a caller waits at most [s].
    """

    def __init__(self, threads: int, queue: int, seconds: float) -> None:
        self._pool = ThreadPoolExecutor(threads, thread_name_prefix="solver")
        self._threads = threads
        self._most = threads + queue
        self._seconds = seconds
        self._mean = 0.01
        self.accepted = 0
        self.working = 0

    @property
    def retry_after(self) -> int:
        """When the work accepted so far will be done, by the mean of the last pieces [s]."""
        return max(1, math.ceil(self.accepted * self._mean / self._threads))

    async def run(self, exchange: Exchange, work: Callable[[Effort], T], units: float = 0.0) -> T:
        """Do a piece of work in a thread.

        Parameters
        ----------
        exchange
            The request that it is done for.
        work
            What to do; what it can leave undone it charges to the counter.
        units
            How many the counter has [units].

        Raises
        ------
        Problem
            When too much is waiting already, or the answer is not ready in time.
        ClientDisconnect
            When nobody waits for the answer any more.
        """
        if self.accepted >= self._most:
            raise Problem(
                "busy",
                say("problem.busy", "Too many plans are waiting."),
                headers={"retry-after": str(self.retry_after)},
            )
        effort = Effort(units)
        self.accepted += 1
        try:
            future = get_running_loop().run_in_executor(self._pool, self._timed, work, effort)
            watch = _Watch(future, effort, exchange, self._seconds)
            try:
                return await future
            except (CancelledError, Cancelled):
                effort.cancel()
                if watch.reason is None:
                    raise
                raise watch.reason from None
            finally:
                watch.end()
        finally:
            self.accepted -= 1

    def _timed(self, work: Callable[[Effort], T], effort: Effort) -> T:
        """Do the work and learn from it how long work takes."""
        began = perf_counter()
        self.working += 1
        try:
            return work(effort)
        finally:
            self.working -= 1
            self._mean += 0.1 * (perf_counter() - began - self._mean)
