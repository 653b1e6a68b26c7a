"""What holds for every answer, whatever happens inside: the outermost layer and the innermost.

Rules of this file
------------------
- Every answer has a request id, the security headers, a log line and a place in the metrics: `Guard`, outside all.
- A fault becomes a 500 problem at `Faults`, inside the CORS layer, so that a page of the dealer can read it.
- HEAD is answered as GET without a body (RFC 9110 section 9.3.2).
"""

from dataclasses import dataclass
from time import perf_counter
from typing import Final

import structlog
from starlette.datastructures import MutableHeaders
from starlette.requests import ClientDisconnect
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api import problems
from service.api.exchange import REQUEST_ID, Exchange, begin
from service.api.metrics import Metrics
from service.planner.messages import say

SECURITY_HEADERS: Final = {
    "x-content-type-options": "nosniff",
    "content-security-policy": "default-src 'none'; frame-ancestors 'none'",
    "referrer-policy": "no-referrer",
    "cross-origin-resource-policy": "same-origin",
}
"""On every answer; an answer that needs another value sets it itself"""
_YEAR: Final = 31_536_000
"""Seconds of a year [s]"""
_NO_BODY: Final[Message] = {"type": "http.response.body", "body": b"", "more_body": False}

log = structlog.get_logger("shin_wall.request")


@dataclass(slots=True, kw_only=True)
class _Answer:
    """Sends one answer outward, dressed."""

    send: Send
    exchange: Exchange
    headers: dict[str, str]
    head: bool
    status: int = 0

    async def __call__(self, message: Message) -> None:
        """Pass a message on."""
        if message["type"] == "http.response.start":
            self.status = message["status"]
            self._dress(message)
        elif self.head:
            if message.get("more_body", False):
                return
            message = _NO_BODY
        await self.send(message)

    def _dress(self, message: Message) -> None:
        headers = MutableHeaders(scope=message)
        headers[REQUEST_ID] = self.exchange.request_id
        for name, value in self.exchange.headers.items():
            headers[name] = value
        for name, value in self.headers.items():
            headers.setdefault(name, value)


class Guard:
    """The ASGI layer that holds what is true of every answer.

    Parameters
    ----------
    app
        What is inside.
    metrics
        Where answers are counted.
    public_url
        Where clients reach the service; over https it also gets strict transport security.
    """

    def __init__(self, app: ASGIApp, *, metrics: Metrics, public_url: str) -> None:
        self.app = app
        self.metrics = metrics
        self.public_url = public_url
        strict = {"strict-transport-security": f"max-age={_YEAR}"} if public_url.startswith("https:") else {}
        self.headers = {**SECURITY_HEADERS, **strict, "cache-control": "no-store"}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        method = scope["method"]
        exchange = begin(scope, receive)
        answer = _Answer(send=send, exchange=exchange, headers=self.headers, head=method == "HEAD")
        inner = {**scope, "method": "GET"} if answer.head else scope
        with structlog.contextvars.bound_contextvars(request_id=exchange.request_id):
            await self._inside(inner)(inner, receive, answer)
            self._note(method, inner, answer)

    def _inside(self, scope: Scope) -> ASGIApp:
        """Choose what answers; a request for several hosts is refused (RFC 9112 section 3.2)."""
        if sum(name == b"host" for name, _ in scope["headers"]) <= 1:
            return self.app
        refusal = problems.Problem(
            "malformed-request", say("problem.hosts", "The request names more than one host.")
        )
        return problems.answer(refusal, scope["state"]["exchange"], self.public_url)

    def _note(self, method: str, scope: Scope, answer: _Answer) -> None:
        """Count the answer and write its log line; the address itself may hold anything and is not written."""
        exchange = answer.exchange
        route = getattr(scope.get("route"), "path", "none")
        seconds = perf_counter() - exchange.began
        self.metrics.answered(route, method, answer.status, seconds, exchange.stages)
        log.info(
            "answered",
            method=method if method in self.metrics.METHODS else "other",
            route=route,
            status=answer.status,
            dealer=exchange.dealer,
            milliseconds=round(1000 * seconds, 3),
            stages={name: round(1000 * time, 3) for name, time in exchange.stages.items()},
        )


class Faults:
    """The ASGI layer that turns a fault into a 500 problem.

    Parameters
    ----------
    app
        What is inside.
    public_url
        Where clients reach the service.
    """

    def __init__(self, app: ASGIApp, *, public_url: str) -> None:
        self.app = app
        self.public_url = public_url

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        begun = False

        async def watched(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self.app(scope, receive, watched)
        except ClientDisconnect:
            log.info("caller_left")
        except Exception:
            if begun or scope["type"] != "http":
                raise
            log.exception("fault")
            fault = problems.Problem(
                "internal-error", say("problem.fault", "The service failed; its log knows the request id.")
            )
            await problems.answer(fault, scope["state"]["exchange"], self.public_url)(scope, receive, send)
