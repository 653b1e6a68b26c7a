"""What one worker takes and carries: the figures of deploy/SIZING.md, measured here and now.

Rules of this module: a command that prints; nothing is judged. One worker with one solver thread and its embedded
catalogs, as the container file starts it; the callers run beside it on the same machine and take a part of it.

Usage: python -m tests.load.sizing [--starts 5] [--plans 1000] [--repeated 5000] [--callers 4]
"""

from __future__ import annotations

import argparse
import asyncio
import itertools
import os
import platform
import statistics
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass

from tests.load.client import Connection
from tests.load.running import Running, service
from tests.load.structures import different
from tests.store.support import free_port

MEBIBYTE = 2**20
"""One mebibyte [B]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One load of plan requests."""

    waits: list[float]
    """How long each answer took, ascending [s]"""
    seconds: float
    """How long the load lasted [s]"""
    processor: float
    """Processor time that the worker used [s]"""
    bytes_sent: int
    """Content of all answers [B]"""

    def line(self) -> str:
        """Write the figures."""
        number = len(self.waits)
        middle, late = self.waits[number // 2], self.waits[number * 99 // 100]
        return (
            f"{number / self.seconds:.0f} a second, {1000 * self.processor / number:.1f} ms of processor each, "
            f"half within {1000 * middle:.0f} ms, 99 of 100 within {1000 * late:.0f} ms, longest {1000 * self.waits[-1]:.0f} ms, "
            f"{self.bytes_sent / number / 1024:.0f} KiB each"
        )


async def load(running: Running, bodies: Iterable[bytes], callers: int) -> Round:
    """Ask for the plans, so many at once, and measure."""
    waits, sizes, queue = list[float](), list[int](), iter(bodies)

    async def call() -> None:
        with closing(Connection(running.port)) as connection:
            for body in queue:
                headers = {"Content-Type": "application/json"}
                reply = await connection.ask("POST", "/v1/plans", headers, body)
                assert reply.status == 200, reply.body
                waits.append(reply.seconds)
                sizes.append(len(reply.body))

    began, used = time.perf_counter(), running.processor_seconds()
    await asyncio.gather(*(call() for _ in range(callers)))
    seconds = time.perf_counter() - began
    used = running.processor_seconds() - used
    return Round(waits=sorted(waits), seconds=seconds, processor=used, bytes_sent=sum(sizes))


def lines(arguments: argparse.Namespace) -> Iterator[str]:
    """Measure, and write the figures as they come."""
    yield f"Python {platform.python_version()}, {os.cpu_count()} processors, load average {os.getloadavg()[0]:.1f}"
    starts, used = list[float](), list[float]()
    for _ in range(arguments.starts):
        with service(free_port(), {}) as running:
            starts.append(running.start_seconds)
            used.append(running.processor_seconds())
    yield (
        f"start to ready: median {statistics.median(starts):.1f} s, longest {max(starts):.1f} s of {len(starts)}; "
        f"processor, median {statistics.median(used):.1f} s"
    )
    with service(free_port(), {}) as running:
        yield f"memory of one worker, idle: {running.memory() / MEBIBYTE:.0f} MiB"
        bodies = list(itertools.islice(different(), arguments.plans))
        new = asyncio.run(load(running, bodies, arguments.callers))
        yield f"structures never seen before, {arguments.callers} callers: {new.line()}"
        yield f"memory after {arguments.plans} different plans: {running.memory() / MEBIBYTE:.0f} MiB"
        again = list(itertools.islice(itertools.cycle(bodies[-50:]), arguments.repeated))
        yield f"structures seen before: {asyncio.run(load(running, again, arguments.callers)).line()}"
        yield f"memory at the end: {running.memory() / MEBIBYTE:.0f} MiB"
    yield f"load average at the end {os.getloadavg()[0]:.1f}"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--starts", type=int, default=5)
    parser.add_argument("--plans", type=int, default=1000)
    parser.add_argument("--repeated", type=int, default=5000)
    parser.add_argument("--callers", type=int, default=4)
    for line in lines(parser.parse_args()):
        sys.stdout.write(line + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
