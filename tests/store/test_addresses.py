"""Ways to reach the server: sentinels that know the primary, and TLS."""

from __future__ import annotations

import asyncio
import ssl
import subprocess
import time
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

import pytest
import redis
import trustme

from service.store.contract import ANY_REVISION, PublishOutcome, Trouble
from service.store.server import Address
from tests.store.support import RealServer, catalog, eventually, free_port, redis_store, timed

pytestmark = pytest.mark.anyio


@dataclass
class Group:
    """A primary, its replica and a sentinel that watches them."""

    primary: RealServer
    replica: RealServer
    sentinel_port: int

    @property
    def address(self) -> Address:
        """Where to ask for the primary."""
        return Address(url="redis://unused/0", sentinels=(("127.0.0.1", self.sentinel_port),))


@pytest.fixture
def group(tmp_path: Path) -> Iterator[Group]:
    """Start a primary, a replica and a sentinel, and wait until they know each other."""
    at_once = ("--repl-diskless-sync-delay", "0")
    primary, replica, port = RealServer(*at_once), RealServer(*at_once), free_port()
    primary.start()
    replica.start()
    with replica.client() as client:
        client.replicaof("127.0.0.1", str(primary.port))
    configuration = tmp_path / "sentinel.conf"
    configuration.write_text(
        f"port {port}\nbind 127.0.0.1\ndir {tmp_path}\nsentinel monitor shin-wall 127.0.0.1 {primary.port} 1\n"
        "sentinel down-after-milliseconds shin-wall 300\nsentinel failover-timeout shin-wall 3000\n"
    )
    process = subprocess.Popen(
        [*primary.command, str(configuration), "--sentinel"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        _wait_for_replica(port)
        yield Group(primary, replica, port)
    finally:
        process.kill()
        process.wait()
        primary.close()
        replica.close()


def _wait_for_replica(sentinel_port: int) -> None:
    deadline = time.monotonic() + 20
    with closing(redis.Redis(port=sentinel_port)) as client:
        while time.monotonic() < deadline:
            with suppress(redis.RedisError):
                if client.sentinel_slaves("shin-wall"):
                    return
            time.sleep(0.05)
    raise AssertionError("the sentinel does not see the replica")


async def test_replica_takes_over_when_the_primary_dies(group: Group, figures: list[str]) -> None:
    """The store finds the primary through the sentinels, and its successor by itself."""
    store = redis_store(group.address)
    await store.start()
    try:
        first = await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
        with group.replica.client() as client:
            await eventually(lambda: client.exists("shin-wall:{ann}:active") == 1)
        group.primary.kill()
        began = time.monotonic()
        second: object = None
        while not isinstance(second, PublishOutcome):
            assert time.monotonic() - began < 20
            assert store.active("ann", "main") is not None
            _, second = await timed(
                store.publish("ann", "main", catalog("2.00"), if_match=first.revision, activate=True)
            )
            await asyncio.sleep(0.05)
        took = time.monotonic() - began
        with group.replica.client() as client:
            assert client.hget("shin-wall:{ann}:active", "main") == f"2 {second.revision}".encode()
    finally:
        await store.close()
    figures.append(f"primary killed: publishing again through its replica after {took:.1f} s")


async def _relay(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    with suppress(ConnectionError):
        while chunk := await reader.read(65536):
            writer.write(chunk)
            await writer.drain()
    writer.close()


async def _tls_front(server: RealServer, authority: trustme.CA) -> asyncio.Server:
    """Put TLS in front of a server."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority.issue_cert("127.0.0.1").configure_cert(context)

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        inner_reader, inner_writer = await asyncio.open_connection("127.0.0.1", server.port)
        await asyncio.gather(_relay(reader, inner_writer), _relay(inner_reader, writer))

    return await asyncio.start_server(serve, "127.0.0.1", 0, ssl=context)


@pytest.mark.parametrize("trusted", [True, False])
async def test_tls_by_address_alone(server: RealServer, tmp_path: Path, trusted: bool) -> None:
    """`rediss://` with an authority is all it takes; a server that the authority does not know is not spoken to."""
    authority = trustme.CA()
    (authority if trusted else trustme.CA()).cert_pem.write_to_path(str(tmp_path / "authority.pem"))
    front = await _tls_front(server, authority)
    port = front.sockets[0].getsockname()[1]
    store = redis_store(Address(url=f"rediss://127.0.0.1:{port}/0?ssl_ca_certs={tmp_path}/authority.pem"))
    await store.start()
    try:
        if trusted:
            await eventually(lambda: not store.status().degraded)
            await store.publish("ann", "main", catalog("1.00"), if_match=ANY_REVISION, activate=True)
        else:
            assert store.status().trouble is Trouble.UNREACHABLE
        with server.client() as client:
            assert client.exists("shin-wall:{ann}:active") == trusted
    finally:
        await store.close()
        front.close()
        await front.wait_closed()
