"""Preconditions of publishing: which revision a writer has seen (RFC 9110 section 13).

Rules of this file
------------------
- An `ETag` of a catalog is its revision in quotes; `If-Match` compares strongly, so weak validators match nothing.
- `If-None-Match: *` publishes what is new only.
"""

import re
from typing import Final

from starlette.requests import Request

from service.api.answers import lists
from service.api.problems import Problem
from service.planner.messages import say
from service.store.contract import ANY_REVISION

_REVISION: Final = re.compile(r'"(r-[0-9a-f]{32})"')


def etag(revision: str) -> str:
    """Write a revision as a strong validator."""
    return f'"{revision}"'


def replaced(request: Request, current: str | None) -> str | None:
    """The revision that a writer replaces, as the store wants it.

    Parameters
    ----------
    request
        The writer's request.
    current
        The active revision; none when there is none.

    Raises
    ------
    Problem
        When a precondition is false already.
    """
    seen = request.headers.get("if-match")
    if current is not None and lists(request.headers.get("if-none-match", ""), etag(current)):
        raise Problem(
            "revision-mismatch",
            say("problem.revision_active", "Revision {revision} is active.", revision=current),
        )
    if seen is None:
        return None
    if current is None:
        raise Problem("revision-mismatch", say("problem.no_revision_active", "No revision is active."))
    if seen.strip() == ANY_REVISION:
        return ANY_REVISION
    named = _REVISION.findall(re.sub(r'W/"[^"]*"', "", seen))
    if not named:
        raise Problem(
            "revision-mismatch",
            say("problem.if_match", "If-Match names no revision; it is compared strongly."),
        )
    return current if current in named else str(named[0])
