"""One request and its answer, as the edge follows them.

Rules of this file
------------------
- An `Exchange` is born in the outermost layer and lives in the request's state; what is learnt on the way is noted
  in it: the dealer, headers that any answer must carry, how long each stage took.
- A caller's request id is kept when it is well formed, so that logs of both sides meet; otherwise one is made.
"""

import re
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from time import perf_counter
from typing import Final, cast

from starlette.requests import HTTPConnection
from starlette.types import Receive, Scope

from service.planner.writing import ENGLISH, Language
from service.words.languages import accepted

REQUEST_ID: Final = "x-request-id"
_WELL_FORMED: Final = re.compile(rb"[A-Za-z0-9][A-Za-z0-9._-]{7,63}")


@dataclass(slots=True, kw_only=True)
class Exchange:
    """A request on its way."""

    receive: Receive
    """Gives what the caller sends, and at last that it left"""
    request_id: str
    """Stands in the answer, its problems and every log line"""
    began: float = field(default_factory=perf_counter)
    """When the request came [s]"""
    dealer: str | None = None
    """Who asks, once known"""
    language: Language = ENGLISH
    """The language that the caller accepts most"""
    headers: dict[str, str] = field(default_factory=dict)
    """Headers that the answer carries, whatever it will be"""
    stages: dict[str, float] = field(default_factory=dict)
    """How long each stage took [s]"""

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """Time a stage of the work."""
        began = perf_counter()
        try:
            yield
        finally:
            self.stages[name] = self.stages.get(name, 0.0) + perf_counter() - began

    async def left(self) -> None:
        """Wait until the caller leaves; for when its body was read."""
        while (await self.receive())["type"] != "http.disconnect":
            pass

    @property
    def instance(self) -> str:
        """The address that names this occurrence in a problem."""
        return f"/requests/{self.request_id}"


def begin(scope: Scope, receive: Receive) -> Exchange:
    """Begin an exchange and note it in the request's state."""
    sent = next((value for name, value in scope["headers"] if name == REQUEST_ID.encode()), b"")
    request_id = sent.decode() if _WELL_FORMED.fullmatch(sent) else secrets.token_hex(16)
    languages = ",".join(
        value.decode("latin-1") for name, value in scope["headers"] if name == b"accept-language"
    )
    exchange = Exchange(receive=receive, request_id=request_id, language=accepted(languages))
    scope.setdefault("state", {})["exchange"] = exchange
    return exchange


def exchange_of(connection: HTTPConnection) -> Exchange:
    """The exchange that a request belongs to."""
    return cast("Exchange", connection.scope["state"]["exchange"])


def in_language(language: Language) -> dict[str, str]:
    """The headers of an answer with texts in it: which language, and that it hangs on what was accepted."""
    return {"content-language": language.tag, "vary": "Accept-Language"}
