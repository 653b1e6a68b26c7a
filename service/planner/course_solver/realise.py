"""From counts to named pieces: every piece of the paths put into one strip, every strip into stock."""

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from service.planner.course_problem import CourseProblem, CutPiece, CutStrip, OpenedStock
from service.planner.courses import piece_length

Path = tuple[int, ...]
Size = tuple[int, int]
"""Length and height class of a piece or a strip."""
Filling = tuple[Size, Sequence[tuple[int, int]]]
"""A strip's size, and the slots and counts of the pieces it has room for."""
Ripped = tuple[int, Mapping[Size, int]]
"""Index of a stock, and how many strips of each size it gives."""


def realise(
    problem: CourseProblem,
    paths: Sequence[Path],
    slots: Mapping[Size, int],
    fillings: Iterable[Filling],
    ripped: Iterable[Ripped],
) -> tuple[OpenedStock, ...]:
    """Name the pieces of every strip and the strips of every piece of stock.

    Parameters
    ----------
    problem
        Runs and stock.
    paths
        For every run the supports where its pieces end [-].
    slots
        The slot that a piece of each length and height class is cut from [-].
    fillings
        Strips that together have room for every piece; the first ones are filled first.
    ripped
        Stock that together gives every strip.
    """
    waiting: defaultdict[int, deque[CutPiece]] = defaultdict(deque)
    for piece in pieces_of(problem, paths):
        waiting[slots[piece.length, problem.runs[piece.run].height_class]].append(piece)
    strips: defaultdict[Size, deque[CutStrip]] = defaultdict(deque)
    for size, contents in fillings:
        pieces: list[CutPiece] = []
        for slot, count in contents:
            own = waiting[slot]
            pieces += [own.popleft() for _ in range(min(count, len(own)))]
        if pieces:
            strips[size].append(_strip(problem, size, pieces))
    opened = []
    for stock, yields in ripped:
        taken = [
            strips[size].popleft()
            for size, count in yields.items()
            for _ in range(min(count, len(strips[size])))
        ]
        if taken:
            opened.append(OpenedStock(key=problem.stock[stock].key, strips=tuple(taken)))
    return tuple(opened)


def pieces_of(problem: CourseProblem, paths: Sequence[Path]) -> Iterator[CutPiece]:
    """Pieces of all paths, run by run."""
    for index, (run, path) in enumerate(zip(problem.runs, paths, strict=True)):
        for start, end in pairwise(path):
            length = piece_length(run, start, end, problem.grid)
            yield CutPiece(run=index, start=start, end=end, length=length)


def cost_of(problem: CourseProblem, paths: Sequence[Path], opened: Sequence[OpenedStock]) -> int:
    """Cost of a plan [minor units of money]."""
    prices = {stock.key: stock.price for stock in problem.stock}
    joints = sum(len(path) - 2 for path in paths)
    crosscuts = sum(strip.crosscuts for stock in opened for strip in stock.strips)
    return (
        sum(prices[stock.key] for stock in opened)
        + problem.joint_cost * joints
        + problem.cut_cost * crosscuts
    )


def _strip(problem: CourseProblem, size: Size, pieces: list[CutPiece]) -> CutStrip:
    """Return a strip with its pieces, longest first."""
    filled = sum([piece.length for piece in pieces]) + (len(pieces) - 1) * problem.kerf
    if len(pieces) > 1:
        pieces.sort(key=lambda piece: (-piece.length, piece.run, piece.start))
    return CutStrip(height_class=size[1], pieces=tuple(pieces), crosscuts=len(pieces) - (filled == size[0]))
