"""Which drawings there are: one table.

Rules of this file
------------------
- A kind is a row: its name on the wire and what draws it. Whoever adds a kind adds a row.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final, NotRequired

from pydantic import ConfigDict, with_config
from typing_extensions import TypedDict

from service.paper.cutting import cuttings
from service.paper.details import details
from service.paper.drawing import Drawing
from service.paper.elevation import elevations
from service.paper.sections import sections
from service.paper.templates import templates
from service.paper.tunnel import tunnel
from service.paper.words import Words
from service.planner.answer.shapes import Plan

WIDTH: Final = 267.0
"""Paper of a drawing by default: a landscape A4 sheet less its margins [mm]"""
NARROWEST: Final = 80.0
"""Narrowest paper of a drawing, as wide as a phone shows legibly [mm]"""
_DIMENSIONED: Final = 110.0
"""Narrowest paper of a drawing with dimensions; where less was asked for, the picture is this wide [mm]"""
WIDEST: Final = 400.0
"""Widest paper of a drawing [mm]"""

_DRAWN: Final[Mapping[str, Callable[[Plan, Words, float, bool], Iterable[Drawing]]]] = {
    "tunnel": lambda plan, words, width, themed: [tunnel(plan, words, width, themed=themed)],
    "elevation": lambda plan, words, width, _: elevations(plan, words, width),
    "cutting": lambda plan, words, width, _: cuttings(plan, words, width),
    "template": lambda plan, words, width, _: templates(plan, words, width),
    "section": lambda plan, words, width, _: sections(plan, words, width),
    "detail": lambda plan, words, width, _: details(plan, words, width),
}
KINDS: Final = tuple(_DRAWN)
"""Kinds of drawing, from the whole to the part"""

_documented = with_config(ConfigDict(use_attribute_docstrings=True, extra="forbid"))


@_documented
class DrawingOut(TypedDict):
    """One drawing."""

    id: str
    """Names it among the drawings of the plan"""
    kind: str
    """What it shows"""
    title: str
    """Its title"""
    description: str
    """What there is to see, for those who do not see it"""
    width_mm: float
    """Width of the paper"""
    height_mm: float
    """Height of the paper"""
    scale: float | None
    """Millimetres of wall per millimetre of paper; null where it is no scale drawing"""
    svg: str
    """The drawing, a whole SVG document without script, style or address"""


@_documented
class DrawingsOut(TypedDict):
    """Drawings of a plan."""

    plan_id: str
    """The plan that is drawn"""
    drawings: list[DrawingOut]
    """In the order of the kinds asked for"""
    notices: NotRequired[list[object]]
    """Only while the catalog server is away"""


def draw(
    plan: Plan, kinds: Iterable[str], words: Words, width: float = WIDTH, *, themed: bool = False
) -> Iterator[Drawing]:
    """Draw a plan.

    Parameters
    ----------
    plan
        The plan.
    kinds
        Kinds of drawing, each of `KINDS`.
    words
        Writes in the reader's language.
    width
        Of the paper [mm].
    themed
        Whether the shopper's view takes its colours from the embedding page.

    Yields
    ------
    Drawing
        In the order asked for.
    """
    for kind in kinds:
        yield from _DRAWN[kind](plan, words, width if kind == "tunnel" else max(width, _DIMENSIONED), themed)


def as_values(plan: Plan, drawings: Iterable[Drawing]) -> DrawingsOut:
    """Write drawings as plain values."""
    return DrawingsOut(
        plan_id=plan["plan_id"],
        drawings=[
            DrawingOut(
                id=drawing.id,
                kind=drawing.kind,
                title=drawing.title,
                description=drawing.description,
                width_mm=drawing.width,
                height_mm=round(drawing.height, 4),
                scale=drawing.scale,
                svg=drawing.svg.decode(),
            )
            for drawing in drawings
        ],
    )
