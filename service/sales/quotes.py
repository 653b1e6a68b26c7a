"""Quotes: a priced bill for a time, and the token that gives the same bill again.

Rules of this file
------------------
- A token pins everything that the bill follows from: question, catalog revision, tier, day. Its total and the digest of
  its lines are signed with it, so that a bill that is come to again can be told from the one that was promised.
- Tiers are named by an opaque id: whoever holds a token learns no dealer's name for its customers.
- Moments come in with the call; there is no clock here.
"""

import base64
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any, Final

import orjson
import rfc8785
from pydantic import TypeAdapter, ValidationError

from service.planner.answer.rendering import render_bill
from service.planner.answer.shapes import CatalogRef
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Pricing, Spec
from service.planner.bill.pricing import PricedBill
from service.planner.bill.takeoff import by_others
from service.planner.errors import FieldProblem, FieldsDisagree
from service.planner.fields import hundredths, money_text
from service.planner.messages import Money, say
from service.planner.plan import PLANNER_VERSION, Worked, plan_id, work_out
from service.planner.records import record
from service.planner.rules import SPARES_PERCENT
from service.planner.solver.effort import Effort
from service.planner.units import to_millimetres
from service.planner.writing import ENGLISH, Language, Writer
from service.sales import asked
from service.sales.errors import QuoteGone, QuoteSuperseded, TokenUnreadable
from service.sales.shapes import FilledIn, QuoteOut

LONGEST_DAYS: Final = 180
"""How long a quote may hold at most [d]"""
USUAL_DAYS: Final = 30
"""How long a quote holds where nothing is said [d]"""
_SPEC: Final = TypeAdapter(Spec)


@record
class Pins:
    """What a token says: everything that a quote follows from, and what it came to."""

    issuer: str
    """The service"""
    dealer: str
    """Whose quote it is"""
    spec: Spec
    """The question, with the catalog revision and without prices' tier and day"""
    revision: str
    """The catalog revision"""
    tier: str | None
    """Opaque id of the tier; list prices without one"""
    planner: str
    """Planner version"""
    units: int
    """What the plan might take [units]"""
    issued: datetime
    """When it was made; its day is the pricing date"""
    until: datetime
    """When it ends"""
    currency: str
    """ISO 4217 code"""
    total: str
    """The bill's total"""
    lines: str
    """Digest of the bill's lines"""


def lines_digest(bill: PricedBill) -> str:
    """The digest of a bill's lines: SHA-256 over the canonical JSON of [sku, packs, pack_price] of each, base64url."""
    lines: list[Any] = [[line.item.sku, line.packs, money_text(line.pack_price)] for line in bill.lines]
    return base64.urlsafe_b64encode(hashlib.sha256(rfc8785.dumps(lines)).digest()).rstrip(b"=").decode()


def tier_id(secret: bytes, dealer: str, catalog: str, name: str) -> str:
    """The opaque id of a tier, which nobody without the secret can guess a name for.

    Parameters
    ----------
    secret
        The installation's secret, at most 64 bytes.
    dealer, catalog, name
        What it belongs to, and its name there.
    """
    said = "\n".join(("tier", dealer, catalog, name)).encode()
    return "t-" + hashlib.blake2b(said, key=secret, digest_size=8).hexdigest()


def dated(spec: Spec, issued: datetime) -> Spec:
    """The question at the prices of the day of issue.

    Raises
    ------
    FieldsDisagree
        When it asks for the prices of another day.
    """
    day = issued.date().isoformat()
    if spec.pricing.date not in {None, day}:
        detail = say("quote.other_day.field", "a quote is at the prices of its day")
        problem = FieldProblem(pointer="/pricing/date", detail=detail, suggestion=day)
        raise FieldsDisagree(
            say("quote.other_day", "A quote is made at the prices of the day of issue."), [problem]
        )
    return replace(spec, pricing=Pricing(tier=spec.pricing.tier, date=day if spec.pricing.tier else None))


def pinned(
    spec: Spec, revision: str, bill: Worked, units: int, issued: datetime, days: int
) -> Mapping[str, Any]:
    """The claims of a quote that do not depend on who makes it.

    Parameters
    ----------
    spec
        The question.
    revision
        The catalog revision that it was worked out from.
    bill
        What it came to.
    units
        What working it out might take [units]
    issued
        When it is made.
    days
        How long it holds [d]
    """
    bare = replace(spec, pricing=Pricing(), catalog_revision=None)
    facts = bill.facts
    return {
        "iat": int(issued.timestamp()),
        "exp": int((issued + timedelta(days=days)).timestamp()),
        "ask": asked.differing(bare),
        "rev": revision,
        "ver": PLANNER_VERSION,
        "units": units,
        "cur": facts.job.catalog.document.currency,
        "total": money_text(facts.bill.total),
        "lines": lines_digest(facts.bill),
    }


