"""Drilling templates: one of each kind of panel, dimensioned from one end.

Rules of this file
------------------
- Panels that are drilled alike share a template; it lists them.
- The outside face is seen. Zero is the panel's end towards the front, which is at the right hand on the left side.
- Heights are measured from the panel's foot.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from service.paper.bands import fitting_scale
from service.paper.dimensions import Room, levels, running
from service.paper.drawing import PITCH, Drawing, Sheet, View
from service.paper.drilled import Drilled, drilled_kinds
from service.paper.placing import spread
from service.paper.reading import measures
from service.paper.words import Words
from service.paper.writing import MARGIN, heading, write_lines
from service.planner.answer.drilling_shapes import HoleOut, SlotOut
from service.planner.answer.shapes import Plan

_COLUMN: Final = 34.0
"""Paper beside the panel for heights [mm]"""
_Size = tuple[float, float | None]
_CROSS: Final = 1.3
"""Arm of the cross over a hole's middle [mm]"""


def templates(plan: Plan, words: Words, width: float) -> Iterator[Drawing]:
    """Draw a template of each kind of panel.

    Parameters
    ----------
    plan
        The plan.
    words
        Writes in the reader's language.
    width
        Of the paper [mm].

    Yields
    ------
    Drawing
        One a kind, in the order of the first panel of each.
    """
    for kind in drilled_kinds(plan):
        yield _Template(plan, words, kind).draw(width)


@dataclass(frozen=True, slots=True)
class _Template:
    """A template on its way to paper."""

    plan: Plan
    words: Words
    kind: Drilled

    def draw(self, width: float) -> Drawing:
        """Draw it."""
        kind, words, text = self.kind, self.words, measures(self.plan)
        scale = fitting_scale(kind.length, width - 2 * MARGIN - _COLUMN, 5)
        size = {"length": text(kind.length), "height": text(kind.height)}
        sheet = Sheet(
            id=kind.template["id"],
            kind="template",
            width=width,
            scale=scale,
            language=words.language,
            title=words("template", id=kind.template["id"], count=kind.template["count"], **size),
            description=self._told(),
        )
        top = heading(sheet, (sheet.description, words("scale", scale=int(scale)))) + 4
        top += self._overflow(scale)
        left = MARGIN + _COLUMN + kind.length / scale * kind.mirrored
        view = View(scale=scale, left=left, base=top + kind.height / scale, mirrored=kind.mirrored)
        self._panel(sheet, view)
        heights = [(view.y(z), text(z)) for z in kind.heights]
        foot = (view.y(0), words("panel_foot"))
        ended = levels(sheet, [*heights, foot], MARGIN + _COLUMN, 4, on_left=True)
        places = [(view.x(x), text(x)) for x in kind.columns]
        room = Room(MARGIN, width - MARGIN)
        y = max(view.base + 3, ended + 1)
        y += running(sheet, [(view.x(0), words("zero")), (view.x(kind.length), text(kind.length))], y, room)
        y += running(sheet, places, y, room)
        return sheet.finish(self._list(sheet, y + 1) + MARGIN)

    def _overflow(self, scale: float) -> float:
        """Tell how far the column of heights reaches over the panel's top [mm of paper]."""
        column = spread([-height / scale for height in (*reversed(self.kind.heights), 0.0)], PITCH)
        return max(0.0, -column[0] - self.kind.height / scale)

    def _panel(self, sheet: Sheet, view: View) -> None:
        """Draw the panel with its holes and slots."""
        kind = self.kind
        sheet.rect(view.box(0, kind.length, 0, kind.height), "panel", "outline", sheet.group("panel"))
        group = sheet.group("holes")
        for hole in kind.template["holes"]:
            x, y = view.x(hole["x_mm"]), view.y(hole["z_mm"])
            sheet.line([(x - _CROSS, y), (x + _CROSS, y)], "narrow", group)
            sheet.line([(x, y - _CROSS), (x, y + _CROSS)], "narrow", group)
            if "slot" in hole:
                self._slot(sheet, view, hole["slot"], (x, y))
            else:
                sheet.circle((x, y), hole.get("diameter_mm", 0.0) / 2 / view.scale, "paper", "narrow", group)

    def _slot(self, sheet: Sheet, view: View, slot: SlotOut, at: tuple[float, float]) -> None:
        """Draw a slot: about its screw, or from the panel's end that it is open to."""
        length, height = slot["length_mm"] / view.scale, slot["height_mm"] / view.scale
        left = at[0] - length / 2
        if "open_end" in slot:
            end = view.x(0 if slot["open_end"] == "front" else self.kind.length)
            left = end if end < at[0] else end - length
        sheet.rect((left, at[1] - height / 2, length, height), "paper", "narrow", sheet.group("slot"))

    def _told(self) -> str:
        """Say how to read the template."""
        zero = self.words("right_hand" if self.kind.mirrored else "left_hand")
        told = self.words("template_told", zero=zero)
        return f"{told} {self.words('template_turned')}" if self.kind.mixed else told

    def _list(self, sheet: Sheet, y: float) -> float:
        """List holes by bit, column by column, and the panels that are drilled so."""
        lines = [
            self._line(x, size, [hole["z_mm"] for hole in holes if _size(hole) == size])
            for x, holes in self.kind.columns.items()
            for size in dict.fromkeys(map(_size, holes))
        ]
        lines.append(self.words("panels_line", panels=", ".join(self.kind.template["pieces"])))
        return write_lines(sheet, lines, y)

    def _line(self, x: float, size: _Size, heights: list[float]) -> str:
        """Write the holes of one size at one distance."""
        text = measures(self.plan)
        told: dict[str, str | int] = {
            "place": text(x),
            "count": len(heights),
            "heights": ", ".join(map(text, heights)),
        }
        if size[1] is None:
            return self.words("hole_line", diameter=text(size[0]), **told)
        return self.words("slot_line", height=text(size[0]), length=text(size[1]), **told)


def _size(hole: HoleOut) -> _Size:
    """A hole's diameter, or a slot's height and length [mm]."""
    slot = hole.get("slot")
    return (slot["height_mm"], slot["length_mm"]) if slot else (hole.get("diameter_mm", 0.0), None)
