"""One order of a list: its structures are collected as they come, and combined by a planner when all are there.

Rules of this file
------------------
- The order is the one that `POST /v1/orders` would make of the structures that could be planned; how many were left out is told.
- A structure keeps its id where that can stand on an order, and has the number of its row where it cannot.
- A list that is too long for one order keeps its lines; its order is a problem.
"""

import re
from collections import OrderedDict
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

import orjson

from service.api.ordering import refused_structure
from service.api.problems import Problem, from_plan_error
from service.batch.planner import BODY, Wanted, refused, work_out_line
from service.batch.records import Record
from service.planner.errors import PlanError, SpecError
from service.planner.messages import say
from service.planner.plan import Worked
from service.planner.solver.effort import Effort
from service.planner.writing import Writer
from service.sales.describing import describe_order
from service.sales.orders import Structure, combine
from service.sales.quotes import dated
from service.sales.shapes import MOST_STRUCTURES, OrderOut, OrderRequest
from service.store.contract import Snapshot

_ID: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._\-]{0,39}")
"""What an id on an order looks like, as `POST /v1/orders` takes it"""


@dataclass(slots=True, kw_only=True)
class Basket:
    """The structures of a list that are to be one order."""

    wanted: Wanted
    """What is wanted of every structure"""
    day: str
    """Day of the order, ISO 8601"""
    units: int
    """Work that the structures may take together [units]"""
    lines: int = 0
    """Lines of the list so far [-]"""
    _structures: list[tuple[int, str, str, str, str]] = field(default_factory=list)
    _catalogs: OrderedDict[str, list[str]] = field(default_factory=OrderedDict)

    @property
    def full(self) -> bool:
        """Whether the list has more lines than an order has structures."""
        return self.lines > MOST_STRUCTURES

    def add(self, record: Record, catalog: Snapshot[Any]) -> None:
        """Add a structure that can be read; more than an order takes are counted and not kept."""
        if not self.full:
            held = [catalog.catalog_id, catalog.revision, catalog.document.decode()]
            self._catalogs.setdefault(catalog.revision, held)
            name = record.id if record.id and _ID.fullmatch(record.id) else f"row-{record.row}"
            asked = record.row, name, record.reference, catalog.revision, record.body.decode()
            self._structures.append(asked)

    def as_values(self) -> dict[str, Any]:
        """Write it for another process."""
        return {
            "wanted": self.wanted.as_values(),
            "day": self.day,
            "units": self.units,
            "lines": self.lines,
            "catalogs": self._catalogs,
            "structures": [] if self.full else self._structures,
        }


def too_many(lines: int | None = None) -> Problem:
    """Refuse to make one order of a list that is too long for it."""
    if lines is None:
        told = say(
            "batch.order_most",
            "An order holds {most} structures at most: send it in parts, or leave `combine` out.",
            most=MOST_STRUCTURES,
        )
    else:
        told = say(
            "batch.order_too_long",
            "An order holds {most} structures at most, and this list has {lines}: send it in parts, or leave `combine` out.",
            most=MOST_STRUCTURES,
            lines=lines,
        )
    return Problem("too-much-work", told)


def combined(content: bytes) -> bytes:
    """Make the order of a list.

    Parameters
    ----------
    content
        JSON of the values of a basket.

    Returns
    -------
        The line that answers it: the order, or the problem in its place.
    """
    asked = orjson.loads(content)
    wanted = Wanted.read(asked["wanted"])
    try:
        order = _order(asked, wanted)
    except Problem as problem:
        return not_combined(problem, wanted)
    except PlanError as error:
        return not_combined(from_plan_error(error), wanted)
    except Exception:  # noqa: BLE001  # the lines of the list are answered all the same
        return not_combined(
            Problem("internal-error", say("batch.order_failed", "The service failed on this order.")), wanted
        )
    left_out = asked["lines"] - len(order["structures"])
    return orjson.dumps({"combined": {"status": 200, "left_out": left_out, "order": order}}) + b"\n"


def not_combined(problem: Problem, wanted: Wanted) -> bytes:
    """Write the line that stands in place of an order."""
    return b'{"combined":' + refused(problem, wanted.language).partition(b"\t")[2] + b"}\n"


def _order(asked: dict[str, Any], wanted: Wanted) -> OrderOut:
    """Work the structures out again, each as its line was, and combine them."""
    if asked["lines"] > MOST_STRUCTURES:
        raise too_many(asked["lines"])
    effort, known = Effort(asked["units"]), dict[tuple[str, str], Worked | None]()
    issued, structures = datetime.fromisoformat(asked["day"]), list[Structure]()
    for row, name, reference, revision, body in asked["structures"]:
        if (revision, body) not in known:
            known[revision, body] = _planned(wanted, body, asked["catalogs"][revision], effort)
        worked = known[revision, body]
        if worked is not None:
            try:
                dated(worked.facts.job.spec, issued)
            except SpecError as error:
                raise refused_structure(row - 1, name, error) from None
            structures.append(Structure(id=name, reference=reference, worked=worked))
    if not structures:
        raise Problem(
            "structure-refused",
            say("batch.no_order", "No structure of the list can be planned, so there is no order."),
        )
    writer = Writer(wanted.language, structures[0].worked.facts.job.units)
    return describe_order(combine(structures), OrderRequest(), asked["day"], writer)


def _planned(wanted: Wanted, body: str, catalog: list[str], effort: Effort) -> Worked | None:
    """Work a structure out; None where its line is a problem."""
    try:
        return work_out_line(wanted, BODY.parse(body.encode()), catalog, effort)
    except (Problem, PlanError):
        return None
