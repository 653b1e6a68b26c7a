"""Sheets left whole: where a joint may drift on its post, a panel alone in its strip stays uncut.

Rules of this file
------------------
- A second pass over a laid run: it never changes what a plan costs, only where joints fall and what is trimmed.
- Run ends stay where they are; a panel that shares its strip keeps its length.
- Drift adds up by (sheet + gap - span) with each whole panel; a trim of up to twice the tolerance earns room again.
- Among all ways the one with the fewest trims is taken, then the one that changes the fewest lengths.
"""

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from service.planner.solver.compiling import Integers, compiled


class LaidPanel(NamedTuple):
    """A panel as the first pass laid it, seen from the run's first end."""

    room: int
    """From where it starts to where it may end with no joint drifted, before rounding [nm]"""
    length: int
    """Its cut length [nm]"""
    sheet: int | None
    """Length of its strip where it is alone in it, else none [nm]"""
    tolerance: int
    """How far the joint at its end may drift [nm]"""


class PlacedPanel(NamedTuple):
    """A panel after the second pass."""

    length: int
    """Its cut length, or the sheet's where it stays whole [nm]"""
    whole: bool
    """Whether the sheet stays uncut"""
    drift: int
    """Drift of the joint at its end, away from the first end counted positive [nm]"""


WAYS: Final = 24
"""Ways kept from joint to joint; a limit on effort [-]"""
ROOM, LENGTH, SHEET, TOLERANCE = range(4)
"""Columns of a table of laid panels; no sheet is a negative one"""


class _Ways(NamedTuple):
    """The best ways found to some drifts of a joint; `number` alone in its array says how many."""

    number: Integers
    """How many there are [-]"""
    costs: Integers
    """What each costs so far [-]"""
    drifts: Integers
    """Drift of the joint [nm]"""
    lengths: Integers
    """Length of the panel placed last [nm]"""
    whole: Integers
    """Whether its sheet stays whole"""
    before: Integers
    """Number of the way before it [-]"""


def leave_whole(panels: Sequence[LaidPanel], step: int) -> tuple[PlacedPanel, ...]:
    """Choose which panels of a run stay whole.

    Parameters
    ----------
    panels
        The panels from the run's first end to its far end.
    step
        Step of cut lengths [nm].

    Returns
    -------
        The panels in the same order; joints that need no drift keep none.
    """
    if not any(_within_reach(panel, step) for panel in panels):
        return tuple([PlacedPanel(panel.length, panel.sheet == panel.length, 0) for panel in panels])
    table = np.array([(*panel[:2], -1 if panel.sheet is None else panel.sheet, panel[3]) for panel in panels])
    return tuple(
        [
            PlacedPanel(length, whole == 1, drift)
            for length, whole, drift in best_way(table, step, WAYS).tolist()
        ]
    )


def _within_reach(panel: LaidPanel, step: int) -> bool:
    """Tell whether drifts at its start and its end could leave a panel's sheet whole that is cut as laid."""
    if panel.sheet is None or panel.sheet == panel.length:
        return False
    return abs(panel.sheet - panel.room) <= 2 * panel.tolerance + step


@compiled
def best_way(panels: Integers, step: int, most: int) -> Integers:
    """Return length, whether it is whole, and drift of every panel.

    Parameters
    ----------
    panels
        Room, length, sheet and tolerance of every panel [nm].
    step
        Step of cut lengths [nm].
    most
        How many ways are kept from joint to joint [-].
    """
    count = len(panels)
    trim = count + 1  # one trim weighs more than every length changed
    wanted, numbers = _wanted(panels, most)
    ways = [_no_ways(1)]
    _offer(ways[0], 0, 0, 0, 0, 0)
    for at in range(count - 1):
        # trims that earn the most room, that take the drift away, or that let a later sheet end just where it should
        targets = np.zeros(numbers[at + 1] + 2, np.int64)
        targets[0] = -panels[at, TOLERANCE]
        targets[2:] = wanted[at + 1, : numbers[at + 1]]
        ways.append(_kept(_onwards(ways[at], panels[at], targets, step, trim), most))
    return _walked(panels, ways, step, trim)


@compiled
def _no_ways(room: int) -> _Ways:
    """Return room for so many ways."""
    return _Ways(
        np.zeros(1, np.int64),
        np.zeros(room, np.int64),
        np.zeros(room, np.int64),
        np.zeros(room, np.int64),
        np.zeros(room, np.int64),
        np.zeros(room, np.int64),
    )


@compiled
def _cost_of(ways: _Ways, drift: int) -> int:
    """Return what the way to a drift costs, -1 when there is none."""
    for at in range(ways.number[0]):
        if ways.drifts[at] == drift:
            cost: int = ways.costs[at]
            return cost
    return -1


