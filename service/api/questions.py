"""Questions that a structure spec asks: read, given the right catalog, answered as before or anew.

Rules of this file
------------------
- A body seen before leads straight to its answer; an answer made before is not made again; the rest is work.
- A spec may pin a revision of its catalog; else the active one is taken, and the answer says which.
- While the shared store is away, answers come from the last good catalog, and say so in a header and a notice.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import orjson
from starlette.requests import Request
from starlette.responses import Response

from service.api import negotiate
from service.api.access import Principal
from service.api.answers import Finished, finished_answer
from service.api.binding import aimed, check_tier, name_of
from service.api.bodies import JsonBody, read, require_json
from service.api.desk import Shortcut, digest_of
from service.api.exchange import Exchange, exchange_of, in_language
from service.api.models import SPEC
from service.api.problems import Problem, field_error, from_plan_error
from service.api.state import Service, service_of
from service.api.version import VERSION
from service.planner.answer.rendering import render_notices
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Spec
from service.planner.errors import FieldProblem, PlanError
from service.planner.judging.notices import Notice
from service.planner.messages import say
from service.planner.solver.effort import Effort
from service.planner.writing import Language, Writer
from service.settings import Settings
from service.store.contract import Snapshot
from service.store.errors import CatalogUnknown, IdentifierInvalid, RevisionUnknown

UNBUILDABLE: Final = (
    "fields-disagree", "opening-unbuildable", "height-unbuildable", "no-piece-fits", "no-such-item", "no-such-catalog",
    "too-much-work",
)  # fmt: skip
"""What a spec may be refused for, beyond its shape"""
_BODY: Final = JsonBody(SPEC)


def plan_units(settings: Settings) -> int:
    """Say how many units a plan may take [units]."""
    return settings.plan_units


@dataclass(frozen=True, slots=True)
class Question:
    """A kind of question about a spec."""

    name: bytes
    """Tells its answers from those of other questions"""
    work: Callable[[Spec, Catalog, str, Language, Effort], object]
    """Answers it from spec, catalog, revision and language within some units, as plain values"""
    units: Callable[[Settings], int] = plan_units
    """How many units it may take [units]"""


async def catalog_for(
    service: Service, dealer: str, catalog_id: str, revision: str | None
) -> Snapshot[Catalog]:
    """The catalog that a spec asks to be planned from.

    Parameters
    ----------
    service
        What the handlers share.
    dealer
        Whose catalog.
    catalog_id
        Its id.
    revision
        A revision that is pinned; the active one without.

    Raises
    ------
    Problem
        When the dealer has no such catalog or revision.
    """
    try:
        if revision is not None:
            return await service.store.revision(dealer, catalog_id, revision)
    except (CatalogUnknown, IdentifierInvalid, RevisionUnknown):
        detail = say("field.revision_unknown", "is not a revision of this catalog")
        raise _no_catalog(FieldProblem(pointer="/catalog_revision", detail=detail)) from None
    active = service.store.active(dealer, catalog_id)
    if active is None:
        names = tuple(record.catalog_id for record in service.store.catalogs(dealer))
        detail = say("field.catalog_unknown", "is not a catalog of this dealer")
        raise _no_catalog(FieldProblem(pointer="/catalog", detail=detail, allowed=names))
    return active


def _no_catalog(problem: FieldProblem) -> Problem:
    return Problem(
        "no-such-catalog",
        say("problem.no_catalog", "There is no such catalog to plan from."),
        [field_error(problem)],
    )


async def answered(
    service: Service, exchange: Exchange, principal: Principal, question: Question, body: bytes
) -> Finished:
    """The answer that a body asks for, as made before where it was.

    Parameters
    ----------
    service
        What the handlers share.
    exchange
        The request.
    principal
        Who asks.
    question
        What is asked about the spec.
    body
        The spec as it was sent.

    Raises
    ------
    Problem
        When the body is no spec, or the spec cannot be built.
    """
    desk, dealer, language, now = service.desk, principal.dealer, exchange.language, service.now()
    body_digest = digest_of(question.name, language.tag.encode(), name_of(principal, now), body)
    shortcut = desk.shortcut(dealer, body_digest)
    finished = await desk.held(dealer, shortcut.digest) if shortcut else None
    if finished is not None:
        return finished
    with exchange.stage("parse"):
        spec = aimed(principal, now, await _BODY.parse_aside(body))
    snapshot = await catalog_for(service, dealer, spec.catalog, spec.catalog_revision)
    check_tier(principal, spec, snapshot.catalog)
    finished = await about(service, exchange, question, spec, snapshot)
    pinned = spec.catalog_revision is not None
    desk.remember(
        dealer,
        body_digest,
        Shortcut(snapshot.catalog_id, snapshot.revision, pinned, finished.etag.strip('"')),
    )
    return finished


async def about(
    service: Service, exchange: Exchange, question: Question, spec: Spec, snapshot: Snapshot[Catalog]
) -> Finished:
    """The answer to a question about a spec in a revision of a catalog, as made before where it was.

    Parameters
    ----------
    service
        What the handlers share.
    exchange
        The request.
    question
        What is asked about the spec.
    spec
        The spec, as the asker may ask it.
    snapshot
        The catalog's revision; its dealer keeps the answer.

    Raises
    ------
    Problem
        When the spec cannot be built.
    """
    desk, dealer, language = service.desk, snapshot.dealer, exchange.language
    units = question.units(service.settings)
    digest = digest_of(
        question.name,
        VERSION.encode(),
        snapshot.catalog_id.encode(),
        snapshot.revision.encode(),
        language.tag.encode(),
        str(units).encode(),
        orjson.dumps(spec),
    )
    try:
        return await desk.held(dealer, digest) or await desk.make(
            exchange,
            dealer,
            digest,
            lambda effort: question.work(spec, snapshot.catalog, snapshot.revision, language, effort),
            units,
        )
    except PlanError as error:
        raise from_plan_error(error, spec.display_units) from None


def with_store_notice(finished: Finished, since: str, language: Language) -> Finished:
    """Add to an answer with notices that the shared store is away; it then has a validator of its own."""
    answer: dict[str, Any] = orjson.loads(finished.content)
    away = say(
        "notice.catalog_server_away",
        "The catalog server has been away since {since}: prices and stock are those last known.",
        since=since,
    )
    answer.setdefault("notices", []).extend(render_notices([Notice(said=away)], Writer(language)))
    return Finished(content=orjson.dumps(answer), etag=f'{finished.etag[:-1]}-away"')


async def ask(request: Request, principal: Principal, question: Question) -> Response:
    """Answer a question about the spec in a request's body, as JSON."""
    negotiate.require(request)
    finished = await answer_to(request, principal, question)
    return finished_answer(finished, in_language(exchange_of(request).language))


async def answer_to(request: Request, principal: Principal, question: Question) -> Finished:
    """The answer to a question about the spec in a request's body."""
    require_json(request)
    service = service_of(request)
    body = await read(request, service.settings.max_body_bytes)
    exchange = exchange_of(request)
    finished = await answered(service, exchange, principal, question, body)
    status = service.store.status()
    if status.degraded and status.since is not None:
        finished = with_store_notice(finished, status.since.isoformat(timespec="seconds"), exchange.language)
    return finished
