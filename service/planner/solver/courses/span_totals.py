"""A bound by counting, and the prices of a plan that often meets it, compiled; `counted.py` says what is counted."""

from typing import NamedTuple

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled, compiled_apart
from service.planner.solver.courses.arrays import Arrays
from service.planner.solver.courses.greedy_plan import ENDLESS, Guided, Worths, guide, no_plan
from service.planner.solver.courses.paths import cheapest_pieces
from service.planner.solver.courses.pieces import ALIKE, END, INNER, PLACED, START, WHOLE
from service.planner.solver.courses.stock_numbers import Need, Rooms, cheapest_numbers
from service.planner.solver.courses.strips import Listing

TILT = 1e-3
"""Preference for one short piece over several that are each a little short, in shares of a strip's worth [-]."""

NEARLY = 1e-6
"""By how much a cost may be beyond a whole step for rounding [steps of cost]."""


class Counted(NamedTuple):
    """What counting needs beside a program's arrays, each of whose stocks gives one kind of strip.

    Parameters
    ----------
    shorts
        Whether the first and the last span of every block are shorter than those between, 1 each [-].
    listing
        All patterns.
    """

    shorts: Integers
    listing: Listing


class Costs(NamedTuple):
    """What a plan costs beside its stock.

    Parameters
    ----------
    joint
        Allowance for a joint [minor units of money].
    cut
        Allowance for a crosscut [minor units of money].
    step
        Costs of plans differ by multiples of this [minor units of money].
    """

    joint: int
    cut: int
    step: int


@compiled_apart
def count(own: Arrays, counted: Counted, costs: Costs, tries: int, effort: Floats) -> tuple[int, Guided]:
    """Return a bound and the best of some plans, a bound of -1 where counting says nothing.

    Parameters
    ----------
    own
        Pieces, strips and stock.
    counted
        What else is counted.
    costs
        Allowances.
    tries
        How many numbers of each stock are tried [-].
    effort
        Counter of units.
    """
    spans, least = _most_spans(own, counted), _least_shares(own, counted, costs)
    order = _limited_first(own.stock.counts)
    rooms = _rooms(own, counted, spans, order)
    if rooms.spans.min() == 0:
        return -1, no_plan()
    cost, found = cheapest_numbers(rooms, _need(own, counted, least), tries)
    if cost == np.inf:
        return -1, no_plan()
    bound = int(costs.step * np.ceil((cost - NEARLY) / costs.step))
    lists = (
        _worths(own, rooms, order, (spans, least), False),
        _worths(own, rooms, order, (spans, least), True),
    )
    stock = np.zeros(len(order), np.int64)
    for at in range(len(order)):
        stock[order[at]] = found[at]
    best = _best_plan(own, lists, stock, costs, bound, effort)
    if best.cost < 0:
        best = _best_plan(
            own, lists, np.where(own.stock.counts < 0, ENDLESS, own.stock.counts), costs, bound, effort
        )
    return bound, best


@compiled
def _best_plan(
    own: Arrays, lists: tuple[Worths, Worths], stock: Integers, costs: Costs, bound: int, effort: Floats
) -> Guided:
    """Return the best plan at some prices within some numbers of stock, the first that meets the bound."""
    best = guide(own, lists[0], stock, costs.joint, costs.cut, effort)
    if 0 <= best.cost <= bound:
        return best
    other = guide(own, lists[1], stock, costs.joint, costs.cut, effort)
    return other if best.cost < 0 or 0 <= other.cost < best.cost else best


@compiled
def _most_spans(own: Arrays, counted: Counted) -> Integers:
    """Most spans that a piece of each slot covers."""
    spans = np.zeros(len(own.slots.rooms), np.int64)
    for block in range(len(own.lasts)):
        for at in range(own.firsts[block], own.firsts[block + 1]):
            start, end, slot = own.places[at, 0], own.places[at, 1], own.places[at, 2]
            if own.ways[block] == PLACED:
                covered = end - start
            else:
                covered = end
                if start in (WHOLE, START):
                    covered -= counted.shorts[block, 0]
                if start in (WHOLE, END):
                    covered -= counted.shorts[block, 1]
            spans[slot] = max(spans[slot], covered)
    return spans


@compiled
def _least_shares(own: Arrays, counted: Counted, costs: Costs) -> Floats:
    """Joint and least crosscuts of a piece of each slot: a full strip with n pieces has n - 1."""
    shares = np.ones(len(own.slots.rooms))
    for at in range(len(counted.listing.strips)):
        if counted.listing.flush[at]:
            pieces = 0
            for k in range(counted.listing.starts[at], counted.listing.starts[at + 1]):
                pieces += counted.listing.contents[k, 1]
            for k in range(counted.listing.starts[at], counted.listing.starts[at + 1]):
                slot = counted.listing.contents[k, 0]
                shares[slot] = min(shares[slot], (pieces - 1) / pieces)
    return costs.joint + costs.cut * shares


