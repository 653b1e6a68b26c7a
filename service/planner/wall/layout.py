"""The wall as it will stand: runs, their heights, the pieces of every course and what hangs on them.

Rules of this file
------------------
- Types only; how they come about stands in the stages (runs, movement, courses, details, fasteners).
- Lengths and positions are whole nanometres. Along a run x is 0 at the centre of its first support and grows from
  front to back; heights z are above finished grade at that support, where the baseboard's underside is.
- Every piece has an id that the cut list, the bill, the schedule and the steps share.
"""

from typing import Literal, NamedTuple

from service.planner.asked.catalog import Item
from service.planner.asked.height_fields import HeightFields
from service.planner.asked.roles import ROLES
from service.planner.asked.spec import SideName
from service.planner.records import record
from service.planner.rules import Place

EndKind = Literal["end_film", "end_rigid", "end_open", "jamb"]
RunEnd = Literal["front", "back"]
SupportKind = Literal["end", "interior", "jamb"]
Course = Literal["panel", "baseboard", "top_channel"]
"""Roles that go up in a course of their own."""


@record
class Support:
    """What a run is fixed to at one place: a ground post with its bow, or a jamb stud."""

    index: int
    """Number within the run, from 0 [-]"""
    label: str
    """What the crew reads: P1, P2, ... for posts along the side, J1, J2, ... for jamb studs"""
    x: int
    """Centre, from the run's zero [nm]"""
    station: int
    """Centre, from the centre of the side's first post [nm]"""
    kind: SupportKind
    """End post, interior post or jamb"""
    width: int
    """Width along the wall: post or stud [nm]"""
    post: int | None
    """Number of the post along the side, from 0; none for a stud [-]"""


@record
class Run:
    """A straight stretch of wall between two ends."""

    index: int
    """Number within the structure, from 0 [-]"""
    id: str
    """Such as left-1"""
    side: SideName
    """The side it is in"""
    supports: tuple[Support, ...]
    """At least two, in order"""
    front_end: EndKind
    """What stands at x = 0"""
    back_end: EndKind
    """What stands at the last support"""
    front_upright: bool
    """Whether a wind-flap upright stands on the second support from the front"""
    back_upright: bool
    """Whether a wind-flap upright stands on the second support from the back"""
    height: int
    """Nominal panel height [nm]"""
    bury_depth: int
    """Depth of the panel's foot below grade [nm]"""
    asked: HeightFields
    """The fields of the request that set height and burial"""
    height_class: int
    """Index into the structure's different heights [-]"""
    ground: tuple[float, ...] | None
    """Ground at each support above that at the first; none where it was not levelled [nm]"""

    @property
    def last(self) -> int:
        """Index of the last support [-]."""
        return len(self.supports) - 1

    @property
    def uprights(self) -> tuple[int, ...]:
        """Indices of the supports that carry a wind-flap upright, in order."""
        places = [1] * self.front_upright + [self.last - 1] * self.back_upright
        return tuple(dict.fromkeys(places))

    def end_kind(self, end: RunEnd) -> EndKind:
        """Tell what stands at one end."""
        return self.front_end if end == "front" else self.back_end


@record
class Movement:
    """How the sheet moves and what the layout leaves for it."""

    expansion: float
    """Linear expansion of the sheet [1/K]"""
    warming: float
    """Highest less fitting temperature [K]"""
    cooling: float
    """Fitting less lowest temperature [K]"""
    span: int
    """Longest span that a panel may have, L [nm]"""
    growth: int
    """Growth of a panel of that span when hottest, G [nm]"""
    side_gap: int
    """From a panel's end to the web, c [nm]"""
    gap: int
    """From panel end to panel end at a joint, g [nm]"""
    end_room: int
    """Room to grow at a capped end, G/2 rounded up [nm]"""
    screw_in_gap: int
    """Diameter of the screw that passes between the panel ends, 0 without one [nm]"""

    def shrink(self, span: int) -> float:
        """How much a panel of this span shrinks in all until the coldest [nm]."""
        return self.expansion * self.cooling * span


@record
class Heights:
    """Heights of every line of one run above finished grade at its first support, all [nm]."""

    ripped: int
    """Height of the strip as ripped"""
    foot: int
    """The panel's foot"""
    lower_line: int
    """Screw line of the board's lower lip"""
    upper_line: int
    """Screw line of the board's upper lip"""
    board_top: int
    """Top of the baseboard"""
    locating: int
    """The locating screws"""
    field: tuple[int, ...]
    """The field screws, none or two"""
    channel_underside: int
    """Underside of the top channel: its slot's legs"""
    panel_top: int
    """The panel's top edge"""
    flange_line: int
    """Screw line in the middle of the channel's flange"""
    channel_top: int
    """Top of the top channel's flange"""
    post_top: int
    """Top of the ground post; the bow stands above"""
    hip: int
    """Underside of the hip rail"""

    @property
    def clear(self) -> int:
        """From the top of the baseboard to the underside of the top channel [nm]."""
        return self.channel_underside - self.board_top


