"""How panel joints creep where every sheet that is alone in its strip is laid whole.

Rules of this file
------------------
- It tells what would happen; what is laid was decided in ``whole_sheets.py``.
- A sheet much longer than its panel is cut anyway and creeps nowhere.
"""

from collections.abc import Iterator, Mapping

from service.planner.judging.facts import Facts
from service.planner.wall.layout import Piece
from service.planner.wall.movement import bearing_tolerance


def alone(facts: Facts) -> Iterator[tuple[Piece, int]]:
    """Give each panel that is alone in its strip, with the sheet's length."""
    sheets = {
        named[0]: pattern.length
        for pattern in facts.layout.cutting("sheet").patterns
        for strip in pattern.strips
        for named in strip.pieces
        if len(named) == 1
    }
    for wall in facts.layout.walls:
        for panel in wall.panels:
            if panel.id in sheets:
                yield panel, sheets[panel.id]


def first_miss(facts: Facts, sheets: Mapping[str, int]) -> tuple[int, str, int] | None:
    """Find where laying every lone sheet whole first misses a post: run, label and drift [nm].

    Parameters
    ----------
    facts
        The plan.
    sheets
        Length of the sheet of each panel that is alone in its strip, by the panel's id [nm].
    """
    layout = facts.layout
    tolerance, gap = bearing_tolerance(facts.job), layout.movement.gap
    for wall in layout.walls:
        run, drift = wall.run, 0
        for panel in wall.panels[:-1]:
            if panel.id in sheets:
                span = run.supports[panel.end].x - run.supports[panel.start].x
                # a panel at a film end begins on the post's centre less its cover, with half a gap at its far end only
                room = span - gap if panel.start else span - gap // 2 + facts.job.spec.wall.end_cover
                over = sheets[panel.id] - room
                # a much longer sheet is cut anyway: nobody would lay it whole
                drift += over if over <= 2 * gap else 0
            if abs(drift) > tolerance:
                return run.index, run.supports[panel.end].label, abs(drift)
    return None
