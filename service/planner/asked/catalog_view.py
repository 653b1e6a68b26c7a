"""What a rule over a whole catalog sees, and what it answers with.

Rules of this file
------------------
- No rule stands here.
- Where a limit has an imperial and a metric value, the smaller counts: stock that serves either plan is stock.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, TypeVar

from service.planner.asked.catalog import CatalogDocument
from service.planner.asked.parts import Sheet
from service.planner.asked.roles import CATALOG_ROLES
from service.planner.messages import Message
from service.planner.rules import LIMIT_NAMES, LIMITS, Limits

Steps = tuple[str | int, ...]
"""The way from the document to a field."""
Kind = TypeVar("Kind")

LEAST_LIMITS: Final = Limits(
    **{name: min(getattr(limits, name) for limits in LIMITS.values()) for name in LIMIT_NAMES}
)
"""Of every limit the smaller of its two values [nm]"""


@dataclass(frozen=True, slots=True)
class Complaint:
    """What a rule finds wrong."""

    steps: Steps
    """Where"""
    detail: Message
    """What, with the limit"""
    suggestion: Any = None
    """A value that would do"""


@dataclass(frozen=True, slots=True)
class CatalogView:
    """A catalog document, ready to be judged."""

    document: CatalogDocument
    """What was read"""
    roles: Mapping[str, int]
    """How many items each role has [-]"""
    limits: Limits
    """The limits in force"""

    @classmethod
    def of(cls, document: CatalogDocument) -> "CatalogView":
        """Prepare a document."""
        roles = dict.fromkeys(CATALOG_ROLES, 0)
        for item in document.items:
            roles[item.part.role] += 1
        changes = {change.name: change.value for change in document.limits if change.name in LIMIT_NAMES}
        return cls(document, roles, replace(LEAST_LIMITS, **changes))

    def parts(self, kind: type[Kind]) -> Iterator[tuple[int, Kind]]:
        """Return the parts of a kind with their places among the items."""
        for place, item in enumerate(self.document.items):
            if isinstance(item.part, kind):
                yield place, item.part

    def first_of_thickness(self) -> Iterator[tuple[int, int]]:
        """Return each sheet thickness [nm] with the place of its first sheet."""
        places: dict[int, int] = {}
        for place, sheet in self.parts(Sheet):
            places.setdefault(sheet.thickness, place)
        for thickness, place in places.items():
            yield place, thickness


class Rule:
    """A rule, and the top-level fields that must be sound before it can be judged.

    Parameters
    ----------
    judge
        From the catalog to complaints.
    needs
        Names of fields; none where the rule looks at entries one by one.
    """

    def __init__(self, judge: Callable[[CatalogView], Iterator[Complaint]], *needs: str) -> None:
        self.judge = judge
        self.needs = needs
