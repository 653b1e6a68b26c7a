"""Effort in one currency: units of about a microsecond, counted by every loop that can grow and never timed.

Rules of this file
------------------
- A counter is made by whoever asks and is handed down; the same question charges the same units on any machine.
- Where the units end, the best plan so far is answered with its bound; the first plan is made before they are looked at.
- A counter may be cancelled from another thread; whoever charges next stops.
"""

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager

import numpy as np

from service.planner.solver.compiling import Floats, compiled

SPENT, MOST, STOP, FELT = range(4)
"""Cells of a counter: units spent, units at which to end, whether to stop at once, and whether somebody saw the end."""


class Cancelled(Exception):
    """Nobody waits for the answer any more."""


class Effort:
    """Units that may be spent on a question.

    Parameters
    ----------
    units
        How many [units].
    """

    __slots__ = ("cells", "units")

    def __init__(self, units: float) -> None:
        self.units = float(units)
        self.cells: Floats = np.array([0.0, self.units, 0.0, 0.0])

    @property
    def spent(self) -> float:
        """Units spent so far [units]."""
        return float(self.cells[SPENT])

    @property
    def left(self) -> float:
        """Units that are left, none below zero [units]."""
        return max(0.0, float(self.cells[MOST] - self.cells[SPENT]))

    @property
    def ended(self) -> bool:
        """Whether no units are left; asking is remembered where it is so."""
        if self.left > 0.0:
            return False
        self.felt = True
        return True

    @property
    def felt(self) -> bool:
        """Whether work was left undone because units ended, here or in a part."""
        return bool(self.cells[FELT])

    @felt.setter
    def felt(self, felt: bool) -> None:
        self.cells[FELT] = float(felt)

    def charge(self, units: float) -> None:
        """Spend units, though there may be none left.

        Raises
        ------
        Cancelled
            When the counter was cancelled.
        """
        self.cells[SPENT] += units
        if self.cells[STOP]:
            raise Cancelled

    def cancel(self) -> None:
        """Stop whoever charges this counter, from any thread."""
        self.cells[STOP] = 1.0

    def share(self, part: float) -> AbstractContextManager[None]:
        """Leave no more than a part of all units, those spent included, for what comes next."""
        return self.within(self.units * part)

    @contextmanager
    def within(self, units: float) -> Iterator[None]:
        """Leave no more than so many units for a part of the work."""
        most = self.cells[MOST]
        self.cells[MOST] = min(most, self.cells[SPENT] + units)
        try:
            yield
        finally:
            self.cells[MOST] = most


@compiled
def charge(cells: Floats, units: float) -> bool:
    """Spend units of a counter; whether it has ended or was cancelled."""
    cells[SPENT] += units
    if cells[SPENT] < cells[MOST] and cells[STOP] == 0.0:
        return False
    cells[FELT] = 1.0
    return True
