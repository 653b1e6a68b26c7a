"""Reads drawings back: boxes, lengths and texts, straight from the SVG."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from lxml import etree

from service.paper.drawing import Drawing

NS: Final = {"s": "http://www.w3.org/2000/svg"}


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on paper [mm]."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: "Box", slack: float = 0.02) -> bool:
        """Tell whether two boxes share more than a hair."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > slack and down > slack


def tree(drawing: Drawing) -> etree._Element:
    """Parse a drawing."""
    return etree.fromstring(drawing.svg)


def texts(root: etree._Element) -> Iterator[tuple[Box, str]]:
    """Walk the texts of a drawing with the boxes of their capitals."""
    for text in root.iterfind(".//s:text", NS):
        size, width = float(text.attrib["font-size"]), float(text.attrib["textLength"])
        x, y = float(text.attrib["x"]), float(text.attrib["y"])
        x -= {"start": 0.0, "middle": width / 2, "end": width}[text.get("text-anchor", "start")]
        yield Box(x, y - 0.76 * size, x + width, y + 0.24 * size), text.text or ""


def rectangles(root: etree._Element) -> Iterator[tuple[str, Box]]:
    """Walk the rectangles of parts with their ids."""
    for rect in root.iterfind(".//s:g[@data-part]/s:rect", NS):
        left, top, width, height = (float(rect.attrib[name]) for name in ("x", "y", "width", "height"))
        group = rect.getparent()
        assert group is not None
        yield group.attrib["data-part"], Box(left, top, left + width, top + height)