def read_pins(claims: Mapping[str, Any]) -> Pins:
    """Read the claims of a token whose signature holds.

    Raises
    ------
    TokenUnreadable
        When they are not those of a quote, as from a service of another making with the same key.
    """
    try:
        return Pins(
            issuer=claims["iss"],
            dealer=claims["aud"],
            spec=_SPEC.validate_json(orjson.dumps(claims["ask"])),
            revision=claims["rev"],
            tier=claims.get("tier"),
            planner=claims["ver"],
            units=int(claims["units"]),
            issued=datetime.fromtimestamp(claims["iat"], UTC),
            until=datetime.fromtimestamp(claims["exp"], UTC),
            currency=claims["cur"],
            total=claims["total"],
            lines=claims["lines"],
        )
    except (KeyError, TypeError, ValueError, ValidationError):
        raise TokenUnreadable(
            say("quote.form", "The quote is of a form that this service does not read.")
        ) from None


def question_of(pins: Pins, catalog: Catalog, secret: bytes) -> Spec:
    """Turn a token back into the plan's question: the same spec, revision, tier and day.

    Parameters
    ----------
    pins
        What the token says.
    catalog
        The catalog in the pinned revision.
    secret
        The installation's secret, that tiers are named by.

    Raises
    ------
    QuoteGone
        When the catalog no longer has the tier, or the secret is another.
    """
    spec = replace(pins.spec, catalog_revision=pins.revision)
    if pins.tier is None:
        return spec
    for tier in catalog.document.tiers:
        if tier_id(secret, pins.dealer, spec.catalog, tier.name) == pins.tier:
            day = pins.issued.date().isoformat()
            return replace(spec, pricing=Pricing(tier=tier.name, date=day))
    raise QuoteGone(say("quote.prices_gone", "The prices that the quote was made at are no longer known."))


def worked_again(pins: Pins, spec: Spec, catalog: Catalog, effort: Effort | None = None) -> Worked:
    """Work a quote out again, and see that it comes to what was promised.

    The counter, where one is given, has the units that the quote was worked out with.

    Raises
    ------
    QuoteSuperseded
        When it comes to another bill; with both totals.
    """
    worked = work_out(spec, catalog, effort or Effort(pins.units))
    total = money_text(worked.facts.bill.total)
    if (total, lines_digest(worked.facts.bill)) != (pins.total, pins.lines):
        raise QuoteSuperseded(
            say(
                "quote.superseded",
                "The planner now comes to {now} where {quoted} was quoted: make a new quote.",
                now=Money(worked.facts.bill.total, pins.currency),
                quoted=Money(hundredths(pins.total), pins.currency),
            )
        )
    return worked


def moment(at: datetime) -> str:
    """Write a moment as RFC 3339, UTC."""
    return at.strftime("%Y-%m-%dT%H:%M:%SZ")


def quote_id(token: str) -> str:
    """The short name of a quote, for people and documents."""
    return "q-" + hashlib.sha256(token.encode()).hexdigest()[:16]


def describe(token: str, pins: Pins, spec: Spec, worked: Worked, language: Language = ENGLISH) -> QuoteOut:
    """Turn a quote into plain values.

    Parameters
    ----------
    token
        Its token.
    pins
        What the token says.
    spec
        The question that it stands for.
    worked
        What it comes to.
    language
        The language of its texts.
    """
    facts, catalog = worked.facts, worked.facts.job.catalog.document
    return QuoteOut(
        quote_id=quote_id(token),
        plan_id=plan_id(facts.job, pins.revision),
        planner_version=PLANNER_VERSION,
        reference=spec.reference,
        issued=moment(pins.issued),
        valid_until=moment(pins.until),
        tier=pins.tier,
        catalog=CatalogRef(id=spec.catalog, revision=pins.revision, title=catalog.title, note=catalog.note),
        currency=pins.currency,
        total=pins.total,
        lines_digest=pins.lines,
        bill_of_materials=render_bill(
            facts.job,
            facts.bill,
            by_others(facts.job, facts.layout, facts.rows),
            Writer(language, spec.display_units),
        ),
        filled_in=[FilledIn(pointer=pointer, value=value) for pointer, value in _filled_in(spec, worked)],
        token=token,
    )


def _filled_in(spec: Spec, worked: Worked) -> Iterable[tuple[str, Any]]:
    """List the answers that the customer left to us: the fields' own defaults, and what was settled from the catalog."""
    job, wall = worked.facts.job, spec.wall
    yield from asked.defaulted(spec)
    if wall.height is None:
        for side, heights in job.sides.items():
            yield f"/wall/per_side/{side}/height", to_millimetres(heights.height)
    settled = (
        ("/options/spares_percent", spec.options.spares_percent, SPARES_PERCENT),
        ("/wall/baseboard_face", wall.baseboard_face, to_millimetres(job.board.part.face)),
        ("/allowances/joint", spec.allowances.joint, money_text(job.joint_cost)),
        ("/allowances/metal_joint", spec.allowances.metal_joint, money_text(job.metal_joint_cost)),
        ("/allowances/cut", spec.allowances.cut, money_text(job.cut_cost)),
    )
    yield from ((pointer, value) for pointer, said, value in settled if said is None)
