"""Requests for property tests: the whole spec space, sizes friendly and not."""

from typing import Any

from hypothesis import strategies as st

Body = dict[str, Any]


def sixteenths(least: int, most: int) -> st.SearchStrategy[str]:
    """Give lengths in sixteenths of an inch between two whole inches, as text."""
    return st.integers(least * 16, most * 16).map(lambda n: f"{n // 16} {n % 16}/16 in")


BAYS = st.sampled_from(["36 in", "4 ft", "5 ft", "6 ft", "1.5 m", "2 m", "51 3/16 in"])
EQUAL = st.fixed_dictionaries({"bays": st.integers(1, 14), "bay_spacing": BAYS})


@st.composite
def stations(draw: st.DrawFn) -> Body:
    """Draw unequal stations."""
    spans = draw(st.lists(st.integers(300, 1900), min_size=1, max_size=10))
    return {"stations": [sum(spans[:number]) for number in range(len(spans) + 1)]}


OPENING = st.fixed_dictionaries(
    {
        "side": st.sampled_from(["left", "right"]),
        "offset": st.integers(0, 12_000),
        "width": st.integers(300, 1500),
    }
)
FRAME = st.fixed_dictionaries(
    {},
    optional={
        "sides": st.sampled_from([["left"], ["right"], ["left", "right"]]),
        "post": st.fixed_dictionaries(
            {},
            optional={
                "shape": st.sampled_from(["round", "square"]),
                "width": st.sampled_from(["1.66 in", "1.9 in", "2.375 in", "60 mm"]),
                "wall_thickness": st.sampled_from(["0.065 in", "0.095 in", "2 mm"]),
                "height_above_grade": st.sampled_from(["20 in", "48 in", "400 mm"]),
            },
        ),
        "bow": st.sampled_from(
            [{}, {"nest_depth": "6 in"}, {"profile": "curved", "radius": "15 ft"}, {"width": "1.9 in"}]
        ),
        "end_walls": st.fixed_dictionaries(
            {"front": st.sampled_from(["film", "polycarbonate", "open"]), "back": st.sampled_from(["film", "polycarbonate", "open"])}
        ),
        "roll_up_sides": st.booleans(),
        "width": st.just("28 ft"),
        "openings": st.lists(OPENING, max_size=2),
    },
)  # fmt: skip
WALL = st.fixed_dictionaries(
    {"panel_thickness": st.sampled_from([6, 8, 10, 16])},
    optional={
        "height": st.one_of(sixteenths(14, 40), st.integers(400, 1000)),
        "flutes": st.sampled_from(["along", "along", "upright"]),
        "end_cover": st.sampled_from(["0", "1/2 in"]),
        "joint_profile_extent": st.sampled_from(["above_baseboard", "full_height"]),
        "per_side": st.sampled_from([{}, {"right": {"height": "35 in"}}, {"left": {"height": 500}}]),
    },
)
OPTIONS = st.fixed_dictionaries(
    {},
    optional={
        "existing_tunnel": st.booleans(),
        "lay_from": st.sampled_from(["front", "back"]),
        "wind_flaps": st.sampled_from([[], ["left-front"], ["left-front", "left-back"], ["right-back"]]),
        "rope_hooks": st.sampled_from([None, "auto", {"spacing": "2 ft"}]),
        "trench": st.sampled_from([None, {}]),
        "spares_percent": st.integers(0, 50),
    },
)
SITE = st.fixed_dictionaries(
    {},
    optional={
        "install_temperature_c": st.integers(0, 30),
        "lowest_temperature_c": st.integers(-40, 0),
        "highest_temperature_c": st.integers(30, 70),
    },
)
ON_HAND = st.lists(
    st.sampled_from(
        [
            {"sku": "BB06-12L", "length": "10 ft", "count": 2},
            {"sku": "PC08-48x144", "length": "9 ft", "height": "24 in", "count": 3},
            {"sku": "TC08-12FT", "length": "60 in"},
        ]
    ),
    max_size=2,
)


@st.composite
def requests(draw: st.DrawFn) -> Body:
    """Draw a request."""
    structure = draw(st.one_of(EQUAL, stations())) | draw(FRAME)
    return {
        "structure": structure,
        "wall": draw(WALL),
        "display_units": draw(st.sampled_from(["imperial", "metric"])),
        "options": draw(OPTIONS),
        "site": draw(SITE),
        "on_hand": draw(ON_HAND),
    }


_ABOVE = st.sampled_from(["-12 in", "-3 in", "0", "3 in", "5 in", "17 in", "40 in", "70 in", "130 mm"])
_HEIGHT = st.one_of(sixteenths(6, 90), st.sampled_from(["24 in", "47 7/8 in", 590, 2300]))
_BURY = st.sampled_from(["0", "2 in", "4 in", "100 mm"])
_ONE_SIDE = st.fixed_dictionaries(
    {}, optional={"height": _HEIGHT, "top_above_post": _ABOVE, "bury_depth": _BURY}
)


@st.composite
def heights(draw: st.DrawFn) -> Body:
    """Draw the fields that set a wall's heights in every combination, most of which leave something to advise."""
    asked: Body = draw(
        st.fixed_dictionaries({}, optional={"height": _HEIGHT, "top_above_post": _ABOVE, "bury_depth": _BURY})
    )
    if "height" in asked and "top_above_post" in asked and draw(st.booleans()):
        # two that agree on the usual post
        asked |= draw(st.sampled_from([{"height": "23 in", "top_above_post": "3 in", "bury_depth": "0"}]))
    sides = draw(st.dictionaries(st.sampled_from(["left", "right"]), _ONE_SIDE, max_size=2))
    return asked | {"per_side": sides}
