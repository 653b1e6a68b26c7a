"""A small HTTP/1.1 client for loads: one connection, one request at a time, nothing hidden.

Rules of this module: no retries, no redirects, no pool. A client that repeats a request would hide what is looked for.

References
----------
RFC 9112, sections 3, 4 and 6.2: the request line, the status line, a body of stated length.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from time import perf_counter


@dataclass(frozen=True, slots=True)
class Reply:
    """What came back."""

    status: int
    """Status code [-]"""
    headers: Mapping[str, str]
    """Fields by lower-case name [-]"""
    body: bytes
    """Content [-]"""
    seconds: float
    """From the first byte sent to the last byte received [s]"""


class Connection:
    """One connection to a service on the loopback.

    Parameters
    ----------
    port
        Where the service listens [-].
    """

    def __init__(self, port: int) -> None:
        self._port = port
        self._streams: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(self, method: str, path: str, headers: Mapping[str, str], body: bytes = b"") -> Reply:
        """Send a request and wait for its answer.

        Raises
        ------
        OSError, EOFError
            When the connection fails before the answer is whole.
        """
        began = perf_counter()
        if self._streams is None:
            self._streams = await asyncio.open_connection("127.0.0.1", self._port, limit=1 << 20)
        reader, writer = self._streams
        writer.write(_head(method, path, self._port, headers, len(body)) + body)
        first, *lines = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1").rstrip().split("\r\n")
        fields = {name.lower(): value.strip() for name, _, value in (line.partition(":") for line in lines)}
        content = await reader.readexactly(int(fields.get("content-length", 0)))
        if fields.get("connection") == "close":
            self.close()
        return Reply(int(first.split()[1]), fields, content, perf_counter() - began)

    def close(self) -> None:
        """Let go of the connection."""
        if self._streams is not None:
            self._streams[1].close()
            self._streams = None


def _head(method: str, path: str, port: int, headers: Mapping[str, str], length: int) -> bytes:
    fields = {"Host": f"127.0.0.1:{port}", "Content-Length": str(length), **headers}
    lines = [f"{method} {path} HTTP/1.1", *(f"{name}: {value}" for name, value in fields.items())]
    return ("\r\n".join(lines) + "\r\n\r\n").encode("latin-1")
