"""Which field of the request set a wall's height: a value that travels with the side and its runs.

Rules of this file
------------------
- It is decided once, where a side's heights are settled; whoever advises another height asks this value.
- A height is given, follows from its top above the post, or both agree; where nothing is given the wall's height is what
  one would write.
"""

from typing import Any

from service.planner.asked.changes import Changes
from service.planner.asked.spec import SideName, SideOverride, Wall
from service.planner.errors import FieldProblem
from service.planner.messages import Message
from service.planner.records import record
from service.planner.units import DisplayUnits, as_asked


@record
class HeightFields:
    """The fields that set one side's height and burial."""

    at: str
    """Pointer to the object that holds them: the wall, or the side's own"""
    given: int | None
    """The height given there [nm]"""
    above: int | None
    """The top above the post given there [nm]"""
    bury_pointer: str
    """Pointer to the field that sets the burial"""

    @property
    def pointer(self) -> str:
        """The field that one would change first."""
        return f"{self.at}/{'height' if self._by_height else 'top_above_post'}"

    @property
    def _by_height(self) -> bool:
        return self.given is not None or self.above is None

    def values(self, now: int, wanted: int) -> dict[str, int]:
        """Return every field to change, with its value for another height.

        Parameters
        ----------
        now
            The height as settled [nm].
        wanted
            The height that is wanted [nm].
        """
        values = {f"{self.at}/height": wanted} if self._by_height else {}
        if self.above is not None:
            values[f"{self.at}/top_above_post"] = self.above + wanted - now
        return values

    def changes(self, now: int, wanted: int, units: DisplayUnits) -> Changes:
        """Return the changes to the request that give another height [nm], written in its units."""
        return tuple((pointer, as_asked(value, units)) for pointer, value in self.values(now, wanted).items())

    def problem(self, now: int, wanted: int | None, units: DisplayUnits, detail: Message) -> FieldProblem:
        """Name the field with what would do, where one field alone can be changed.

        Parameters
        ----------
        now
            The height as settled [nm].
        wanted
            The height that would do, none where none does [nm].
        units
            Units of the suggestion.
        detail
            What is wrong.
        """
        changes = () if wanted is None else self.changes(now, wanted, units)
        suggestion: Any = changes[0][1] if len(changes) == 1 else None
        return FieldProblem(pointer=self.pointer, detail=detail, suggestion=suggestion)


def height_fields(wall: Wall, side: SideName) -> HeightFields:
    """Find the fields that set a side's height: its own where it has any, else the wall's."""
    own: SideOverride = getattr(wall.per_side, side)
    own_at = f"/wall/per_side/{side}"
    ruling: SideOverride | Wall = wall if own.height is None and own.top_above_post is None else own
    return HeightFields(
        at="/wall" if ruling is wall else own_at,
        given=ruling.height,
        above=ruling.top_above_post,
        bury_pointer=f"{'/wall' if own.bury_depth is None else own_at}/bury_depth",
    )
