"""From counts to named pieces: every piece of the paths put into one strip, every strip into stock."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice, pairwise
from operator import attrgetter
from typing import Final

from service.planner.solver.courses.laying import Path
from service.planner.solver.courses.problem import CourseProblem, CutPiece, CutStrip, OpenedStock
from service.planner.solver.courses.runs import piece_length

Size = tuple[int, int]
"""Length and height class of a piece or a strip."""
Filling = tuple[Size, Sequence[tuple[int, int]]]
"""A strip's size, and the slots and counts of the pieces it has room for."""
Ripped = tuple[int, Mapping[Size, int]]
"""Index of a stock, and how many strips of each size it gives."""
_LENGTH: Final = attrgetter("length")


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
    named: defaultdict[int, list[CutPiece]] = defaultdict(list)
    for piece in pieces_of(problem, paths):
        named[slots[piece.length, problem.runs[piece.run].height_class]].append(piece)
    waiting = {slot: iter(pieces) for slot, pieces in named.items()}
    cut: defaultdict[Size, list[CutStrip]] = defaultdict(list)
    for size, contents in fillings:
        pieces = [piece for slot, count in contents for piece in islice(waiting.get(slot, ()), count)]
        if pieces:
            cut[size].append(_strip(problem, size, pieces))
    strips = {size: iter(own) for size, own in cut.items()}
    opened = []
    for stock, yields in ripped:
        taken = [strip for size, count in yields.items() for strip in islice(strips.get(size, ()), count)]
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
    filled = pieces[0].length
    if len(pieces) > 1:
        filled = sum([piece.length for piece in pieces]) + (len(pieces) - 1) * problem.kerf
        pieces.sort(key=_LENGTH, reverse=True)  # equal ones are of one slot and stay as they came, run by run
    return CutStrip(height_class=size[1], pieces=tuple(pieces), crosscuts=len(pieces) - (filled == size[0]))
