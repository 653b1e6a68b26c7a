"""A real service process on a loopback socket, started and stopped by the tests."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx2

START_BOUND = 180.0
"""A service that does not answer by then has failed; as long as a container's start may take, which compiles first [s]"""


def free_port() -> int:
    """Ask the system for a port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """A running service."""

    port: int
    process: subprocess.Popen[bytes]
    log: Path

    @property
    def url(self) -> str:
        """Its address."""
        return f"http://127.0.0.1:{self.port}"

    def exchange(self, sent: bytes, *, wait: float = 5.0) -> bytes:
        """Send bytes as they are and give everything that comes back until the connection rests or closes."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=wait) as connection:
            connection.sendall(sent)
            connection.shutdown(socket.SHUT_WR)
            received = b""
            while chunk := connection.recv(65536):
                received += chunk
            return received

    def resident(self) -> int:
        """The process's resident memory [B]."""
        pages = Path(f"/proc/{self.process.pid}/statm").read_text().split()[1]
        return int(pages) * os.sysconf("SC_PAGE_SIZE")


def _await(live: Live) -> None:
    """Wait until the service answers."""
    until = time.monotonic() + START_BOUND
    while time.monotonic() < until and live.process.poll() is None:
        try:
            if httpx2.get(f"{live.url}/readyz", timeout=2).status_code == httpx2.codes.OK:
                return
        except httpx2.TransportError:
            time.sleep(0.05)
    raise AssertionError(f"the service did not start: {live.log.read_text()}")


@contextmanager
def serving(
    log: Path, settings: Mapping[str, str] | None = None, command: Sequence[str] = ("-m", "service", "serve")
) -> Iterator[Live]:
    """Run a service for the time of a test.

    Parameters
    ----------
    log
        Where its log goes.
    settings
        Environment variables.
    command
        What Python runs; it is told the port.
    """
    port = free_port()
    words = [sys.executable, *command, "--port", str(port)]
    with log.open("wb") as file:
        process = subprocess.Popen(words, env={**os.environ, **(settings or {})}, stderr=file, stdout=file)
        live = Live(port=port, process=process, log=log)
        try:
            _await(live)
            yield live
        finally:
            if process.poll() is None:
                process.send_signal(signal.SIGTERM)
            process.wait(timeout=30)
