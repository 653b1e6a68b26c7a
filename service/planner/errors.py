"""What can be wrong with a spec or a catalog.

Rules of this file
------------------
- Errors carry their causes as data: which field, which limit, what would work.
- They know nothing of HTTP; the edge maps each leaf to a status and a problem type in one table.

The tree::

    PlanError
    |-- SpecError
    |   |-- FieldsDisagree      two fields contradict each other
    |   |-- OpeningUnbuildable  an opening holds a post, overlaps or leaves the side
    |   |-- HeightUnbuildable   the wall's heights leave no room for its parts
    |   |-- NoPieceFits         a span that no stock can bridge
    |   `-- NoSuchItem          a sku or a role that the catalog does not hold
    |-- TooMuchWork             a question beyond what one may take
    `-- CatalogInvalid          a catalog document with everything that is wrong with it
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from service.planner.messages import Message


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldProblem:
    """One thing wrong with one field."""

    pointer: str
    """RFC 6901 JSON pointer to the field in the request"""
    detail: Message
    """What is wrong, with the limit"""
    allowed: tuple[Any, ...] | None = None
    """The values that are allowed, where they are few"""
    suggestion: Any = None
    """A value that would work, ready to put at the pointer"""


class PlanError(Exception):
    """A question that cannot be answered with a plan.

    Parameters
    ----------
    detail
        One sentence for people.
    errors
        The fields concerned.
    """

    def __init__(self, detail: Message, errors: Iterable[FieldProblem] = ()) -> None:
        super().__init__(detail.text)
        self.detail = detail
        self.errors = tuple(errors)


class SpecError(PlanError):
    """The spec cannot be planned as it stands."""


class FieldsDisagree(SpecError):
    """Two fields of the spec contradict each other."""


class OpeningUnbuildable(SpecError):
    """An opening holds a post, overlaps another or leaves its side."""


class HeightUnbuildable(SpecError):
    """The heights leave no room for the wall's parts."""


class NoPieceFits(SpecError):
    """No stock bridges a span between two supports."""


class NoSuchItem(SpecError):
    """The catalog does not hold what the spec asks for."""


class TooMuchWork(PlanError):
    """Not even a first plan fits the work and the memory that a question may take."""


class CatalogInvalid(PlanError):
    """A catalog document that cannot be used, with every problem found."""

    @property
    def problems(self) -> tuple[FieldProblem, ...]:
        """Everything found wrong, in document order."""
        return self.errors
