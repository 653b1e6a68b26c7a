"""The shape of layout and cutting on the wire.

Rules of this file
------------------
- Types only, as in ``shapes.py``, which holds the rest of a plan.
"""

from typing import Literal, NotRequired

from pydantic import ConfigDict, with_config
from typing_extensions import TypedDict

from service.planner.writing import Told

DOCUMENTED = with_config(ConfigDict(use_attribute_docstrings=True, extra="forbid"))
"""Docstrings under fields are published; nothing undocumented is answered."""


@DOCUMENTED
class SupportOut(TypedDict):
    """A post or jamb."""

    index: int
    """Number within the run, from 0"""
    label: str
    """What the crew reads"""
    x_mm: float
    """Centre from the run's zero"""
    station_mm: float
    """Centre from the side's first post"""
    kind: Literal["end", "interior", "jamb"]
    """End post, interior post or jamb"""
    width_mm: float
    """Width along the wall"""


@DOCUMENTED
class PieceOut(TypedDict):
    """A panel, a baseboard or a length of top channel."""

    id: str
    """Shared by cut list, bill and steps"""
    from_support: int
    """Support where it starts"""
    to_support: int
    """Support where it ends"""
    x_start_mm: float
    """Its end towards the front"""
    x_end_mm: float
    """Its end towards the back"""
    length_mm: float
    """Cut length"""
    length_text: str
    """Cut length in display units"""
    height_mm: NotRequired[float]
    """Ripped height of a panel"""
    uncut: NotRequired[bool]
    """Whether a panel is a whole sheet left uncut"""


@DOCUMENTED
class PanelJointOut(TypedDict):
    """Where two panels meet."""

    support: int
    """The support it falls on"""
    label: str
    """Label of that support"""
    x_mm: float
    """Middle of the gap"""
    drift_mm: float
    """Where it falls less the support's centre"""


@DOCUMENTED
class PartOut(TypedDict):
    """A cut part that stands upright on a support."""

    id: str
    """Shared by cut list, bill and steps"""
    role: str
    """Joint profile, end batten, corner cap, end cap or upright"""
    support: int
    """The support it stands on"""
    label: str
    """Label of that support"""
    x_mm: float
    """Centre of its screw line"""
    bottom_mm: float
    """Lower end above grade"""
    length_mm: float
    """Cut length"""
    length_text: str
    """Cut length in display units"""


@DOCUMENTED
class PlateOut(TypedDict):
    """A splice plate behind the top channel."""

    id: str
    """Shared by bill and steps"""
    kind: Literal["joint", "upright", "end"]
    """Where it sits"""
    support: int
    """The support it is on"""
    label: str
    """Label of that support"""


@DOCUMENTED
class PackingOut(TypedDict):
    """A strip of sheet behind a wind-flap upright, above the top channel."""

    id: str
    """Shared by bill and steps"""
    support: int
    """The bow that it lies on"""
    length_mm: float
    """From the top channel's top edge to the underside of the hip rail"""
    width_mm: float
    """As wide as the upright"""
    source_mm: list[float]
    """Sides of the offcut or sheet that it is cut from"""
    bought_sku: NotRequired[str]
    """The sheet bought for it, where no offcut of the plan holds it"""
    opens_sheet: NotRequired[bool]
    """Whether this strip is the first that is cut from that sheet"""


@DOCUMENTED
class HookOut(TypedDict):
    """A rope hook."""

    id: str
    """Shared by bill and steps"""
    x_mm: float
    """Position from the run's zero"""
    x_text: str
    """The same in display units"""
    z_mm: float
    """Height above grade"""
    moved_mm: float
    """How far it was moved to clear posts, laps and plates"""


@DOCUMENTED
class Elevations(TypedDict):
    """Heights of every line above finished grade at the run's first support."""

    panel_foot_mm: float
    board_underside_mm: float
    board_lower_screws_mm: float
    board_upper_screws_mm: float
    board_top_mm: float
    locating_screws_mm: float
    field_screws_mm: list[float]
    channel_underside_mm: float
    panel_top_mm: float
    channel_screws_mm: float
    channel_top_mm: float
    post_top_mm: float
    hip_rail_mm: float
    clear_height_mm: float
    text: dict[str, str]
    """The same in display units, by name"""


@DOCUMENTED
class Mark(TypedDict):
    """A place to mark or to check with the tape hooked on the run's zero."""

    x_mm: float
    """Position, rounded from zero and never summed"""
    x_text: str
    """The same in display units"""
    at: Told
    """What it marks"""


