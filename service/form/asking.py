"""What the form asks, in which order and in which words: one table.

Rules of this file
------------------
- A question is a field of the spec, named by its pointer; what the field may hold is the model's business.
- The first group is open and is enough for a price; the others are folded, and every question in them has a default.
- Words are those of somebody who stands beside the tunnel with a tape measure.
"""

from collections.abc import Callable
from typing import Any, Final, Literal

from service.form.stock import Stocked, board_faces, stock_lengths, thicknesses
from service.planner.asked.catalog import Catalog
from service.planner.messages import Message, say
from service.planner.records import record

Kind = Literal["count", "length", "measure", "choice", "flag", "list"]
"""How a question is answered: a whole number, a length or another measure with its unit, one of some options, yes or no,
a list of entries"""


@record
class Option:
    """One answer to choose."""

    value: Any
    """What is sent"""
    label: Message
    """What it is called"""


@record
class When:
    """When a question matters: another one has one of these answers."""

    pointer: str
    """The other question"""
    values: tuple[Any, ...]
    """The answers that make this one matter"""


@record
class Question:
    """One question."""

    pointer: str
    """RFC 6901 pointer to the field of the spec; within a list relative to the entry"""
    kind: Kind
    """How it is answered"""
    label: Message
    """The question in a few words"""
    help: Message | None = None
    """What to measure, or what it is for"""
    options: tuple[Option, ...] = ()
    """The answers, where they are always the same"""
    stocked: Callable[[Catalog], tuple[Stocked, ...]] | None = None
    """The answers that the catalog offers"""
    limit: str | None = None
    """The rule that its default stands in, where that follows the display units"""
    needed: bool = False
    """Whether there is no plan without it"""
    start: Any = None
    """The answer that it begins with, where the spec has no default"""
    example: tuple[str, str] = ("", "")
    """Something that could be typed, imperial and metric"""
    when: When | None = None
    """When it matters; always by default"""
    picture: str | None = None
    """Names the part of the sketch that shows what to measure"""
    entries: tuple["Question", ...] = ()
    """What is asked of each entry of a list"""


@record
class Group:
    """Questions that belong together."""

    name: str
    """Names the group for programs"""
    title: Message
    """Its heading"""
    questions: tuple[Question, ...]
    """In order"""


_SIDE: Final = (
    Option(value="left", label=say("form.side.left", "Left side")),
    Option(value="right", label=say("form.side.right", "Right side")),
)
_END_WALLS: Final = (
    Option(value="film", label=say("form.end_wall.film", "Film")),
    Option(value="polycarbonate", label=say("form.end_wall.polycarbonate", "Rigid sheet")),
    Option(value="open", label=say("form.end_wall.open", "Open")),
)
_CORNERS: Final = ("left-front", "left-back", "right-front", "right-back")

FIRST: Final = Group(
    name="first",
    title=say("form.group.first", "Your tunnel and its wall"),
    questions=(
        Question(
            pointer="/structure/bays",
            picture="bays",
            kind="count",
            label=say("form.bays", "Number of bays along one side"),
            help=say(
                "form.bays.help",
                "A bay is the space between two posts: count the posts of one side and take one off.",
            ),
            needed=True,
            example=("12", "12"),
        ),
        Question(
            pointer="/structure/bay_spacing",
            picture="bay_spacing",
            kind="length",
            label=say("form.bay_spacing", "Distance from post to post"),
            help=say(
                "form.bay_spacing.help", "Measured from the middle of one post to the middle of the next."
            ),
            needed=True,
            example=("4 ft", "1.2 m"),
        ),
        Question(
            pointer="/structure/sides",
            kind="choice",
            label=say("form.sides", "Sides that get a wall"),
            help=say("form.sides.help", "Left and right as you see them from outside, facing the front end."),
            options=(
                Option(value=("left", "right"), label=say("form.sides.both", "Both sides")),
                Option(value=("left",), label=say("form.sides.left", "Left side only")),
                Option(value=("right",), label=say("form.sides.right", "Right side only")),
            ),
        ),
        Question(
            pointer="/wall/height",
            picture="height",
            kind="length",
            label=say("form.height", "Height of the panels"),
            help=say("form.height.help", "From the foot of the panel to its top."),
            limit="wall_height",
        ),
        Question(
            pointer="/wall/panel_thickness",
            kind="choice",
            label=say("form.thickness", "Thickness of the sheet"),
            help=say("form.thickness.help", "Thicker sheet spans wider bays and keeps more heat in."),
            stocked=thicknesses,
            needed=True,
            start="8 mm",
        ),
        Question(
            pointer="/structure/post/height_above_grade",
            picture="post_height",
            kind="length",
            label=say("form.post_height", "How far the posts stand out of the ground"),
            help=say(
                "form.post_height.help",
                "From the ground to the top of the ground post, where the bow begins.",
            ),
        ),
    ),
)

