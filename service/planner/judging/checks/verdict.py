"""What a check is, and how demand and capacity become an outcome.

Rules of this file
------------------
- A check passes while its demand does not exceed its capacity; what exceeding means is said by the rule. Where the
  plan already contains what answers it, it is provided for, and the measure is named; else the remedy is said.
- What is found is said in the same plain words however the check ends; the remedy only where one is needed.
- Where more is needed than there is, the need is the demand and what there is the capacity.
- Changes are worked out only for a check that does not pass.
- No rule of the trade stands here.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from service.planner.asked.changes import Changes
from service.planner.messages import Message, say
from service.planner.records import record
from service.planner.units import MILLIMETRE

Outcome = Literal["pass", "provided", "caution", "fail", "not_assessed"]
"""How a check ends"""
_HAIR: Final = 1e-9
"""Share by which rounding of floats may exceed a limit [-]"""


@record
class Check:
    """One check of a plan."""

    id: str
    """Its name"""
    title: str
    """What is checked"""
    demand: float | None
    """What is asked for, in the unit"""
    capacity: float | None
    """What there is, in the unit"""
    unit: str
    """UN/CEFACT Rec 20 code, C62 for a plain ratio or count"""
    utilisation: float | None
    """Demand over capacity; none where there is no capacity [-]"""
    outcome: Outcome
    """The outcome"""
    source: str
    """Id of its source"""
    advice: Message
    """What was found, and what to do"""
    changes: Changes = ()
    """What makes it pass"""
    load_source: str | None = None
    """Id of the source of the load, where a standard gives one"""


class Words(NamedTuple):
    """What a check says."""

    found: Message
    """What was found, however the check ends"""
    remedy: Message | None = None
    """What somebody has to decide or do where the demand exceeds the capacity"""
    measure: Message | None = None
    """What of this plan already answers it, where something does"""


def _told(found: Message, then: Message | None) -> Message:
    """What was found, and what to do about it where something is said."""
    if then is None:
        return found
    return say("advice.and_then", "{found} {then}", found=found, then=then)


def no_changes() -> Changes:
    """Say that nothing in the request makes a check pass: what would is the site, the frame or the dealer's stock."""
    return ()


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of check: its name, title, unit and source."""

    id: str
    """Its name"""
    title: str
    """What is checked"""
    unit: str
    """Unit of demand and capacity"""
    source: str
    """Id of its source"""

    def compare(
        self,
        demand: float,
        capacity: float,
        words: Words | Message,
        *,
        over: Outcome = "fail",
        changes: Callable[[], Changes] = no_changes,
        source: str | None = None,
    ) -> Check:
        """Judge a demand against a capacity.

        Parameters
        ----------
        demand
            What is asked for, in the unit.
        capacity
            What there is, in the unit.
        words
            What it says; a message alone is what was found.
        over
            Outcome where the demand exceeds the capacity and nothing answers it.
        changes
            Works out what makes it pass; asked only where it does not.
        source
            Id of the source, where it is another than the kind's own.
        """
        passes = demand <= capacity + abs(capacity) * _HAIR
        found, remedy, measure = words if isinstance(words, Words) else Words(words)
        return Check(
            id=self.id,
            title=self.title,
            demand=round(demand, 3),
            capacity=round(capacity, 3),
            unit=self.unit,
            utilisation=round(max(demand, 0.0) / capacity, 4) if capacity > 0 else 0.0 if passes else None,
            outcome="pass" if passes else "provided" if measure else over,
            source=source or self.source,
            advice=_told(found, None if passes else measure or remedy),
            changes=() if passes or measure else changes(),
        )

    def lengths(
        self,
        demand: float,
        capacity: float,
        words: Words | Message,
        *,
        over: Outcome = "fail",
        changes: Callable[[], Changes] = no_changes,
        source: str | None = None,
    ) -> Check:
        """Judge two lengths given in nanometres [nm]; the check carries millimetres."""
        demand, capacity = demand / MILLIMETRE, capacity / MILLIMETRE
        return self.compare(demand, capacity, words, over=over, changes=changes, source=source)

    def tell(self, outcome: Outcome, advice: Message, demand: float | None = None) -> Check:
        """Tell something that has no capacity to be judged against: a trigger, a figure, what was not assessed."""
        return Check(
            id=self.id,
            title=self.title,
            demand=None if demand is None else round(demand, 3),
            capacity=None,
            unit=self.unit,
            utilisation=None,
            outcome=outcome,
            source=self.source,
            advice=advice,
        )
