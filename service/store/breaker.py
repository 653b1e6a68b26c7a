"""When to leave a failing server alone.

Rules of this module: a state machine by counts and time, no server; the clock is handed in.

    closed --(3 failures in a row)--> open --(1 s)--> half open --(success)--> closed
                                       ^------(failure)------'
"""

from collections.abc import Callable
from typing import Literal

FAILURES_TO_OPEN = 3
"""Failures in a row that open the breaker [-]."""

OPEN_S = 1.0
"""How long an open breaker lets nothing through, and a half-open one no second call [s]."""


class Breaker:
    """Lets calls through, or not.

    Parameters
    ----------
    monotonic
        A clock that never goes back [s].
    """

    def __init__(self, monotonic: Callable[[], float]) -> None:
        self._monotonic = monotonic
        self._failures = 0
        self._shut_until = 0.0

    @property
    def state(self) -> Literal["closed", "open", "half_open"]:
        """The breaker's state now [-]."""
        if self._failures < FAILURES_TO_OPEN:
            return "closed"
        return "open" if self._monotonic() < self._shut_until else "half_open"

    def admits(self) -> bool:
        """Tell whether a call may go through; a half-open breaker admits one and shuts behind it."""
        state = self.state
        if state == "half_open":
            self._shut_until = self._monotonic() + OPEN_S
        return state != "open"

    def succeeded(self) -> None:
        """Note that the server answered, whatever it said."""
        self._failures = 0

    def failed(self) -> None:
        """Note that the server did not answer."""
        self._failures += 1
        if self._failures >= FAILURES_TO_OPEN:
            self._shut_until = self._monotonic() + OPEN_S
