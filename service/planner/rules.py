"""The planner's numbers: limits with their imperial and metric values, and the fastening rules table.

Rules of this file
------------------
- One row, one number, both unit systems; a dealer's catalog may overwrite any of them by name.
- Values are common practice without a source unless a row says otherwise.
- No logic: what is done with a number stands where it is done.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final, Literal

from service.planner.messages import Message, say
from service.planner.records import record
from service.planner.units import FOOT, INCH, METRE, MILLIMETRE, SIXTEENTH, DisplayUnits

THERMAL_EXPANSION: Final = 65e-6
"""Linear expansion of polycarbonate, EN 16153 type value, from memory [1/K]"""
ROUND_BEARING: Final = 0.34
"""Share of a round post's radius on which a joint or a drill point still sits, R sin 20 deg [-]"""

Place = Literal[
    "board_upper",
    "board_lower",
    "locating",
    "field",
    "joint_profile",
    "top_channel",
    "batten",
    "upright_over_panel",
    "upright_above_panel",
    "jamb_cap",
]
Head = Literal["pan", "hex_washer"]
Drive = Literal["cross", "square", "hex"]


@record
class Limits:
    """The planner's lengths, all [nm]."""

    kerf: int
    """Width of a saw cut in sheet"""
    metal_kerf: int
    """Width of a saw cut in profiles, boards and channels"""
    rip_tolerance: int
    """What a strip's height may lack of the nominal height so that one more comes out of a sheet"""
    least_gap: int
    """Least gap between a panel's end and the joint profile's web"""
    bite: int
    """Least bite of a panel's end in its joint profile at the coldest"""
    careful_bite: int
    """Bite that sheet associations ask for; less is a caution"""
    clear_height: int
    """Least clear height between baseboard and top channel"""
    sliver: int
    """A panel narrower than this is a sliver"""
    wall_height: int
    """Wall height where none is given"""
    board_face: int
    """Baseboard face where none is given"""
    height_agreement: int
    """How far two ways of giving the height may differ"""
    foot_below_line: int
    """How far the panel's foot reaches below the board's lower screw line"""
    jamb_width: int
    """Width of an added jamb stud"""
    opening_snap: int
    """An opening's edge this near to a post's face uses the post as its jamb"""
    edge_of_square: int
    """What a joint keeps from the edge of a square post"""
    channel_gap: int
    """Gap between two pieces of top channel"""
    channel_shift: int
    """How far channel joints lie off the centre of a tube too narrow for a screw beside them"""
    profile_clearance: int
    """What a joint profile or end cap is cut short of the clear height"""
    short_profile: int
    """Under this length a profile takes one screw at mid length"""
    short_clear_height: int
    """Under this clear height there are no field screws"""
    batten_screw_spacing: int
    """Greatest spacing of the screws in battens and uprights"""
    batten_top_screw: int
    """A batten's top screw sits at most this far below the panel's top edge"""
    locating_above_board: int
    """Height of the locating screws above the baseboard"""
    locating_near_field: int
    """A locating screw closer than this to a field screw takes its place"""
    end_post_offset: int
    """Screws on an end post sit this far to the panel's side of its centre"""
    hook_clearance: int
    """Rope hooks keep this far from post centres, lap ends, plates and jambs"""
    hip_clearance: int
    """What the top channel keeps under the hip rail where the sides roll up"""
    tape_lap: int
    """What tape laps over each face of the sheet"""
    tape_extra: int
    """What a length of tape is longer than the edge it closes"""
    hole_oversize: int
    """Least oversize of a hole in the panel over the screw"""
    washer_cover: int
    """What a washer covers beyond its hole all round"""
    moved_cover: int
    """What a washer still covers beyond its hole when the panel has moved as far as it can"""
    curtain_allowance: int
    """What curtain pipe and roll take of the vent opening"""
    packing_allowance: int
    """What packing adds to the longest piece"""
    freight_step: int
    """Packed length past which the carrier's charge asks for a second look; judgement"""
    curtain_lap: int
    """What a curtain laps the wall by"""
    least_curtain_lap: int
    """What a curtain laps the wall by at least"""
    mouse_gap: int
    """Widest gap that keeps mice out, Internet Center for Wildlife Damage Management"""
    rat_gap: int
    """Widest gap that keeps rats out, the same"""
    usual_end_cover: int
    """Cover of a panel's end under its batten at the coldest; less is a caution; judgement"""
    least_end_cover: int
    """Cover below which a panel's end comes loose; judgement"""
    engineer_height: int
    """Wall height above which to ask an engineer; judgement"""
    engineer_bay: int
    """Bay above which to ask an engineer; judgement"""
    engineer_post_wall: int
    """Post wall below which to ask an engineer; judgement"""
    engineer_embedment: int
    """Embedment below which to ask an engineer; judgement"""


