"""Content codings: answers go out compressed where the client accepts it (RFC 9110 sections 8.4 and 12.5.3).

Rules of this file
------------------
- Whole answers of some size are coded; small ones, streams and what has a coding already are left as they are.
- Processor time is bounded: a fast level, in a thread where the answer is long, and none at all beyond a bound in bytes.
- A coded answer is another representation: its strong validator ends in the coding's name. That ending is taken off
  again where the validator comes back, so that handlers only know one.
- Nobody's secret stands beside text that another may choose: keys come in headers and never go out.
"""

import gzip
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from http import HTTPStatus
from typing import Final

from anyio import to_thread
from backports import zstd
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LEAST: Final = 1024
"""Shortest answer that is coded [B]"""
MOST: Final = 32 * 1024 * 1024
"""Longest answer that is coded [B]"""
IN_A_THREAD: Final = 64 * 1024
"""From this length on the event loop does not wait for it [B]"""
CODINGS: Final[Mapping[str, Callable[[bytes], bytes]]] = {
    "zstd": lambda content: zstd.compress(content, level=3),
    "gzip": lambda content: gzip.compress(content, compresslevel=4, mtime=0),
}
"""Codings by their registered names, the best first"""
_CODED: Final = ("application/json", "application/problem+json", "application/xml", "text/", "image/svg+xml")
_IDENTITY: Final = "identity"


@lru_cache(maxsize=256)
def chosen(accepted: str) -> str:
    """Choose the coding of an Accept-Encoding header: the greatest weight, of equal ones the best.

    Parameters
    ----------
    accepted
        The header, empty where there is none: then nothing is coded.
    """
    weights: dict[str, float] = {}
    for element in accepted.lower().split(",")[:20]:
        name, _, weight = element.partition(";")
        try:
            weights[name.strip()] = float(weight.replace(" ", "").removeprefix("q=") or 1)
        except ValueError:
            weights[name.strip()] = 0.0
    others = weights.get("*", 0.0)
    offers = [(weights.get(name, others), name) for name in CODINGS]
    best = max(offers, key=lambda offer: offer[0])
    return best[1] if best[0] > 0 and best[0] >= weights.get(_IDENTITY, 0.0) else _IDENTITY


def _validator(etag: str, coding: str) -> str:
    """The validator of a coded representation."""
    return f'{etag[:-1]}-{coding}"'


def _without_endings(value: str, codings: tuple[str, ...]) -> str:
    """Take the codings' names off the validators of a header."""
    for coding in codings:
        value = value.replace(f'-{coding}"', '"')
    return value


def _as_handlers_know(scope: Scope, coding: str) -> list[tuple[bytes, bytes]]:
    """A request's headers with their validators as the handlers made them.

    A copy in hand is the one asked for only in the coding that would be sent; a revision is the same in any.
    """
    endings = {b"if-none-match": (coding,), b"if-match": tuple(CODINGS)}
    return [
        (name, _without_endings(value.decode("latin-1"), endings[name]).encode("latin-1"))
        if name in endings
        else (name, value)
        for name, value in scope["headers"]
    ]


@dataclass(slots=True, kw_only=True)
class _Coded:
    """Sends one answer outward in a coding, when it is whole and worth it."""

    send: Send
    coding: str
    held: bool
    start: Message | None = None

    async def __call__(self, message: Message) -> None:
        """Pass a message on; the start waits for the first part of the body."""
        if message["type"] == "http.response.start":
            self.start = message
            return
        start, self.start = self.start, None
        if start is None or message["type"] != "http.response.body":
            await self.send(message)
            return
        headers = MutableHeaders(scope=start)
        headers.add_vary_header("Accept-Encoding")
        content: bytes = message.get("body", b"")
        if self._worth(headers, message):
            content = await self._coded(content)
            headers["content-encoding"] = self.coding
            headers["content-length"] = str(len(content))
            self._mark(headers)
        elif start["status"] == HTTPStatus.NOT_MODIFIED and self.held:
            self._mark(headers)
        await self.send(start)
        await self.send({**message, "body": content})

    def _worth(self, headers: MutableHeaders, message: Message) -> bool:
        whole = not message.get("more_body", False) and LEAST <= len(message.get("body", b"")) <= MOST
        kind = headers.get("content-type", "")
        return (
            whole
            and self.coding != _IDENTITY
            and kind.startswith(_CODED)
            and "content-encoding" not in headers
        )

    async def _coded(self, content: bytes) -> bytes:
        code = CODINGS[self.coding]
        return code(content) if len(content) < IN_A_THREAD else await to_thread.run_sync(code, content)

    def _mark(self, headers: MutableHeaders) -> None:
        etag = headers.get("etag", "")
        if etag.startswith('"') and self.coding != _IDENTITY:
            headers["etag"] = _validator(etag, self.coding)


class Coding:
    """The ASGI layer that compresses answers.

    Parameters
    ----------
    app
        What is inside.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        coding = chosen(Headers(scope=scope).get("accept-encoding", "")[:500])
        held = f'-{coding}"' in Headers(scope=scope).get("if-none-match", "")
        scope["headers"] = _as_handlers_know(
            scope, coding
        )  # the scope itself: what is noted in it inside is read outside
        await self.app(scope, receive, _Coded(send=send, coding=coding, held=held))
