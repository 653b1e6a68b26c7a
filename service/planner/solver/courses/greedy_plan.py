"""A plan from prices, compiled: the cheapest path of every section, then strips filled one by one, then stock for them."""

from typing import NamedTuple

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled
from service.planner.solver.courses.arrays import Arrays
from service.planner.solver.courses.paths import cheapest_pieces
from service.planner.solver.effort import charge

ENDLESS = 10**9
"""How many there are of a stock that is not limited [-]."""


class Worths(NamedTuple):
    """What pieces and strips are worth, as in `Prices`."""

    pieces: Floats
    contents: Floats
    strips: Floats


class Guided(NamedTuple):
    """A plan.

    Parameters
    ----------
    cost
        What it costs, a joint for every piece included; negative when there is none [minor units of money].
    used
        How many of each piece [-].
    cut
        Strip, how often it is cut so, and whether it is full, of everything cut [-].
    starts
        Where the contents of each begin, and where the last ones end [-].
    contents
        Slots and how many of each [-].
    opened
        Stock, rip and how often it is opened [-].
    """

    cost: int
    used: Integers
    cut: Integers
    starts: Integers
    contents: Integers
    opened: Integers


class Shelf(NamedTuple):
    """Pieces of a height class that wait to be cut, shortest first; `number` alone in its array says how many kinds."""

    number: Integers
    sizes: Integers
    slots: Integers
    counts: Integers


@compiled
def guide(own: Arrays, worths: Worths, stock: Integers, joint: int, cut: int, effort: Floats) -> Guided:
    """Return a plan made at prices.

    Parameters
    ----------
    own
        Pieces, strips and stock.
    worths
        What pieces and strips are worth.
    stock
        How many of each stock may be opened [-].
    joint
        Allowance for a joint [minor units of money].
    cut
        Allowance for a crosscut [minor units of money].
    effort
        Counter of units; the plan is made even where they end.
    """
    charge(effort, 2.0 + len(own.places) / 100)
    used, demand = np.zeros(len(own.places), np.int64), np.zeros(len(own.slots.rooms), np.int64)
    for block in range(len(own.lasts)):
        first, last = own.firsts[block], own.firsts[block + 1]
        places = own.places[first:last]
        total, once = cheapest_pieces(places, worths.pieces[places[:, 2]], own.lasts[block], own.ways[block])
        if total == np.inf:
            return no_plan()
        for at in range(len(once)):
            used[first + at] = once[at] * own.sizes[block]
            demand[places[at, 2]] += used[first + at]
    filled, cuts, starts, contents = _fill_strips(own, worths, demand, stock, cut, effort)
    if not filled:
        return no_plan()
    found, opened = _open_stock(own, cuts, stock)
    if not found:
        return no_plan()
    cost = joint * used.sum()
    for at in range(len(cuts)):
        crosscuts = contents[starts[at] : starts[at + 1], 1].sum() - cuts[at, 2]
        cost += cut * crosscuts * cuts[at, 1]
    for at in range(len(opened)):
        cost += own.stock.prices[opened[at, 0]] * opened[at, 2]
    return Guided(cost, used, cuts, starts, contents, opened)


@compiled
def no_plan() -> Guided:
    """Return that there is no plan."""
    empty = np.zeros((0, 3), np.int64)
    return Guided(-1, empty[:, 0].copy(), empty, np.zeros(1, np.int64), np.zeros((0, 2), np.int64), empty)


@compiled
def _fill_strips(
    own: Arrays, worths: Worths, demand: Integers, stock: Integers, cut: int, effort: Floats
) -> tuple[bool, Integers, Integers, Integers]:
    """Cut all pieces: the longest left, with the longest that still fit beside it, from the strip that suits best."""
    left, most = _strips_left(own, stock), demand.sum()
    cuts, starts = np.zeros((most, 3), np.int64), np.zeros(most + 1, np.int64)
    contents, number = np.zeros((most, 2), np.int64), 0
    for height_class in range(own.slots.classes.max() + 1):
        shelf = _shelf(own, demand, height_class)
        taken, better = np.zeros(shelf.number[0], np.int64), np.zeros(shelf.number[0], np.int64)
        while shelf.number[0]:
            charge(effort, len(own.stock.strips) * shelf.number[0] / 500)
            best, found, spare = np.inf, -1, 0
            for at in range(len(own.stock.strips)):
                if (
                    own.stock.strip_classes[at] == height_class
                    and left[at] > 0
                    and own.stock.strips[at] >= shelf.sizes[shelf.number[0] - 1]
                ):
                    rest, worth = _take(shelf, own.stock.strips[at], worths.contents, taken)
                    waste = worths.strips[at] - worth - (cut if rest == 0 else 0)
                    if waste < best:
                        best, found, spare = waste, at, rest
                        better[:] = taken
            if found < 0:
                return False, cuts, starts, contents
            repeat = min(left[found], _repeat(shelf, better))
            left[found] -= repeat
            cuts[number, 0], cuts[number, 1], cuts[number, 2] = found, repeat, spare == 0
            starts[number + 1] = _remove(shelf, better, repeat, contents, starts[number])
            number += 1
    return True, cuts[:number].copy(), starts[: number + 1].copy(), contents[: starts[number]].copy()


