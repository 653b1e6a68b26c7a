"""The demo dealer's stock: complete, usable, and as heavy as its sizes say.

Masses are checked against areas and densities, not against the numbers in the file. Densities: polycarbonate
1200 kg/m3 (1200 to 1220 in an encyclopaedia's table), steel 7850 kg/m3 and aluminium 2700 kg/m3 (from memory).
"""

from itertools import pairwise
from math import pi
from typing import TypeVar

import pytest

from service.planner.asked.catalog import Catalog, Item
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.parts import (
    Baseboard,
    CornerCap,
    EndCap,
    FilmChannel,
    JointProfile,
    Part,
    Screw,
    Sheet,
    SplicePlate,
    TopChannel,
    Washer,
)
from service.planner.rules import FASTENING
from service.planner.units import FOOT, INCH, METRE, MILLIMETRE
from tests.planner.scenarios import DEMO_FILE, demo_document

Kind = TypeVar("Kind", bound=Part)
THICKNESSES = (6, 8, 10, 16)
POLYCARBONATE, STEEL, ALUMINIUM = 1200.0, 7850.0, 2700.0  # [kg/m3]
SHEET_MASS = {6: 1.3, 8: 1.5, 10: 1.7, 16: 2.7}
"""Mass of multiwall sheet: 10 and 16 mm after a grower's table of 2001, 6 and 8 mm trade-wide, from memory [kg/m2]"""
U_VALUE = {10: 3.2, 16: 2.4}
"""Thermal transmittance, the same table [W/m2K]"""
POUND_PER_FOOT, POUND_PER_SQUARE_FOOT = 0.45359237 / 0.3048, 0.45359237 / 0.3048**2  # exact


def _metres(length: int) -> float:
    return length / METRE


def _items(demo: Catalog, kind: type[Kind]) -> list[tuple[Item, Kind]]:
    return [(item, item.part) for item in demo.document.items if isinstance(item.part, kind)]


def test_the_file_reads_without_problems() -> None:
    """What is shipped is what the service would accept from a dealer."""
    assert len(read_catalog(DEMO_FILE.read_bytes()).by_sku) == len(demo_document()["items"])


def test_the_catalog_says_that_it_is_invented(demo: Catalog) -> None:
    """Nobody can mistake the stock for a real dealer's."""
    assert "Demo" in demo.document.title
    assert "Invented" in demo.document.note


def test_every_role_is_stocked(demo: Catalog) -> None:
    """Whatever a spec may ask for, rigid ends and openings included, the demo dealer has it."""
    assert [role for role, items in demo.by_role.items() if not items] == []