@DOCUMENTED
class RunOut(TypedDict):
    """A straight stretch of wall."""

    id: str
    """Such as left-1"""
    side: Literal["left", "right"]
    """Seen from outside the front end wall"""
    length_mm: float
    """From the first support's centre to the last one's"""
    front_end: str
    """What stands at x = 0"""
    back_end: str
    """What stands at the last support"""
    supports: list[SupportOut]
    panels: list[PieceOut]
    panel_joints: list[PanelJointOut]
    baseboards: list[PieceOut]
    top_channels: list[PieceOut]
    joint_profiles: list[PartOut]
    end_battens: list[PartOut]
    """Battens, corner caps and end caps"""
    uprights: list[PartOut]
    """Wind-flap uprights"""
    splice_plates: list[PlateOut]
    packing_strips: list[PackingOut]
    rope_hooks: list[HookOut]
    elevations: Elevations
    marks: list[Mark]


@DOCUMENTED
class OpeningOut(TypedDict):
    """An opening as it will be built."""

    side: Literal["left", "right"]
    """The side it is in"""
    near: str
    """Jamb towards the front"""
    far: str
    """Jamb towards the back"""
    clear_from_mm: float
    """Face of the near jamb, from the side's first post"""
    clear_width_mm: float
    """Width between the jambs' faces"""
    clear_width_text: str
    """The same in display units"""


@DOCUMENTED
class MovementOut(TypedDict):
    """How the sheet moves and what is left for it."""

    longest_span_mm: float
    """Longest span of a panel"""
    growth_mm: float
    """Growth of such a panel when hottest"""
    side_gap_mm: float
    """From a panel's end to the joint profile's web"""
    joint_gap_mm: float
    """From panel end to panel end"""
    joint_gap_text: str
    """The same in display units"""
    end_room_mm: float
    """Room to grow at a capped end"""
    bearing_tolerance_mm: float
    """How far a joint may drift on its post"""


@DOCUMENTED
class LayoutOut(TypedDict):
    """Where everything goes."""

    runs: list[RunOut]
    openings: list[OpeningOut]
    movement: MovementOut


@DOCUMENTED
class CutOut(TypedDict):
    """Equal pieces of one strip or stick."""

    length_mm: float
    """Cut length"""
    length_text: str
    """The same in display units"""
    count: int
    """How many in one strip"""
    pieces: list[str]
    """Ids of the pieces cut, over all repeats"""


@DOCUMENTED
class StripOut(TypedDict):
    """A strip of a sheet, ripped and then crosscut."""

    height_mm: float
    """Ripped height"""
    height_text: str
    """The same in display units"""
    cuts: list[CutOut]
    crosscuts: int
    """Cuts across one strip"""
    offcut_mm: float
    """What is left of one strip"""


@DOCUMENTED
class Offcut(TypedDict):
    """What is left of one piece of stock."""

    length_mm: float
    """Measured the way that panels are cut, see `cut_along`"""
    height_mm: NotRequired[float]
    """Height of a piece of sheet, across that"""
    count: int
    """How many of one piece of stock"""


@DOCUMENTED
class PatternOut(TypedDict):
    """How equal pieces of stock are cut."""

    repeat: int
    """How many are cut this way"""
    strips: NotRequired[list[StripOut]]
    """Strips of a sheet, in the order ripped"""
    cuts: NotRequired[list[CutOut]]
    """Cuts of a stick"""
    crosscuts: NotRequired[int]
    """Cuts across one stick"""
    offcuts: list[Offcut]
    """What is left of one piece of stock"""


@DOCUMENTED
class StockOut(TypedDict):
    """One kind of stock opened."""

    sku: str
    length_mm: float
    """Length as sold, or as it is on hand"""
    width_mm: NotRequired[float]
    """Width of a sheet as sold, or as it is on hand"""
    cut_along: NotRequired[Literal["length", "width"]]
    """Which side of a sheet panels are cut along: its width where flutes stand upright, else its length"""
    from_on_hand: bool
    """Whether the customer already has it"""
    count: int
    """Pieces of stock opened"""
    patterns: list[PatternOut]


@DOCUMENTED
class MaterialOut(TypedDict):
    """How one material is cut."""

    role: str
    kerf_mm: float
    stock: list[StockOut]
    yield_percent: float
    """Length of pieces over length of stock opened; for sheets, area over area"""
    objective: str
    """Stock, joints and cuts; cuts saved by leaving sheets whole are not taken off"""
    lower_bound: str
    """No plan costs less"""
    proven_optimal: bool


@DOCUMENTED
class CuttingOut(TypedDict):
    """What to cut from what."""

    materials: list[MaterialOut]