@compiled
def _strips_left(own: Arrays, stock: Integers) -> Integers:
    """How many strips of each type there are at most."""
    left = np.zeros(len(own.stock.strips), np.int64)
    for at in range(len(stock)):
        most = np.zeros(len(own.stock.strips), np.int64)
        for k in range(own.stock.yields[own.stock.rips[at]], own.stock.yields[own.stock.rips[at + 1]]):
            strip = own.stock.given[k, 0]
            most[strip] = max(most[strip], own.stock.given[k, 1])
        left += stock[at] * most
    return left


@compiled
def _shelf(own: Arrays, demand: Integers, height_class: int) -> Shelf:
    """Put the pieces of a height class in order."""
    room, number = len(demand), 0
    sizes, slots = np.zeros(room, np.int64), np.zeros(room, np.int64)
    for slot in range(room):
        if demand[slot] and own.slots.classes[slot] == height_class:
            at = number
            while at > 0 and sizes[at - 1] > own.slots.rooms[slot]:
                sizes[at], slots[at] = sizes[at - 1], slots[at - 1]
                at -= 1
            sizes[at], slots[at] = own.slots.rooms[slot], slot
            number += 1
    return Shelf(np.full(1, number), sizes, slots, demand[slots])


@compiled
def _take(shelf: Shelf, room: int, contents: Floats, taken: Integers) -> tuple[int, float]:
    """Take the longest pieces that fit one after another; the room that is left, and what they are worth."""
    worth = 0.0
    for at in range(shelf.number[0] - 1, -1, -1):
        taken[at] = min(shelf.counts[at], room // shelf.sizes[at])
        if taken[at]:
            room -= taken[at] * shelf.sizes[at]
            worth += contents[shelf.slots[at]] * taken[at]
    return room, worth


@compiled
def _repeat(shelf: Shelf, taken: Integers) -> int:
    """How often these pieces are there."""
    repeat = -1
    for at in range(shelf.number[0]):
        if taken[at]:
            often = shelf.counts[at] // taken[at]
            repeat = often if repeat < 0 else min(repeat, often)
    return repeat


@compiled
def _remove(shelf: Shelf, taken: Integers, repeat: int, contents: Integers, end: int) -> int:
    """Take pieces away and note them, the longest first; where the notes end."""
    for at in range(shelf.number[0] - 1, -1, -1):
        if taken[at]:
            contents[end, 0], contents[end, 1] = shelf.slots[at], taken[at]
            end += 1
            shelf.counts[at] -= repeat * taken[at]
    kept = 0
    for at in range(shelf.number[0]):
        if shelf.counts[at]:
            shelf.sizes[kept], shelf.slots[kept] = shelf.sizes[at], shelf.slots[at]
            shelf.counts[kept] = shelf.counts[at]
            kept += 1
    shelf.number[0] = kept
    return end


@compiled
def _open_stock(own: Arrays, cuts: Integers, stock: Integers) -> tuple[bool, Integers]:
    """Open stock until every strip has its place, the cheapest by use first; whether there is enough."""
    need = np.zeros(len(own.stock.strips), np.int64)
    for at in range(len(cuts)):
        need[cuts[at, 0]] += cuts[at, 1]
    left, opened, number = stock.copy(), np.zeros((need.sum(), 3), np.int64), 0
    while need.max() > 0:
        best, found, rip = np.inf, -1, -1
        for at in range(len(stock)):
            for each in range(own.stock.rips[at], own.stock.rips[at + 1]):
                used = _used(own, need, each)
                if left[at] and used and own.stock.prices[at] / used < best:
                    best, found, rip = own.stock.prices[at] / used, at, each
        if found < 0:
            return False, opened
        repeat = _opened(own, need, rip, left[found])
        left[found] -= repeat
        opened[number, 0], opened[number, 1], opened[number, 2] = found, rip - own.stock.rips[found], repeat
        number += 1
    return True, opened[:number].copy()


@compiled
def _used(own: Arrays, need: Integers, rip: int) -> int:
    """Return the length of what is used of a rip [nm]."""
    used = 0
    for k in range(own.stock.yields[rip], own.stock.yields[rip + 1]):
        strip, number = own.stock.given[k, 0], own.stock.given[k, 1]
        used += min(number, need[strip]) * own.stock.strips[strip]
    return used


@compiled
def _opened(own: Arrays, need: Integers, rip: int, left: int) -> int:
    """Open a rip as often as all that it gives is needed, once at least; how often."""
    repeat = left
    for k in range(own.stock.yields[rip], own.stock.yields[rip + 1]):
        strip, number = own.stock.given[k, 0], own.stock.given[k, 1]
        repeat = min(repeat, need[strip] // number)
    repeat = max(1, repeat)
    for k in range(own.stock.yields[rip], own.stock.yields[rip + 1]):
        strip, number = own.stock.given[k, 0], own.stock.given[k, 1]
        need[strip] = max(0, need[strip] - number * repeat)
    return repeat
