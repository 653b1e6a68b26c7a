"""What a catalog offers to choose from: thicknesses, faces and lengths that are on its shelves.

Rules of this file
------------------
- Only sizes: no sku, price, place or lead time leaves here.
"""

from collections.abc import Iterable

from service.planner.asked.catalog import Catalog
from service.planner.asked.parts import Baseboard, Sheet
from service.planner.messages import Length, Message, say
from service.planner.records import record
from service.planner.units import MILLIMETRE, WRITE_LENGTH, to_millimetres


@record
class Stocked:
    """A size that is stocked."""

    value: object
    """What is sent; none for what the service takes by itself"""
    label: Message
    """What it is called"""


def thicknesses(catalog: Catalog) -> tuple[Stocked, ...]:
    """The thicknesses of sheet, thinnest first; sheet is called by its millimetres everywhere."""
    found = {item.part.thickness for item in catalog.by_role["sheet"] if isinstance(item.part, Sheet)}
    return tuple(
        Stocked(
            value=_metric(size),
            label=say("form.thickness.stocked", "{thickness} sheet", thickness=_metric(size)),
        )
        for size in sorted(found)
    )


def board_faces(catalog: Catalog) -> tuple[Stocked, ...]:
    """The faces of baseboard, lowest first."""
    found = {item.part.face for item in catalog.by_role["baseboard"] if isinstance(item.part, Baseboard)}
    usual = Stocked(value=None, label=say("form.baseboard.usual", "The usual one"))
    return (usual, *_sizes(found))


def stock_lengths(catalog: Catalog) -> tuple[Stocked, ...]:
    """The lengths of sheet and baseboard, shortest first, each a limit for what is sent."""
    found = {
        item.part.length
        for role in ("sheet", "baseboard")
        for item in catalog.by_role[role]
        if isinstance(item.part, Sheet | Baseboard)
    }
    every = Stocked(value=None, label=say("form.longest_stock.any", "Any length that is stocked"))
    return (every, *_sizes(found))


def _sizes(found: Iterable[int]) -> tuple[Stocked, ...]:
    """Name lengths in the reader's units."""
    return tuple(
        Stocked(value=to_millimetres(size), label=say("form.size", "{size}", size=Length(size)))
        for size in sorted(found)
    )


def _metric(size: int) -> str:
    """Write a thickness with its decimals, if it has any."""
    return WRITE_LENGTH["metric"](size) if size % MILLIMETRE == 0 else f"{to_millimetres(size):g} mm"