@pytest.mark.parametrize("kind", [Sheet, JointProfile, TopChannel, EndCap])
def test_every_thickness_is_complete(
    demo: Catalog, kind: type[Sheet | JointProfile | TopChannel | EndCap]
) -> None:
    """6, 8, 10 and 16 mm each have sheets and the profiles that take them, in inch and metric lengths."""
    lengths: dict[int, set[bool]] = {}
    for _, part in _items(demo, kind):
        lengths.setdefault(part.thickness // MILLIMETRE, set()).add(part.length % MILLIMETRE == 0)
    assert {thickness for thickness, kinds in lengths.items() if len(kinds) == 2} == set(THICKNESSES)


def test_the_sheets_come_in_the_trades_widths_and_lengths(demo: Catalog) -> None:
    """Common practice, no source: 48 and 72 in wide from 8 to 16 ft, 1250 and 2100 mm wide of 3 and 4 m."""
    widths = {_millimetres(part.width) for _, part in _items(demo, Sheet)}
    lengths = {_millimetres(part.length) for _, part in _items(demo, Sheet)}
    assert widths == {1219.2, 1828.8, 1250, 2100}
    assert lengths == {2438.4, 3048, 3657.6, 4876.8, 3000, 4000}


def _millimetres(length: int) -> float:
    return length / MILLIMETRE


def test_sheets_weigh_their_area(demo: Catalog) -> None:
    """Mass is area times mass per area, within the file's rounding to 10 g."""
    for item, part in _items(demo, Sheet):
        area = _metres(part.length) * _metres(part.width)
        assert item.mass_kg == pytest.approx(area * SHEET_MASS[part.thickness // MILLIMETRE], abs=0.0051)


def test_sheets_are_mostly_air(demo: Catalog) -> None:
    """Multiwall sheet holds 12 to 18 percent of solid polycarbonate; a point is left for round masses per area."""
    for item, part in _items(demo, Sheet):
        volume = _metres(part.length) * _metres(part.width) * _metres(part.thickness)
        assert 0.11 <= item.mass_kg / (POLYCARBONATE * volume) <= 0.19


def test_thicker_sheets_insulate_better(demo: Catalog) -> None:
    """U falls with the thickness, and is within 10 percent of the table where the table has one."""
    values = {part.thickness // MILLIMETRE: part.u_value for _, part in _items(demo, Sheet) if part.u_value}
    assert all(thin[1] > thick[1] for thin, thick in pairwise(sorted(values.items())))
    assert {thickness: values[thickness] for thickness in U_VALUE} == pytest.approx(U_VALUE, rel=0.10)


def test_boards_weigh_their_blank(demo: Catalog) -> None:
    """A board weighs its face and two lips of 1 in (25 mm) in steel; the file rounds to 10 g."""
    for item, part in _items(demo, Baseboard):
        blank = part.face + (2 * INCH if part.lap == 3 * INCH else 50 * MILLIMETRE)
        mass = STEEL * _metres(blank) * _metres(part.metal) * _metres(part.length)
        assert item.mass_kg == pytest.approx(mass, abs=0.0051)


def test_boards_are_eighteen_gauge(demo: Catalog) -> None:
    """18 gauge galvanised sheet weighs 2.16 lb/ft2, zinc included (gauge weight plus 0.156 lb/ft2, secondary).

    2 percent are left for the zinc, which is lighter than steel, and for a thickness rounded to 0.001 in.
    """
    for item, part in _items(demo, Baseboard):
        if part.lap == 3 * INCH:
            area = _metres(part.face + 2 * INCH) * _metres(part.length)
            assert item.mass_kg / area == pytest.approx(2.16 * POUND_PER_SQUARE_FOOT, rel=0.02)


def test_channels_weigh_their_girth(demo: Catalog) -> None:
    """A top channel is two legs as deep as its slot, a web 1.5 mm wider than the sheet, and its flange."""
    for item, part in _items(demo, TopChannel):
        girth = 2 * part.slot_depth + part.thickness + 3 * MILLIMETRE // 2 + part.flange
        mass = ALUMINIUM * _metres(girth) * _metres(part.metal) * _metres(part.length)
        assert item.mass_kg == pytest.approx(mass, abs=0.0051)


def test_joint_profiles_weigh_their_section(demo: Catalog) -> None:
    """An H of two flanges and a web; plastic, or aluminium in two pieces."""
    for item, part in _items(demo, JointProfile):
        flanges = 2 * _metres(2 * part.reach + part.web) * _metres(part.leg)
        section = flanges + _metres(part.thickness) * _metres(part.web)
        density = ALUMINIUM if part.pieces == "two_piece" else POLYCARBONATE
        assert item.mass_kg == pytest.approx(density * section * _metres(part.length), abs=0.0051)


def test_end_caps_weigh_their_section(demo: Catalog) -> None:
    """A plastic U of two legs of 1 in and a web."""
    for item, part in _items(demo, EndCap):
        section = 2 * _metres(INCH) * _metres(part.leg)
        section += _metres(part.thickness + 2 * part.leg) * _metres(part.web)
        assert item.mass_kg == pytest.approx(POLYCARBONATE * section * _metres(part.length), abs=0.0051)


def test_plastic_joint_profiles_weigh_what_the_trade_says(demo: Catalog) -> None:
    """Common practice, no source: 0.10 to 0.15 lb/ft for thin sheet, to 0.20 for the widest slot and longest reach."""
    for item, part in _items(demo, JointProfile):
        if part.pieces == "one_piece":
            assert 0.10 <= item.mass_kg / _metres(part.length) / POUND_PER_FOOT <= 0.20


def test_film_channel_weighs_its_base_lips_and_wire(demo: Catalog) -> None:
    """Common practice, no source: 0.17 lb/ft of aluminium and 0.08 lb/ft of wire, to 20 percent."""
    for item, part in _items(demo, FilmChannel):
        assert item.mass_kg / _metres(part.length) == pytest.approx(0.25 * POUND_PER_FOOT, rel=0.20)


def test_corner_caps_weigh_their_strip(demo: Catalog) -> None:
    """A corner cap is a flat strip of aluminium."""
    for item, part in _items(demo, CornerCap):
        volume = _metres(part.length) * _metres(part.width) * _metres(part.metal)
        assert item.mass_kg == pytest.approx(ALUMINIUM * volume, rel=0.01)


def test_splice_plates_weigh_their_blank(demo: Catalog) -> None:
    """A splice plate is aluminium, 1 1/2 in high."""
    for item, part in _items(demo, SplicePlate):
        volume = _metres(part.length) * _metres(3 * INCH // 2) * _metres(part.metal)
        assert item.mass_kg == pytest.approx(ALUMINIUM * volume, rel=0.01)


def test_screws_weigh_between_their_core_and_their_thread(demo: Catalog) -> None:
    """A screw is lighter than its thread's full cylinder with a block of a head, heavier than its bare core.

    Nominal diameter 0.060 + 0.013 N in (ASME B18.6.3); core 0.7 of it and head 2.2 by 0.7 of it at most: from memory.
    """
    for item, part in _items(demo, Screw):
        diameter = _metres((60 + 13 * part.number) * INCH // 1000)
        round_section = STEEL * pi / 4 * diameter**2
        least = round_section * 0.7**2 * _metres(part.length)
        most = round_section * (_metres(part.length) + 2.2**2 * 0.7 * diameter)
        assert least < item.mass_kg < most


def test_washers_weigh_between_rubber_and_steel(demo: Catalog) -> None:
    """A bonded washer is heavier than rubber (1300 kg/m3, from memory) and lighter than steel of its thickness."""
    for item, part in _items(demo, Washer):
        hole = _metres(INCH) * 0.2
        volume = pi / 4 * (_metres(part.outer_diameter) ** 2 - hole**2) * _metres(part.thickness)
        assert 1300 * volume < item.mass_kg < STEEL * volume


def test_a_longer_or_thicker_piece_costs_and_weighs_more(demo: Catalog) -> None:
    """Along one width of sheet the price rises with length, and for one size with the thickness."""
    price = {(part.width, part.length, part.thickness): item.price for item, part in _items(demo, Sheet)}
    for (width, length, thickness), cost in price.items():
        assert all(
            cost < other
            for (wide, long, thick), other in price.items()
            if wide == width
            and long >= length
            and thick >= thickness
            and (long, thick) != (length, thickness)
        )


def test_lengths_of_one_use_share_a_section(demo: Catalog) -> None:
    """All top channels and one-piece joint profiles of a thickness, all boards of a face, differ in length only.

    Where sections differ only the first listed is planned with, and the other lengths would lie idle.
    """
    sections: dict[tuple[object, ...], set[tuple[object, ...]]] = {}
    for item in demo.document.items:
        use, section = _use_and_section(item.part)
        sections.setdefault(use, set()).add(section)
    assert {use: found for use, found in sections.items() if use and len(found) > 1} == {}
    assert (
        len(sections) == 1 + 3 * len(THICKNESSES) + 5
    )  # the rest; three profiles a thickness; five board faces


def _use_and_section(part: Part) -> tuple[tuple[object, ...], tuple[object, ...]]:
    match part:
        case JointProfile(pieces="one_piece"):
            return (part.role, part.thickness), (part.web, part.reach, part.leg)
        case TopChannel():
            return (part.role, part.thickness), (part.slot_depth, part.flange, part.metal)
        case EndCap():
            return (part.role, part.thickness), (part.web, part.leg)
        case Baseboard():
            return (part.role, part.face), (part.lap, part.metal, part.upper_line, part.lower_line)
    return (), ()


def test_the_first_joint_profile_of_a_thickness_is_one_piece(demo: Catalog) -> None:
    """The profile that is planned with is the plain one, its web 1/16 in."""
    first: dict[int, JointProfile] = {}
    for _, part in _items(demo, JointProfile):
        first.setdefault(part.thickness // MILLIMETRE, part)
    assert {(part.pieces, part.web) for part in first.values()} == {("one_piece", INCH // 16)}
    assert set(first) == set(THICKNESSES)


def test_a_twelve_foot_panel_keeps_its_bite(demo: Catalog) -> None:
    """At the default temperatures a panel of 12 ft keeps half an inch in the first profile of every thickness.

    Growth 65e-6 x 3657.6 mm x 35 K = 8.32 mm; c = 4.16 + (4.826 - 1.5875)/2 = 5.78 mm, up to 1/4 in;
    shrinkage at each end 65e-6 x 3657.6 x 40 / 2 = 4.755 mm; 6.35 + 4.755 + 12.7 = 23.805 mm, under 1 in.
    """
    for _, part in _items(demo, JointProfile):
        assert part.reach >= 23_805_000


def test_plain_and_lapped_boards_are_stocked(demo: Catalog) -> None:
    """Boards of whole bays and a lap, and one of whole bays without: the one that is told to be a lap short."""
    lengths = {part.length for _, part in _items(demo, Baseboard)}
    assert {123 * INCH, 147 * INCH, 10 * FOOT, 3075 * MILLIMETRE, 4075 * MILLIMETRE} == lengths


@pytest.mark.parametrize("thickness", THICKNESSES)
@pytest.mark.parametrize("number", [10, 12])
def test_a_screw_reaches_through_a_lap_of_every_thickness(demo: Catalog, thickness: int, number: int) -> None:
    """Some length of each head and drive lies in the window at a lap on a 1.9 in post with a 0.095 in wall.

    From layers + 3 threads + drill point to layers + the post's inside width - 1/4 in. No.10: 16 threads to the
    inch, point 0.300 in; No.12: 14 threads, point 0.353 in (SAE J78, secondary). At 16 mm and No.12:
    2 x 0.052 + 0.630 + 0.095 + 3/14 + 0.353 = 1.396 in.
    """
    threads, point = {10: (16, 0.300), 12: (14, 0.353)}[number]
    layers = 2 * 0.052 + thickness / 25.4 + 0.095
    least, most = layers + 3 / threads + point, layers + 1.9 - 2 * 0.095 - 0.25
    for head, drive in {(rule.head, rule.drive) for rule in FASTENING.values()}:
        assert any(
            least <= part.length / INCH <= most
            for _, part in _items(demo, Screw)
            if (part.number, part.head, part.drive) == (number, head, drive)
        )


def test_a_screw_reaches_through_a_rigid_corner(demo: Catalog) -> None:
    """A corner cap over two sheets of 16 mm and a post's wall is reached by a hex-head screw.

    0.062 + 2 x 0.630 + 0.095 + 3/16 + 0.300 = 1.905 in: 2 in.
    """
    lengths = {
        part.length / INCH
        for _, part in _items(demo, Screw)
        if part.head == "hex_washer" and part.number == 10
    }
    assert min(length for length in lengths if length >= 1.905) == 2.0


def test_descriptions_name_the_sizes() -> None:
    """A description carries the length, width, face, and thickness that the item has, as written in the file."""
    for item in demo_document()["items"]:
        part, words = item["part"], item["description"]
        for field in ("thickness", "length", "face", "outer_diameter"):
            if part["role"] != "washer" or field != "thickness":
                assert part.get(field, "") in words, item["sku"]
        if part["role"] in {"sheet", "film_channel", "corner_cap", "foil_tape", "vented_tape"}:
            assert part["width"] in words, item["sku"]


def test_a_tier_costs_less_than_the_list(demo: Catalog) -> None:
    """Contract prices of the demo tiers are below list."""
    assert [tier.name for tier in demo.document.tiers] == ["growers-group", "schools"]
    for tier in demo.document.tiers:
        assert all(price.price < demo.by_sku[price.sku].price for price in tier.prices)
