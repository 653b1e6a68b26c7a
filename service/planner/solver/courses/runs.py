"""The pieces a course may use: admissible arcs between the supports of a run.

A course is one line of pieces along a run. Panels, baseboards and top channel differ only in the numbers
of their :class:`CourseRun`. This module decides which pieces are possible; it knows no prices and no cutting.
"""

from service.planner.records import record


@record
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
