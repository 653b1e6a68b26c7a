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
from service.api.problems import Problem
from service.planner.errors import PlanError
from service.store import errors as store_errors

ProblemOf = Callable[[Request, Any], Problem]
Handler = Callable[[Request, Any], Awaitable[Response]]


def methods_of(contexts: tuple[RouteContext, ...], path: str) -> set[str]:
    """List the methods that a path offers."""
    found = {
        method for context in contexts if context.path_regex.match(path) for method in context.methods or ()
    }
    return found | {"OPTIONS"} | ({"HEAD"} if "GET" in found else set())


def _from_store(error: store_errors.StoreError) -> Problem:
    """Turn what the store refuses into its problem."""
    headers: Mapping[str, str] | None = None
    if isinstance(error, store_errors.StoreUnavailable):
        headers = {"retry-after": str(error.retry_after_s)}
    return Problem(STORE_ERRORS[type(error)], f"{error}.", headers=headers)


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
        {"parameter": str(complaint["loc"][-1])[:60], "detail": complaint["msg"]} for complaint in complaints
    ]
    return Problem("invalid-parameters", "Parameters need correction.", found)


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
