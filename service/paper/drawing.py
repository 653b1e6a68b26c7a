"""The drawing kernel: a sheet of paper as a tree of SVG elements.

Rules of this file
------------------
- Elements are made by `lxml`, which escapes whatever text comes in; nothing is ever parsed or joined.
- Coordinates are millimetres of paper with seven figures: at 1:50 that is far under 0.1 mm of wall.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from lxml import etree

from service.paper.inks import LINES, Ink, Line, colour
from service.paper.lettering import FAMILY, printable, text_width

SVG: Final = "http://www.w3.org/2000/svg"
"""Namespace of every element"""
SMALL: Final = 2.5
"""Size of ordinary lettering, ISO 3098 [mm]"""
LARGE: Final = 3.5
"""Size of titles, ISO 3098 [mm]"""
PITCH: Final = 3.4
"""From baseline to baseline of ordinary lettering [mm]"""

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


def number(value: float) -> str:
    """Write a coordinate without needless digits."""
    return f"{value:.7g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """How the wall maps to paper."""

    scale: float
    """Millimetres of wall per millimetre of paper [-]"""
    left: float
    """Where `origin` falls [mm of paper]"""
    base: float
    """Where height 0 falls [mm of paper]"""
    origin: float = 0.0
    """Position shown at `left` [mm of wall]"""
    mirrored: bool = False
    """Whether positions grow to the left"""

    def x(self, position: float) -> float:
        """Map a position along the wall."""
        way = -1 if self.mirrored else 1
        return self.left + way * (position - self.origin) / self.scale

    def y(self, height: float) -> float:
        """Map a height above grade; paper counts downwards."""
        return self.base - height / self.scale

    def box(self, start: float, end: float, foot: float, top: float) -> tuple[float, float, float, float]:
        """Map a stretch of wall between two heights to left, top, width and height."""
        return (
            min(self.x(start), self.x(end)),
            self.y(top),
            (end - start) / self.scale,
            (top - foot) / self.scale,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """A finished sheet."""

    id: str
    """Names it among the drawings of a plan"""
    kind: str
    """What it shows, as it is asked for"""
    title: str
    """For people"""
    description: str
    """What there is to see, for those who do not see it"""
    width: float
    """[mm of paper]"""
    height: float
    """[mm of paper]"""
    scale: float | None
    """Millimetres of wall per millimetre of paper; none where it is no scale drawing [-]"""
    svg: bytes
    """UTF-8 text of the drawing"""


@dataclass(slots=True, kw_only=True)
class Sheet:
    """A sheet that is being drawn; `finish` makes a `Drawing` of it."""

    id: str
    kind: str
    title: str
    description: str
    width: float
    language: str = "en"
    scale: float | None = None
    themed: bool = False
    root: etree._Element = field(init=False)

    def __post_init__(self) -> None:
        """Begin the tree with what screen readers read first."""
        self.root = etree.Element(f"{{{SVG}}}svg", nsmap={None: SVG})
        names = [f"{self.id}-title", f"{self.id}-desc"]
        self._add("title", self.root, id=names[0]).text = printable(self.title)
        self._add("desc", self.root, id=names[1]).text = printable(self.description)
        # WAI-ARIA Graphics Module 1.0: a document whose parts can be reached
        self.root.set("role", "graphics-document")
        self.root.set("aria-labelledby", " ".join(names))
        self.root.set("{http://www.w3.org/XML/1998/namespace}lang", self.language)
        self.root.set("class", f"drawing {self.kind}")
        self.root.set("font-family", FAMILY)
        self.root.set("fill", "none")
        self.root.set("stroke-linejoin", "round")
        if self.scale:
            self.root.set("data-scale", number(self.scale))

    def _add(self, tag: str, into: etree._Element | None, **attributes: str) -> etree._Element:
        return etree.SubElement(self.root if into is None else into, f"{{{SVG}}}{tag}", attributes)

    def group(
        self,
        name: str,
        *,
        part: str | None = None,
        first: bool = True,
        label: str = "",
        into: etree._Element | None = None,
    ) -> etree._Element:
        """Begin a group; of a part where one is named.

        Parameters
        ----------
        name
            Its class.
        part
            Id of the plan's part that it shows.
        first
            Whether this is the first fragment of the part, which alone carries the id.
        label
            What a screen reader says, and what a page shows on hovering.
        into
            Group that holds it; the sheet by default.
        """
        group = self._add("g", into)
        group.set("class", name)
        if part is not None:
            group.set("data-part", part)
            group.set("role", "graphics-symbol")
            if first:
                group.set("id", part)
        if label:
            self._add("title", group).text = printable(label)
        return group

    def rect(
        self,
        box: tuple[float, float, float, float],
        fill: Ink | None,
        line: Line | None,
        into: etree._Element | None = None,
        ink: Ink = "line",
    ) -> etree._Element:
        """Draw a rectangle from its left, top, width and height."""
        left, top, width, height = map(number, box)
        drawn = self._add("rect", into, x=left, y=top, width=width, height=height)
        return self._dress(drawn, fill, line, ink)

    def boxes(
        self,
        boxes: Iterable[tuple[float, float, float, float]],
        fill: Ink,
        into: etree._Element | None = None,
    ) -> None:
        """Draw rectangles of one colour as one element, each from its left, top, width and height."""
        corners = (tuple(map(number, box)) for box in boxes)
        outline = "".join(f"M{left} {top}h{width}v{height}h-{width}z" for left, top, width, height in corners)
        self._dress(self._add("path", into, d=outline), fill, None, "line")

    def line(
        self, points: Sequence[Point], line: Line, into: etree._Element | None = None, ink: Ink = "line"
    ) -> etree._Element:
        """Draw a line through points."""
        drawn = self._add("polyline", into, points=_points(points))
        return self._dress(drawn, None, line, ink)

    def shape(
        self, points: Sequence[Point], fill: Ink | None, line: Line | None, into: etree._Element | None = None
    ) -> etree._Element:
        """Draw a closed shape."""
        return self._dress(self._add("polygon", into, points=_points(points)), fill, line, "line")

    def circle(
        self,
        centre: Point,
        radius: float,
        fill: Ink | None,
        line: Line | None,
        into: etree._Element | None = None,
    ) -> etree._Element:
        """Draw a circle."""
        x, y = map(number, centre)
        return self._dress(self._add("circle", into, cx=x, cy=y, r=number(radius)), fill, line, "line")

    def _dress(self, drawn: etree._Element, fill: Ink | None, line: Line | None, ink: Ink) -> etree._Element:
        if fill:
            drawn.set("fill", colour(fill, themed=self.themed))
        if line:
            drawn.set("stroke", colour(ink, themed=self.themed))
            for name, value in LINES[line].items():
                drawn.set(name, value)
        return drawn

    def text(  # noqa: PLR0913  # one line of text has so many properties
        self,
        at: Point,
        words: str,
        *,
        size: float = SMALL,
        anchor: Anchor = "start",
        bold: bool = False,
        ink: Ink = "text",
        into: etree._Element | None = None,
    ) -> None:
        """Write a line of text from its baseline."""
        words = printable(words)
        if not words.strip():
            return
        drawn = self._add(
            "text", into, x=number(at[0]), y=number(at[1]), fill=colour(ink, themed=self.themed)
        )
        drawn.set("font-size", number(size))
        drawn.set("textLength", number(text_width(words, size, bold=bold)))
        drawn.set("lengthAdjust", "spacingAndGlyphs")
        if anchor != "start":
            drawn.set("text-anchor", anchor)
        if bold:
            drawn.set("font-weight", "700")
        drawn.text = words

    def place(self, view: View) -> None:
        """Say where the wall's zero and grade fall, so that a page can find any position: x = (paper - zero) x way x scale."""
        self.root.set("data-zero", number(view.x(0)))
        self.root.set("data-grade", number(view.y(0)))
        self.root.set("data-way", "-1" if view.mirrored else "1")

    def finish(self, height: float) -> Drawing:
        """Put the paper under what is drawn and write the sheet.

        Parameters
        ----------
        height
            Of the sheet [mm of paper].
        """
        paper = self.rect((0, 0, self.width, height), "paper", None)
        self.root.insert(2, paper)
        self.root.set("viewBox", f"0 0 {number(self.width)} {number(height)}")
        self.root.set("width", f"{number(self.width)}mm")
        self.root.set("height", f"{number(height)}mm")
        return Drawing(
            id=self.id,
            kind=self.kind,
            title=self.title,
            description=self.description,
            width=self.width,
            height=height,
            scale=self.scale,
            svg=etree.tostring(self.root, encoding="utf-8"),
        )


def _points(points: Sequence[Point]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)
