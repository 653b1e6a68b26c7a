"""Roles of parts: one row says all that the rooms ask of a role.

Rules of this file
------------------
- A row with dimensions is a role of a catalog's items; a row that is cut from another role's stock is what that stock
  becomes on the wall. A role that is both has its dimensions and goes up itself.
- The order is that of the stock list; bill and catalog rules keep it.
- No geometry: where a part stands is said in ``wall/``, where its screws go in ``fastening/places.py``.
"""

from collections.abc import Mapping
from typing import Any, Final, Literal

from service.planner.asked.parts import (
    Baseboard,
    CornerCap,
    EndCap,
    FilmChannel,
    JointProfile,
    Screw,
    Sheet,
    SmallPart,
    SplicePlate,
    Tape,
    TopChannel,
    Washer,
)
from service.planner.messages import Noun, noun
from service.planner.nouns import FRAME
from service.planner.records import record
from service.planner.rules import SPARE_PLATES

Unit = Literal["H87", "MTR"]
"""UN/CEFACT Recommendation 20: H87 piece, MTR metre."""
Form = Literal["sheet", "stick", "piece", "roll"]
"""Sheets and sticks are cut, pieces are counted, rolls are measured."""
Needed = Literal["always", "rigid_end", "opening", "asked"]
"""When a plan needs the role: always, at a rigid end wall, beside an opening, or where something asked for takes it."""
GoesUp = Literal["course", "joints", "ends", "panel_ends", "uprights"]
"""With what along the run a piece goes up: in its own course, on panel joints, over a run's ends, slipped on the end of
the panel at a jamb, or on the bows of wind flaps."""


@record
class Role:
    """What the rooms ask of one role of part."""

    name: str
    """Its name in catalogs, cuttings and answers"""
    noun: Noun
    """What people call it"""
    dimensions: type[Any] | None = None
    """Which fields its catalog items have; none where it is cut from another role's stock"""
    form: Form
    """How its stock comes"""
    needed: Needed
    """When a catalog must have it"""
    spares: int | None
    """Spare pieces; none where the share asked for is added [-]"""
    step: str | None = None
    """The step before or after the runs that takes its stock out of the pack; none where a step along a run does"""
    kit: str | None = None
    """What it is sold as a part of"""
    pointer: str | None = None
    """The field of a request that decides whether a section serves; none where no section is chosen for the job"""
    chosen_by: tuple[str, ...] = ()
    """Dimensions that its section must have as asked"""
    layer: str | None = None
    """The dimension that a screw passes [nm]"""
    metal: bool = False
    """Whether a drill point has to drill it as metal"""
    cut_from: str | None = None
    """The role whose stock it is cut from; none where it is its own"""
    goes_up: GoesUp | None = None
    """How it goes up along the run; none for stock that becomes something else"""
    word: str = ""
    """Word in the ids of its pieces"""
    over_end: bool = False
    """Whether it clamps the panel's end on an end post"""

    @property
    def unit(self) -> Unit:
        """Unit that it is counted or measured in."""
        return "MTR" if self.form == "roll" else "H87"

    @property
    def long(self) -> bool:
        """Whether its stock is cut, and travels at its own length."""
        return self.form in ("sheet", "stick")

    @property
    def takes_a_sheet(self) -> bool:
        """Whether its section takes one thickness of sheet."""
        return "thickness" in self.chosen_by

    @property
    def material(self) -> str:
        """The role whose stock it is cut from."""
        return self.cut_from or self.name


