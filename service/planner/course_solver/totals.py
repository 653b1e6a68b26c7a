"""What is known of the totals of a plan (pieces, full strips, stock): half-spaces that every plan lies in, compiled.

The totals alone make the cost, and they are whole. Every relaxation tells how much a plan costs at least as its totals
move away from those it was solved for. The cheapest whole totals that contradict none of this are a bound, often far
above the relaxation itself.
"""

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

TRIES = 5_000
"""How many totals are tried [-]."""
NEARLY = 1e-6


@njit(cache=True, error_model="numpy")
def cheapest(
    costs: Floats, lows: Floats, highs: Floats, cuts: Floats, limits: Floats, least: float, below: float
) -> float:
    """Least cost of whole totals within their bounds and all half-spaces, `below` when there are none that cost less.

    Parameters
    ----------
    costs
        Cost of one of each total [minor units of money].
    lows
        Least of each total [-].
    highs
        Most of each total, finite [-].
    cuts
        One row a half-space [-].
    limits
        Least value of a half-space's row times the totals.
    least
        A bound that is known already: it is returned when there are too many totals to try [minor units of money].
    below
        Cost that totals must stay below [minor units of money].
    """
    last, known = len(costs) - 1, len(limits)
    rest, most = _beyond(costs, lows, highs, cuts)
    chosen, spent = lows.copy(), np.zeros(last + 1)
    sums = np.zeros((last + 1, known))
    best, level, tries = below, 0, 0
    while level >= 0:
        cost = spent[level] + chosen[level] * costs[level]
        if chosen[level] > highs[level] or (costs[level] >= 0.0 and cost + rest[level + 1] >= best):
            level -= 1
            if level >= 0:
                chosen[level] += 1.0
            continue
        tries += 1
        if tries > TRIES:
            return least
        possible = cost + rest[level + 1] < best
        for i in range(known):
            sums[level + 1, i] = sums[level, i] + cuts[i, level] * chosen[level]
            if sums[level + 1, i] + most[i, level + 1] < limits[i] - NEARLY:
                possible = False
        if possible and level + 1 == last:
            fewest = _fewest(lows[last], highs[last], cuts, limits, sums[last])
            best = min(best, cost + fewest * costs[last])
        if possible and level + 1 < last:
            level += 1
            spent[level], chosen[level] = cost, lows[level]
        else:
            chosen[level] += 1.0
    return max(best, least)


@njit(cache=True, error_model="numpy")
def _beyond(costs: Floats, lows: Floats, highs: Floats, cuts: Floats) -> tuple[Floats, Floats]:
    """Least cost and greatest sums of all totals from each one on."""
    size, known = len(costs), len(cuts)
    rest, most = np.zeros(size + 1), np.zeros((known, size + 1))
    for k in range(size - 1, -1, -1):
        rest[k] = rest[k + 1] + min(costs[k] * lows[k], costs[k] * highs[k])
        for i in range(known):
            most[i, k] = most[i, k + 1] + max(cuts[i, k] * lows[k], cuts[i, k] * highs[k])
    return rest, most


@njit(cache=True, error_model="numpy")
def _fewest(low: float, high: float, cuts: Floats, limits: Floats, sums: Floats) -> float:
    """Fewest of the last total that satisfy all half-spaces, infinite when there is no such number."""
    last = cuts.shape[1] - 1
    for i in range(len(limits)):
        entry, need = cuts[i, last], limits[i] - NEARLY - sums[i]
        if entry > NEARLY:
            low = max(low, need / entry)
        elif entry < -NEARLY:
            high = min(high, need / entry)
        elif need > NEARLY:
            return np.inf
    low = np.ceil(low - NEARLY)
    return low if low <= high + NEARLY else np.inf