_TABLE: Final[dict[str, tuple[int, int]]] = {
    # limit, then its imperial and its metric value
    "kerf":               (INCH // 8,         3 * MILLIMETRE),
    "metal_kerf":         (INCH // 8,         3 * MILLIMETRE),
    "rip_tolerance":      (INCH // 8,         3 * MILLIMETRE),
    "least_gap":          (INCH // 8,         3 * MILLIMETRE),
    "bite":               (INCH // 2,         12 * MILLIMETRE),
    "careful_bite":       (20 * MILLIMETRE,   20 * MILLIMETRE),
    "clear_height":       (3 * INCH,          75 * MILLIMETRE),
    "sliver":             (12 * INCH,         300 * MILLIMETRE),
    "wall_height":        (24 * INCH,         600 * MILLIMETRE),
    "board_face":         (6 * INCH,          150 * MILLIMETRE),
    "height_agreement":   (SIXTEENTH,         3 * MILLIMETRE // 2),
    "foot_below_line":    (INCH // 2,         12 * MILLIMETRE),
    "jamb_width":         (38 * MILLIMETRE,   38 * MILLIMETRE),
    "opening_snap":       (INCH,              25 * MILLIMETRE),
    "edge_of_square":     (INCH // 2,         12 * MILLIMETRE),
    "channel_gap":        (INCH // 8,         3 * MILLIMETRE),
    "channel_shift":      (INCH // 4,         6 * MILLIMETRE),
    "profile_clearance":  (INCH // 8,         3 * MILLIMETRE),
    "short_profile":      (6 * INCH,          150 * MILLIMETRE),
    "short_clear_height": (6 * INCH,          150 * MILLIMETRE),
    "batten_screw_spacing": (12 * INCH,       300 * MILLIMETRE),
    "batten_top_screw":   (INCH,              25 * MILLIMETRE),
    "locating_above_board": (3 * INCH // 2,   40 * MILLIMETRE),
    "locating_near_field": (INCH,             25 * MILLIMETRE),
    "end_post_offset":    (5 * SIXTEENTH,     8 * MILLIMETRE),
    "hook_clearance":     (3 * INCH,          75 * MILLIMETRE),
    "hip_clearance":      (3 * INCH,          75 * MILLIMETRE),
    "tape_lap":           (3 * INCH // 8,     10 * MILLIMETRE),
    "tape_extra":         (INCH,              25 * MILLIMETRE),
    "hole_oversize":      (SIXTEENTH,         3 * MILLIMETRE // 2),
    "washer_cover":       (INCH // 8,         3 * MILLIMETRE),
    "moved_cover":        (SIXTEENTH,         3 * MILLIMETRE // 2),
    "curtain_allowance":  (3 * INCH,          76 * MILLIMETRE),
    "packing_allowance":  (4 * INCH,          100 * MILLIMETRE),
    "freight_step":       (240 * INCH,        240 * INCH),
    "curtain_lap":        (6 * INCH,          6 * INCH),
    "least_curtain_lap":  (4 * INCH,          4 * INCH),
    "mouse_gap":          (INCH // 4,         INCH // 4),
    "rat_gap":            (INCH // 2,         INCH // 2),
    "usual_end_cover":    (INCH // 2,         INCH // 2),
    "least_end_cover":    (INCH // 4,         INCH // 4),
    "engineer_height":    (36 * INCH,         36 * INCH),
    "engineer_bay":       (6 * FOOT,          6 * FOOT),
    "engineer_post_wall": (55 * INCH // 1000, 55 * INCH // 1000),
    "engineer_embedment": (24 * INCH,         24 * INCH),
}  # fmt: skip

LIMITS: Final[Mapping[DisplayUnits, Limits]] = {
    "imperial": Limits(**{name: both[0] for name, both in _TABLE.items()}),
    "metric": Limits(**{name: both[1] for name, both in _TABLE.items()}),
}
LIMIT_NAMES: Final = tuple(_TABLE)
LARGEST_LIMIT: Final = 15 * METRE
"""No limit may be set above this [nm]"""


@record
class FasteningRule:
    """One row of the fastening rules table."""

    place: Place
    """Where the screw goes"""
    number: int
    """Screw number after ASME B18.6.4 [-]"""
    length: int
    """Length that is taken where it lies in the window [nm]"""
    head: Head
    """Pan where film or curtain touches, hex washer where it never does"""
    drive: Drive
    """Drive of the head"""
    washer: bool
    """Whether a sealing washer goes under the head"""
    why: Message
    """The reason, for the crew"""


_LONG: Final = 3 * INCH // 2
_SHORT: Final = 3 * INCH // 4
FASTENING: Final[Mapping[Place, FasteningRule]] = {
    rule.place: rule
    for rule in (
        FasteningRule(
            place="board_upper",
            number=10,
            length=_LONG,
            head="pan",
            drive="cross",
            washer=False,
            why=say("why.board_upper", "film and curtain touch the upper lip, so a low head"),
        ),
        FasteningRule(
            place="board_lower",
            number=10,
            length=_LONG,
            head="hex_washer",
            drive="hex",
            washer=False,
            why=say("why.board_lower", "film never touches the lower lip, so the head that drives best"),
        ),
        FasteningRule(
            place="locating",
            number=10,
            length=_LONG,
            head="pan",
            drive="cross",
            washer=True,
            why=say("why.locating", "holds the panel on its line until board and channel clamp it"),
        ),
        FasteningRule(
            place="field",
            number=10,
            length=_LONG,
            head="pan",
            drive="cross",
            washer=True,
            why=say("why.field", "holds the middle of the panel against suction"),
        ),
        FasteningRule(
            place="joint_profile",
            number=10,
            length=_LONG,
            head="pan",
            drive="cross",
            washer=True,
            why=say("why.joint_profile", "passes between the panel ends, low under the curtain"),
        ),
        FasteningRule(
            place="top_channel",
            number=10,
            length=_SHORT,
            head="pan",
            drive="square",
            washer=False,
            why=say("why.top_channel", "the curtain always passes over the flange"),
        ),
        FasteningRule(
            place="batten",
            number=10,
            length=_LONG,
            head="hex_washer",
            drive="hex",
            washer=False,
            why=say("why.batten", "sits inside the channel where no film rubs"),
        ),
        FasteningRule(
            place="upright_over_panel",
            number=10,
            length=_LONG,
            head="hex_washer",
            drive="hex",
            washer=False,
            why=say("why.upright_over_panel", "sits inside the channel where no film rubs"),
        ),
        FasteningRule(
            place="upright_above_panel",
            number=10,
            length=_SHORT,
            head="hex_washer",
            drive="hex",
            washer=False,
            why=say("why.upright_above_panel", "metal to the bow over a packing strip"),
        ),
        FasteningRule(
            place="jamb_cap",
            number=10,
            length=_LONG,
            head="pan",
            drive="cross",
            washer=True,
            why=say("why.jamb_cap", "holds the panel's end in its cap, low beside the door"),
        ),
    )
}

SPARES_PERCENT: Final = 10
"""Spare screws, washers, bolts sets and tape where nothing else is asked; judgement [%]"""
SPARE_PLATES: Final = 2
"""Spare splice plates; judgement [-]"""

WIDEST_BAY: Final[tuple[tuple[int, int], ...]] = (
    (6 * MILLIMETRE, 4 * FOOT),
    (8 * MILLIMETRE, 5 * FOOT),
    (10 * MILLIMETRE, 6 * FOOT),
    (16 * MILLIMETRE, 8 * FOOT),
)
"""Sheet thickness and the widest bay it is advised for; judgement [nm, nm]"""
FREIGHT_STEPS: Final = (96 * INCH, 144 * INCH, 240 * INCH)
"""Packed lengths at which carriers step their charge, secondary source [nm]"""
VENT_SHARE: Final = 0.15
"""Least vent opening over floor area, from memory [-]"""


def limits_for(units: DisplayUnits, overrides: Mapping[str, int]) -> Limits:
    """The limits in force for display units and a dealer's overrides [nm]."""
    return replace(LIMITS[units], **overrides) if overrides else LIMITS[units]