@compiled
def _offer(ways: _Ways, cost: int, drift: int, length: int, whole: int, before: int) -> None:
    """Take a way to a drift that is the first or cheaper than the one known."""
    at = 0
    while at < ways.number[0] and ways.drifts[at] != drift:
        at += 1
    if at < ways.number[0] and ways.costs[at] <= cost:
        return
    ways.number[0] = max(ways.number[0], at + 1)
    ways.costs[at], ways.drifts[at], ways.lengths[at] = cost, drift, length
    ways.whole[at], ways.before[at] = whole, before


@compiled
def _onwards(ways: _Ways, panel: Integers, targets: Integers, step: int, trim: int) -> _Ways:
    """Place a panel before the last after every way so far, and keep the cheapest way to each drift."""
    room, length, sheet, tolerance = panel[ROOM], panel[LENGTH], panel[SHEET], panel[TOLERANCE]
    as_laid = 0 if sheet == length else trim
    reached = _no_ways(ways.number[0] * (len(targets) + 2))
    for at in range(ways.number[0]):
        drift, cost, left = ways.drifts[at], ways.costs[at], room - ways.drifts[at]
        # a panel cut as laid hands its drift on; what rounding took off stays in the gap
        if abs(drift) <= tolerance:
            _offer(reached, cost + as_laid, drift, length, sheet == length, at)
        if sheet < 0:  # cut from a strip with others, it keeps its length
            continue
        if sheet != length and abs(sheet - left) <= tolerance:
            _offer(reached, cost + 1, sheet - left, sheet, 1, at)
        for target in targets:
            onwards = target + -(left + target) % step
            trimmed = left + onwards
            if abs(onwards) <= tolerance and 0 < trimmed < sheet and (drift or target):
                known = _cost_of(reached, onwards)
                if known < 0 or cost + trim < known:
                    _offer(reached, cost + trim + (trimmed != length), onwards, trimmed, 0, at)
    return reached


@compiled
def _kept(reached: _Ways, most: int) -> _Ways:
    """Keep the best few ways, and always the one without drift."""
    number = reached.number[0]
    costs, drifts = reached.costs[:number], reached.drifts[:number]
    order = np.argsort(drifts, kind="mergesort")
    order = order[np.argsort(np.abs(drifts)[order], kind="mergesort")]
    order = order[np.argsort(costs[order], kind="mergesort")]
    kept = _no_ways(most + 1)
    for rank in range(number):
        at = order[rank]
        if rank < most or drifts[at] == 0:
            _offer(kept, costs[at], drifts[at], reached.lengths[at], reached.whole[at], reached.before[at])
    return kept


@compiled
def _walked(panels: Integers, ways: list[_Ways], step: int, trim: int) -> Integers:
    """Place the panel at the run's far end, which stays where it is, after the way that makes it cheapest; list all panels."""
    last = len(panels) - 1
    room, length, sheet = panels[last, ROOM], panels[last, LENGTH], panels[last, SHEET]
    placed, best, way = np.zeros((last + 1, 3), np.int64), -1, 0
    for at in range(ways[last].number[0]):
        drift = ways[last].drifts[at]
        own = (room - drift) // step * step if drift else length
        if drift and not 0 < own <= sheet:
            continue
        cost = ways[last].costs[at] + (0 if own == sheet else trim) + (own != length)
        if best < 0 or cost < best:
            best, way = cost, at
            placed[last, 0], placed[last, 1] = own, own == sheet
    for at in range(last - 1, -1, -1):
        here = ways[at + 1]
        placed[at, 0], placed[at, 1], placed[at, 2] = here.lengths[way], here.whole[way], here.drifts[way]
        way = here.before[way]
    return placed


@compiled
def _wanted(panels: Integers, most: int) -> tuple[Integers, Integers]:
    """List for each panel the drifts at its start with which it and sheets after it stay whole and end undrifted."""
    count = len(panels)
    found, numbers = np.zeros((count, most), np.int64), np.zeros(count, np.int64)
    for at in range(count - 1, -1, -1):
        sheet, over = panels[at, SHEET], panels[at, SHEET] - panels[at, ROOM]
        after = numbers[at + 1] if at + 1 < count else 0
        for each in range(-1 if sheet >= 0 else 0, after):
            drift = -over if each < 0 else found[at + 1, each] - (over if sheet >= 0 else 0)
            new = abs(drift) <= panels[at, TOLERANCE] and numbers[at] < most
            for known in found[at, : numbers[at]]:
                new = new and known != drift
            if new:
                found[at, numbers[at]] = drift
                numbers[at] += 1
    return found, numbers