_THICKNESS: Final = "/wall/panel_thickness"
_HOOKS: Final = "rope hook set"
_TABLE: Final = (
    Role(name="sheet", noun=noun("role.sheet", "sheet", "sheets"), dimensions=Sheet, form="sheet", needed="always", spares=0, step="strips"),
    Role(name="joint_profile", noun=noun("role.joint_profile", "joint profile", "joint profiles"), dimensions=JointProfile, form="stick", needed="always", spares=0,
         step="metal", pointer=_THICKNESS, chosen_by=("thickness",), layer="leg", goes_up="joints", word="profile"),
    Role(name="baseboard", noun=noun("role.baseboard", "baseboard", "baseboards"), dimensions=Baseboard, form="stick", needed="always", spares=0, step="metal",
         pointer="/wall/baseboard_face", chosen_by=("face",), layer="metal", metal=True, goes_up="course", word="board"),
    Role(name="top_channel", noun=noun("role.top_channel", "top channel", "lengths of top channel"), dimensions=TopChannel, form="stick", needed="always", spares=0,
         step="metal", pointer=_THICKNESS, chosen_by=("thickness",), layer="metal", metal=True, goes_up="course",
         word="channel"),
    Role(name="splice_plate", noun=noun("role.splice_plate", "splice plate", "splice plates"), dimensions=SplicePlate, form="piece", needed="always",
         spares=SPARE_PLATES, pointer="", layer="metal", metal=True, word="plate"),
    Role(name="film_channel", noun=noun("role.film_channel", "film channel", "film channels"), dimensions=FilmChannel, form="stick", needed="always", spares=0,
         step="metal", pointer="", layer="metal", metal=True),
    Role(name="corner_cap", noun=noun("role.corner_cap", "corner cap", "corner caps"), dimensions=CornerCap, form="stick", needed="rigid_end", spares=0,
         step="metal", pointer="/structure/end_walls", layer="metal", metal=True, goes_up="ends", word="corner-cap",
         over_end=True),
    Role(name="end_cap", noun=noun("role.end_cap", "end cap", "end caps"), dimensions=EndCap, form="stick", needed="opening", spares=0, step="metal",
         pointer="/structure/openings", chosen_by=("thickness",), layer="leg", goes_up="panel_ends", word="end-cap"),
    Role(name="screw", noun=noun("role.screw", "screw", "screws"), dimensions=Screw, form="piece", needed="asked", spares=None),
    Role(name="washer", noun=noun("role.washer", "washer", "washers"), dimensions=Washer, form="piece", needed="always", spares=None),
    Role(name="foil_tape", noun=noun("role.foil_tape", "foil tape", "rolls of foil tape"), dimensions=Tape, form="roll", needed="always", spares=None, step="cut-panels"),
    Role(name="vented_tape", noun=noun("role.vented_tape", "vented tape", "rolls of vented tape"), dimensions=Tape, form="roll", needed="asked", spares=None,
         step="cut-panels"),
    Role(name="rope_hook", noun=noun("role.rope_hook", "rope hook", "rope hooks"), dimensions=SmallPart, form="piece", needed="asked", spares=None,
         step="hooks", kit=_HOOKS, word="hook"),
    Role(name="hook_bolt", noun=noun("role.hook_bolt", "hook bolt", "hook bolts"), dimensions=SmallPart, form="piece", needed="asked", spares=None,
         step="hooks", kit=_HOOKS),
    Role(name="lock_nut", noun=noun("role.lock_nut", "lock nut", "lock nuts"), dimensions=SmallPart, form="piece", needed="asked", spares=None,
         step="hooks", kit=_HOOKS),
    Role(name="hook_washer", noun=noun("role.hook_washer", "hook washer", "hook washers"), dimensions=SmallPart, form="piece", needed="asked", spares=None,
         step="hooks", kit=_HOOKS),
    Role(name="flute_plug", noun=noun("role.flute_plug", "flute plug", "flute plugs"), dimensions=SmallPart, form="piece", needed="asked", spares=None,
         step="hooks", kit=_HOOKS),
    Role(name="panel", noun=noun("role.panel", "panel", "panels"), form="sheet", needed="always", spares=0, cut_from="sheet", goes_up="course",
         word="panel"),
    Role(name="end_batten", noun=noun("role.end_batten", "end batten", "end battens"), form="stick", needed="always", spares=0, cut_from="film_channel",
         goes_up="ends", word="batten", over_end=True),
    Role(name="upright", noun=noun("role.upright", "wind-flap upright", "wind-flap uprights"), form="stick", needed="asked", spares=0, cut_from="film_channel",
         goes_up="uprights", word="upright"),
)  # fmt: skip
# the table is read by people in columns
ROLES: Final[Mapping[str, Role]] = {role.name: role for role in _TABLE}
"""Every role by its name."""
CATALOG_ROLES: Final = tuple(role.name for role in _TABLE if role.dimensions)
"""Roles that a catalog's items can have, in the order of the stock list."""


COURSE_MATERIALS: Final = frozenset([role.material for role in _TABLE if role.goes_up == "course"])
"""Roles whose stock is opened for pieces that go up in courses"""


def kit(name: str) -> tuple[str, ...]:
    """Return the roles that are sold together, one of each."""
    return tuple(role.name for role in ROLES.values() if role.kit == name)


HOOK_SET: Final = kit(_HOOKS)
"""A rope hook is fitted with one of each; the plug closes the hole behind the nut"""


def layer_noun(part: str) -> Noun:
    """Return what people call a layer that is drilled: a role's noun, or that of a part of the frame."""
    return ROLES[part].noun if part in ROLES else FRAME[part]
