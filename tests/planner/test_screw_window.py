"""Which screw is chosen, and the window it is chosen by.

Sources
-------
Drill point lengths (No.10-3 0.300 in, No.12-3 0.353 in) and threads (16 and 14 to the inch): SAE J78 and
ASME B18.6.4, from a secondary reprint. Three threads beyond the metal: practice for cold-formed steel, secondary.
A quarter of an inch off the far wall: common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.planner.asked.catalog import Catalog, index
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.parts import Screw
from service.planner.engineering.hardware import screw_diameter
from service.planner.errors import NoSuchItem
from service.planner.fastening.window import Choice, Chooser, capacity, screw_of, tail
from service.planner.messages import say
from service.planner.rules import FASTENING, FasteningRule, Place
from service.planner.units import INCH
from service.planner.wall.layout import Layer
from tests.planner.asking import english
from tests.planner.scenarios import Document, demo_catalog, demo_document, example_a_document, without_items

THOUSANDTH = INCH // 1000
LONGEST_STOCKED = 3 * INCH
"""The demo dealer's longest screw."""


def _layers(**thousandths: int) -> tuple[Layer, ...]:
    """Write layers with their thicknesses in thousandths of an inch."""
    return tuple(Layer(part=part, thickness=size * THOUSANDTH) for part, size in thousandths.items())


def _chooser(catalog: Catalog, fastening: Mapping[Place, FasteningRule]) -> Chooser:
    """Choose for imperial drills."""
    return Chooser(catalog, fastening, "imperial")


