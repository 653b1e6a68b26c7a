"""The solver's answer for a course, turned into cutting patterns with piece ids.

Rules of this file
------------------
- Stock that is cut alike shares a pattern; a sheet left whole takes no crosscut.
- Pieces, the kerfs between them and the offcut make the stock; a rest under a kerf is kerf loss.
"""

from collections.abc import Sequence
from operator import attrgetter
from typing import Final

from service.planner.wall.courses import LaidCourse, StockPiece
from service.planner.wall.layout import CutPattern, Cutting, Strip
from service.planner.wall.placing import Pieces


def cutting_of(
    role: str, laid: LaidCourse, placed: Pieces, kerf: int, heights: Sequence[int | None]
) -> Cutting:
    """Turn a solver's answer into patterns with piece ids.

    Parameters
    ----------
    role
        Catalog role of the material.
    laid
        The course.
    placed
        Its pieces.
    kerf
        Width of a cut [nm].
    heights
        Ripped height of each height class; one None for sticks [nm].
    """
    known = [{piece.start: piece for piece in run} for run in placed]
    groups: dict[tuple[str, tuple[_Shape, ...]], list[list[_Named]]] = {}
    for opened in laid.answer.opened:
        shapes: list[_Shape] = []
        named: list[_Named] = []
        for strip in opened.strips:
            pieces = [known[piece.run][piece.start] for piece in strip.pieces]
            if len(pieces) > 1:
                pieces.sort(key=_LENGTH, reverse=True)
            shapes.append((strip.height_class, *map(_LENGTH, pieces)))
            # a sheet left whole takes no crosscut
            named.append((tuple(map(_ID, pieces)), 0 if pieces[0].uncut else strip.crosscuts))
        groups.setdefault((opened.key, tuple(shapes)), []).append(named)
    patterns = tuple(
        [_pattern(laid.stock[key], shapes, same, kerf, heights) for (key, shapes), same in groups.items()]
    )
    return Cutting(
        role=role,
        patterns=patterns,
        kerf=kerf,
        objective=laid.answer.objective,
        lower_bound=laid.answer.lower_bound,
    )


_LENGTH: Final = attrgetter("length")
_ID: Final = attrgetter("id")
_Shape = tuple[int, ...]
"""Height class and cut lengths of a strip, the longest first: strips of one shape are cut alike"""
_Named = tuple[tuple[str, ...], int]
"""Ids of a strip's pieces, in the order of its shape, and its crosscuts"""


def _pattern(
    stock: StockPiece,
    shapes: tuple[_Shape, ...],
    same: list[list[_Named]],
    kerf: int,
    heights: Sequence[int | None],
) -> CutPattern:
    """Build the pattern that equal pieces of stock share."""
    strips = []
    for number, (height_class, *lengths) in enumerate(shapes):
        rest = stock.length - sum(lengths) - kerf * (len(lengths) - 1)
        strips.append(
            Strip(
                height=heights[height_class],
                cuts=tuple([(length, lengths.count(length)) for length in dict.fromkeys(lengths)]),
                pieces=tuple([named[number][0] for named in same]),
                crosscuts=same[0][number][1],
                offcut=max(0, rest - kerf),
            )
        )
    return CutPattern(
        item=stock.item,
        sku=stock.item.sku,
        length=stock.length,
        width=stock.width,
        from_on_hand=stock.count is not None,
        repeat=len(same),
        strips=tuple(strips),
    )
