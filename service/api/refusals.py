"""Exceptions on their way out: each becomes a problem, here and nowhere else.

Rules of this file
------------------
- The framework's own refusals keep their headers; a 405 names every method of the resource in `Allow`.
- The store's and the planner's errors know no HTTP; their tables stand in `problems.py` and here.
"""

from collections.abc import Awaitable, Callable, Mapping
from http import HTTPStatus
from typing import Any, Final

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.routing import RouteContext, iter_route_contexts
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from service.api import problems
from service.api.exchange import exchange_of
from service.api.problems import PARAMETERS, Problem
from service.planner.complaints import said
from service.planner.errors import PlanError
from service.planner.messages import Message, filled, say
from service.store import errors as store_errors

ProblemOf = Callable[[Request, Any], Problem]
Handler = Callable[[Request, Any], Awaitable[Response]]


def methods_of(contexts: tuple[RouteContext, ...], path: str) -> set[str]:
    """List the methods that a path offers."""
    found = {
        method for context in contexts if context.path_regex.match(path) for method in context.methods or ()
    }
    return found | {"OPTIONS"} | ({"HEAD"} if "GET" in found else set())


_LIMITED: Final[Mapping[str, Message]] = {
    "catalogs": say("store.most_catalogs", "A dealer may have {most} catalogs at most."),
    "revisions of a catalog": say("store.most_revisions", "A catalog may have {most} revisions at most."),
    "bytes in a catalog": say("store.most_bytes", "A catalog may have {most} bytes at most."),
}
"""What is said where the store keeps no more of a thing"""


def _differs(error: store_errors.ActiveRevisionDiffers) -> Message:
    if error.current is None:
        return say(
            "store.none_active",
            "No revision is active; the request names {expected}.",
            expected=error.expected,
        )
    return say(
        "store.other_active",
        "The active revision is {current}, not {expected}.",
        current=error.current,
        expected=error.expected,
    )


_STORE_SAID: Final[Mapping[type[store_errors.StoreError], Callable[[Any], Message]]] = {
    store_errors.IdentifierInvalid: lambda _: say("store.name", "The address holds something that cannot be a name."),
    store_errors.CatalogUnknown: lambda error: say("store.no_catalog", "There is no catalog {catalog}.", catalog=error.catalog_id),
    store_errors.RevisionUnknown: lambda error: say(
        "store.no_revision", "Catalog {catalog} has no revision {revision}.",
        catalog=error.catalog_id, revision=error.revision,
    ),
    store_errors.ActiveRevisionDiffers: _differs,
    store_errors.MatchRequired: lambda error: say("store.match", "Revision {current} is active: name it to replace it.", current=error.current),
    store_errors.LimitReached: lambda error: filled(_LIMITED[error.what], {"most": error.most}),
    store_errors.KeyTaken: lambda _: say("store.key_taken", "This key is in use already: issue another one."),
    store_errors.PriceListUnreadable: lambda error: error.said,
    store_errors.StoreUnavailable: lambda error: say("store.away", "The catalog store is away: ask again in {seconds} s.", seconds=error.retry_after_s),
}  # fmt: skip
"""What is said of each"""


def _from_store(error: store_errors.StoreError) -> Problem:
    """Turn what the store refuses into its problem."""
    headers: Mapping[str, str] | None = None
    if isinstance(error, store_errors.StoreUnavailable):
        headers = {"retry-after": str(error.retry_after_s)}
    return Problem(STORE_ERRORS[type(error)], _STORE_SAID[type(error)](error), headers=headers)


STORE_ERRORS: Final[Mapping[type[store_errors.StoreError], str]] = {
    store_errors.IdentifierInvalid: "not-found",
    store_errors.CatalogUnknown: "not-found",
    store_errors.RevisionUnknown: "not-found",
    store_errors.ActiveRevisionDiffers: "revision-mismatch",
    store_errors.MatchRequired: "revision-required",
    store_errors.LimitReached: "limit-reached",
    store_errors.KeyTaken: "limit-reached",
    store_errors.PriceListUnreadable: "price-list-unreadable",
    store_errors.StoreUnavailable: "store-away",
}
"""The one place where the store's errors meet HTTP"""


def _from_parameters(error: RequestValidationError) -> Problem:
    """Turn bad parameters into their problem; a path that cannot be is a path that is not there."""
    complaints = error.errors()
    if any(complaint["loc"][0] == "path" for complaint in complaints):
        return problems.from_status(404, None)
    found = [
        {"parameter": str(complaint["loc"][-1])[:60], "detail": said(complaint)} for complaint in complaints
    ]
    return Problem("invalid-parameters", PARAMETERS, found)


def install(app: FastAPI, public_url: str) -> None:
    """Answer every exception of this application with its problem.

    Parameters
    ----------
    app
        The application, with all its routes.
    public_url
        Where clients reach the service.
    """
    contexts = tuple(iter_route_contexts(app.routes))

    def answering(problem_of: ProblemOf) -> Handler:
        async def handler(request: Request, error: Any) -> Response:  # noqa: ANN401  # each knows its own exception
            return problems.answer(problem_of(request, error), exchange_of(request), public_url)

        return handler

    async def from_framework(request: Request, error: Any) -> Response:  # noqa: ANN401  # see above
        headers = dict(error.headers or {})
        if error.status_code == HTTPStatus.METHOD_NOT_ALLOWED:
            headers = {"allow": ", ".join(sorted(methods_of(contexts, request.url.path)))}
        if request.method == "OPTIONS" and "allow" in headers:
            return Response(status_code=HTTPStatus.NO_CONTENT, headers=headers)
        problem = problems.from_status(error.status_code, headers)
        return problems.answer(problem, exchange_of(request), public_url)

    app.add_exception_handler(Problem, answering(lambda _, error: error))
    app.add_exception_handler(PlanError, answering(lambda _, error: problems.from_plan_error(error)))
    app.add_exception_handler(store_errors.StoreError, answering(lambda _, error: _from_store(error)))
    app.add_exception_handler(RequestValidationError, answering(lambda _, error: _from_parameters(error)))
    app.add_exception_handler(HTTPException, from_framework)
