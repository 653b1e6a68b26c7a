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


class _Way(NamedTuple):
    """The best way found to a drift: its cost, and where it came from."""

    cost: tuple[int, int]
    panel: PlacedPanel | None
    before: "_Way | None"


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
    ways = {0: _Way((0, 0), None, None)}
    wanted = (*_wanted(panels)[1:], None)
    for panel, after in zip(panels, wanted, strict=True):
        reached: dict[int, _Way] = {}
        # trims that earn the most room, that take the drift away, or that let a later sheet end just where it should
        targets = None if after is None else tuple(dict.fromkeys((-panel.tolerance, 0, *after)))
        for drift, way in ways.items():
            trims, changes = way.cost
            for placed in _choices(panel, targets, drift, step):
                cost = (trims + (not placed.whole), changes + (placed.length != panel.length))
                known = reached.get(placed.drift)
                if known is None or cost < known.cost:
                    reached[placed.drift] = _Way(cost, placed, way)
        ways = _kept(reached)
    best: _Way | None = min(ways.values(), key=lambda way: way.cost)
    placed_panels: list[PlacedPanel] = []
    while best is not None and best.panel is not None:
        placed_panels.append(best.panel)
        best = best.before
    return tuple(reversed(placed_panels))


def _within_reach(panel: LaidPanel, step: int) -> bool:
    """Tell whether drifts at its start and its end could leave a panel's sheet whole that is cut as laid."""
    if panel.sheet is None or panel.sheet == panel.length:
        return False
    return abs(panel.sheet - panel.room) <= 2 * panel.tolerance + step


def _choices(panel: LaidPanel, targets: Sequence[int] | None, drift: int, step: int) -> list[PlacedPanel]:
    """List the ways to place one panel whose start has drifted; `targets` is None at the run's far end."""
    if targets is None:
        return _last_choices(panel, drift, step)
    room, length, sheet, tolerance = panel
    choices = []
    # a panel cut as laid hands its drift on; what rounding took off stays in the gap
    if abs(drift) <= tolerance:
        choices.append(PlacedPanel(length, sheet == length, drift))
    if sheet is None:
        return choices
    room -= drift
    if sheet != length and abs(sheet - room) <= tolerance:
        choices.append(PlacedPanel(sheet, True, sheet - room))
    for target in targets:
        trimmed = -(-(room + target) // step) * step
        if (drift or target) and 0 < trimmed < sheet and abs(trimmed - room) <= tolerance:
            choices.append(PlacedPanel(trimmed, False, trimmed - room))
    return choices


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


def _last_choices(panel: LaidPanel, drift: int, step: int) -> list[PlacedPanel]:
    """Place the panel at the run's far end, which stays where it is."""
    if not drift:
        return [PlacedPanel(length=panel.length, whole=panel.sheet == panel.length, drift=0)]
    length = round_down(panel.room - drift, step)
    if panel.sheet is None or not 0 < length <= panel.sheet:
        return []
    return [PlacedPanel(length=length, whole=length == panel.sheet, drift=0)]


def _kept(reached: dict[int, _Way]) -> dict[int, _Way]:
    """Keep the best few ways, and always the one without drift."""
    ranked = sorted(reached, key=lambda drift: (reached[drift].cost, abs(drift), drift))
    return {drift: reached[drift] for drift in (*ranked[:WAYS], *(d for d in ranked[WAYS:] if not d))}
