"""The most valuable filling of every room at once, by dynamic programming over the room, compiled."""

import numpy as np

from service.planner.course_solver.simplex import Floats, Integers, compiled

UNREACHED = -1e30
NEARLY = 1e-9


@compiled
def fill(sizes: Integers, prices: Floats, room: int, exact: bool) -> tuple[Floats, Integers]:
    """Return the highest worth of every room up to the greatest, and the size that was put into it last.

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
            before, after, kept = worth[start - size : end - size], worth[start:end], last[start:end]
            for k in range(end - start):
                through = before[k] + price
                kept[k] = at if through > after[k] else kept[k]
                after[k] = max(through, after[k])
    return worth, last


@compiled
def choose(
    sizes: Integers, prices: Floats, worth: Floats, last: Integers, room: int, above: float, most: int
) -> Integers:
    """Return the best fillings that are worth more than `above`, each with another size in it for certain.

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
    fitting = np.searchsorted(sizes, room, "right")
    totals = np.empty(fitting)
    for at in range(fitting):
        totals[at] = worth[room - sizes[at]] + prices[at]
    order = np.argsort(-totals)[:most]
    found = 0
    while found < len(order) and totals[order[found]] > above:
        found += 1
    counts = np.zeros((found, len(sizes)), np.int64)
    for number in range(found):
        at, left = order[number], room
        while at >= 0:
            counts[number, at] += 1
            left -= sizes[at]
            at = last[left]
    return counts


@compiled
def list_fillings(
    sizes: Integers, prices: Floats, worth: Floats, room: int, least: float, most: int
) -> Integers:
    """Return all fillings that take no further piece and are worth something, one more than `most` when there are more.

    Parameters
    ----------
    sizes
        Sizes, ascending [-].
    prices
        What one of each size is worth, not negative.
    worth
        Highest worth of every room.
    room
        The room [-].
    least
        What a filling must be worth.
    most
        How many fillings are worth listing [-].

    Returns
    -------
    Integers
        How many of each size every filling takes [-].
    """
    counts = np.zeros((most + 1, len(sizes)), np.int64)
    taken, left, value = np.zeros(len(sizes), np.int64), room, 0.0
    found, at = 0, len(sizes) - 1
    while found <= most:
        while at >= 0 and (sizes[at] > left or value + prices[at] + worth[left - sizes[at]] < least - NEARLY):
            at -= 1
        if at >= 0:
            taken[at] += 1
            left -= sizes[at]
            value += prices[at]
            continue
        if left < sizes[0] and value >= least - NEARLY:
            counts[found] = taken
            found += 1
        while at < len(sizes) and (at < 0 or not taken[at]):
            at += 1
        if at == len(sizes):
            break
        taken[at] -= 1
        left += sizes[at]
        value -= prices[at]
        at -= 1
    return counts[:found]