TUNNEL: Final = Group(
    name="tunnel",
    title=say("form.group.tunnel", "More about the tunnel"),
    questions=(
        Question(
            pointer="/options/existing_tunnel",
            kind="flag",
            label=say("form.existing", "The tunnel already stands"),
            help=say(
                "form.existing.help", "Adds the steps that an older tunnel needs before the wall goes on."
            ),
        ),
        Question(
            pointer="/structure/width",
            kind="length",
            label=say("form.width", "Width of the tunnel"),
            help=say(
                "form.width.help",
                "Lets us check that the curtains still give enough air. Leave it empty if you do not know.",
            ),
            example=("30 ft", "9 m"),
        ),
        Question(
            pointer="/structure/post/shape",
            kind="choice",
            label=say("form.post_shape", "Shape of the ground posts"),
            options=(
                Option(value="round", label=say("form.post_shape.round", "Round tube")),
                Option(value="square", label=say("form.post_shape.square", "Square tube")),
            ),
        ),
        Question(
            pointer="/structure/post/width",
            kind="length",
            label=say("form.post_width", "Outside width of the ground posts"),
            help=say(
                "form.post_width.help", "The outside diameter of a round post, the face of a square one."
            ),
        ),
        Question(
            pointer="/structure/bow/width",
            kind="length",
            label=say("form.bow_width", "Outside width of the bows"),
        ),
        Question(
            pointer="/structure/bow/profile",
            kind="choice",
            label=say("form.bow_profile", "The bow above the post"),
            options=(
                Option(value="straight", label=say("form.bow_profile.straight", "Goes up straight")),
                Option(value="curved", label=say("form.bow_profile.curved", "Curves at once")),
            ),
        ),
        Question(
            pointer="/structure/bow/radius",
            kind="length",
            label=say("form.bow_radius", "Radius of the bow"),
            help=say("form.bow_radius.help", "Half the width of a tunnel whose bows are half circles."),
            example=("15 ft", "4.5 m"),
            when=When(pointer="/structure/bow/profile", values=("curved",)),
        ),
        Question(
            pointer="/structure/end_walls/front",
            kind="choice",
            label=say("form.end_wall_front", "End wall in front"),
            options=_END_WALLS,
        ),
        Question(
            pointer="/structure/end_walls/back",
            kind="choice",
            label=say("form.end_wall_back", "End wall at the back"),
            options=_END_WALLS,
        ),
        Question(
            pointer="/structure/roll_up_sides",
            kind="flag",
            label=say("form.roll_up", "The sides roll up above the wall"),
        ),
        Question(
            pointer="/structure/hip_height",
            picture="hip_height",
            kind="length",
            label=say("form.hip_height", "Height of the hip rail"),
            help=say(
                "form.hip_height.help",
                "From the ground to the underside of the rail that the side curtain hangs from.",
            ),
        ),
    ),
)

OPENINGS: Final = Group(
    name="openings",
    title=say("form.group.openings", "Doors through the side walls"),
    questions=(
        Question(
            pointer="/structure/openings",
            kind="list",
            label=say("form.openings", "Door"),
            help=say(
                "form.openings.help",
                "Only doors and passages in the long sides; those in the end walls do not matter here.",
            ),
            entries=(
                Question(
                    pointer="/side",
                    kind="choice",
                    label=say("form.opening_side", "Side of the door"),
                    options=_SIDE,
                    needed=True,
                    start="left",
                ),
                Question(
                    pointer="/offset",
                    picture="opening_offset",
                    kind="length",
                    label=say("form.opening_offset", "Where the door begins"),
                    help=say(
                        "form.opening_offset.help",
                        "From the middle of the first post in front to the door's near edge.",
                    ),
                    needed=True,
                    example=("20 ft", "6 m"),
                ),
                Question(
                    pointer="/width",
                    picture="opening",
                    kind="length",
                    label=say("form.opening_width", "Clear width of the door"),
                    needed=True,
                    example=("4 ft", "1.2 m"),
                ),
            ),
        ),
    ),
)

