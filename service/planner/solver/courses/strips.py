"""What a strip and a sheet may hold: cutting patterns of pieces, and ways to rip a sheet into strips."""

from collections.abc import Sequence
from itertools import accumulate, chain, pairwise
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from service.planner.records import record
from service.planner.solver.compiling import Integers
from service.planner.solver.courses.filling import maximal

RIPS = 10_000_000
"""How many ways to rip a sheet are listed; no sheet has nearly as many [-]."""


class Pattern(Struct, frozen=True, gc=False):
    """How one strip is cut.

    Parameters
    ----------
    counts
        Slot and how many of it [-].
    flush
        Whether pieces and the kerfs between them fill the strip exactly.
    """

    counts: tuple[tuple[int, int], ...]
    flush: bool

    @property
    def crosscuts(self) -> int:
        """Cuts across the strip [-]."""
        return sum(count for _, count in self.counts) - self.flush


Size = tuple[int, int]
"""Length and height class of a strip."""


@record
class Supply:
    """One kind of stock and the ways it may be ripped.

    Parameters
    ----------
    stock
        Index of the stock in the problem [-].
    price
        Price of one [minor units of money].
    count
        How many there are, None when unlimited [-].
    rips
        Each way to rip it: index of the strip and how many of it [-].
    """

    stock: int
    price: int
    count: int | None
    rips: tuple[tuple[tuple[int, int], ...], ...]


class Listing(NamedTuple):
    """Patterns as arrays.

    Parameters
    ----------
    strips
        Strip of every pattern [-].
    flush
        Whether every pattern fills its strip exactly.
    starts
        Where the contents of every pattern begin, and where the last ones end [-].
    contents
        Slots and how many of each [-].
    """

    strips: Integers
    flush: NDArray[np.bool_]
    starts: Integers
    contents: Integers


def listing_of(patterns: Sequence[Sequence[Pattern]]) -> Listing:
    """Return the patterns of every strip as arrays."""
    listed = list(chain.from_iterable(patterns))
    pairs = list(chain.from_iterable([pattern.counts for pattern in listed]))
    return Listing(
        strips=np.repeat(np.arange(len(patterns)), list(map(len, patterns))),
        flush=np.array([pattern.flush for pattern in listed], dtype=np.bool_),
        starts=np.array([0, *accumulate([len(pattern.counts) for pattern in listed])]),
        contents=np.array(pairs, dtype=np.int64).reshape(len(pairs), 2),
    )


def strip_patterns(
    length: int, kerf: int, slots: Sequence[int], lengths: Sequence[int], most: int
) -> list[Pattern] | None:
    """Every pattern of a strip that has room for no further piece, None when there are more than `most`.

    Parameters
    ----------
    length
        Length of the strip [nm].
    kerf
        Width of a cut [nm].
    slots
        Slots for pieces that may be cut from it [-].
    lengths
        Length of every slot [nm].
    most
        How many patterns are worth listing [-].
    """
    order = sorted(
        (slot for slot in slots if lengths[slot] <= length), key=lambda slot: (-lengths[slot], slot)
    )
    if not order:
        return []
    fillings = maximal_fillings([lengths[slot] + kerf for slot in order], length + kerf, most)
    return None if fillings is None else as_patterns(order, fillings)


def as_patterns(slots: Sequence[int], fillings: Sequence["Filling"]) -> list[Pattern]:
    """Return fillings as patterns.

    Parameters
    ----------
    slots
        Slot of each size [-].
    fillings
        Index and count of the sizes taken, and the room that is left [nm].
    """
    return [Pattern(tuple([(slots[at], n) for at, n in counts]), rest == 0) for counts, rest in fillings]


def sheet_rips(width: int, kerf: int, heights: Sequence[int]) -> list[tuple[int, ...]]:
    """Ways to rip a sheet into strips of the given heights that take no further strip.

    Parameters
    ----------
    width
        Width of the sheet [nm].
    kerf
        Width of a cut [nm].
    heights
        Height of each class [nm].

    Returns
    -------
    list of tuple
        How many strips of each class.
    """
    if len(heights) == 1:
        number = (width + kerf) // (heights[0] + kerf)
        return [(number,)] if number else []
    order = sorted(range(len(heights)), key=lambda at: (-heights[at], at))
    rips = []
    for counts, _ in maximal_fillings([heights[at] + kerf for at in order], width + kerf, RIPS) or []:
        found = {order[at]: n for at, n in counts}
        rips.append(tuple([found.get(at, 0) for at in range(len(heights))]))
    return [rip for rip in rips if any(rip)]


Counts = tuple[tuple[int, int], ...]
Filling = tuple[Counts, int]
"""Index and count of the sizes taken, and the room that is left."""


def shared_fillings(
    sizes: Sequence[int], shorter: Sequence[int], room: int, most: int, first: int = 0
) -> list[Filling] | None:
    """As maximal fillings; None when the shorter sizes can be put otherwise, or when there are more than `most`.

    Parameters
    ----------
    sizes
        Sizes, largest first [nm].
    shorter
        A size for each that is not larger [nm].
    room
        Room for them [nm].
    most
        How many choices are wanted [-].
    first
        Index of the largest size [-].
    """
    starts, contents, rests, same = maximal(np.array(sizes), np.array(shorter), room, most)
    if not same or len(rests) > most:
        return None
    pairs = [(first + at, count) for at, count in contents.tolist()]
    ends = pairwise(starts.tolist())
    return [(tuple(pairs[begin:end]), rest) for (begin, end), rest in zip(ends, rests.tolist(), strict=True)]


def maximal_fillings(sizes: Sequence[int], room: int, most: int) -> list[Filling] | None:
    """Choices of how many of each size fit into the room so that no more fits, None when there are more than `most`.

    Parameters
    ----------
    sizes
        Sizes, largest first [nm].
    room
        Room for them [nm].
    most
        How many choices are wanted [-].

    Returns
    -------
    list of tuple
        Index and count of the sizes taken, and the room that is left [nm].
    """
    return shared_fillings(sizes, sizes, room, most)
