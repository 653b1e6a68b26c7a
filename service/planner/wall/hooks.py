"""Rope hooks: where they go along a run, and what they keep clear of.

Rules of this file
------------------
- Hooks sit evenly in their bay, in the middle of the board's face.
- They keep their clearance from post centres, lap ends, splice plates and jambs, measured along the wall.
- A hook that does not clear moves the least distance that clears within its bay; a bay where nothing does goes
  without, and its hooks are neither bought nor marked.
"""

from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise
from operator import add, sub

from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.wall.layout import Hook, Piece, Plate, Run, RunWall


def hang_hooks(job: Job, run: Run, boards: Sequence[Piece], plates: Iterable[Plate]) -> list[Hook]:
    """Place the rope hooks of a run, front to back.

    Parameters
    ----------
    job
        The settled question.
    run
        The run.
    boards
        Its baseboards, front to back.
    plates
        Its splice plates.
    """
    spacing = _spacing(job)
    if spacing is None:
        return []
    hooks: list[Hook] = []
    centres = [support.x for support in run.supports]
    named, index, middle = f"{run.id}-{ROLES['rope_hook'].word}-", run.index, job.board.part.face // 2
    clear = _clear_places(job, run, boards, plates)
    for bay, ((start, stop), (front, back)) in enumerate(zip(pairwise(centres), clear, strict=True)):
        if front > back:
            continue
        room = stop - start
        count = -(-room // spacing)
        for each in range(count):
            even = start + room * (2 * each + 1) // (2 * count)
            x = front if even < front else min(even, back)
            hooks.append(
                Hook(id=f"{named}{len(hooks) + 1}", run=index, bay=bay, x=x, z=middle, moved=x - even)
            )
    return hooks


def bays_without(job: Job, wall: RunWall) -> list[int]:
    """Return the bays of a run that would have hooks and have no clear place for them [-].

    Parameters
    ----------
    job
        The settled question.
    wall
        The run with the hooks that were hung.
    """
    if _spacing(job) is None:
        return []
    hung = {hook.bay for hook in wall.hooks}
    return [bay for bay in range(wall.run.last) if bay not in hung]


def _spacing(job: Job) -> int | None:
    """Return the greatest distance between hooks of a bay, none without hooks [nm]."""
    asked = job.spec.options.rope_hooks
    if asked == "auto":
        # no bay is longer than its side, so that each gets one
        return job.stations[-1] if job.spec.structure.roll_up_sides else None
    return None if asked is None else asked.spacing


def _clear_places(
    job: Job, run: Run, boards: Sequence[Piece], plates: Iterable[Plate]
) -> Iterable[tuple[int, int]]:
    """Return for each bay where clear board begins and where it ends [nm]."""
    clearance = job.limits.hook_clearance
    keep = [reach + clearance for reach, _ in obstacles(job, run, boards, plates)]
    centres = [support.x for support in run.supports]
    # what stands at one support may reach past the next, so the farthest so far counts
    ahead = accumulate(map(add, centres[:-1], keep), max)
    behind = accumulate(map(sub, centres[:0:-1], reversed(keep)), min)
    return zip(ahead, reversed(list(behind)), strict=True)


Obstacle = tuple[int, str]
"""What hooks keep clear of at a support: how far it reaches from the support's centre, to either side [nm]; id of the
lap's second board or of the plate, or the label of the support itself"""


def obstacles(job: Job, run: Run, boards: Sequence[Piece], plates: Iterable[Plate]) -> list[Obstacle]:
    """Tell for each support what a hook keeps clear of there; of several things the one that reaches farthest.

    Parameters
    ----------
    job
        The settled question.
    run
        The run.
    boards
        Its baseboards, front to back.
    plates
        Its splice plates.
    """
    found = [(s.width // 2 if s.kind == "jamb" else 0, s.label) for s in run.supports]
    half_lap, half_plate = job.board.part.lap // 2, job.plate.part.length // 2
    for board in boards[1:]:
        found[board.start] = max(found[board.start], (half_lap, board.id))
    for plate in plates:
        found[plate.support] = max(found[plate.support], (half_plate, plate.id))
    return found