@record
class Piece:
    """One piece of a course: a panel, a baseboard or a length of top channel."""

    id: str
    """Such as left-1-panel-3, counted from the front"""
    role: Course
    """The course it belongs to"""
    run: int
    """Index of the run [-]"""
    start: int
    """Support where it starts [-]"""
    end: int
    """Support where it ends [-]"""
    x_start: int
    """Its end towards the front, from the run's zero [nm]"""
    x_end: int
    """Its end towards the back [nm]"""
    length: int
    """Cut length [nm]"""
    uncut: bool = False
    """Whether it is a whole sheet left uncut"""


@record
class PanelJoint:
    """Where two panels meet."""

    run: int
    """Index of the run [-]"""
    support: int
    """The support it falls on [-]"""
    x: int
    """Middle of the gap between the two panel ends, from the run's zero [nm]"""
    drift: int
    """Where it falls less its support's centre [nm]"""


@record
class Part:
    """A cut part that stands upright, such as a joint profile, an end batten or a wind-flap upright."""

    id: str
    """Such as left-1-profile-2 or left-1-batten-front"""
    role: str
    """Its row of the table of roles"""
    run: int
    """Index of the run [-]"""
    support: int
    """The support it stands on [-]"""
    end: RunEnd | None
    """Which end of the run it belongs to; none for joint profiles"""
    x: int
    """Centre of its screw line, from the run's zero [nm]"""
    bottom: int
    """Lower end [nm]"""
    length: int
    """Cut length [nm]"""

    @property
    def material(self) -> str:
        """Catalog role of the stock it is cut from."""
        return ROLES[self.role].material

    @property
    def top(self) -> int:
        """Upper end [nm]."""
        return self.bottom + self.length


@record
class Plate:
    """A splice plate behind the top channel."""

    id: str
    """Such as left-1-plate-2"""
    kind: Literal["joint", "upright", "end"]
    """At a channel joint, behind a wind-flap upright, or at an end post"""
    run: int
    """Index of the run [-]"""
    support: int
    """The support it is on [-]"""


@record
class Hook:
    """A rope hook with its bolt, lock nut, washer and plug."""

    id: str
    """Such as left-1-hook-4"""
    run: int
    """Index of the run [-]"""
    bay: int
    """The bay it is in: support at the bay's front side [-]"""
    x: int
    """Position from the run's zero [nm]"""
    z: int
    """Height: the middle of the board's face [nm]"""
    moved: int
    """How far it was moved from its even place so that it clears, signed [nm]"""


@record
class TapeLength:
    """Tape on one edge of one panel."""

    panel: str
    """Id of the panel"""
    role: Literal["foil_tape", "vented_tape"]
    """Kind of tape"""
    edge: Literal["front", "back", "top", "foot"]
    """Which edge of the panel"""
    length: int
    """Length of tape [nm]"""


class Layer(NamedTuple):
    """One layer that a screw passes, named as the schedule names it."""

    part: str
    """A role of the table of roles, or gap, post, bow, packing, stand_off, set_back or jamb"""
    thickness: int
    """Thickness [nm]"""


@record
class FastenerRow:
    """Screws of one kind at one height through the same layers, on one or more supports of a run."""

    id: str
    """Such as left-1-board_upper-1"""
    place: Place
    """Row of the fastening rules table"""
    run: int
    """Index of the run [-]"""
    supports: tuple[int, ...]
    """Supports that get them; each gets count / len(supports) [-]"""
    xs: tuple[int, ...]
    """Where each screw sits from the run's zero, support by support [nm]"""
    z: int
    """Height [nm]"""
    count: int
    """Screws in all [-]"""
    screw: Item
    """The screw"""
    washer: Item | None
    """The washer under its head"""
    layers: tuple[Layer, ...]
    """Outside to inside, the near wall of post or bow included"""
    shortest: int
    """Least screw length that leaves three threads and the point beyond the near wall [nm]"""
    longest: int
    """Greatest screw length that does not reach the far wall [nm]"""
    fits: bool
    """Whether the catalog holds a length that lies in the window"""
    pilot: int | None
    """Diameter of the pilot hole where three layers or more are joined [nm]"""
    clearance: int | None
    """Diameter of the clearance hole in the outer metals, where the thread would bite them too early [nm]"""
    slot: bool
    """Whether its hole in the panel is a slot: open on an end post, or where no washer covers a round hole"""

    @property
    def grip(self) -> int:
        """Everything under the head up to the inside of the near wall [nm]."""
        return sum([layer.thickness for layer in self.layers])