WALL: Final = Group(
    name="wall",
    title=say("form.group.wall", "More about the wall"),
    questions=(
        Question(
            pointer="/wall/baseboard_face",
            kind="choice",
            label=say("form.baseboard", "Height of the baseboard"),
            help=say("form.baseboard.help", "The metal board along the foot of the panels."),
            stocked=board_faces,
        ),
        Question(
            pointer="/wall/flutes",
            kind="choice",
            label=say("form.flutes", "Direction of the sheet's flutes"),
            help=say(
                "form.flutes.help",
                "Upright flutes drain by themselves; along the wall there are fewer joints.",
            ),
            options=(
                Option(value="along", label=say("form.flutes.along", "Along the wall")),
                Option(value="upright", label=say("form.flutes.upright", "Upright")),
            ),
        ),
        Question(
            pointer="/options/trench",
            kind="choice",
            label=say("form.trench", "A trench along the foot"),
            help=say(
                "form.trench.help",
                "Keeps burrowing animals out. Have buried lines marked before anybody digs.",
            ),
            options=(
                Option(value=None, label=say("form.trench.none", "No trench")),
                Option(value={}, label=say("form.trench.usual", "A trench of the usual size")),
            ),
        ),
        Question(
            pointer="/wall/bury_depth",
            kind="length",
            label=say("form.bury_depth", "How deep the panel's foot is buried"),
            when=When(pointer="/options/trench", values=({},)),
        ),
        Question(
            pointer="/options/rope_hooks",
            kind="choice",
            label=say("form.rope_hooks", "Hooks for the rope that holds the curtain"),
            options=(
                Option(
                    value="auto", label=say("form.rope_hooks.auto", "One in each bay where the sides roll up")
                ),
                Option(value=None, label=say("form.rope_hooks.none", "None")),
            ),
        ),
        Question(
            pointer="/options/wind_flaps",
            kind="choice",
            label=say("form.wind_flaps", "Wind flaps: fixed film beside the ends of the curtain"),
            options=(
                Option(value=(), label=say("form.wind_flaps.none", "None")),
                Option(
                    value=("left-front", "right-front"),
                    label=say("form.wind_flaps.front", "At the front corners"),
                ),
                Option(value=_CORNERS, label=say("form.wind_flaps.all", "At all four corners")),
            ),
            when=When(pointer="/structure/sides", values=(("left", "right"),)),
        ),
        Question(
            pointer="/options/longest_stock",
            kind="choice",
            label=say("form.longest_stock", "Longest piece that the truck can bring"),
            stocked=stock_lengths,
        ),
        Question(
            pointer="/options/whole_sheets",
            kind="flag",
            label=say("form.whole_sheets", "Leave sheets uncut where the joints still fall on posts"),
        ),
    ),
)

SITE: Final = Group(
    name="site",
    title=say("form.group.site", "Weather"),
    questions=(
        Question(
            pointer="/site/install_temperature_c",
            kind="measure",
            label=say("form.install_temperature", "Temperature when you fit the panels"),
            help=say(
                "form.install_temperature.help",
                "Sheet grows when it is warm: the gaps at the joints follow from this.",
            ),
        ),
        Question(
            pointer="/site/lowest_temperature_c",
            kind="measure",
            label=say("form.lowest_temperature", "Coldest that it gets"),
        ),
        Question(
            pointer="/site/highest_temperature_c",
            kind="measure",
            label=say("form.highest_temperature", "Hottest that the sheet gets in the sun"),
        ),
        Question(
            pointer="/site/wind/basic_speed",
            kind="measure",
            label=say("form.wind_speed", "Design wind speed of the place"),
            help=say(
                "form.wind_speed.help",
                "From your building office or the wind map of ASCE 7. Leave it empty if you do not know: wind is then not assessed.",
            ),
            example=("115 mph", "51 m/s"),
        ),
    ),
)

GROUPS: Final = (FIRST, TUNNEL, OPENINGS, WALL, SITE)
"""Every group in the order of the form"""
