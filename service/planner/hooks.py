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

from service.planner.layout import Hook, Piece, Plate, Run
from service.planner.settle import Job


def hang_hooks(job: Job, run: Run, boards: Sequence[Piece], plates: Iterable[Plate]) -> Iterable[Hook]:
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
    if _hooks_in(job, 1) == 0:
        return
    clear = zip(*_clear_places(job, run, boards, plates), strict=True)
    middle, number = job.board.part.face // 2, 0
    for bay, ((front, back), (here, there)) in enumerate(zip(clear, pairwise(run.supports), strict=True)):
        if front > back:
            continue
        start, room = here.x, there.x - here.x
        count = _hooks_in(job, room)
        for each in range(count):
            number += 1
            even = start + room * (2 * each + 1) // (2 * count)
            x = min(max(even, front), back)
            yield Hook(id=f"{run.id}-hook-{number}", run=run.index, bay=bay, x=x, z=middle, moved=x - even)


def bays_without(job: Job, run: Run, hooks: Iterable[Hook]) -> list[int]:
    """Give the bays of a run that would have hooks and have no clear place for them [-].

    Parameters
    ----------
    job
        The settled question.
    run
        The run.
    hooks
        The hooks that were hung, of any run.
    """
    centres = [support.x for support in run.supports]
    wanted = [bay for bay, (here, there) in enumerate(pairwise(centres)) if _hooks_in(job, there - here)]
    hung = {hook.bay for hook in hooks if hook.run == run.index}
    return [bay for bay in wanted if bay not in hung]


def _hooks_in(job: Job, bay: int) -> int:
    """Count the hooks of a bay of this length [nm]."""
    asked = job.spec.options.rope_hooks
    if asked is None:
        return 0
    if asked == "auto":
        return int(job.spec.structure.roll_up_sides)
    return -(-bay // asked.spacing)


def _clear_places(
    job: Job, run: Run, boards: Sequence[Piece], plates: Iterable[Plate]
) -> tuple[list[int], list[int]]:
    """Give for each bay where clear board begins and where it ends [nm]."""
    keep = [reach + job.limits.hook_clearance for reach, _ in obstacles(job, run, boards, plates)]
    centres = [support.x for support in run.supports]
    # what stands at one support may reach past the next, so the farthest so far counts
    ahead = accumulate(map(add, centres[:-1], keep), max)
    behind = accumulate(map(sub, centres[:0:-1], reversed(keep)), min)
    return list(ahead), list(behind)[::-1]


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
