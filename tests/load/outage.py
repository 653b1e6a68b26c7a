"""Plans under load while the catalog server is killed and restarted, empty, twice.

Rules of this module: a command and what its test runs. The service is started by its own command, gets its key by the
operator's script and its catalog over HTTP; a plan that is not answered with 200 is a failed one, whatever the reason.

Usage: python -m tests.load.outage --seconds 60 [--workers 2] [--callers 4]
"""

from __future__ import annotations

import argparse
import asyncio
import itertools
import json
import subprocess
import sys
import time
from collections import Counter
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.load.client import Connection, Reply
from tests.load.running import ROOT, Launch, service
from tests.load.structures import different
from tests.store.support import RealServer, free_port

DEMO = (ROOT / "service" / "store" / "catalogs" / "demo.json").read_bytes()
"""The catalog that is published"""
AWAY = (0.15, 0.40, 0.60, 0.80)
"""Killed, restarted, killed, restarted: parts of the run [-]"""
REPEATED = 20
"""Structures that are asked for again and again [-]"""
JSON = {"Content-Type": "application/json"}


@dataclass(slots=True)
class Outage:
    """What happened."""

    seconds: float
    """How long plans were asked for [s]"""
    waits: list[float] = field(default_factory=list)
    """How long each answer took [s]"""
    failed: Counter[str] = field(default_factory=Counter)
    """Plans not answered with 200, by reason [-]"""
    degraded: int = 0
    """Answers that said that the server is away [-]"""
    new: int = 0
    """Requests for structures never seen before [-]"""
    published: Counter[str] = field(default_factory=Counter)
    """Attempts to publish, by outcome [-]"""
    recovered: float = 0.0
    """From the last restart until the service says that all is well [s]"""

    def lines(self) -> Iterator[str]:
        """Write the figures."""
        ranked = sorted(self.waits)
        yield f"plan requests sent {len(ranked) + self.failed.total()} in {self.seconds:.0f} s, of new structures {self.new}"
        yield f"failed {self.failed.total()} {dict(self.failed) or ''}".rstrip()
        yield f"longest wait {ranked[-1]:.3f} s, 99 of 100 within {ranked[len(ranked) * 99 // 100]:.3f} s"
        yield f"answers that said that the catalog server is away {self.degraded}"
        yield f"attempts to publish {dict(self.published)}"
        yield f"all well again {self.recovered:.1f} s after the last restart"


def issue_key(settings: dict[str, str], *words: str) -> str:
    """Make a key by the operator's script."""
    environment = {"PYTHONPATH": str(ROOT)} | {f"SHIN_WALL_{name}": value for name, value in settings.items()}
    line = [sys.executable, str(ROOT / "deploy" / "issue_key.py"), *words]
    return subprocess.run(line, env=environment, capture_output=True, check=True, text=True).stdout.strip()


async def run(seconds: float, workers: int, callers: int) -> Outage:
    """Run the load and the outages."""
    server, port = RealServer(), free_port()
    server.start()
    with TemporaryDirectory(prefix="shin-wall-state-") as folder:
        settings = {"REDIS_URL": server.address.url, "KEY_PEPPER": "of this run", "RATE_LIMIT": "10000000"}
        settings["STATE_FILE"] = str(Path(folder) / "state")
        key = issue_key(settings, "demo-dealer", "plan", "publish", "read_catalog")
        try:
            with service(port, settings, Launch(command=(*Launch().command, "--workers", str(workers)))):
                return await _load(Outage(seconds), server, Caller(port, key), callers)
        finally:
            server.close()


