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

from service.planner.rules import ROUND_BEARING
from service.planner.settle import Job
from service.planner.units import round_down


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


_Placed = tuple[int, bool, int]
"""A placed panel in the search: its fields, without the name"""
_Way = tuple[int, _Placed | None, "_Way | None"]
"""The best way found to a drift: what it costs so far, the panel placed last, the way before it"""

WAYS: Final = 24
"""Ways kept from joint to joint; a limit on effort [-]"""


def bearing_tolerance(job: Job) -> int:
    """Give how far a joint may drift on its post: 0.17 of a round post's width, or half a square one's less an edge [nm]."""
    post = job.spec.structure.post
    if post.shape == "round":
        return int(ROUND_BEARING * post.width / 2)
    return max(0, post.width // 2 - job.limits.edge_of_square)


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
    trim = len(panels) + 1  # one trim weighs more than every length changed
    ways: dict[int, _Way] = {0: (0, None, None)}
    for panel, after in zip(panels[:-1], _wanted(panels)[1:], strict=True):
        # trims that earn the most room, that take the drift away, or that let a later sheet end just where it should
        targets = tuple(dict.fromkeys((-panel.tolerance, 0, *after)))
        ways = _kept(_onwards(ways, panel, targets, step, trim))
    return _walked(_to_end(ways, panels[-1], step, trim))


def _walked(best: _Way | None) -> tuple[PlacedPanel, ...]:
    """List the panels of a way from its first to its last."""
    panels: list[PlacedPanel] = []
    while best is not None:
        _, placed, best = best
        if placed is not None:
            panels.append(PlacedPanel(*placed))
    return tuple(reversed(panels))


def _within_reach(panel: LaidPanel, step: int) -> bool:
    """Tell whether drifts at its start and its end could leave a panel's sheet whole that is cut as laid."""
    if panel.sheet is None or panel.sheet == panel.length:
        return False
    return abs(panel.sheet - panel.room) <= 2 * panel.tolerance + step


def _onwards(
    ways: dict[int, _Way], panel: LaidPanel, targets: Sequence[int], step: int, trim: int
) -> dict[int, _Way]:
    """Place a panel before the last after every way so far, and keep the cheapest way to each drift."""
    room, length, sheet, tolerance = panel
    as_laid = 0 if sheet == length else trim
    if sheet is None:  # cut from a strip with others, it keeps its length
        sheet, targets = length, ()
    reached: dict[int, _Way] = {}
    for drift, way in ways.items():
        cost, left = way[0], room - drift
        # a panel cut as laid hands its drift on; what rounding took off stays in the gap
        if abs(drift) <= tolerance:
            _offer(reached, cost + as_laid, (length, not as_laid, drift), way)
        if sheet != length and abs(sheet - left) <= tolerance:
            _offer(reached, cost + 1, (sheet, True, sheet - left), way)
        cost += trim
        for target in targets:
            onwards = target + -(left + target) % step
            known, trimmed = reached.get(onwards), left + onwards
            if (
                (known is None or cost < known[0])
                and abs(onwards) <= tolerance
                and 0 < trimmed < sheet
                and (drift or target)
            ):
                _offer(reached, cost + (trimmed != length), (trimmed, False, onwards), way)
    return reached


def _offer(reached: dict[int, _Way], cost: int, placed: _Placed, way: _Way) -> None:
    """Take a way to a drift that is the first or cheaper than the one known."""
    known = reached.get(placed[2])
    if known is None or cost < known[0]:
        reached[placed[2]] = (cost, placed, way)


def _to_end(ways: dict[int, _Way], panel: LaidPanel, step: int, trim: int) -> _Way | None:
    """Place the panel at the run's far end, which stays where it is, after the way that makes it cheapest."""
    room, length, sheet, _ = panel
    best: _Way | None = None
    for drift, way in ways.items():
        placed = round_down(room - drift, step) if drift else length
        if drift and (sheet is None or not 0 < placed <= sheet):
            continue
        whole = placed == sheet
        cost = way[0] + (0 if whole else trim) + (placed != length)
        if best is None or cost < best[0]:
            best = (cost, (placed, whole, 0), way)
    return best


def _wanted(panels: Sequence[LaidPanel]) -> list[tuple[int, ...]]:
    """List for each panel the drifts at its start with which it and sheets after it stay whole and end undrifted."""
    found: list[tuple[int, ...]] = []
    after: tuple[int, ...] = ()
    for panel in reversed(panels):
        if panel.sheet is not None:
            over = panel.sheet - panel.room
            after = (-over, *(drift - over for drift in after))
        after = tuple(drift for drift in dict.fromkeys(after) if abs(drift) <= panel.tolerance)[:WAYS]
        found.append(after)
    return found[::-1]


def _kept(reached: dict[int, _Way]) -> dict[int, _Way]:
    """Keep the best few ways, and always the one without drift."""
    ranked = sorted([(way[0], abs(drift), drift) for drift, way in reached.items()])
    return {drift: reached[drift] for rank, (_, _, drift) in enumerate(ranked) if rank < WAYS or drift == 0}
