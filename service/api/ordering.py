"""From tokens or structures to one order: read, planned in one thread, combined, described.

Rules of this file
------------------
- Every quote is worked out again and must come to what was promised; it must be live and the asker's own.
- A structure that is refused is told with the way to its fields.
"""

from dataclasses import replace
from typing import Final

import orjson

from service.api.access import Principal
from service.api.binding import aimed, check_tier
from service.api.desk import digest_of
from service.api.exchange import Exchange
from service.api.problems import Problem
from service.api.questions import catalog_for
from service.api.quoted import Quoted, read_token, require_live
from service.api.state import Service
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Spec
from service.planner.errors import FieldProblem, SpecError
from service.planner.messages import say
from service.planner.plan import work_out
from service.planner.solver.effort import Effort
from service.planner.writing import Writer
from service.sales.describing import describe_order
from service.sales.errors import QuoteOfAnother, StructureRefused
from service.sales.orders import Structure, combine
from service.sales.quotes import dated, quote_id, worked_again
from service.sales.shapes import OrderOut, OrderRequest
from service.store.contract import Snapshot

_NEITHER: Final = say(
    "order.neither",
    "An order is made from quotes or from structures: name at least one of one kind, and none of the other.",
)


async def order(
    service: Service, exchange: Exchange, principal: Principal, request: OrderRequest
) -> OrderOut:
    """Make one order.

    Raises
    ------
    Problem, PlanError
        When a quote or a structure is refused, or they cannot be one order.
    """
    if bool(request.quotes) == bool(request.structures):
        found = [{"pointer": pointer, "detail": _NEITHER} for pointer in ("/quotes", "/structures")]
        raise Problem(
            "fields-disagree",
            say("order.quotes_or_structures", "An order is made from quotes or from structures."),
            found,
        )
    quotes = [await _own(service, principal, token) for token in request.quotes]
    asked = [await _asked(service, principal, at, request) for at in range(len(request.structures))]
    day = service.now().date().isoformat()
    return await ordered(service, exchange, quotes, asked, request, day)


async def ordered(
    service: Service,
    exchange: Exchange,
    quotes: list[Quoted],
    asked: list[tuple[str, Spec, Snapshot[Catalog]]],
    request: OrderRequest,
    day: str,
) -> OrderOut:
    """Plan and combine in one thread; the same request of the same day is answered from what is kept."""
    dealer = quotes[0].pins.dealer if quotes else asked[0][2].dealer
    language, settings = exchange.language, service.settings
    digest = digest_of(
        b"order",
        f"{settings.plan_units}/{settings.order_units}".encode(),
        language.tag.encode(),
        day.encode(),
        orjson.dumps(request),
        *(quoted.token.encode() for quoted in quotes),
        *(
            part
            for id_, spec, snapshot in asked
            for part in (id_.encode(), orjson.dumps(spec), snapshot.revision.encode())
        ),
    )

    def work(effort: Effort) -> OrderOut:
        structures = [_quoted(quoted) for quoted in quotes]
        for at, (id_, spec, snapshot) in enumerate(asked):
            with effort.within(settings.plan_units):
                structures.append(_worked(at, id_, spec, snapshot, effort))
        units = structures[0].worked.facts.job.units
        return describe_order(combine(structures), request, day, Writer(language, units))

    held = await service.desk.held(dealer, digest) or await service.desk.make(
        exchange, dealer, digest, work, settings.order_units
    )
    found: OrderOut = orjson.loads(held.content)
    return found


async def _own(service: Service, principal: Principal, token: str) -> Quoted:
    """Read a quote to order from it: live, and of the same dealer."""
    quoted = await read_token(service, token)
    if quoted.pins.dealer != principal.dealer:
        raise QuoteOfAnother(say("quote.of_another", "The quote was made by another dealer."))
    require_live(quoted.pins, service.now())
    return quoted


async def _asked(
    service: Service, principal: Principal, at: int, request: OrderRequest
) -> tuple[str, Spec, Snapshot[Catalog]]:
    """Read a structure as the key may ask for it, at the prices of today."""
    structure, now = request.structures[at], service.now()
    try:
        spec = dated(aimed(principal, now, structure.spec), now)
        snapshot = await catalog_for(service, principal.dealer, spec.catalog, spec.catalog_revision)
        check_tier(principal, spec, snapshot.catalog)
    except SpecError as error:
        raise refused_structure(at, structure.id, error) from None
    return structure.id, spec, snapshot


def _quoted(quoted: Quoted) -> Structure:
    worked = worked_again(quoted.pins, quoted.spec, quoted.snapshot.catalog)
    name = quote_id(quoted.token)
    return Structure(id=name, reference=quoted.spec.reference, worked=worked, quote=name)


def _worked(at: int, id_: str, spec: Spec, snapshot: Snapshot[Catalog], effort: Effort) -> Structure:
    try:
        return Structure(id=id_, reference=spec.reference, worked=work_out(spec, snapshot.catalog, effort))
    except SpecError as error:
        raise refused_structure(at, id_, error) from None


def refused_structure(at: int, id_: str, error: SpecError) -> StructureRefused:
    """Lead the fields of a refused spec to their place in the order."""
    found = [replace(problem, pointer=f"/structures/{at}/spec{problem.pointer}") for problem in error.errors]
    top = FieldProblem(pointer=f"/structures/{at}/spec", detail=error.detail)
    return StructureRefused(
        say("order.structure_refused", "The structure {id} cannot be planned.", id=id_), [top, *found]
    )