@dataclass(frozen=True, slots=True)
class Caller:
    """Who asks."""

    port: int
    """Where the service listens [-]"""
    key: str
    """The dealer's key"""

    async def plan(self, connection: Connection, body: bytes) -> Reply:
        """Ask for a plan."""
        return await connection.ask("POST", "/v1/plans", self._headers(), body)

    async def publish(self, connection: Connection, document: bytes, **conditions: str) -> Reply:
        """Publish a catalog."""
        return await connection.ask("PUT", "/v1/catalogs/demo", self._headers() | conditions, document)

    async def well(self) -> bool:
        """Tell whether the service says that all is well, on a connection of its own: each may reach another worker."""
        async with _connected(self.port) as connection:
            reply = await connection.ask("GET", "/readyz", {})
        return reply.status == 200 and b'"pass"' in reply.body

    def _headers(self) -> dict[str, str]:
        return JSON | {"Authorization": f"Bearer {self.key}"}


async def _load(outage: Outage, server: RealServer, caller: Caller, callers: int) -> Outage:
    async with _connected(caller.port) as connection:
        first = await caller.publish(connection, DEMO)
        assert first.status == 201, first.body
    await asyncio.sleep(1.0)  # until the other workers have heard of it; the bound is STALENESS_BOUND_S
    fresh = different()
    seen = list(itertools.islice(fresh, REPEATED))
    ends = time.monotonic() + outage.seconds
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(_kill_and_restart(outage, server, caller))
        tasks.create_task(_publish(outage, caller, ends))
        for number in range(callers):
            tasks.create_task(_ask(outage, caller, _mixed(seen, fresh, number), ends))
    return outage


def _mixed(seen: list[bytes], fresh: Iterator[bytes], start: int) -> Iterator[tuple[bytes, bool]]:
    """Give three structures asked for before, then a new one, and so on."""
    for number in itertools.count(start):
        yield (next(fresh), True) if number % 4 == 3 else (seen[number * 7 % len(seen)], False)


async def _ask(outage: Outage, caller: Caller, bodies: Iterator[tuple[bytes, bool]], ends: float) -> None:
    """Ask for one plan after another."""
    async with _connected(caller.port) as connection:
        while time.monotonic() < ends:
            body, new = next(bodies)
            outage.new += new
            try:
                reply = await caller.plan(connection, body)
            except (OSError, EOFError) as error:
                outage.failed[type(error).__name__] += 1
                connection.close()
                continue
            if reply.status == 200:
                outage.waits.append(reply.seconds)
                outage.degraded += "catalog-freshness" in reply.headers
            else:
                outage.failed[f"{reply.status} {reply.body[:200].decode()}"] += 1


async def _publish(outage: Outage, caller: Caller, ends: float) -> None:
    """Publish one and the other of two catalogs again and again; note what came of it."""
    other = json.dumps(json.loads(DEMO) | {"title": "The same under another title"}).encode()
    async with _connected(caller.port) as connection:
        for document in itertools.cycle((other, DEMO)):
            if time.monotonic() > ends:
                return
            reply = await caller.publish(connection, document, **{"If-Match": "*"})
            told = ", to be repeated" if "retry-after" in reply.headers else ""
            outage.published[f"{reply.status}{told}"] += 1
            await asyncio.sleep(0.5)


async def _kill_and_restart(outage: Outage, server: RealServer, caller: Caller) -> None:
    """Kill the server and restart it empty, twice; note how long the service takes to be well again."""
    began = time.monotonic()
    for part, act in zip(AWAY, (server.kill, server.start) * 2, strict=True):
        await asyncio.sleep(began + part * outage.seconds - time.monotonic())
        await asyncio.to_thread(act)
    restarted, well = time.monotonic(), 0
    while well < 10 and time.monotonic() - restarted < 30:
        well = well + 1 if await caller.well() else 0
        outage.recovered = time.monotonic() - restarted
        await asyncio.sleep(0.02)


@asynccontextmanager
async def _connected(port: int) -> AsyncIterator[Connection]:
    connection = Connection(port)
    try:
        yield connection
    finally:
        connection.close()


def main() -> int:
    """Run it and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--callers", type=int, default=4)
    arguments = parser.parse_args()
    outage = asyncio.run(run(arguments.seconds, arguments.workers, arguments.callers))
    sys.stdout.write("\n".join(outage.lines()) + "\n")
    return min(outage.failed.total(), 1)


if __name__ == "__main__":
    raise SystemExit(main())