@record
class CutPattern:
    """How one or more equal pieces of stock are cut."""

    item: Item | None
    """The stock; its sku is also that of on-hand pieces"""
    sku: str
    """Sku of the stock"""
    length: int
    """Length of the stock [nm]"""
    width: int | None
    """Width of a sheet, or height of an on-hand strip [nm]"""
    from_on_hand: bool
    """Whether the customer already has it"""
    repeat: int
    """How many are cut this way [-]"""
    strips: tuple["Strip", ...]
    """Strips of a sheet; one for a stick"""


@record
class Strip:
    """A strip of a sheet, or a whole stick, and what is cut from it."""

    height: int | None
    """Ripped height; none for a stick [nm]"""
    cuts: tuple[tuple[int, int], ...]
    """Cut length and count in one strip [nm, -]"""
    pieces: tuple[tuple[str, ...], ...]
    """For each repeat the ids of the pieces cut from it"""
    crosscuts: int
    """Cuts across one strip [-]"""
    offcut: int
    """What is left of one strip, less than a kerf counts as none [nm]"""


@record
class Cutting:
    """How all pieces of one material are cut."""

    role: str
    """Catalog role of the material"""
    patterns: tuple[CutPattern, ...]
    """Stock opened"""
    kerf: int
    """Width of a cut [nm]"""
    objective: int
    """Stock, joint and cut cost together [hundredths of the currency]"""
    lower_bound: int
    """No plan costs less [hundredths of the currency]"""

    @property
    def proven_optimal(self) -> bool:
        """Whether the objective meets the bound."""
        return self.objective == self.lower_bound


@record
class PackingStrip:
    """A strip of sheet behind a wind-flap upright, above the top channel."""

    id: str
    """Such as left-1-packing-front"""
    run: int
    """Index of the run [-]"""
    support: int
    """The bow that it lies on [-]"""
    length: int
    """From the top channel's top edge to the underside of the hip rail [nm]"""
    width: int
    """As wide as the upright [nm]"""
    source: tuple[int, int]
    """Sides of the offcut or sheet that it is cut from [nm]"""
    item: Item | None
    """The sheet that is bought for it; none where an offcut holds it"""
    opens: bool
    """Whether that sheet is opened for this strip"""


@record
class RunWall:
    """The wall on one run: everything that stands on it, before screws."""

    run: Run
    """The run"""
    heights: Heights
    """Heights of its lines"""
    panels: tuple[Piece, ...]
    """Panels, front to back"""
    joints: tuple[PanelJoint, ...]
    """Panel joints, front to back"""
    boards: tuple[Piece, ...]
    """Baseboards, front to back"""
    channels: tuple[Piece, ...]
    """Top channel, front to back"""
    parts: tuple[Part, ...] = ()
    """Joint profiles, battens, caps and uprights"""
    plates: tuple[Plate, ...] = ()
    """Splice plates"""
    hooks: tuple[Hook, ...] = ()
    """Rope hooks"""
    tapes: tuple[TapeLength, ...] = ()
    """Tape on the panels' edges"""
    packing: tuple[PackingStrip, ...] = ()
    """Packing strips behind its uprights"""


@record
class Layout:
    """The walls of all runs, and what their materials share."""

    walls: tuple[RunWall, ...]
    """One wall a run, left before right, front before back"""
    movement: Movement
    """Movement of the panels"""
    cuttings: tuple[Cutting, ...]
    """How each material is cut: sheets, baseboards, top channel, then the parts"""

    def cutting(self, role: str) -> Cutting:
        """Find how one material is cut."""
        return next(cutting for cutting in self.cuttings if cutting.role == role)

    @property
    def runs(self) -> tuple[Run, ...]:
        """The runs."""
        return tuple([wall.run for wall in self.walls])

    @property
    def heights(self) -> tuple[Heights, ...]:
        """Heights of every run."""
        return tuple([wall.heights for wall in self.walls])

    @property
    def parts(self) -> tuple[Part, ...]:
        """Parts of all runs."""
        return tuple([part for wall in self.walls for part in wall.parts])

    @property
    def plates(self) -> tuple[Plate, ...]:
        """Splice plates of all runs."""
        return tuple([plate for wall in self.walls for plate in wall.plates])

    @property
    def hooks(self) -> tuple[Hook, ...]:
        """Rope hooks of all runs."""
        return tuple([hook for wall in self.walls for hook in wall.hooks])

    @property
    def tapes(self) -> tuple[TapeLength, ...]:
        """Tape of all runs."""
        return tuple([tape for wall in self.walls for tape in wall.tapes])
