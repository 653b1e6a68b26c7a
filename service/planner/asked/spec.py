"""The structure spec: what a customer tells us about the tunnel and the wall.

Rules of this file
------------------
- These classes are the request body itself: every field has bounds and says its default.
- Lengths are whole nanometres once read; fields left out stay ``None`` where the default follows the display units.
- No rule that needs a catalog or a second look stands here; contradictions between fields are found in ``settle.py``.
"""

from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar, Final, Literal

from pydantic import ConfigDict, Field

from service.planner.fields import (
    CLOSED,
    DIFFERENCES,
    SPEEDS,
    TEMPERATURES,
    Amount,
    Day,
    Flag,
    Identifier,
    LengthField,
    MeasureField,
    NumberField,
    ShortText,
    Sku,
    WholeField,
)
from service.planner.units import FOOT, INCH, METRE, MILLIMETRE, DisplayUnits

SideName = Literal["left", "right"]
EndWall = Literal["film", "polycarbonate", "open"]
Corner = Literal["left-front", "left-back", "right-front", "right-back"]
MAXIMUM_POSTS: Final = 5001
"""The most posts that one side may have [-]"""

_Small = Annotated[int, LengthField(0, METRE)]
_Width = Annotated[int, LengthField(10 * MILLIMETRE, 200 * MILLIMETRE)]
_MetalWall = Annotated[int, LengthField(MILLIMETRE // 2, 20 * MILLIMETRE)]
_Bay = Annotated[int, LengthField(300 * MILLIMETRE, 12 * FOOT + 3 * MILLIMETRE)]
_Station = Annotated[int, LengthField(0, 20_000 * METRE)]
_Height = Annotated[int, LengthField(50 * MILLIMETRE, 2500 * MILLIMETRE)]
_Strength = Annotated[float, NumberField(200, 1000)]
_Temperature = Annotated[float, MeasureField(-60, 90, TEMPERATURES)]
_WindSpeed = Annotated[
    float, MeasureField(10, 120, SPEEDS, plausible=90, asks={"imperial": "mph", "metric": "km/h"})
]


def _unique(values: tuple[Any, ...]) -> tuple[Any, ...]:
    """Keep each value once, in the order given."""
    return tuple(dict.fromkeys(values))


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """The ground posts."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    shape: Literal["round", "square"] = "round"
    """Cross-section of the post."""
    width: _Width = 1900 * INCH // 1000
    """Outside diameter of a round post, face width of a square one. Default 1.9 in."""
    wall_thickness: _MetalWall = 95 * INCH // 1000
    """Thickness of the post's wall. Default 0.095 in."""
    height_above_grade: Annotated[int, LengthField(0, 3 * METRE)] = 20 * INCH
    """From grade to the post's top; the bow begins there. Default 20 in."""
    embed_depth: Annotated[int, LengthField(0, 3 * METRE)] | None = None
    """How deep the post stands in the ground; checks on it are not assessed without it."""
    steel_strength_mpa: _Strength = 310.0
    """Tensile strength of the post's steel, for the wind check. Default 310, 45 ksi [MPa]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bow:
    """The bent tubes that the posts carry."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    width: _Width = 1660 * INCH // 1000
    """Outside diameter or face width of the bow. Default 1.66 in."""
    wall_thickness: _MetalWall = 65 * INCH // 1000
    """Thickness of the bow's wall. Default 0.065 in."""
    steel_strength_mpa: _Strength = 310.0
    """Tensile strength of the bow's steel, for the wind check. Default 310, 45 ksi [MPa]"""
    nest_depth: _Small = 0
    """How far the bow's leg sits inside the post, below the post's top. Default 0."""
    profile: Literal["straight", "curved"] = "straight"
    """Whether the bow's leg is straight above the post or begins to curve there."""
    radius: Annotated[int, LengthField(500 * MILLIMETRE, 50 * METRE)] | None = None
    """Radius of a curved bow; needed where profile is curved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndWalls:
    """What closes the two ends of the tunnel."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    front: EndWall = "film"
    """The end wall in front, where x is 0."""
    back: EndWall = "film"
    """The end wall at the back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A door or passage through a side wall."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    side: SideName
    """The side it is in."""
    offset: _Station
    """From the centre of the side's first post to the opening's near edge."""
    width: Annotated[int, LengthField(100 * MILLIMETRE, 12 * FOOT)]
    """Clear width."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundHeights:
    """Height of the ground at every post, above grade at the side's first post."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    left: Annotated[
        tuple[Annotated[int, LengthField(-2 * METRE, 2 * METRE)], ...], Field(max_length=MAXIMUM_POSTS)
    ] = ()
    """One height for each post of the left side, or none."""
    right: Annotated[
        tuple[Annotated[int, LengthField(-2 * METRE, 2 * METRE)], ...], Field(max_length=MAXIMUM_POSTS)
    ] = ()
    """One height for each post of the right side, or none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Structure:
    """The tunnel as it stands or will stand."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    bays: Annotated[int, WholeField(1, MAXIMUM_POSTS - 1)] | None = None
    """Number of equal bays; goes with bay_spacing."""
    bay_spacing: _Bay | None = None
    """From post centre to post centre; goes with bays."""
    stations: Annotated[tuple[_Station, ...], Field(min_length=2, max_length=MAXIMUM_POSTS)] | None = None
    """Post centres from the first post, increasing; instead of bays and bay_spacing."""
    width: Annotated[int, LengthField(METRE, 60 * METRE)] | None = None
    """Width of the tunnel; checks on floor area are not assessed without it."""
    sides: Annotated[tuple[SideName, ...], Field(min_length=1, max_length=2)] = ("left", "right")
    """Sides that get a wall, seen from outside the front end wall."""
    post: Post = field(default_factory=Post)
    """The ground posts."""
    bow: Bow = field(default_factory=Bow)
    """The bows."""
    end_walls: EndWalls = field(default_factory=EndWalls)
    """The end walls; film by default."""
    roll_up_sides: Flag = True
    """Whether curtains roll up above the wall."""
    hip_height: Annotated[int, LengthField(300 * MILLIMETRE, 4 * METRE)] = 5 * FOOT
    """Underside of the hip rail above grade. Default 5 ft."""
    openings: Annotated[tuple[Opening, ...], Field(max_length=40)] = ()
    """Openings through the side walls."""
    ground_heights: GroundHeights = field(default_factory=GroundHeights)
    """Ground at the posts; the foot's gap is not assessed without it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SideOverride:
    """Heights of one side where they differ."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    height: _Height | None = None
    """Panel height of this side."""
    bury_depth: _Small | None = None
    """Depth of the panel's foot below grade on this side."""
    top_above_post: Annotated[int, LengthField(-2 * METRE, 2 * METRE)] | None = None
    """Top of the panel above the post's top on this side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SideOverrides:
    """Heights by side where the sides differ."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    left: SideOverride = field(default_factory=SideOverride)
    """The left side."""
    right: SideOverride = field(default_factory=SideOverride)
    """The right side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """The wall that is wanted."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    panel_thickness: Annotated[int, LengthField(4 * MILLIMETRE, 40 * MILLIMETRE)]
    """Thickness of the multiwall sheet, such as 8 mm."""
    height: _Height | None = None
    """Panel height from foot to top. Default 24 in, in metric plans 600 mm; or computed from top_above_post."""
    top_above_post: Annotated[int, LengthField(-2 * METRE, 2 * METRE)] | None = None
    """Top of the panel above the post's top; height is then computed."""
    bury_depth: _Small = 0
    """Depth of the panel's foot below grade; needs a trench. Default 0."""
    flutes: Literal["along", "upright"] = "along"
    """Direction of the flutes: along the wall, or upright."""
    baseboard_face: Annotated[int, LengthField(50 * MILLIMETRE, 400 * MILLIMETRE)] | None = None
    """Face height of the baseboard. Default 6 in (150 mm), the nearest that the catalog stocks."""
    end_cover: _Small = 0
    """How far an end panel runs past the end post's centre, up to half the post's width. Default 0."""
    joint_profile_extent: Literal["above_baseboard", "full_height"] = "above_baseboard"
    """Whether joint profiles stand on the baseboard or run from the panel's foot."""
    per_side: SideOverrides = field(default_factory=SideOverrides)
    """Heights that differ by side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RopeHooks:
    """Hooks for the anti-billow rope."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    spacing: Annotated[int, LengthField(150 * MILLIMETRE, 12 * FOOT + 3 * MILLIMETRE)]
    """Greatest distance between hooks within a bay."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trench:
    """A trench along the wall."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    width: Annotated[int, LengthField(50 * MILLIMETRE, METRE)] = 8 * INCH
    """Width of the trench. Default 8 in."""
    depth: Annotated[int, LengthField(20 * MILLIMETRE, 1500 * MILLIMETRE)] = FOOT
    """Depth of the trench. Default 12 in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What else is wanted."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    existing_tunnel: Flag = False
    """Whether the wall goes on a tunnel that already stands."""
    lay_from: Literal["front", "back"] = "front"
    """The end that is laid first; it decides which way board laps face."""
    wind_flaps: Annotated[tuple[Corner, ...], Field(max_length=4)] = ()
    """Corners that get a fixed film flap over the end bay."""
    rope_hooks: RopeHooks | Literal["auto"] | None = "auto"
    """Null for none; "auto" gives one in each bay where the sides roll up."""
    trench: Trench | None = None
    """A trench along the wall, or none."""
    longest_stock: Annotated[int, LengthField(METRE, 15 * METRE)] | None = None
    """Longest sheet or stick that may be bought, for what a truck can bring; any that is stocked by default."""
    sections: Annotated[tuple[Sku, ...], Field(max_length=20)] = ()
    """Items whose cross-section is taken where the catalog lists several that would serve, such as a two-piece joint profile:
    one sku for each role. The first that the catalog lists by default."""
    whole_sheets: Flag = False
    """Whether sheets stay uncut where their joints may drift on the posts; joints are centred by default."""
    spares_percent: Annotated[int, WholeField(0, 50)] | None = None
    """Spare screws, washers, hook sets and tape. Default 10 percent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wind:
    """What the wind check is made for."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    basic_speed: _WindSpeed
    """Basic wind speed of the standard named, as a text with its unit ("115 mph") or a number [m/s]"""
    standard: Literal["ASCE 7-16", "ASCE 7-22", "EN 1991-1-4"] = "ASCE 7-22"
    """The standard whose speed this is."""
    exposure: Literal["B", "C", "D"] = "C"
    """ASCE 7 exposure category."""
    terrain: Literal["0", "I", "II", "III", "IV"] = "II"
    """EN 1991-1-4 terrain category."""
    enclosure: Literal["enclosed", "partially_enclosed", "open"] = "partially_enclosed"
    """Enclosure: a dominant opening, such as a curtain stuck open, makes it partially enclosed; one with two sides more
    than 30 percent open is open and not assessed."""
    topographic_factor: Annotated[float, NumberField(1, 3)] = 1.0
    """Kzt, or the square of the orography factor [-]"""
    ground_elevation: Annotated[int, LengthField(0, 5000 * METRE)] = 0
    """Ground above sea level."""
    roof_height: Annotated[int, LengthField(METRE, 15 * METRE)] = 15 * FOOT
    """Mean height of the tunnel's roof above grade. Default 15 ft, below which ASCE 7 knows no less wind."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """Temperatures of the sheet and what the weather asks."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    install_temperature_c: _Temperature = 15.0
    """Sheet temperature when it is fitted, as a number or a text with its unit ("60 degF") [degC]"""
    lowest_temperature_c: _Temperature = -25.0
    """Lowest sheet temperature [degC]"""
    highest_temperature_c: _Temperature = 50.0
    """Highest sheet temperature [degC]"""
    wind: Wind | None = None
    """The wind check is not assessed without it."""
    design_heat_difference_c: Annotated[float, MeasureField(1, 80, DIFFERENCES)] | None = None
    """Inside less outside design temperature of a heated tunnel, as a number or a text with its unit ("60 degF"); none for
    an unheated one [K]"""
    curtain_film: Literal["single", "double"] = "single"
    """The film that the wall replaces, for the heat comparison."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnHand:
    """Stock that the customer already has; it costs nothing."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    sku: Sku
    """The catalog item that it is a piece of."""
    length: Annotated[int, LengthField(50 * MILLIMETRE, 15 * METRE)]
    """Its length."""
    height: Annotated[int, LengthField(50 * MILLIMETRE, 3 * METRE)] | None = None
    """Its height across the flutes, for pieces of sheet; the sheet's full width by default."""
    count: Annotated[int, WholeField(1, 500)] = 1
    """How many there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowances:
    """What a joint and a cut are worth, where the catalog's own allowances do not serve."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    joint: Amount | None = None
    """Parts and work of one panel joint."""
    metal_joint: Amount | None = None
    """Work of one lap or joint in metal."""
    cut: Amount | None = None
    """Work of one crosscut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pricing:
    """Whose prices count, on which day."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    tier: Identifier | None = None
    """A tier of the catalog; list prices without one."""
    date: Day | None = None
    """The day that the tier must be valid on; needed with a tier."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spec:
    """A structure spec: everything that a plan is made from, besides the catalog."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    structure: Structure
    """The tunnel."""
    wall: Wall
    """The wall."""
    reference: ShortText = ""
    """The customer's own words; no part of the plan's identity."""
    display_units: DisplayUnits = "imperial"
    """Units of texts for people; cut lengths are rounded down to 1/16 in or 1 mm, so this can change a plan."""
    options: Options = field(default_factory=Options)
    """What else is wanted."""
    site: Site = field(default_factory=Site)
    """Temperatures and wind."""
    on_hand: Annotated[tuple[OnHand, ...], Field(max_length=50)] = ()
    """Stock that the customer already has."""
    allowances: Allowances = field(default_factory=Allowances)
    """What a joint and a cut are worth."""
    pricing: Pricing = field(default_factory=Pricing)
    """Whose prices count."""
    catalog: Identifier = "demo"
    """The dealer's catalog to plan from."""
    catalog_revision: Annotated[str, Field(strict=True, pattern=r"^r-[0-9a-f]{32}$")] | None = None
    """A revision of that catalog to pin; the active one by default."""
