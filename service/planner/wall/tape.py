"""Tape on the open flute ends of every panel.

Rules of this file
------------------
- Flutes along the wall: foil on both cut ends, so that no dust and no wet gets in.
- Flutes upright: foil along the top, vented tape along the foot, so that what condenses drains.
- Lengths only; rolls and slitting belong to the take-off.
"""

from collections.abc import Iterable

from service.planner.asked.settle import Job
from service.planner.wall.layout import Piece, TapeLength


def panel_tapes(job: Job, ripped: int, panels: Iterable[Piece]) -> list[TapeLength]:
    """Return the tape of a run's panels, front to back.

    Parameters
    ----------
    job
        The settled question.
    ripped
        Height of the strip as ripped [nm].
    panels
        The panels.
    """
    if job.upright_flutes:
        return [
            tape
            for panel in panels
            for tape in (
                TapeLength(panel=panel.id, role="foil_tape", edge="top", length=panel.length),
                TapeLength(panel=panel.id, role="vented_tape", edge="foot", length=panel.length),
            )
        ]
    length = ripped + job.limits.tape_extra
    return [
        tape
        for panel in panels
        for tape in (
            TapeLength(panel=panel.id, role="foil_tape", edge="front", length=length),
            TapeLength(panel=panel.id, role="foil_tape", edge="back", length=length),
        )
    ]
