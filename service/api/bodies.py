"""Request bodies: read within bounds, refused where JSON can hurt, then given to their model.

Rules of this file
------------------
- Bytes are counted as they come; nothing longer than the limit is ever held.
- Depth, duplicate members, NaN, numbers beyond a double and control characters are looked for before any model sees
  the body, so that no rule depends on the model asked.
- The model validates straight from the bytes: JSON's own types, nothing coerced by Python.
- What is longer than most bodies are is read in a thread, and so are the faults of any body: the event loop goes on.
"""

import json
import math
import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Final, Generic, NoReturn, TypeVar

from anyio import to_thread
from pydantic import TypeAdapter, ValidationError
from starlette.requests import Request

from service.api.pointers import MOST_FAULTS, field_problems
from service.api.problems import Problem, field_error
from service.planner.errors import FieldProblem
from service.planner.messages import Message, say, say_count
from service.planner.pointers import write_pointer

T = TypeVar("T")

DEEPEST: Final = 24
"""Arrays and objects that may stand in each other [-]"""
MOST_BAD_TEXTS: Final = 20
"""Unusable texts named in one problem at most [-]"""
IN_A_THREAD: Final = 2048
"""From this length on the event loop does not wait for a body to be read [B]"""

_STRINGS: Final = re.compile(rb'"[^"\\]*(?:\\.[^"\\]*)*"?', re.DOTALL)
_BRACKETS: Final = re.compile(rb"[\[\]{}]")
_UNUSABLE: Final = re.compile("[\x00-\x1f\x7f\ud800-\udfff]")
_JSON_TYPE: Final = re.compile(r"application/(?:[a-z0-9.+-]+\+)?json", re.IGNORECASE)


async def read(request: Request, most: int) -> bytes:
    """Read the body, or stop at the limit.

    Parameters
    ----------
    request
        The request.
    most
        The limit [B].
    """
    declared = request.headers.get("content-length", "0")
    if not declared.isdecimal():
        raise Problem("malformed-request", say("problem.length", "Content-Length is not a number."))
    body = bytearray()
    if int(declared) <= most:
        async for chunk in request.stream():
            body += chunk
            if len(body) > most:
                break
        else:
            return bytes(body)
    raise Problem(
        "body-too-large", say("problem.body_bytes", "The body may have {most} bytes at most.", most=most)
    )


def require_type(request: Request, pattern: re.Pattern[str], named: str) -> None:
    """Refuse a media type that is not read here, a content coding, and a charset other than UTF-8."""
    media_type, _, parameters = request.headers.get("content-type", "").partition(";")
    charset = re.search(r'charset="?([^";\s]+)', parameters, re.IGNORECASE)
    coding = request.headers.get("content-encoding", "identity")
    offer = {"accept-post": named} if request.method == "POST" else {"accept": named}
    if not pattern.fullmatch(media_type.strip()):
        raise Problem(
            "unsupported-media-type",
            say("problem.body_type", "Send the body as {media_type}.", media_type=named),
            headers=offer,
        )
    if charset and charset[1].lower() not in {"utf-8", "utf8", "us-ascii"}:
        raise Problem(
            "unsupported-media-type", say("problem.body_charset", "Send the body in UTF-8."), headers=offer
        )
    if coding.lower() != "identity":
        raise Problem(
            "unsupported-media-type",
            say("problem.body_coding", "Send the body without a content coding."),
            headers={"accept-encoding": "identity"},
        )


def require_json(request: Request) -> None:
    """Refuse a body that does not say it is JSON."""
    require_type(request, _JSON_TYPE, "application/json")


def _bound_depth(body: bytes) -> None:
    """Refuse deep nesting without recursion; brackets inside texts do not count."""
    if body.count(b"[") + body.count(b"{") <= DEEPEST:
        return
    depth = deepest = 0
    for bracket in _BRACKETS.findall(_STRINGS.sub(b"", body)):
        depth += 1 if bracket in b"[{" else -1
        deepest = max(deepest, depth)
    if deepest > DEEPEST:
        slug = "body-too-deep" if depth == 0 else "malformed-json"
        raise Problem(
            slug,
            say(
                "problem.body_depth",
                "Arrays and objects may stand {most} deep in each other at most.",
                most=DEEPEST,
            ),
        )


