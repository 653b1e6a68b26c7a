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
from service.paper.writing import MARGIN, heading, letter, write_lines
from service.planner.answer.shapes import Plan

_COLUMN: Final = 34.0
"""Paper beside the panel for heights [mm]"""
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
    for index, kind in enumerate(drilled_kinds(plan)):
        yield _Template(plan, words, kind, letter(index)).draw(width)


@dataclass(frozen=True, slots=True)
class _Template:
    """A template on its way to paper."""

    plan: Plan
    words: Words
    kind: Drilled
    name: str

    def draw(self, width: float) -> Drawing:
        """Draw it."""
        kind, words, text = self.kind, self.words, measures(self.plan)
        scale = fitting_scale(kind.length, width - 2 * MARGIN - _COLUMN, 5)
        size = {"length": text(kind.length), "height": text(kind.height)}
        sheet = Sheet(
            id=f"template-{self.name}", kind="template", width=width, scale=scale, language=words.language,
            title=words("template", name=self.name, count=len(kind.panels), **size),
            description=words("template_told", zero=words("right_hand" if kind.mirrored else "left_hand")),
        )  # fmt: skip
        top = heading(sheet, (sheet.description, words("scale", scale=int(scale)))) + 4
        top += self._overflow(scale)
        left = MARGIN + _COLUMN + kind.length / scale * kind.mirrored
        view = View(scale=scale, left=left, base=top + kind.height / scale, mirrored=kind.mirrored)
        self._panel(sheet, view)
        heights = [(view.y(z), text(z)) for z in kind.heights]
        foot = (view.y(0), words("panel_foot"))
        ended = levels(sheet, [*heights, foot], MARGIN + _COLUMN, 4, on_left=True)
        places = [(view.x(hole.x), text(hole.x)) for hole in kind.holes]
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
        for hole in kind.holes:
            for z in hole.heights:
                x, y, radius = view.x(hole.x), view.y(z), hole.diameter / 2 / view.scale
                sheet.line([(x - _CROSS, y), (x + _CROSS, y)], "narrow", group)
                sheet.line([(x, y - _CROSS), (x, y + _CROSS)], "narrow", group)
                if hole.slot:
                    sheet.rect((x - _CROSS, y - radius, 2 * _CROSS, 2 * radius), "paper", "narrow", group)
                else:
                    sheet.circle((x, y), radius, "paper", "narrow", group)

    def _list(self, sheet: Sheet, y: float) -> float:
        """List holes by bit and the panels that are drilled so."""
        text = measures(self.plan)
        lines = [
            self.words(
                "slot_line" if hole.slot else "hole_line", place=text(hole.x), count=len(hole.heights),
                diameter=text(hole.diameter), heights=", ".join(map(text, hole.heights)),
            )
            for hole in self.kind.holes
        ]  # fmt: skip
        lines.append(self.words("panels_line", panels=", ".join(self.kind.panels)))
        return write_lines(sheet, lines, y)
