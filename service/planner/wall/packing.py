"""Packing strips behind wind-flap uprights: cut from offcuts of sheet that the plan leaves, else from a sheet bought.

Rules of this file
------------------
- A strip is as wide as the upright and reaches from the top channel's top edge to the underside of the hip rail.
- Each is cut from the smallest offcut that holds it; what is left of that offcut may hold the next.
- Where no offcut holds a strip, the cheapest sheet that does is bought for it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from service.planner.asked.catalog import Item
from service.planner.asked.parts import Sheet
from service.planner.asked.settle import Job
from service.planner.records import record
from service.planner.wall.layout import CutPattern, Cutting, PackingStrip, RunWall

Rest = tuple[int, int]
"""Both sides of a piece of sheet [nm]"""


@record
class _Held:
    """A piece of sheet that may be cut."""

    sides: Rest
    source: Rest
    """The offcut or sheet that it is part of [nm]"""
    item: Item | None
    """The sheet bought for it; none for an offcut"""


def unripped(pattern: CutPattern, kerf: int) -> int:
    """The width of a sheet that is left after its strips and the rips between them [nm]."""
    return max(0, (pattern.width or 0) - sum((strip.height or 0) + kerf for strip in pattern.strips))


def pack(job: Job, walls: Iterable[RunWall], sheets: Cutting) -> tuple[RunWall, ...]:
    """Give every wall its packing strips.

    Parameters
    ----------
    job
        The settled job.
    walls
        The walls, their uprights standing.
    sheets
        How the sheets are cut.
    """
    held = list(_offcuts(sheets))
    found = []
    for wall in walls:
        strips = []
        for part in wall.parts:
            if part.role == "upright":
                length = wall.heights.hip - wall.heights.channel_top
                width = job.film_channel.part.width
                taken, bought = _take(job, held, (length, width), sheets.kerf)
                strips.append(
                    PackingStrip(
                        id=f"{wall.run.id}-packing-{part.end}",
                        run=wall.run.index,
                        support=part.support,
                        length=length,
                        width=width,
                        source=taken.source,
                        item=taken.item,
                        opens=bought,
                    )
                )
        found.append(replace(wall, packing=tuple(strips)))
    return tuple(found)


def _offcuts(sheets: Cutting) -> Iterator[_Held]:
    """List the pieces of sheet that the plan leaves."""
    for pattern in sheets.patterns:
        rests = [(strip.offcut, strip.height or 0) for strip in pattern.strips if strip.offcut]
        wide = unripped(pattern, sheets.kerf)
        if wide:
            rests.append((pattern.length, wide))
        for sides in rests * pattern.repeat:
            yield _Held(sides=sides, source=sides, item=None)


def _take(job: Job, held: list[_Held], wanted: Rest, kerf: int) -> tuple[_Held, bool]:
    """Cut a strip from the smallest piece that holds it, or open a sheet; tell whether one was opened."""
    fitting = [piece for piece in held if _turned(piece.sides, wanted)]
    opened = not fitting
    if opened:
        items = [(item, item.part) for item in job.sheets if isinstance(item.part, Sheet)]
        whole = [(item, (p.length, p.width)) for item, p in items if _turned((p.length, p.width), wanted)]
        # the hip rail stands lower than a sheet is long, so that one always holds a strip
        item, sides = min(whole, key=lambda each: each[0].price)
        fitting = [_Held(sides=sides, source=sides, item=item)]
        held += fitting
    best = min(fitting, key=lambda piece: piece.sides[0] * piece.sides[1])
    held.remove(best)
    along, across = _turned(best.sides, wanted) or best.sides
    rests = ((along - wanted[0] - kerf, across), (wanted[0], across - wanted[1] - kerf))
    held += [replace(best, sides=rest) for rest in rests if min(rest) > 0]
    return best, opened


def _turned(sides: Rest, wanted: Rest) -> Rest | None:
    """Turn a piece so that it holds a strip; none where it does not either way."""
    for along, across in (sides, sides[::-1]):
        if along >= wanted[0] and across >= wanted[1]:
            return along, across
    return None
