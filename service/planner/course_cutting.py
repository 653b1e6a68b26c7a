"""The solver's answer for a course, turned into cutting patterns with piece ids.

Rules of this file
------------------
- Stock that is cut alike shares a pattern; a sheet left whole takes no crosscut.
- Pieces, the kerfs between them and the offcut make the stock; a rest under a kerf is kerf loss.
"""

from collections.abc import Mapping, Sequence
from operator import attrgetter
from typing import Final

from service.planner.layout import CutPattern, Cutting, MaterialRole, Piece, Strip
from service.planner.least_cost import CutStrip
from service.planner.materials import LaidCourse, StockPiece


def cutting_of(role: MaterialRole, laid: LaidCourse, kerf: int, heights: Sequence[int | None]) -> Cutting:
    """Turn a solver's answer into patterns with piece ids.

    Parameters
    ----------
    role
        Catalog role of the material.
    laid
        The course.
    kerf
        Width of a cut [nm].
    heights
        Ripped height of each height class; one None for sticks [nm].
    """
    known = {(piece.run, piece.start): piece for run in laid.pieces for piece in run}
    groups: dict[tuple[str, tuple[object, ...]], list[list[_NamedStrip]]] = {}
    for opened in laid.answer.opened:
        strips = [_named(strip, known) for strip in opened.strips]
        groups.setdefault((opened.key, tuple([shape for shape, _, _ in strips])), []).append(strips)
    patterns = tuple([
        _pattern(laid.stock[int(key)], same, kerf, heights) for (key, _), same in groups.items()
    ])  # fmt: skip
    return Cutting(
        role=role,
        patterns=patterns,
        kerf=kerf,
        objective=laid.answer.objective,
        lower_bound=laid.answer.lower_bound,
    )


_LENGTH: Final = attrgetter("length")
_ID: Final = attrgetter("id")
_NamedStrip = tuple[tuple[int, ...], tuple[str, ...], int]
"""One strip as it is really cut: height class and cut lengths, which strips that are cut alike share; ids; crosscuts."""


def _named(strip: CutStrip, known: Mapping[tuple[int, int], Piece]) -> _NamedStrip:
    """Name the pieces of a strip; a sheet left whole takes no crosscut."""
    pieces = [known[piece.run, piece.start] for piece in strip.pieces]
    if len(pieces) > 1:
        pieces.sort(key=_LENGTH, reverse=True)
    crosscuts = 0 if pieces[0].factory_length else strip.crosscuts
    return (strip.height_class, *map(_LENGTH, pieces)), tuple(map(_ID, pieces)), crosscuts


def _pattern(
    stock: StockPiece, same: list[list[_NamedStrip]], kerf: int, heights: Sequence[int | None]
) -> CutPattern:
    """Build the pattern that equal pieces of stock share."""
    strips = []
    for number, (shape, _, crosscuts) in enumerate(same[0]):
        height_class, *lengths = shape
        rest = stock.length - sum(lengths) - kerf * (len(lengths) - 1)
        strips.append(
            Strip(
                height=heights[height_class],
                cuts=tuple([(length, lengths.count(length)) for length in dict.fromkeys(lengths)]),
                pieces=tuple([named[number][1] for named in same]), crosscuts=crosscuts,
                offcut=max(0, rest - kerf),
            )
        )  # fmt: skip
    return CutPattern(
        item=stock.item, sku=stock.item.sku, length=stock.length, width=stock.width,
        from_on_hand=stock.count is not None, repeat=len(same), strips=tuple(strips),
    )  # fmt: skip
