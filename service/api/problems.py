"""Problems: what goes wrong over HTTP, as RFC 9457 `application/problem+json`.

Rules of this file
------------------
- Every refusal is a row of `KINDS`: a stable type, its status, its title, what it means and what to do.
- `PLAN_ERRORS` maps each leaf of the planner's exception tree to a row; a test proves that none is missing.
- Nothing of the request's values is repeated, so no NaN, key or markup comes back.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any, Final

import orjson
from starlette.responses import Response

from service.api.exchange import Exchange, in_language
from service.planner import errors
from service.planner.messages import Message, say
from service.planner.solver.cuts.problem import PieceFitsNoStock, StockRunsOut
from service.planner.units import DisplayUnits
from service.planner.writing import ENGLISH, Language, Writer
from service.sales import errors as sales_errors

MEDIA_TYPE: Final = "application/problem+json"
"""The media type of every refusal, RFC 9457 section 3"""
MOST_ERRORS: Final = 1000
"""Fields named in one problem at most [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of problem, as it is published under `/problems/{slug}`."""

    slug: str
    """Last part of the problem's type"""
    status: int
    """HTTP status [-]"""
    title: Message
    """Short and the same every time"""
    meaning: Message
    """When it is answered"""
    remedy: Message
    """What the caller can do"""


def _kind(slug: str, status: int, title: str, meaning: str, remedy: str) -> Kind:
    return Kind(
        slug=slug,
        status=status,
        title=Message(code=f"problem.{slug}.title", text=title, values={}),
        meaning=Message(code=f"problem.{slug}.meaning", text=meaning, values={}),
        remedy=Message(code=f"problem.{slug}.remedy", text=remedy, values={}),
    )


_ROWS: Final = (
    _kind("malformed-json", 400, "The body is not usable JSON",
          "The body is not UTF-8 JSON (RFC 8259), or an object names a member twice.",
          "Send one JSON value in UTF-8; NaN and Infinity are not JSON."),
    _kind("malformed-request", 400, "The request is malformed",
          "A header, a query or the transfer itself cannot be read.", "Correct what the detail names."),
    _kind("key-required", 401, "A key is needed",
          "No key was sent, or the key is unknown, expired or revoked.",
          "Send a valid key as `Authorization: Bearer` or `X-API-Key`, never in the address."),
    _kind("not-allowed", 403, "The key does not allow this",
          "The key is known but lacks the scope that this operation asks for.",
          "Use a key with the scope named in the detail."),
    _kind("origin-not-allowed", 403, "The page's origin is not listed",
          "A browser page of an origin that the key's dealer has not listed sent the request.",
          "List the origin with the dealer's key."),
    _kind("not-found", 404, "There is nothing here",
          "The address names nothing, or nothing that this key may see.", "Check the address."),
    _kind("method-not-allowed", 405, "The method is not offered here",
          "The resource exists; it does not offer this method.", "Use a method of the `Allow` header."),
    _kind("not-acceptable", 406, "No representation fits the Accept header",
          "The resource cannot be answered in a media type that the request accepts.",
          "Accept `application/json`."),
    _kind("length-required", 411, "The length of the body is needed",
          "The body came without a length.", "Send `Content-Length`."),
    _kind("revision-mismatch", 412, "The catalog has changed meanwhile",
          "The revision in `If-Match` or `If-None-Match` is not the current state.",
          "Read the catalog again, apply the change to it and publish with its `ETag`."),
    _kind("body-too-large", 413, "The body is too large",
          "The body has more bytes than the service reads.", "Send a smaller body; the detail names the limit."),
    _kind("body-too-deep", 413, "The body is nested too deeply",
          "Arrays and objects stand in each other deeper than any request needs.", "Flatten the body."),
    _kind("unsupported-media-type", 415, "The body's media type is not understood",
          "`Content-Type` or `Content-Encoding` names something that this resource does not read.",
          "Use a type of the `Accept-Post` or `Accept` header, without a content coding."),
    _kind("invalid-fields", 422, "Fields are not as the contract says",
          "A field is missing, unknown, of another type or out of bounds.",
          "Correct the fields listed in `errors`; each has its pointer."),
    _kind("invalid-parameters", 422, "Parameters are not as the contract says",
          "A parameter of the query is unknown, of another type or out of bounds.",
          "Correct the parameters listed in `errors`."),
    _kind("fields-disagree", 422, "Fields contradict each other",
          "Each field alone is fine; together they cannot hold.", "Correct one of the fields listed in `errors`."),
    _kind("opening-unbuildable", 422, "An opening cannot be built",
          "An opening holds a post, overlaps another or leaves its side.", "Move or resize the opening."),
    _kind("height-unbuildable", 422, "The wall's heights leave no room",
          "The heights leave no room for the wall's parts.", "Take the suggested height."),
    _kind("no-piece-fits", 422, "No stock bridges a span",
          "Two neighbouring supports are further apart than any stock of the catalog reaches.",
          "Take a longer stock or a closer spacing; the detail names the supports."),
    _kind("no-such-item", 422, "The catalog does not hold the item",
          "The spec asks for a thickness, an item or a role that the catalog does not hold.",
          "Take one of the allowed values, or another catalog."),
    _kind("no-such-drawing", 422, "There is no such drawing",
          "The plan has no drawing of the id given among the kinds asked for.", "Take one of the allowed ids."),
    _kind("packet-too-long", 422, "The document would have too many pages",
          "The structure is so long that its packet or labels would pass the limit of pages.",
          "Ask for drawings of some kinds, or split the structure."),
    _kind("no-such-catalog", 422, "There is no such catalog",
          "The spec names a catalog, or a revision of it, that the key's dealer does not have.",
          "Take one of the allowed catalogs, or leave the revision out."),
    _kind("piece-fits-no-stock", 422, "A piece fits no stock",
          "A piece of the demand is larger than every stock on the list.", "Add larger stock; `errors` names the pieces."),
    _kind("stock-runs-out", 422, "The stock does not cover the demand",
          "The limited stock cannot be cut into everything that is wanted.",
          "Add stock or lift its count; `errors` says what was left over."),
    _kind("too-much-work", 422, "The question is too large",
          "Not even a first plan fits the work and the memory that one question may take.",
          "Make the question smaller; the detail names the limit."),
    _kind("catalog-invalid", 422, "The catalog document cannot be used",
          "The document contradicts itself or lacks what a plan needs; everything found is listed.",
          "Correct all fields listed in `errors` and publish again."),
    _kind("price-list-unreadable", 422, "The price list cannot be read",
          "The text is no table of items (RFC 4180).",
          "Send a header row with `sku` and `price`, `pack_size`, `pack_unit` or `lead_days`, one item a row."),
    _kind("price-list-refused", 422, "Rows of the price list are refused",
          "A row names no item of the catalog, names one twice, or a value is none for its column; nothing is published.",
          "Correct the rows listed in `errors` and send the whole list again."),
    _kind("bid-list-unreadable", 422, "The bid list cannot be read",
          "The first row of a CSV bid list does not name columns, or names some that there are not.",
          "Name columns as the template does, `/v1/batches/template.csv`."),
    _kind("token-too-long", 414, "The token is too long for an address",
          "Tokens of long questions do not fit into every client's, proxy's and log's idea of an address.",
          "Post the token to `/v1/quotes/read`."),
    _kind("quote-altered", 422, "This is no quote, or it was altered",
          "The token is not of the form of a quote, or its signature does not hold for what it says.",
          "Use the token as it was given, to the last character, or ask for a new quote."),
    _kind("quote-algorithm", 422, "The token is signed in another way",
          "Quotes are signed with Ed25519 (RFC 9864); a token that names another algorithm, or none, is not looked at.",
          "Use a token that this service has given."),
    _kind("quote-key-unknown", 422, "The token's key is not known",
          "The token was signed with a key that is not, or no longer, in the published key set.",
          "Ask for a new quote; `/.well-known/jwks.json` lists the keys."),
    _kind("quote-expired", 409, "The quote has ended",
          "The quote's last moment has passed; it can still be read.", "Ask for a new quote of the same question."),
    _kind("quote-superseded", 409, "The planner comes to another bill now",
          "A later version of the planner works the same question out to another bill; `values` has both totals.",
          "Ask for a new quote of the same question."),
    _kind("quote-gone", 410, "What the quote was made from is gone",
          "The catalog revision, or the prices in it, are no longer kept.", "Ask for a new quote."),
    _kind("quote-of-another-dealer", 403, "The quote is another dealer's",
          "A quote is a right to read; only the dealer who made it can order from it.", "Use a key of that dealer."),
    _kind("order-mixed", 422, "This cannot be one order",
          "An order has one currency and one tier, and each structure has an id of its own.",
          "Send an order for each; the detail says what differs."),
    _kind("on-hand-claimed-twice", 422, "Stock on hand is used twice",
          "Structures of the order cut up more pieces of the customer's own stock than the largest count that any of them states.",
          "State the stock with the structures that are to use it; `errors` names them."),
    _kind("structure-refused", 422, "A structure of the order cannot be planned",
          "One of the structures is refused; `errors` leads to the fields of its spec.",
          "Correct the structure or leave it out."),
    _kind("limit-reached", 409, "The store keeps no more",
          "One more catalog, revision or byte would be more than the store keeps for a dealer.",
          "Publish fewer or smaller catalogs; the detail names the limit."),
    _kind("revision-required", 428, "A precondition is needed",
          "Publishing replaces a catalog, and the request does not say which revision it replaces.",
          "Send `If-Match` with the current `ETag`, or `If-None-Match: *` for a new catalog."),
    _kind("rate-limited", 429, "Too many requests",
          "The key has used its quota for now.", "Wait as long as `Retry-After` says."),
    _kind("internal-error", 500, "The service failed",
          "A fault of the service, not of the request.", "Report the request id of the answer."),
    _kind("busy", 503, "The service is busy",
          "More plans are waiting than the service can promise to answer.", "Try again after `Retry-After`."),
    _kind("too-late", 504, "The answer took too long",
          "The answer was not ready within the time that the operator allows, waiting in line included.",
          "Try again, or ask for less at once; a long list goes to `/v1/batches` or `/v1/jobs`."),
    _kind("store-away", 503, "Catalogs cannot be changed just now",
          "The shared store does not answer; plans go on from the last good catalog, changes cannot.",
          "Try again after `Retry-After`."),
    _kind("no-queue", 404, "There are no jobs here",
          "The operator has not set up a queue for jobs.",
          "Send the list as a batch, or set `SHIN_WALL_QUEUE_URL` and start workers with `python -m service work`."),
    _kind("queue-away", 503, "The queue does not answer",
          "The server that keeps jobs does not answer.", "Try again after `Retry-After`; batches go on without it."),
    _kind("not-ready", 503, "The service is not ready",
          "No catalog is loaded yet.", "Try again after `Retry-After`."),
)  # fmt: skip

KINDS: Final[Mapping[str, Kind]] = {row.slug: row for row in _ROWS}
"""Every kind of problem by its slug"""

PLAN_ERRORS: Final[Mapping[type[errors.PlanError], str]] = {
    errors.FieldsDisagree: "fields-disagree",
    errors.OpeningUnbuildable: "opening-unbuildable",
    errors.HeightUnbuildable: "height-unbuildable",
    errors.NoPieceFits: "no-piece-fits",
    errors.NoSuchItem: "no-such-item",
    errors.CatalogInvalid: "catalog-invalid",
    errors.TooMuchWork: "too-much-work",
    PieceFitsNoStock: "piece-fits-no-stock",
    StockRunsOut: "stock-runs-out",
    sales_errors.TokenUnreadable: "quote-altered",
    sales_errors.AlgorithmRefused: "quote-algorithm",
    sales_errors.SigningKeyUnknown: "quote-key-unknown",
    sales_errors.QuoteExpired: "quote-expired",
    sales_errors.QuoteSuperseded: "quote-superseded",
    sales_errors.QuoteGone: "quote-gone",
    sales_errors.OrderMixed: "order-mixed",
    sales_errors.OnHandClaimedTwice: "on-hand-claimed-twice",
    sales_errors.StructureRefused: "structure-refused",
    sales_errors.QuoteOfAnother: "quote-of-another-dealer",
}
"""The one place where the planner's errors meet HTTP"""

_BY_STATUS: Final[Mapping[int, str]] = {
    400: "malformed-request", 401: "key-required", 403: "not-allowed", 404: "not-found", 405: "method-not-allowed",
    406: "not-acceptable", 411: "length-required", 413: "body-too-large", 415: "unsupported-media-type",
    429: "rate-limited", 503: "busy",
}  # fmt: skip


PARAMETERS: Final = say("problem.parameters", "Parameters need correction.")
"""What is said of a request with wrong parameters"""
FIELDS: Final = say("problem.fields_wrong", "Fields need correction.")
"""What is said of a request with wrong fields, where they are not counted"""


class Problem(Exception):
    """A refusal on its way to the caller.

    Parameters
    ----------
    slug
        Row of `KINDS`.
    detail
        One sentence about this occurrence.
    errors
        The fields concerned.
    headers
        Headers of the answer, such as `Retry-After`.
    units
        Units of the lengths in its texts; both where it is not known what was asked for.
    """

    def __init__(
        self,
        slug: str,
        detail: Message,
        errors: Iterable[Mapping[str, Any]] = (),
        headers: Mapping[str, str] | None = None,
        units: DisplayUnits | None = None,
    ) -> None:
        super().__init__(detail.text)
        self.kind = KINDS[slug]
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = headers
        self.units = units


def field_error(problem: errors.FieldProblem) -> dict[str, Any]:
    """One field's problem as a member of `errors`, its detail still to be written."""
    members = {"pointer": problem.pointer, "detail": problem.detail}
    extras = {"allowed": problem.allowed, "suggestion": problem.suggestion}
    return members | {name: value for name, value in extras.items() if value is not None}


def from_plan_error(error: errors.PlanError, units: DisplayUnits | None = None) -> Problem:
    """Turn what the planner refuses into its problem, with lengths in the units asked for where they are known."""
    return Problem(PLAN_ERRORS[type(error)], error.detail, map(field_error, error.errors), units=units)


def from_status(status: int, headers: Mapping[str, str] | None) -> Problem:
    """Turn a bare HTTP status of the framework into its problem."""
    slug = _BY_STATUS.get(
        status, "internal-error" if status >= HTTPStatus.INTERNAL_SERVER_ERROR else "malformed-request"
    )
    return Problem(slug, KINDS[slug].meaning, headers=headers)


def type_of(kind: Kind, base: str = "") -> str:
    """The address that names a kind of problem, and answers with its page."""
    return f"{base}/problems/{kind.slug}"


def detail_of(detail: Message, writer: Writer) -> dict[str, Any]:
    """Write a detail: RFC 9457 wants its text; code and values stand beside it."""
    told = writer.told_apart(detail)
    return {"detail": told["text"], "code": told["code"], "values": told["values"]}


def as_document(
    problem: Problem, instance: str, base: str = "", language: Language = ENGLISH
) -> dict[str, Any]:
    """Write a problem as the members of RFC 9457 section 3.1, with `code` and `values` beside its details, and `errors`."""
    kind, writer = problem.kind, Writer(language, problem.units)
    document: dict[str, Any] = {
        "type": type_of(kind, base),
        "title": writer.text(kind.title),
        "status": kind.status,
        **detail_of(problem.detail, writer),
        "instance": instance,
    }
    if problem.errors:
        document["errors"] = [
            {**error, **detail_of(error["detail"], writer)} for error in problem.errors[:MOST_ERRORS]
        ]
    return document


def answer(problem: Problem, exchange: Exchange, base: str = "") -> Response:
    """Answer with a problem, in the language of the exchange."""
    language = exchange.language
    content = orjson.dumps(as_document(problem, exchange.instance, base, language), default=str)
    headers = {"cache-control": "no-store", **in_language(language), **(problem.headers or {})}
    return Response(content, problem.kind.status, headers, MEDIA_TYPE)