def _choose(catalog: Catalog, place: Place, layers: tuple[Layer, ...], room: int) -> Choice:
    """Choose one screw by the table of common practice."""
    return _chooser(catalog, FASTENING).choose(place, layers, room, 5 * INCH // 8)


def _screw(**fields: int | str) -> Document:
    """Write a screw."""
    part = {"role": "screw", "number": 10, "head": "pan", "drive": "square", "point": 3} | fields
    name = f"{part['number']}-{part['length']}-{part['point']}".replace(" ", "").replace("/", "-")
    return {"sku": f"S-{name}", "description": "screw", "price": "1.00", "mass_kg": 0.01, "part": part}


def _with_channel_screws(*screws: Document) -> Catalog:
    """Take the hand-solved tunnel's stock with other square-drive screws."""
    document = without_items(example_a_document(), "pan-square-short")
    return read_catalog({**document, "items": [*document["items"], *screws]})


def test_an_inch_and_a_half_goes_through_a_lap_and_eight_millimetre_sheet_into_a_post() -> None:
    """Window of a lap: 0.514 + 3/16 + 0.300 = 1.0015 in to 0.514 + 1.71 - 0.25 = 1.974 in."""
    # two 18 ga boards of 0.052, 8 mm = 0.315 in, a post of 1.9 in with 0.095 wall: inside 1.71 in
    layers = (*_layers(baseboard=52), *_layers(baseboard=52), *_layers(panel=315, post=95))
    choice = _choose(demo_catalog(), "board_upper", layers, (1710 - 250) * THOUSANDTH)
    assert choice.shortest == pytest.approx(1.0015 * INCH, abs=THOUSANDTH // 10)
    assert choice.longest == pytest.approx(1.974 * INCH, abs=THOUSANDTH // 10)
    assert screw_of(choice.screw).length == 3 * INCH // 2
    assert choice.fits
    assert choice.washer is None


def test_a_washer_counts_under_the_head_but_not_as_a_layer() -> None:
    """Sheet on a post with a 0.10 in washer: 0.410 + 0.100 + 0.1875 + 0.300 = 0.9975 in."""
    choice = _choose(demo_catalog(), "field", _layers(panel=315, post=95), 1460 * THOUSANDTH)
    assert choice.shortest == pytest.approx(0.9975 * INCH, abs=THOUSANDTH // 10)
    assert choice.longest == pytest.approx(1.870 * INCH, abs=THOUSANDTH // 10)
    assert choice.washer is not None
    assert choice.washer.sku == "WS-058"


def test_a_thicker_sandwich_takes_the_shortest_length_that_reaches() -> None:
    """A grip of 1.2 in needs 1.2 + 0.4875 = 1.6875 in: 1 3/4 in is the shortest stocked that does."""
    choice = _choose(
        demo_catalog(), "batten", _layers(film_channel=50, set_back=1055, post=95), 1460 * THOUSANDTH
    )
    assert screw_of(choice.screw).length == 7 * INCH // 4
    assert choice.fits


def test_a_narrow_post_takes_a_shorter_screw_than_the_table() -> None:
    """Grip 0.410 in, room 0.7 in: at most 1.110 in, so the table's 1-1/2 in would reach the far wall."""
    choice = _choose(demo_catalog(), "board_upper", _layers(panel=315, post=95), 700 * THOUSANDTH)
    assert screw_of(choice.screw).length == INCH
    assert choice.fits


def test_where_nothing_lies_in_the_window_the_nearest_is_taken_and_said_not_to_fit() -> None:
    """A grip of 4 in is past every screw stocked; the longest comes nearest."""
    choice = _choose(demo_catalog(), "board_upper", _layers(panel=4000), INCH)
    assert screw_of(choice.screw).length == LONGEST_STOCKED
    assert not choice.fits


def test_a_point_that_drills_the_metal_comes_before_the_table_length() -> None:
    """A point 2 of 3/4 in would reach through 0.285 in, but drills 0.100 in of metal at most, not 0.165."""
    layers = _layers(top_channel=50, splice_plate=50, stand_off=120, bow=65)
    short, long = _screw(length="3/4 in", point=2), _screw(length="1 in")
    choice = _choose(_with_channel_screws(short, long), "top_channel", layers, 1280 * THOUSANDTH)
    assert choice.screw.sku == long["sku"]
    # point 2: 0.285 + 0.1875 + 0.235 = 0.7075 in; with nothing else to choose it is taken
    choice = _choose(_with_channel_screws(short), "top_channel", layers, 1280 * THOUSANDTH)
    assert choice.screw.sku == short["sku"]
    assert choice.fits


def test_where_no_point_drills_all_the_metal_the_one_that_drills_most_of_it_comes_first() -> None:
    """Nested bow: 0.263 in of metal; a point 2 drills 0.100 in of it, a point 3 0.173 in."""
    layers = _layers(top_channel=50, splice_plate=50, post=98, bow=65)
    # point 2: 0.263 + 0.1875 + 0.235 = 0.6855 in lets the table's 3/4 in serve; point 3: 0.7505 in asks for 1 in
    short, long = _screw(length="3/4 in", point=2), _screw(length="1 in")
    choice = _choose(_with_channel_screws(short, long), "top_channel", layers, 1280 * THOUSANDTH)
    assert choice.screw.sku == long["sku"]


@pytest.mark.parametrize(
    ("number", "point", "expected"),
    [
        # point length and three threads: SAE J78 / ASME B18.6.4, secondary reprint
        (10, 3, 0.300 + 3 / 16),
        (10, 2, 0.235 + 3 / 16),
        (12, 3, 0.353 + 3 / 14),
        (14, 3, 0.393 + 3 / 14),
        # beyond the reprint: a tenth of an inch for each point number (judgement)
        (12, 5, 0.353 + 0.2 + 3 / 14),
    ],
)
def test_a_screw_stands_out_by_its_point_and_three_threads(number: int, point: int, expected: float) -> None:
    """What stands beyond the near wall at least."""
    screw = Screw(role="screw", number=number, length=INCH, head="pan", drive="cross", point=point)
    assert tail(screw) == pytest.approx(expected * INCH, abs=2)


def test_capacity_and_diameter_come_from_the_standards() -> None:
    """SAE J78 (secondary): No.10 point 3 drills 0.175 in. Diameter: 0.060 + 0.013 x 10 = 0.190 in, ASME B18.6.3."""
    # ISO 15480 says 4.4 mm = 0.1732 in for the same size: the lesser counts
    assert capacity(10, 3) == pytest.approx(4.4e6, abs=1)
    # no source states what a No.10 point 5 drills: an inch, so that the point never decides
    assert capacity(10, 5) == INCH
    assert screw_diameter(10) == pytest.approx(0.190 * INCH, abs=1)
    assert screw_diameter(12) == pytest.approx(0.216 * INCH, abs=1)


def test_a_screw_or_washer_that_the_catalog_lacks_is_named() -> None:
    """No screw of that number, head and drive at all, or no washer where the table wants one."""
    with pytest.raises(NoSuchItem, match="has no screw") as refused:
        _chooser(demo_catalog(), {"field": _rule(number=6)}).choose("field", _layers(panel=315), INCH)
    assert "number 6, head pan, drive cross" in english(refused.value.detail)
    bare = demo_document()
    bare["items"] = [item for item in bare["items"] if item["part"]["role"] != "washer"]
    with pytest.raises(NoSuchItem, match="no sealing washer"):
        _choose(_unchecked(bare), "field", _layers(panel=315, post=95), INCH)


def _rule(number: int) -> FasteningRule:
    """Write a row for field screws of another number."""
    return FasteningRule(
        place="field",
        number=number,
        length=INCH,
        head="pan",
        drive="cross",
        washer=False,
        why=say("why.test", "a test"),
    )


def _unchecked(document: Document) -> Catalog:
    """Index a catalog from the demo's items without its washers."""
    kept = {item["sku"] for item in document["items"]}
    whole = demo_catalog().document
    return index(replace(whole, items=tuple(item for item in whole.items if item.sku in kept)))


@given(
    place=st.sampled_from(sorted(FASTENING)),
    sheet=st.integers(0, 2500),
    wall=st.integers(20, 250),
    room=st.integers(0, 3000),
)
def test_the_choice_agrees_with_a_search_of_every_screw(
    place: Place, sheet: int, wall: int, room: int
) -> None:
    """In the window if any is; the table's length if it is; no shorter one that drills as well is passed over."""
    rule, layers = FASTENING[place], _layers(panel=sheet, post=wall)
    choice = _choose(demo_catalog(), place, layers, room * THOUSANDTH)
    screw = screw_of(choice.screw)
    assert (screw.number, screw.head, screw.drive) == (rule.number, rule.head, rule.drive)
    grip = (sheet + wall) * THOUSANDTH
    washer = INCH // 10 if rule.washer else 0
    # the No.10 points of the reprint: 0.300 and 0.235 in; three threads 3/16 in
    points = {3: 300 * THOUSANDTH, 2: 235 * THOUSANDTH}
    usable = [
        (other.length, other.point)
        for item in demo_catalog().by_role["screw"]
        if (other := screw_of(item)).number == rule.number
        and (other.head, other.drive) == (rule.head, rule.drive)
        and grip + washer + points[other.point] + 3 * INCH // 16 <= other.length <= grip + room * THOUSANDTH
    ]
    assert choice.fits == bool(usable)
    if usable:
        # SAE J78, ISO 15480 (secondary): point 2 drills 0.100 in, point 3 4.4 mm
        drills = {2: INCH // 10, 3: 4_400_000}
        undrilled = {use: max(wall * THOUSANDTH - drills[use[1]], 0) for use in usable}
        able = [use for use in usable if undrilled[use] == min(undrilled.values())]
        lengths = {length for length, _ in able}
        assert screw.length == (rule.length if rule.length in lengths else min(lengths))


@pytest.mark.parametrize(
    ("needed", "sku", "slot"),
    [
        # 5/8 and 1 in are stocked; what must be covered, in 16ths of an inch
        (10, "WS-058", False),
        (11, "WS-100", False),
        (16, "WS-100", False),
        (17, "WS-100", True),
    ],
)
def test_the_smallest_washer_that_covers_the_hole_is_taken(needed: int, sku: str, *, slot: bool) -> None:
    """Whatever the order of the catalog; where none covers the hole becomes a slot (common practice, no source)."""
    items = sorted(demo_document()["items"], key=lambda item: item["sku"], reverse=True)
    catalog = read_catalog({**demo_document(), "items": items})
    chooser = _chooser(catalog, FASTENING)
    choice = chooser.choose("field", _layers(panel=315, post=95), 1460 * THOUSANDTH, needed * INCH // 16)
    assert choice.washer is not None
    assert (choice.washer.sku, choice.slot) == (sku, slot)


def test_a_joint_profiles_screws_pass_no_hole_and_keep_the_default_washer() -> None:
    """They pass the gap between two panels."""
    layers = _layers(joint_profile=60, gap=315, post=95)
    choice = _chooser(demo_catalog(), FASTENING).choose("joint_profile", layers, 1460 * THOUSANDTH, INCH)
    assert choice.washer is not None
    assert (choice.washer.sku, choice.slot) == ("WS-058", False)
