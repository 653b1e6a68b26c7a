"""Runs reduced to what the solver needs: sections between forced breaks, alike ones counted once.

A forced break splits a run into sections that are laid independently of each other. Sections that are equal
in every number form one group. In an even section, whose inner supports are equally spaced and deduct
alike, a piece is told by how many spans it covers and whether it ends at the section's start or end, so that
its pieces are counts and not places.
"""

from collections.abc import Iterable
from itertools import pairwise

from msgspec import Struct

from service.planner.records import record
from service.planner.solver.courses.runs import CourseRun


@record
class Section:
    """A stretch of a run between two forced breaks or run ends.

    Parameters
    ----------
    positions
        Centres of the supports, from 0 [nm].
    deductions
        What a piece that ends there loses at each support [nm].
    forbidden
        Supports where no piece may end [-].
    height_class
        Index into the heights of the problem [-].
    """

    positions: tuple[int, ...]
    deductions: tuple[int, ...]
    forbidden: frozenset[int]
    height_class: int

    @property
    def last(self) -> int:
        """Index of the last support [-]."""
        return len(self.positions) - 1


class Group(Struct, kw_only=True):
    """Equal sections.

    Parameters
    ----------
    section
        What they have in common.
    members
        Run and first support of each [-].
    """

    section: Section
    members: list[tuple[int, int]] = []

    @property
    def size(self) -> int:
        """How many sections the group has [-]."""
        return len(self.members)

    def apart(self) -> list["Group"]:
        """Return a group of its own for every section."""
        return [Group(section=self.section, members=[member]) for member in self.members]


def group_sections(runs: Iterable[CourseRun]) -> list[Group]:
    """Split runs at their forced breaks and put equal sections together, in order of first appearance."""
    groups: dict[Section, Group] = {}
    for index, run in enumerate(runs):
        stops = [0, *sorted(run.forced), run.last]
        for first, last in pairwise(stops):
            section = _section(run, first, last)
            group = groups.get(section)
            if group is None:
                group = groups[section] = Group(section=section)
            group.members.append((index, first))
    return list(groups.values())


def _section(run: CourseRun, first: int, last: int) -> Section:
    """Return the section of a run between two supports."""
    positions, origin = run.positions[first : last + 1], run.positions[first]
    deductions = list(run.joint_deductions[first : last + 1])
    if first == 0:
        deductions[0] = run.start_deduction
    if last == run.last:
        deductions[-1] = run.end_deduction
    return Section(
        positions=tuple([x - origin for x in positions]) if origin else positions,
        deductions=tuple(deductions),
        forbidden=frozenset(i - first for i in run.forbidden if first < i < last),
        height_class=run.height_class,
    )
