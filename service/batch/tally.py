"""What the last line of a batch sums up."""

from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from time import perf_counter
from typing import Any

from service.planner.fields import money_text


@dataclass(slots=True, kw_only=True)
class Tally:
    """Counts and sums of a batch while it runs."""

    began: float = field(default_factory=perf_counter)
    """When it began [s]"""
    structures: int = 0
    """Lines that were structures, or should have been [-]"""
    refused: int = 0
    """Of these, how many have a problem instead of a plan [-]"""
    repeated: int = 0
    """Of these, how many were the same as one before and not planned again [-]"""
    outcomes: Counter[str] = field(default_factory=Counter)
    """How many plans have each outcome [-]"""
    totals: Counter[str] = field(default_factory=Counter)
    """Sum of the totals in each currency [hundredths]"""

    def note(self, gist: bytes, *, repeated: bool) -> None:
        """Count an answer in.

        Parameters
        ----------
        gist
            Outcome, total and currency of a plan; empty for a problem.
        repeated
            Whether it was made for a line before.
        """
        self.structures += 1
        self.repeated += repeated
        if not gist:
            self.refused += 1
            return
        outcome, total, currency = gist.decode().split()
        self.outcomes[outcome] += 1
        self.totals[currency] += int(Decimal(total) * 100)

    def summed_up(self) -> dict[str, Any]:
        """Write the last line.

        Returns
        -------
            Counts, totals by currency as decimal texts, outcomes with their shares, and the seconds that it took.
        """
        planned = max(1, self.structures - self.refused)
        return {
            "structures": self.structures,
            "planned": self.structures - self.refused,
            "refused": self.refused,
            "repeated": self.repeated,
            "totals": {name: money_text(sum_) for name, sum_ in sorted(self.totals.items())},
            "outcomes": {
                name: {"count": count, "share": round(count / planned, 4)}
                for name, count in sorted(self.outcomes.items())
            },
            "seconds": round(perf_counter() - self.began, 3),
        }
