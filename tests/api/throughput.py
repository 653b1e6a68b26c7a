"""How many plans a worker answers, beside the least that any answer costs.

Run `python -m tests.api.throughput --count 400`. One service process, one worker; in one run, with the same bodies:

- floor: an operation of the same application that reads and validates the body the same way and returns the same bytes;
- new: realistic structures that the service has never seen (`service.bench_specs`);
- seen: the same bodies again.

Printed: requests per second, median and 99th percentile of the time to answer [ms], and the ratios to the floor.
"""

import argparse
import asyncio
import sys
import tempfile
import time
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from statistics import median
from typing import Final

import orjson
from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Planning
from service.api.answers import Finished, finished_answer
from service.api.bodies import JsonBody, read, require_json
from service.api.exchange import exchange_of
from service.api.models import SPEC
from service.api.plans import PLAN
from service.api.questions import answered
from service.api.state import service_of
from service.app import create_app
from service.bench_specs import make_spec
from tests.api.live import serving

FLOOR: Final = "/floor"
TURNS: Final = 8
"""Into how many turns the bodies are divided [-]"""
_BODY: Final = JsonBody(SPEC)


def with_floor() -> FastAPI:
    """Build the application with the operation that costs the least."""
    app, kept = create_app(), dict[bytes, Finished]()

    @app.post(FLOOR, response_model=None)
    async def floor(request: Request, principal: Planning) -> Response:
        """Read, validate, answer with bytes at hand; the first time they are made."""
        negotiate.require(request)
        require_json(request)
        service = service_of(request)
        body = await read(request, service.settings.max_body_bytes)
        _BODY.parse(body)
        if body not in kept:
            kept[body] = await answered(service, exchange_of(request), principal, PLAN, body)
        return finished_answer(kept[body])

    return app


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One pass over the bodies."""

    name: str
    seconds: float
    times: Sequence[float]
    refused: int
    size: int

    @property
    def rate(self) -> float:
        """Requests per second [1/s]."""
        return len(self.times) / self.seconds

    def __str__(self) -> str:
        ordered = sorted(self.times)
        late = ordered[int(0.99 * (len(ordered) - 1))]
        return (
            f"{self.name:6} {self.rate:9.1f} /s   median {1000 * median(ordered):8.2f} ms   99 % {1000 * late:8.2f} ms"
            f"   mean answer {self.size / len(self.times) / 1000:.0f} kB   refused {self.refused}"
        )


async def _one(
    reader: asyncio.StreamReader, writer: asyncio.StreamWriter, path: str, body: bytes
) -> tuple[int, int]:
    """Send one body and give status and size of the answer."""
    head = f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    writer.write(head.encode() + body)
    received = await reader.readuntil(b"\r\n\r\n")
    length = int(received.lower().partition(b"content-length:")[2].partition(b"\r\n")[0])
    await reader.readexactly(length)
    return int(received.split(b" ", 2)[1]), length


async def _pass(name: str, port: int, path: str, bodies: Sequence[bytes], connections: int) -> Measured:
    """Send every body once, over so many connections."""
    waiting, times, statuses, size = deque(bodies), list[float](), list[int](), 0

    async def work() -> None:
        nonlocal size
        reader, writer = await asyncio.open_connection("127.0.0.1", port, limit=2**24)
        while waiting:
            body, began = waiting.popleft(), time.perf_counter()
            status, length = await _one(reader, writer, path, body)
            times.append(time.perf_counter() - began)
            statuses.append(status)
            size += length
        writer.close()

    began = time.perf_counter()
    await asyncio.gather(*(work() for _ in range(connections)))
    seconds = time.perf_counter() - began
    return Measured(
        name=name, seconds=seconds, times=times, refused=sum(status >= 400 for status in statuses), size=size
    )


async def measure(port: int, bodies: Sequence[bytes], connections: int) -> list[Measured]:
    """Run the passes in turns, so that all meet the same weather; the floor is warmed before it is measured."""
    found: dict[str, list[Measured]] = {"floor": [], "new": [], "seen": []}
    for turn in range(TURNS):
        own = bodies[turn::TURNS]
        again = list(own) * max(1, 4000 // len(bodies))
        found["new"].append(await _pass("new", port, "/v1/plans", own, connections))
        found["seen"].append(await _pass("seen", port, "/v1/plans", again, connections))
        await _pass("warm", port, FLOOR, own, connections)
        found["floor"].append(await _pass("floor", port, FLOOR, again, connections))
    return [_together(passes) for passes in found.values()]


def _together(passes: Sequence[Measured]) -> Measured:
    """Add up the passes of a name."""
    return Measured(
        name=passes[0].name,
        seconds=sum(each.seconds for each in passes),
        times=[time for each in passes for time in each.times],
        refused=sum(each.refused for each in passes),
        size=sum(each.size for each in passes),
    )


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--count", type=int, default=400)
    parser.add_argument("--seed", type=int, default=20261124)
    parser.add_argument("--connections", type=int, default=8)
    chosen = parser.parse_args()
    random = Random(chosen.seed)  # noqa: S311  # repeatable, not secret
    bodies = [orjson.dumps(make_spec(random, f"structure {number}")) for number in range(chosen.count)]
    command = (
        "-m",
        "uvicorn",
        "--factory",
        "tests.api.throughput:with_floor",
        "--no-access-log",
        "--log-level",
        "warning",
    )
    settings = {
        "SHIN_WALL_PLAN_CACHE_BYTES": str(1 << 30),
        "SHIN_WALL_SOLVER_QUEUE": "1000",
        "SHIN_WALL_LOG_LEVEL": "WARNING",
    }
    with tempfile.TemporaryDirectory() as folder, serving(Path(folder) / "log", settings, command) as live:
        measured = asyncio.run(measure(live.port, bodies, chosen.connections))
    floor = measured[0].rate
    lines = [
        *map(str, measured),
        *(f"{each.name} / floor = 1 / {floor / each.rate:.1f}" for each in measured[1:]),
    ]
    sys.stdout.write("\n".join(lines) + "\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
