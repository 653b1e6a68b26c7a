"""The most valuable filling of every room at once, by dynamic programming over the room, compiled."""

from typing import NamedTuple

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled

UNREACHED = -1e30
NEARLY = 1e-9
FEW = 64
"""For how many ways there is room at first [-]."""


class Filling(NamedTuple):
    """How every room up to the greatest is filled best.

    Parameters
    ----------
    sizes
        Sizes, ascending [-].
    prices
        What one of each size is worth.
    worth
        Highest worth of every room.
    last
        The size that was put into every room last, -1 for none [-].
    """

    sizes: Integers
    prices: Floats
    worth: Floats
    last: Integers


@compiled
def fill(sizes: Integers, prices: Floats, room: int, exact: bool) -> Filling:
    """Fill every room up to the greatest.

    Parameters
    ----------
    sizes
        Sizes, ascending [-].
    prices
        What one of each size is worth.
    room
        Greatest room [-].
    exact
        Whether a room must be used up.
    """
    worth = np.full(room + 1, UNREACHED if exact else 0.0)
    worth[0] = 0.0
    last = np.full(room + 1, -1)
    for at in range(len(sizes)):
        size, price = sizes[at], prices[at]
        if size > room:
            break
        if price <= worth[size] + NEARLY:
            continue
        for start in range(size, room + 1, size):
            end = min(start + size, room + 1)
            _put(worth[start - size : end - size], worth[start:end], last[start:end], price, at)
    return Filling(sizes, prices, worth, last)


@compiled
def _put(before: Floats, after: Floats, last: Integers, price: float, at: int) -> None:
    """Put a size into rooms that are as much greater as it takes, where that is worth more."""
    for k in range(len(after)):
        through = before[k] + price
        last[k] = at if through > after[k] else last[k]
        after[k] = max(through, after[k])


@compiled
def choose(filling: Filling, room: int, above: float, most: int) -> Integers:
    """Return the best fillings that are worth more than `above`, each with another size in it for certain.

    Parameters
    ----------
    filling
        How every room is filled.
    room
        The room [-].
    above
        What a filling must be worth more than.
    most
        How many fillings are wanted [-].

    Returns
    -------
    Integers
        How many of each size every filling takes [-].
    """
    sizes = filling.sizes
    totals = np.full(len(sizes), UNREACHED)
    for at in range(len(sizes)):
        if sizes[at] <= room:
            totals[at] = filling.worth[room - sizes[at]] + filling.prices[at]
    counts, found = np.zeros((min(most, len(sizes)), len(sizes)), np.int64), 0
    while found < len(counts):
        at, left = int(np.argmax(totals)), room
        if totals[at] <= above:
            break
        totals[at] = UNREACHED
        while at >= 0:
            counts[found, at] += 1
            left -= sizes[at]
            at = filling.last[left]
        found += 1
    return counts[:found]


@compiled
def list_fillings(filling: Filling, room: int, least: float, most: int) -> Integers:
    """Return all fillings that take no further piece and are worth something, one more than `most` when there are more.

    Parameters
    ----------
    filling
        How every room is filled; no price is negative.
    room
        The room, not less than the smallest size [-].
    least
        What a filling must be worth.
    most
        How many fillings are worth listing [-].

    Returns
    -------
    Integers
        How many of each size every filling takes [-].
    """
    sizes, prices = filling.sizes, filling.prices
    counts = np.zeros((most + 1, len(sizes)), np.int64)
    taken, left, value = np.zeros(len(sizes), np.int64), room, 0.0
    found, at = 0, len(sizes) - 1
    while found <= most:
        at = _largest(filling, at, left, least - value)
        if at >= 0:
            taken[at] += 1
            left -= sizes[at]
            value += prices[at]
            continue
        if left < sizes[0] and value >= least - NEARLY:
            counts[found] = taken
            found += 1
        at = 0
        while at < len(sizes) and not taken[at]:
            at += 1
        if at == len(sizes):
            break
        taken[at] -= 1
        left += sizes[at]
        value -= prices[at]
        at -= 1
    return counts[:found]


@compiled
def _largest(filling: Filling, at: int, left: int, least: float) -> int:
    """Largest size up to one that fits and leaves room for enough, -1 when there is none."""
    while at >= 0:
        size = filling.sizes[at]
        if size <= left and filling.prices[at] + filling.worth[left - size] >= least - NEARLY:
            return at
        at -= 1
    return -1


@compiled
def maximal(
    sizes: Integers, shorter: Integers, room: int, most: int
) -> tuple[Integers, Integers, Integers, bool]:
    """List the ways to fill a room so that no more fits, those with more of the larger sizes first; one more than `most` when there are more.

    Parameters
    ----------
    sizes
        Sizes, largest first [-].
    shorter
        A size for each that is not larger [-].
    room
        The room [-].
    most
        How many ways are worth listing [-].

    Returns
    -------
    tuple
        Where each way begins, and where the last one ends; index and count of the sizes taken, way after way; the
        room that each leaves [-]; whether the shorter sizes can be put in the same ways alone, else these are not all.
    """
    number, left, spare, found, end = len(sizes), room, room, 0, 0
    taken = np.zeros(number, np.int64)
    starts, rests = np.zeros(FEW + 1, np.int64), np.zeros(FEW, np.int64)
    contents = np.zeros((FEW * number, 2), np.int64)
    at = 0
    while True:
        while at < number:
            taken[at] = left // sizes[at]
            if spare // shorter[at] != taken[at]:
                return starts[: found + 1].copy(), contents[:end].copy(), rests[:found].copy(), False
            left -= taken[at] * sizes[at]
            spare -= taken[at] * shorter[at]
            at += 1
        if found == len(rests):
            starts = np.append(starts, np.zeros(found, np.int64))
            rests = np.append(rests, np.zeros(found, np.int64))
            contents = np.concatenate((contents, np.zeros((found * number, 2), np.int64)))
        end = _note(taken, contents, end)
        rests[found], found = left, found + 1
        starts[found] = end
        left += taken[-1] * sizes[-1]
        spare += taken[-1] * shorter[-1]
        taken[-1] = 0
        at = number - 2
        while at >= 0 and not taken[at]:
            at -= 1
        if at < 0 or found > most:
            return starts[: found + 1].copy(), contents[:end].copy(), rests[:found].copy(), True
        taken[at] -= 1
        left += sizes[at]
        spare += shorter[at]
        at += 1


@compiled
def _note(taken: Integers, contents: Integers, end: int) -> int:
    """Note what is taken behind what was noted before; where the notes end."""
    for k in range(len(taken)):
        if taken[k]:
            contents[end, 0], contents[end, 1] = k, taken[k]
            end += 1
    return end
