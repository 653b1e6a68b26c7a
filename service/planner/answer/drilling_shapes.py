"""The shape of the drilling table on the wire.

Rules of this file
------------------
- Types only, as in ``shapes.py``, which holds the rest of a plan.
"""

from typing import Literal, NotRequired

from typing_extensions import TypedDict

from service.planner.answer.layout_shapes import DOCUMENTED


@DOCUMENTED
class SlotOut(TypedDict):
    """A slot along the piece."""

    length_mm: float
    """Length along the piece; of an open slot from the piece's end to its round end"""
    height_mm: float
    """Height across"""
    open_end: NotRequired[Literal["front", "back"]]
    """The end of the piece that it is open to; a slot without one is closed, its middle on the screw"""


@DOCUMENTED
class HoleOut(TypedDict):
    """A round hole (`diameter_mm`) or a slot (`slot`) for one screw."""

    x_mm: float
    """Where the screw sits: from the panel's end towards the front; 0 is the centre line of an upright part"""
    z_mm: float
    """Where the screw sits, above the panel's foot or the part's lower end"""
    diameter_mm: NotRequired[float]
    """Diameter of a round hole"""
    slot: NotRequired[SlotOut]
    """Size of a slot"""
    text: str
    """From the end and from the foot in display units, such as 4' 0\" x 7 1/2\"; of an upright part the height alone"""


@DOCUMENTED
class TemplateOut(TypedDict):
    """One kind of piece with every hole and slot in it, outside face up."""

    id: str
    """Such as panel-template-1"""
    role: str
    """What the pieces are: panel, joint_profile, end_batten, corner_cap, end_cap or upright"""
    drilled: Literal["before", "in_place"]
    """Before they are hung, or in place by the step that drives the screws"""
    pieces: list[str]
    """Ids of the pieces that are drilled so"""
    count: int
    """How many pieces"""
    length_mm: float
    """Length of a panel along the wall, or of an upright part"""
    length_text: str
    """The same in display units"""
    height_mm: NotRequired[float]
    """Ripped height of a panel"""
    holes: list[HoleOut]
    """From the first end on, and upwards"""


@DOCUMENTED
class DrillingOut(TypedDict):
    """What is drilled where."""

    templates: list[TemplateOut]