@compiled
def _limited_first(numbers: Integers) -> Integers:
    """Put stock that is limited before the other."""
    order, at = np.zeros(len(numbers), np.int64), 0
    for endless in range(2):
        for stock in range(len(numbers)):
            if (numbers[stock] < 0) == (endless == 1):
                order[at] = stock
                at += 1
    return order


@compiled
def _rooms(own: Arrays, counted: Counted, spans: Integers, order: Integers) -> Rooms:
    """Count what one piece of every stock holds."""
    size = len(order)
    most, longest, pieces = np.zeros(size, np.int64), np.zeros(size, np.int64), np.zeros(size, np.int64)
    strips, numbers = own.stock.given[order, 0], own.stock.given[order, 1]
    for number in range(size):
        for at in range(len(counted.listing.strips)):
            if counted.listing.strips[at] == strips[number]:
                held = together = 0
                for k in range(counted.listing.starts[at], counted.listing.starts[at + 1]):
                    slot, n = counted.listing.contents[k, 0], counted.listing.contents[k, 1]
                    held += spans[slot] * n
                    together += n
                    longest[number] = max(longest[number], spans[slot])
                most[number], pieces[number] = max(most[number], held), max(pieces[number], together)
    by_length = np.argsort(-longest, kind="mergesort")
    return Rooms(
        own.stock.prices[order].astype(np.float64),
        own.stock.counts[order],
        numbers,
        most,
        longest,
        pieces,
        own.stock.strips[strips],
        by_length,
    )


@compiled
def _need(own: Arrays, counted: Counted, least: Floats) -> Need:
    """Count what all stock together must hold."""
    spans, pieces, length, paths = 0, 0, 0.0, 0.0
    for block in range(len(own.lasts)):
        size, last, way = own.sizes[block], own.lasts[block], own.ways[block]
        places = own.places[own.firsts[block] : own.firsts[block + 1]]
        short = 0 if way == PLACED else counted.shorts[block].sum()
        spans += size * (last - short)
        pieces += size * _fewest(places, last, way)
        length += (
            size * cheapest_pieces(places, own.slots.shortest[places[:, 2]].astype(np.float64), last, way)[0]
        )
        paths += size * cheapest_pieces(places, least[places[:, 2]], last, way)[0]
    return Need(spans, pieces, int(length), least.min(), paths)


@compiled
def _fewest(places: Integers, last: int, way: int) -> int:
    """How many pieces a section needs at least."""
    if way == PLACED:
        return 1
    most = np.zeros(4, np.int64)
    for at in range(len(places)):
        most[places[at, 0]] = max(most[places[at, 0]], places[at, 1])
    if most[WHOLE]:
        return 1
    inner = last if way == ALIKE else last - most[START] - most[END]
    ends = 0 if way == ALIKE else 2
    return ends if inner <= 0 else ends - (-inner // max(1, most[INNER]))


@compiled
def _worths(
    own: Arrays, rooms: Rooms, order: Integers, known: tuple[Integers, Floats], alone: bool
) -> Worths:
    """Prices by spans, set by the stock that covers spans at the least cost, or prices of pieces alone in a strip."""
    spans, least = known
    endless = own.stock.counts.min() < 0
    best, found = np.inf, -1
    worth = np.zeros(len(order))
    for number in range(len(order)):
        at = order[number]
        worth[at] = rooms.prices[number] / rooms.strips[number]
        rate = (worth[at] + least.min() * rooms.spans[number] / rooms.longest[number]) / rooms.spans[number]
        if (own.stock.counts[at] < 0) == endless and rate < best:
            best, found = rate, number
    share = worth[order[found]] / rooms.spans[found]
    strips = np.zeros(len(own.stock.strips))
    for at in range(len(order)):
        strips[own.stock.given[at, 0]] = worth[at]
    contents = np.zeros(len(spans))
    for slot in range(len(spans)):
        contents[slot] = _alone(own, worth, slot, endless) if alone else share * spans[slot]
    tilt = TILT * max(share, 1.0) * spans * np.maximum(0, rooms.longest[found] - spans)
    return Worths(least + contents + tilt, contents, strips)


@compiled
def _alone(own: Arrays, worth: Floats, slot: int, endless: bool) -> float:
    """Worth of the cheapest strip that has room for a piece of a slot."""
    best, most = np.inf, 0.0
    for at in range(len(worth)):
        if (own.stock.counts[at] < 0) == endless:
            most = max(most, worth[at])
            if own.stock.strips[own.stock.given[at, 0]] >= own.slots.rooms[slot]:
                best = min(best, worth[at])
    return best if best < np.inf else most
