"""From a token back to what it stands for, and from a question to its token.

Rules of this file
------------------
- `read_token` is the one way from a token to the plan's question; whatever hangs under a quote begins with it.
- A quote is worked out again before anything is shown under it, once; the finished answer is kept by the token's digest.
- Whether a quote has ended is no part of what is kept: the clock says it at each answer.
"""

from dataclasses import fields, replace
from datetime import datetime
from typing import Final

import orjson

from service.api.access import Principal
from service.api.answers import Finished
from service.api.binding import aimed, check_tier
from service.api.desk import digest_of
from service.api.exchange import Exchange
from service.api.problems import Problem, from_plan_error
from service.api.questions import Question, catalog_for
from service.api.state import Service
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Spec
from service.planner.errors import PlanError
from service.planner.messages import say
from service.planner.plan import work_out
from service.planner.records import record
from service.planner.solver.effort import Effort
from service.planner.writing import Language
from service.sales import quotes
from service.sales.errors import QuoteExpired, QuoteGone
from service.sales.quotes import (
    Pins,
    dated,
    describe,
    pinned,
    question_of,
    read_pins,
    tier_id,
    worked_again,
)
from service.sales.shapes import QuoteRequest
from service.sales.tokens import sign, verify
from service.store.contract import Snapshot
from service.store.errors import CatalogUnknown, IdentifierInvalid, RevisionUnknown

LONGEST_ADDRESS: Final = 4000
"""Characters of a token that may stand in an address [-]"""
ISSUER: Final = "shin-wall-planner"
"""The issuer of quotes where the service's public address is not set"""


@record
class Quoted:
    """What a token stands for."""

    token: str
    """The token"""
    pins: Pins
    """What it says"""
    spec: Spec
    """The plan's question: spec, pinned revision, tier and day"""
    snapshot: Snapshot[Catalog]
    """The catalog in the pinned revision"""


def issuer(service: Service) -> str:
    """The name under which the service signs."""
    return service.settings.public_url or ISSUER


async def make_quote(
    service: Service, exchange: Exchange, principal: Principal, request: QuoteRequest
) -> tuple[str, Finished]:
    """Work a question out, sign what it came to, and give the token with the quote.

    Raises
    ------
    Problem, PlanError
        When the question cannot be planned, or not by this key.
    """
    language, now, dealer = exchange.language, service.now().replace(microsecond=0), principal.dealer
    plain = Spec(**{field.name: getattr(request, field.name) for field in fields(Spec)})
    spec = dated(aimed(principal, now, plain), now)
    snapshot = await catalog_for(service, dealer, spec.catalog, spec.catalog_revision)
    check_tier(principal, spec, snapshot.catalog)
    ring = await service.signing.ring()
    secret = await service.signing.tier_secret()
    tier = spec.pricing.tier and tier_id(secret, dealer, spec.catalog, spec.pricing.tier)

    units = service.settings.plan_units

    def work(effort: Effort) -> tuple[str, bytes]:
        worked = work_out(spec, snapshot.catalog, effort)
        claims = {"iss": issuer(service), "aud": dealer} | ({"tier": tier} if tier else {})
        claims |= pinned(spec, snapshot.revision, worked, units, now, request.valid_days)
        token = sign(ring, claims)
        return token, orjson.dumps(describe(token, read_pins(claims), spec, worked, language))

    try:
        token, content = await service.desk.run(exchange, work, units)
    except PlanError as error:
        raise from_plan_error(error, spec.display_units) from None
    kept = await service.desk.keep(dealer, _digest(token, language), content)
    return token, _marked(kept, ended=False)


async def read_token(service: Service, token: str) -> Quoted:
    """Turn a token back into the plan's question.

    Parameters
    ----------
    service
        What the handlers share.
    token
        The token as it came.

    Raises
    ------
    QuoteError
        When it is no token of this service, or what it was made from is gone.
    """
    pins = read_pins(verify(await service.signing.ring(), token))
    try:
        snapshot = await service.store.revision(pins.dealer, pins.spec.catalog, pins.revision)
    except (CatalogUnknown, IdentifierInvalid, RevisionUnknown):
        raise QuoteGone(
            say("quote.gone", "The catalog revision that the quote was made from is no longer kept.")
        ) from None
    spec = question_of(pins, snapshot.catalog, await service.signing.tier_secret())
    return Quoted(token=token, pins=pins, spec=spec, snapshot=snapshot)


def pinned_to(quoted: Quoted, question: Question) -> Question:
    """The question with the units that the quote was worked out with."""
    return replace(question, units=lambda _: quoted.pins.units)


async def shown(service: Service, exchange: Exchange, quoted: Quoted) -> Finished:
    """The quote of a token as it was given first, or say that it is superseded."""
    dealer, language = quoted.pins.dealer, exchange.language
    digest = _digest(quoted.token, language)

    def work(effort: Effort) -> object:
        worked = worked_again(quoted.pins, quoted.spec, quoted.snapshot.catalog, effort)
        return describe(quoted.token, quoted.pins, quoted.spec, worked, language)

    held = await service.desk.held(dealer, digest) or await service.desk.make(
        exchange, dealer, digest, work, quoted.pins.units
    )
    return _marked(held, ended=ended(quoted.pins, service.now()))


def ended(pins: Pins, now: datetime) -> bool:
    """Tell whether a quote has ended."""
    return now >= pins.until


def require_live(pins: Pins, now: datetime) -> None:
    """Refuse to order from a quote that has ended.

    Raises
    ------
    QuoteExpired
        When it has.
    """
    if ended(pins, now):
        raise QuoteExpired(
            say(
                "quote.expired",
                "The quote ended at {moment}: it can be read, not ordered from.",
                moment=quotes.moment(pins.until),
            )
        )


def require_addressable(token: str) -> None:
    """Refuse a token that is too long to stand in an address."""
    if len(token) > LONGEST_ADDRESS:
        raise Problem(
            "token-too-long",
            say("quote.address", "A token in an address may have {most} characters.", most=LONGEST_ADDRESS),
        )


def _digest(token: str, language: Language) -> str:
    return digest_of(b"quote", language.tag.encode(), token.encode())


def _marked(finished: Finished, *, ended: bool) -> Finished:
    """Say at the end of a quote whether it has ended; the rest of the bytes stay as they are."""
    marks = orjson.dumps({"expired": ended, "orderable": not ended})
    content = finished.content[:-1] + b"," + marks[1:]
    return Finished(content=content, etag=f'{finished.etag[:-1]}{"-ended" if ended else ""}"')
