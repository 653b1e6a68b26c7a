"""Answers that are kept: one place that says what, how much and for how long.

Rules of this file
------------------
- Kept are answers to whole questions (a course, a cut list), by the question itself; nothing is kept by its place in memory,
  and nothing of a catalog is held but the lengths and prices in the question.
- They are kept until their bytes are needed for later ones; those used last stay.
- A kept answer is the one that would be found again, and charges what finding it cost: where units ended or might have,
  it stands for that number of units alone.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Final, Generic, TypeVar

from service.planner.solver.effort import Effort

Question = TypeVar("Question", bound=Hashable)
Answer = TypeVar("Answer")

BYTES: Final = 16 * 1024 * 1024
"""What the answers of one solver may take [B]"""
ROOMY: Final = 2
"""An answer that took less than one in so many of the units left is the same with any number of them [-]"""


class Kept(Generic[Question, Answer]):
    """A solver that remembers.

    Parameters
    ----------
    solve
        The solver.
    weigh
        Bytes that a question and its answer take, about.
    most
        Bytes kept [B].
    """

    def __init__(
        self,
        solve: Callable[[Question, Effort], Answer],
        weigh: Callable[[Question, Answer], int],
        most: int = BYTES,
    ) -> None:
        self._solve, self._weigh, self._most = solve, weigh, most
        self._known: OrderedDict[tuple[Question, float | None], tuple[Answer, float, int]] = OrderedDict()
        self._bytes = 0
        self._lock = Lock()

    def __call__(self, question: Question, effort: Effort) -> Answer:
        """Answer a question within the units that are left."""
        left, before = effort.left, effort.spent
        known = self._find((question, None), left) or self._find((question, left), None)
        if known is not None:
            effort.charge(known[1])
            return known[0]
        effort.felt = False
        answer = self._solve(question, effort)
        spent = effort.spent - before
        self._keep((question, left if effort.felt else None), answer, spent)
        return answer

    def _find(
        self, key: tuple[Question, float | None], left: float | None
    ) -> tuple[Answer, float, int] | None:
        """Look an answer up that took no more than its part of the units left."""
        with self._lock:
            found = self._known.get(key)
            if found is None or (left is not None and found[1] * ROOMY > left):
                return None
            self._known.move_to_end(key)
            return found

    def _keep(self, key: tuple[Question, float | None], answer: Answer, spent: float) -> None:
        """Keep an answer, and let the oldest go that it takes the place of."""
        size = self._weigh(key[0], answer)
        with self._lock:
            if size <= self._most and key not in self._known:
                self._known[key] = answer, spent, size
                self._bytes += size
            while self._bytes > self._most:
                self._bytes -= self._known.popitem(last=False)[1][2]

    def clear(self) -> None:
        """Forget everything."""
        with self._lock:
            self._known.clear()
            self._bytes = 0
