"""Cross-origin requests: pages of the dealers' own origins may call, pages of others may not.

Rules of this file
------------------
- This layer stands outside everything that refuses or fails, so that a page can read a refusal and a fault too.
- An origin is let through here when any live key lists it; whether it is listed with the key in hand is decided where
  the key is known.
- No cookies, no credentials mode: a key is sent in a header.
"""

from collections.abc import Callable, Collection
from typing import Final

from starlette.datastructures import Headers
from starlette.middleware.cors import CORSMiddleware
from starlette.responses import Response
from starlette.types import ASGIApp

_METHODS: Final = ("GET", "HEAD", "POST", "PUT")
_REQUEST_HEADERS: Final = (
    "Authorization",
    "X-API-Key",
    "Content-Type",
    "If-Match",
    "If-None-Match",
    "X-Request-ID",
)
_EXPOSED: Final = (
    "ETag",
    "Link",
    "Location",
    "RateLimit",
    "RateLimit-Policy",
    "Retry-After",
    "X-Request-ID",
    "Catalog-Freshness",
)
_PREFLIGHT_AGE: Final = 600
"""How long a page may keep the answer to a preflight [s]"""


class DealerCors(CORSMiddleware):
    """The library's CORS layer with origins that are looked up at each request.

    Parameters
    ----------
    app
        What is inside.
    origins
        Gives the origins allowed now.
    """

    def __init__(self, app: ASGIApp, *, origins: Callable[[], Collection[str]]) -> None:
        super().__init__(
            app,
            allow_methods=_METHODS,
            allow_headers=_REQUEST_HEADERS,
            expose_headers=_EXPOSED,
            max_age=_PREFLIGHT_AGE,
        )
        self._origins = origins

    def is_allowed_origin(self, origin: str) -> bool:
        """Tell whether any dealer lists the origin."""
        return origin in self._origins()

    def preflight_response(self, request_headers: Headers) -> Response:
        """Answer a preflight without a body; a refused one lacks the header that the browser looks for."""
        answer = super().preflight_response(request_headers)
        kept = {name: value for name, value in answer.headers.items() if not name.startswith("content-")}
        return Response(status_code=204, headers=kept)
