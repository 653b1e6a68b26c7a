"""The cheapest numbers of each stock that hold everything, by trying them one after another, compiled."""

from typing import NamedTuple

import numpy as np

from service.planner.course_solver.simplex import Floats, Integers, compiled


class Rooms(NamedTuple):
    """What one piece of each stock holds, limited stock first.

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
    """

    prices: Floats
    counts: Integers
    strips: Integers
    spans: Integers
    longest: Integers
    pieces: Integers
    lengths: Integers


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
    last, best, tries = size - 1, np.inf, 0
    rates = rooms.prices / (rooms.strips * rooms.spans)
    for at in range(size - 2, -1, -1):
        rates[at] = min(rates[at], rates[at + 1])
    numbers, found, ends = np.zeros(size, np.int64), np.zeros(size, np.int64), np.zeros(size, np.int64)
    spent, left = np.zeros(size + 1), np.zeros((size + 1, 3), np.int64)
    left[0] = need.spans, need.pieces, need.length
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
        if at == last:
            pieces = need.share * _fewest_pieces(rooms, numbers, need.spans)
            if cost + max(need.paths, pieces) < best:
                best = cost + max(need.paths, pieces)
                found[:] = numbers
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
def _begin(
    rooms: Rooms, need: Need, left: Integers, numbers: Integers, ends: Integers, at: int
) -> int:
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
    strips = max(
        _up(spans, rooms.spans[at]), max(_up(pieces, rooms.pieces[at]), _up(length, rooms.lengths[at]))
    )
    return max(0, _up(strips, rooms.strips[at]))


@compiled
def _fewest_pieces(rooms: Rooms, numbers: Integers, spans: int) -> int:
    """Fewest pieces that cover the spans: the long ones first, as many as there are long strips for."""
    order = np.argsort(-rooms.longest)
    pieces = 0
    for place in range(len(order)):
        at = order[place]
        if numbers[at] and spans > 0:
            rest = 0
            for other in order[place + 1 :]:
                rest = max(rest, rooms.longest[other])
            longer = min(rest + 1, rooms.longest[at])
            most = numbers[at] * rooms.strips[at] * (rooms.spans[at] // longer)
            used = min(most, _up(spans, rooms.longest[at]))
            pieces += used
            spans -= used * rooms.longest[at]
    return pieces
