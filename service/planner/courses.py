"""The pieces a course may use: admissible arcs between the supports of a run.

A course is one line of pieces along a run. Panels, baseboards and top channel differ only in the numbers
of their :class:`CourseRun`. This module decides which pieces are possible; it knows no prices and no cutting.
"""

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseRun:
    """One run as a course sees it.

    Parameters
    ----------
    positions
        Centres of the supports, increasing, at least two [nm].
    joint_deductions
        What a piece loses at each support when it ends there in a joint: half the gap, minus half the lap,
        or half the break where a break is forced; the entries of the two ends are not used [nm].
    start_deduction
        What a piece loses at the first support: minus the end cover [nm].
    end_deduction
        What a piece loses at the last support: minus the end cover [nm].
    forbidden
        Interior supports where no joint may fall [-].
    forced
        Interior supports where a joint must fall [-].
    height_class
        Index into the heights of the problem; 0 for linear stock [-].
    """

    positions: tuple[int, ...]
    joint_deductions: tuple[int, ...]
    start_deduction: int = 0
    end_deduction: int = 0
    forbidden: frozenset[int] = frozenset()
    forced: frozenset[int] = frozenset()
    height_class: int = 0

    @property
    def last(self) -> int:
        """Index of the last support [-]."""
        return len(self.positions) - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What limits a single piece.

    Parameters
    ----------
    longest
        Longest usable stock [nm].
    grid
        Step that cut lengths are rounded down to [nm].
    max_span
        Longest span from support centre to support centre, None when only the stock limits it [nm].
    """

    longest: int
    grid: int
    max_span: int | None = None


def piece_length(run: CourseRun, start: int, end: int, grid: int) -> int:
    """Cut length of the piece from support `start` to support `end`, rounded down to `grid` [nm].

    Parameters
    ----------
    run
        The run.
    start
        Support where the piece starts [-].
    end
        Support where the piece ends, after `start` [-].
    grid
        Step that cut lengths are rounded down to [nm].
    """
    at_start = run.start_deduction if start == 0 else run.joint_deductions[start]
    at_end = run.end_deduction if end == run.last else run.joint_deductions[end]
    length = run.positions[end] - run.positions[start] - at_start - at_end
    return length // grid * grid


def may_end_at(run: CourseRun, support: int) -> bool:
    """Whether a piece may end at this support."""
    return support in (0, run.last) or support not in run.forbidden


def arcs_from(run: CourseRun, start: int, reach: Reach) -> Iterator[tuple[int, int]]:
    """Admissible pieces that start at support `start`, shortest first.

    Parameters
    ----------
    run
        The run.
    start
        Support where the pieces start [-].
    reach
        What limits a single piece.

    Yields
    ------
    end, length
        Support where the piece ends [-] and its cut length [nm].
    """
    if not may_end_at(run, start):
        return
    for end in range(start + 1, run.last + 1):
        length = piece_length(run, start, end, reach.grid)
        beyond = reach.max_span is not None and run.positions[end] - run.positions[start] > reach.max_span
        if beyond or length > reach.longest + _longest_extension(run):
            return
        if may_end_at(run, end) and 0 < length <= reach.longest:
            yield end, length
        if end in run.forced:
            return


def _longest_extension(run: CourseRun) -> int:
    """How much longer a piece to a nearer support may be than one to a farther support [nm]."""
    return 0