def _once(members: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse an object that names a member twice (RFC 8259 section 4 leaves open which one would count)."""
    found = dict(members)
    if len(found) < len(members):
        raise Problem("malformed-json", say("problem.member_twice", "An object names a member twice."))
    return found


def _no_constant(_name: str) -> NoReturn:
    raise Problem("malformed-json", say("problem.nan", "NaN and Infinity are not JSON."))


def _unusable(value: object, steps: tuple[str | int, ...] = ()) -> Iterator[FieldProblem]:
    """Find numbers beyond a double, and texts with control characters or half a surrogate pair."""
    if isinstance(value, dict):
        for name, inner in value.items():
            if _UNUSABLE.search(name):
                yield FieldProblem(
                    pointer=write_pointer(steps),
                    detail=say("field.name_control", "a member's name holds control characters"),
                )
            else:
                yield from _unusable(inner, (*steps, name))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _unusable(inner, (*steps, index))
    elif isinstance(value, str) and _UNUSABLE.search(value):
        yield FieldProblem(
            pointer=write_pointer(steps),
            detail=say("field.control", "must be text without control characters or lone surrogates"),
        )
    elif isinstance(value, float) and not math.isfinite(value):
        yield FieldProblem(
            pointer=write_pointer(steps),
            detail=say("field.not_finite", "is beyond the numbers that can be held"),
        )


def decode(body: bytes) -> Any:  # noqa: ANN401  # decoded JSON is any value
    """Decode JSON that is safe to hand on."""
    _bound_depth(body)
    try:
        value = json.loads(body.decode(), object_pairs_hook=_once, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        raise Problem(
            "malformed-json",
            say(
                "problem.not_json",
                "The body is no JSON from line {line}, column {column} on.",
                line=error.lineno,
                column=error.colno,
            ),
        ) from None
    except UnicodeDecodeError:
        raise Problem("malformed-json", say("problem.not_utf8", "The body is not UTF-8.")) from None
    except ValueError:
        raise Problem(
            "malformed-json", say("problem.digits", "A number has more digits than are read.")
        ) from None
    unusable = [problem for problem, _ in zip(_unusable(value), range(MOST_BAD_TEXTS), strict=False)]
    if unusable:
        raise Problem(
            "invalid-fields",
            say("problem.unusable_values", "Some values cannot be used in any field."),
            map(field_error, unusable),
        )
    return value


@dataclass(frozen=True, slots=True)
class JsonBody(Generic[T]):
    """A kind of JSON body and the model that it must fit."""

    adapter: TypeAdapter[T]

    async def read(self, request: Request, most: int) -> T:
        """Read, bound and validate the body of a request."""
        require_json(request)
        return await self.parse_aside(await read(request, most))

    async def parse_aside(self, body: bytes) -> T:
        """Validate a body already read, in a thread where it or what is wrong with it may be long.

        Raises
        ------
        Problem
            When the body is not JSON, not safe or not what the model allows.
        """
        if len(body) < IN_A_THREAD:
            decode(body)
            with suppress(ValidationError):
                return self.adapter.validate_json(body)
        return await to_thread.run_sync(self.parse, body)

    def parse(self, body: bytes) -> T:
        """Validate a body already read.

        Raises
        ------
        Problem
            When the body is not JSON, not safe or not what the model allows.
        """
        decoded = decode(body)
        try:
            return self.adapter.validate_json(body)
        except ValidationError as error:
            problems = field_problems(error, decoded, self.adapter)
        raise Problem("invalid-fields", _counted(problems), map(field_error, problems[:MOST_FAULTS]))


def _counted(problems: Sequence[FieldProblem]) -> Message:
    """Say how many fields are wrong, as far as they were looked for."""
    if len(problems) > MOST_FAULTS:
        return say(
            "problem.fields_more",
            "More than {most} fields need correction; the first {most} are listed.",
            most=MOST_FAULTS,
        )
    return say_count(
        "problem.fields",
        "One field needs correction.",
        "{count} fields need correction.",
        count=len(problems),
    )
