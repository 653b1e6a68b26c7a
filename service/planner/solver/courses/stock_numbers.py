"""The cheapest numbers of each stock that hold everything, by trying them one after another, compiled."""

from typing import NamedTuple

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled, copy_into


class Rooms(NamedTuple):
    """What one piece of every stock holds.

    Parameters
    ----------
    prices
        Price of one [minor units of money].
    counts
        How many there are, negative when unlimited [-].
    strips
        Strips it gives [-].
    spans
        Most spans in one of its strips [-].
    longest
        Most spans of one piece [-].
    pieces
        Most pieces in one of its strips [-].
    lengths
        Length of a strip, and a kerf [nm].
    order
        The stock by its longest piece, longest first [-].
    """

    prices: Floats
    counts: Integers
    strips: Integers
    spans: Integers
    longest: Integers
    pieces: Integers
    lengths: Integers
    order: Integers


class Need(NamedTuple):
    """What all stock together must hold.

    Parameters
    ----------
    spans
        Spans of all sections [-].
    pieces
        Fewest pieces [-].
    length
        Least length of pieces, each with a kerf [nm].
    share
        Least that a piece costs beside the stock [minor units of money].
    paths
        Least that all paths cost beside the stock [minor units of money].
    """

    spans: int
    pieces: int
    length: int
    share: float
    paths: float


@compiled
def cheapest_numbers(rooms: Rooms, need: Need, most: int) -> tuple[float, Integers]:
    """Return the least cost of any numbers of each stock that hold everything, and the numbers.

    Parameters
    ----------
    rooms
        The stock.
    need
        What all together must hold.
    most
        How many numbers are tried; the cost is infinite when there are more [-].
    """
    size = len(rooms.prices)
    best, tries, rates = np.inf, 0, _rates(rooms)
    numbers, found, ends = np.zeros(size, np.int64), np.zeros(size, np.int64), np.zeros(size, np.int64)
    spent, left = np.zeros(size + 1), np.zeros((size + 1, 3), np.int64)
    left[0, 0], left[0, 1], left[0, 2] = need.spans, need.pieces, need.length
    at = _begin(rooms, need, left, numbers, ends, 0)
    while at >= 0:
        tries += 1
        if tries > most:
            return np.inf, found
        n = numbers[at]
        cost = spent[at] + n * rooms.prices[at]
        if n > ends[at] or cost + need.paths >= best:
            at -= 1
            if at >= 0:
                numbers[at] += 1
            continue
        if at == size - 1:
            pieces = need.share * _fewest_pieces(rooms, numbers, need.spans)
            if cost + max(need.paths, pieces) < best:
                best = cost + max(need.paths, pieces)
                copy_into(numbers, found)
            numbers[at] = n + 1 if pieces > need.paths or rooms.counts[at] >= 0 else ends[at] + 1
            continue
        strips = n * rooms.strips[at]
        left[at + 1, 0] = left[at, 0] - strips * rooms.spans[at]
        left[at + 1, 1] = left[at, 1] - strips * rooms.pieces[at]
        left[at + 1, 2] = left[at, 2] - strips * rooms.lengths[at]
        if cost + rates[at + 1] * max(0, left[at + 1, 0]) + need.paths < best:
            spent[at + 1] = cost
            at = _begin(rooms, need, left, numbers, ends, at + 1)
        else:
            numbers[at] += 1
    return best, found


@compiled
def _rates(rooms: Rooms) -> Floats:
    """Least price of a span in any stock from each one on."""
    rates, least = np.zeros(len(rooms.prices)), np.inf
    for at in range(len(rates) - 1, -1, -1):
        least = min(least, rooms.prices[at] / (rooms.strips[at] * rooms.spans[at]))
        rates[at] = least
    return rates


@compiled
def _begin(rooms: Rooms, need: Need, left: Integers, numbers: Integers, ends: Integers, at: int) -> int:
    """Set the range of a stock's number: the last one must hold what is left."""
    missing = _missing(rooms, at, left[at, 0], left[at, 1], left[at, 2])
    alone = max(
        _up(need.spans, rooms.strips[at] * rooms.longest[at]),
        _missing(rooms, at, need.spans, need.pieces, need.length),
    )
    ends[at] = max(missing, alone) if rooms.counts[at] < 0 else min(rooms.counts[at], alone)
    numbers[at] = missing if at == len(numbers) - 1 else 0
    return at


@compiled
def _up(one: int, other: int) -> int:
    """Divide and round up."""
    return -(-one // other)


@compiled
def _missing(rooms: Rooms, at: int, spans: int, pieces: int, length: int) -> int:
    """How many of a stock hold what is not held yet."""
    strips = max(_up(spans, rooms.spans[at]), _up(pieces, rooms.pieces[at]), _up(length, rooms.lengths[at]))
    return max(0, _up(strips, rooms.strips[at]))


@compiled
def _fewest_pieces(rooms: Rooms, numbers: Integers, spans: int) -> int:
    """Fewest pieces that cover the spans: the long ones first, as many as there are long strips for."""
    pieces = 0
    for place in range(len(rooms.order)):
        at = rooms.order[place]
        if numbers[at] and spans > 0:
            rest = rooms.longest[rooms.order[place + 1]] if place + 1 < len(rooms.order) else 0
            longer = min(rest + 1, rooms.longest[at])
            most = numbers[at] * rooms.strips[at] * (rooms.spans[at] // longer)
            used = min(most, _up(spans, rooms.longest[at]))
            pieces += used
            spans -= used * rooms.longest[at]
    return pieces
