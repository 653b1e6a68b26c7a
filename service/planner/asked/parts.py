"""Dimensions of parts: which fields the item of a role has.

Rules of this file
------------------
- One class, one set of fields; roles whose items have the same fields share it. What else belongs to a role stands in
  its row of ``roles.py``.
- A field that is called ``length`` is the stock length: all others together are the cross-section.
"""

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pydantic import ConfigDict

from service.planner.fields import CLOSED, LengthField, NumberField, WholeField
from service.planner.rules import Drive, Head
from service.planner.units import METRE, MILLIMETRE

_Thickness = Annotated[int, LengthField(4 * MILLIMETRE, 40 * MILLIMETRE)]
_StockLength = Annotated[int, LengthField(100 * MILLIMETRE, 15 * METRE)]
_Section = Annotated[int, LengthField(MILLIMETRE // 5, 400 * MILLIMETRE)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A multiwall polycarbonate sheet; its flutes run along its length."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["sheet"]
    thickness: _Thickness
    """Sheet thickness"""
    length: _StockLength
    """Length along the flutes"""
    width: Annotated[int, LengthField(200 * MILLIMETRE, 3 * METRE)]
    """Width across the flutes"""
    u_value: Annotated[float, NumberField(0.5, 8)] | None = None
    """Declared thermal transmittance [W/m2K]"""
    pull_through_n: Annotated[float, NumberField(1, 20000)] | None = None
    """The maker's allowable pull-through of one washered screw [N]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class JointProfile:
    """An H-section that closes two panel ends."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["joint_profile"]
    thickness: _Thickness
    """Sheet thickness that it takes"""
    length: _StockLength
    """Stock length"""
    web: _Section
    """Thickness of the web between the panel ends"""
    reach: _Section
    """Depth of the slot on each side of the web"""
    leg: _Section
    """Thickness of one leg"""
    pieces: Literal["one_piece", "two_piece"] = "one_piece"
    """Whether a screw passes between the panel ends (one piece) or the cap clamps (two piece)"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Baseboard:
    """A formed metal board over the panel's foot."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["baseboard"]
    length: _StockLength
    """Stock length"""
    face: _Section
    """Face height"""
    lap: Annotated[int, LengthField(10 * MILLIMETRE, 300 * MILLIMETRE)]
    """Length of a lap over a post"""
    metal: _Section
    """Metal thickness, coating included"""
    upper_line: _Section
    """Screw line of the upper lip above the underside"""
    lower_line: _Section
    """Screw line of the lower lip above the underside"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TopChannel:
    """An aluminium section whose slot sits on the panel's top edge."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["top_channel"]
    thickness: _Thickness
    """Sheet thickness that it takes"""
    length: _StockLength
    """Stock length"""
    slot_depth: _Section
    """Depth of the slot over the panel's top edge"""
    flange: _Section
    """Height of the flange above the panel's top edge"""
    metal: _Section
    """Metal thickness"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SplicePlate:
    """A flat piece behind two ends of top channel."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["splice_plate"]
    length: _Section
    """Length along the wall"""
    metal: _Section
    """Metal thickness"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmChannel:
    """Channel with its spring wire: end battens and wind-flap uprights."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["film_channel"]
    length: _StockLength
    """Stock length"""
    width: _Section
    """Width of the channel"""
    metal: _Section
    """Metal thickness of its base"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerCap:
    """A flat or angled cap that clamps the panel to a rigid end wall."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["corner_cap"]
    length: _StockLength
    """Stock length"""
    width: _Section
    """Width over the panel"""
    metal: _Section
    """Metal thickness"""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndCap:
    """A U-section over a panel's end at a jamb."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["end_cap"]
    thickness: _Thickness
    """Sheet thickness that it takes"""
    length: _StockLength
    """Stock length"""
    web: _Section
    """Thickness of the web"""
    leg: _Section
    """Thickness of one leg"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Screw:
    """A self-drilling screw."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["screw"]
    number: Annotated[int, WholeField(6, 14)]
    """Screw number after ASME B18.6.4"""
    length: Annotated[int, LengthField(10 * MILLIMETRE, 150 * MILLIMETRE)]
    """Nominal length under the head"""
    head: Head
    """Shape of the head"""
    drive: Drive
    """Drive of the head"""
    point: Annotated[int, WholeField(2, 5)]
    """Drill point number after SAE J78"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Washer:
    """A metal-backed sealing washer."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["washer"]
    outer_diameter: _Section
    """Outside diameter"""
    thickness: _Section
    """Thickness under the head"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """Tape for open flute ends, in rolls."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["foil_tape", "vented_tape"]
    width: _Section
    """Width of the roll"""
    length: Annotated[int, LengthField(METRE, 200 * METRE)]
    """Length of the roll"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallPart:
    """A part that is counted, not cut: the pieces of a rope hook set."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    role: Literal["rope_hook", "hook_bolt", "lock_nut", "hook_washer", "flute_plug"]


Part = (
    Sheet
    | JointProfile
    | Baseboard
    | TopChannel
    | SplicePlate
    | FilmChannel
    | CornerCap
    | EndCap
    | Screw
    | Washer
    | Tape
    | SmallPart
)
