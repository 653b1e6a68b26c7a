"""Cheapest pieces of a section at given costs, by dynamic programming over its supports or spans, compiled."""

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled
from service.planner.solver.courses.pieces import ALIKE, END, EVEN, INNER, START, WHOLE


@compiled
def cheapest_pieces(places: Integers, costs: Floats, last: int, way: int) -> tuple[float, Integers]:
    """Return the least cost of a section's pieces, infinite when it cannot be laid, and how many of each.

    Parameters
    ----------
    places
        Place of every piece, those told by place sorted by their first support [-].
    costs
        Cost of each.
    last
        Last support, which is the number of spans too [-].
    way
        How the pieces are told.
    """
    if way == EVEN:
        return _even(places, costs, last)
    used = np.zeros(len(costs), np.int64)
    if way == ALIKE:
        best, came = _sums(places, costs, last)
        _trace(places, came, last, used)
        return best[last], used
    best, came = _arrivals(places, costs, last)
    support = last
    while support > 0 and came[support] >= 0:
        used[came[support]] += 1
        support = places[came[support], 0]
    return best[last], used


@compiled
def _arrivals(places: Integers, costs: Floats, last: int) -> tuple[Floats, Integers]:
    """Least cost of reaching each support, and the piece that comes last."""
    best, came = np.full(last + 1, np.inf), np.full(last + 1, -1)
    best[0] = 0.0
    for at in range(len(costs)):
        start, end = places[at, 0], places[at, 1]
        if best[start] + costs[at] < best[end]:
            best[end], came[end] = best[start] + costs[at], at
    return best, came


@compiled
def _sums(places: Integers, costs: Floats, last: int) -> tuple[Floats, Integers]:
    """Least cost of inner pieces that cover every number of spans, and the piece that came last."""
    best, came = np.full(last + 1, np.inf), np.full(last + 1, -1)
    best[0] = 0.0
    for total in range(1, last + 1):
        for at in range(len(costs)):
            spans = places[at, 1]
            if places[at, 0] == INNER and spans <= total and best[total - spans] + costs[at] < best[total]:
                best[total], came[total] = best[total - spans] + costs[at], at
    return best, came


@compiled
def _trace(places: Integers, came: Integers, total: int, used: Integers) -> None:
    """Count the pieces on the way to a number of spans."""
    while total > 0 and came[total] >= 0:
        used[came[total]] += 1
        total -= places[came[total], 1]


@compiled
def _even(places: Integers, costs: Floats, last: int) -> tuple[float, Integers]:
    """Cheapest first, inner and last pieces of an even section."""
    sums, came = _sums(places, costs, last)
    best, first, final = np.inf, -1, -1
    for at in range(len(costs)):
        if places[at, 0] == WHOLE and costs[at] < best:
            best, first, final = costs[at], at, -1
        elif places[at, 0] == START:
            rest, to = _cheapest_end(places, costs, sums, last - places[at, 1])
            if costs[at] + rest < best:
                best, first, final = costs[at] + rest, at, to
    used = np.zeros(len(costs), np.int64)
    if first >= 0:
        used[first] += 1
    if final >= 0:
        used[final] += 1
        _trace(places, came, last - places[first, 1] - places[final, 1], used)
    return best, used


@compiled
def _cheapest_end(places: Integers, costs: Floats, sums: Floats, left: int) -> tuple[float, int]:
    """Cheapest last piece for the spans that are left, and inner ones before it; -1 when there is none."""
    best, final = np.inf, -1
    for at in range(len(costs)):
        inner = left - places[at, 1]
        if places[at, 0] == END and inner >= 0 and costs[at] + sums[inner] < best:
            best, final = costs[at] + sums[inner], at
    return best, final
