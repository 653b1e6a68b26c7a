"""What is left over, left in fewer and longer offcuts: the pieces shared anew among the strips that are open.

The rule: of plans with the same pieces from the same stock the better one has the longer longest offcut; then
the fewer ways that strips are cut; then the longer offcuts, compared from the longest down. A whole strip of an
opened sheet counts as an offcut of the strip's full length; where heights mix it may be freed but not begun,
since other heights could have its width.

One sharing is tried for each height class: the longest piece first, each into the begun strip with the least
room that takes it, else into the shortest whole strip that does. It is kept only where it is better. Nothing is
tried where pieces are all of one length, since they fill one strip after another anyway. A strip that leaves
nothing stays as it is, so that no crosscut is added; where strips are of one length, so does one whose single
piece leaves no room for another. No stock opened is left unused.
"""

from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence
from dataclasses import replace

from service.planner.records import record
from service.planner.solver.courses.problem import CourseProblem, CutPiece, CutStrip, OpenedStock, Stock

Sharing = list[list[CutPiece]]
"""The pieces of every open strip."""


@record
class _Open:
    """A strip that may be cut another way.

    Parameters
    ----------
    stock
        Index of the stock opened that gives it [-].
    length
        Its length [nm].
    room
        The longest piece that it still takes, less than nothing where the last cut has no full kerf [nm].
    pieces
        The pieces cut from it, longest first; none of a whole strip.
    """

    stock: int
    length: int
    room: int
    pieces: tuple[CutPiece, ...] = ()


def concentrate(problem: CourseProblem, opened: Sequence[OpenedStock]) -> tuple[OpenedStock, ...]:
    """Share the pieces among the strips of the stock opened so that longer offcuts are left.

    Parameters
    ----------
    problem
        Stock, heights and kerf.
    opened
        The stock opened and how it is cut.

    Returns
    -------
    tuple of OpenedStock
        The same stock and pieces at no more crosscuts, its longest offcut no shorter.
    """
    stock = {stock.key: stock for stock in problem.stock}
    found = tuple(opened)
    for height_class in range(len(problem.heights or (0,))):
        strips = _open_strips(problem, stock, found, height_class)
        if len({piece.length for strip in strips for piece in strip.pieces}) > 1 and len(strips) > 1:
            shared = _share(strips, problem.kerf)
            old = [strip.pieces for strip in strips], [strip.room for strip in strips]
            if shared is not None and _worth(strips, *shared) > _worth(strips, *old):
                found = _cut(problem, found, strips, *shared) or found
    return found


def _open_strips(
    problem: CourseProblem, stock: dict[str, Stock], opened: Sequence[OpenedStock], height_class: int
) -> list[_Open]:
    """List the strips of a height class that something may be gained from."""
    begun = [
        (stock[one.key].length, at, strip.pieces)
        for at, one in enumerate(opened)
        for strip in one.strips
        if strip.height_class == height_class
    ]
    shortest = min([pieces[-1].length for _, _, pieces in begun], default=0)
    mixed = len({length for length, _, _ in begun}) > 1
    kerf, strips = problem.kerf, []
    for length, at, pieces in begun:
        room = length
        for piece in pieces:
            room -= piece.length + kerf
        if room >= shortest or (room > 0 and (mixed or len(pieces) > 1)):
            strips.append(_Open(stock=at, length=length, room=room, pieces=pieces))
    if len(problem.heights) == 1:
        strips += _whole_strips(problem, stock, opened)
    return strips


def _whole_strips(
    problem: CourseProblem, stock: dict[str, Stock], opened: Sequence[OpenedStock]
) -> Iterator[_Open]:
    """Go through the strips that could still be ripped from the sheets opened."""
    taken = problem.heights[0] + problem.kerf
    for at, one in enumerate(opened):
        length, width = stock[one.key].length, stock[one.key].width
        if width is not None:
            for _ in range((width + problem.kerf) // taken - len(one.strips)):
                yield _Open(stock=at, length=length, room=length)


def _share(strips: Sequence[_Open], kerf: int) -> tuple[Sharing, list[int]] | None:
    """Put each piece, longest first, where it leaves the least room; with the room left, None when a piece finds no place."""
    pieces = [piece for strip in strips for piece in strip.pieces]
    begun: list[tuple[int, int]] = []
    whole = sorted([(strip.length, at) for at, strip in enumerate(strips)])
    sharing: Sharing = [[] for _ in strips]
    left = [strip.length for strip in strips]
    for piece in sorted(pieces, key=lambda piece: (-piece.length, piece.run, piece.start)):
        rooms = begun if begun and begun[-1][0] >= piece.length else whole
        place = bisect_left(rooms, (piece.length, 0))
        if place == len(rooms):
            return None
        room, at = rooms.pop(place)
        sharing[at].append(piece)
        left[at] = room - piece.length - kerf
        insort(begun, (left[at], at))
    return sharing, left


def _worth(
    strips: Sequence[_Open], sharing: Sequence[Sequence[CutPiece]], rooms: Sequence[int]
) -> tuple[int, int, list[int]]:
    """The longest offcut [nm], ways that strips are cut counted below zero [-], all offcuts, longest first [nm]."""
    offcuts = sorted(rooms, reverse=True)
    ways = {
        (strip.length, *[piece.length for piece in pieces])
        for strip, pieces in zip(strips, sharing, strict=True)
    }
    return offcuts[0], -len(ways), offcuts


def _cut(
    problem: CourseProblem,
    opened: Sequence[OpenedStock],
    strips: Sequence[_Open],
    sharing: Sharing,
    rooms: Sequence[int],
) -> tuple[OpenedStock, ...] | None:
    """Cut the open strips another way; None when some stock would be left unused."""
    gone = {strip.pieces for strip in strips}
    cut = [[strip for strip in stock.strips if strip.pieces not in gone] for stock in opened]
    for strip, pieces, room in zip(strips, sharing, rooms, strict=True):
        if pieces:
            flush = room == -problem.kerf
            height_class = problem.runs[pieces[0].run].height_class
            cut[strip.stock].append(
                CutStrip(height_class=height_class, pieces=tuple(pieces), crosscuts=len(pieces) - flush)
            )
    if not all(cut):
        return None
    return tuple([replace(stock, strips=tuple(own)) for stock, own in zip(opened, cut, strict=True)])
