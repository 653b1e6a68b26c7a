"""Content negotiation: which of a resource's media types a request accepts (RFC 9110 section 12.5.1).

Rules of this file
------------------
- The most specific range that fits decides a type's weight; weight 0 refuses it.
- A resource that offers one type is refused with 406 before any work is done.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from starlette.requests import Request

from service.api.problems import Problem
from service.planner.messages import say

JSON: Final = "application/json"


def _weight(parameters: str) -> float:
    """Read the weight among a range's parameters; 1 where there is none or it cannot be read."""
    for parameter in parameters.split(";"):
        name, _, value = parameter.partition("=")
        if name.strip().lower() == "q":
            try:
                return float(value)
            except ValueError:
                return 1.0
    return 1.0


def _fit(media_range: str, offered: str) -> int:
    """Tell how exactly a range fits a type: 3 exactly, 2 by its family, 1 by everything, 0 not at all."""
    family = offered.partition("/")[0]
    return {offered: 3, f"{family}/*": 2, "*/*": 1, "*": 1}.get(media_range, 0)


@lru_cache(maxsize=256)
def weight(accept: str, offered: str) -> float:
    """The weight that an Accept header gives to a media type [-]."""
    best, found = 0, 0.0
    for element in accept.split(",")[:100]:
        media_range, _, parameters = element.partition(";")
        fit = _fit(media_range.strip().lower(), offered)
        if fit > best:
            best, found = fit, _weight(parameters)
    return found


def require(request: Request, offered: str = JSON) -> None:
    """Refuse a request that does not accept the one type offered."""
    accept = request.headers.get("accept", "*/*")
    if not weight(accept[:2000] or "*/*", offered) > 0:
        raise Problem(
            "not-acceptable",
            say("problem.not_acceptable", "This resource is answered as {media_type}.", media_type=offered),
        )


def best(request: Request, offered: Sequence[str]) -> str:
    """Choose the type that a request accepts most gladly; of equals the one offered first."""
    accept = request.headers.get("accept", "*/*")[:2000] or "*/*"
    chosen = max(offered, key=lambda media_type: weight(accept, media_type))
    if not weight(accept, chosen) > 0:
        raise Problem(
            "not-acceptable",
            say(
                "problem.not_acceptable",
                "This resource is answered as {media_type}.",
                media_type=", ".join(offered),
            ),
        )
    return chosen
