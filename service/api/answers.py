"""Answers: bytes that are made once, their validators, and whether the caller has them already.

Rules of this file
------------------
- Plain values are dumped once with orjson and never validated on the way out; tests validate every answer instead.
- An `ETag` is strong: the same bytes, or it is not the same.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

import orjson
from starlette.requests import Request
from starlette.responses import Response

JSON: Final = "application/json"


def json_answer(value: object, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    """Answer with plain values as JSON."""
    return Response(orjson.dumps(value), status, dict(headers or {}), JSON)


def etag_of(content: bytes) -> str:
    """The strong validator of an answer's bytes."""
    return f'"{hashlib.blake2b(content, digest_size=16).hexdigest()}"'


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished:
    """An answer whose bytes are made."""

    content: bytes
    """The body"""
    etag: str
    """Its strong validator, in quotes"""
    headers: Mapping[str, str] = field(default_factory=dict)
    """Headers that belong to it"""


def finished_answer(finished: Finished, headers: Mapping[str, str] | None = None) -> Response:
    """Answer what a POST asked for; its bytes can be told apart by their validator."""
    return Response(
        finished.content, 200, {"etag": finished.etag, **finished.headers, **(headers or {})}, JSON
    )


def lists(header: str, etag: str) -> bool:
    """Tell whether a list of validators names one, compared weakly (RFC 9110 section 13.1.2)."""
    named = (element.strip().removeprefix("W/") for element in header.split(","))
    return any(element in {"*", etag} for element in named)


def conditional(request: Request, finished: Finished, headers: Mapping[str, str]) -> Response:
    """Answer 304 without a body when the caller has the answer already, else 200 with it."""
    shown = {"content-type": JSON, "etag": finished.etag, **finished.headers, **headers}
    if lists(request.headers.get("if-none-match", ""), finished.etag):
        del shown["content-type"]
        return Response(status_code=304, headers=shown)
    return Response(finished.content, 200, shown)
