"""Drawings, measured: lengths, ids, boxes of text, colours, and nothing that a page could be harmed by."""

import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from itertools import combinations

import pytest
from fontTools.ttLib import TTFont
from lxml import etree

from service.paper.drawing import Drawing
from service.paper.drawings import KINDS, draw
from service.paper.inks import DARK, LIGHT, Ink
from service.paper.lettering import FONTS, text_width
from service.paper.placing import Lanes, spread
from service.paper.words import Words
from service.paper.writing import letter
from service.planner.answer.layout_shapes import MaterialOut
from service.planner.answer.shapes import Plan
from tests.paper.measuring import NS, Box, rectangles, texts, tree
from tests.paper.walls import WALLS, wall

COURSES = ("panels", "baseboards", "top_channels")


@cache
def _drawn(name: str, *kinds: str, width: float = 267) -> list[Drawing]:
    return list(draw(wall(name), kinds or KINDS, Words(), width))


def _part_ids(plan: Plan) -> list[str]:
    fields = (*COURSES, "joint_profiles", "end_battens", "uprights", "splice_plates", "rope_hooks")
    return [part["id"] for run in plan["layout"]["runs"] for field in fields for part in run[field]]  # type: ignore[literal-required]


@pytest.mark.parametrize("name", WALLS)
@pytest.mark.parametrize("kind", ["elevation", "tunnel"])
def test_every_part_of_the_plan_has_its_id_once(name: str, kind: str) -> None:
    """Over all sheets of a kind each part carries its id once, and nothing else carries one of them."""
    found = Counter(
        element.attrib["id"]
        for drawing in _drawn(name, kind)
        for element in tree(drawing).iterfind(".//s:g[@id]", NS)
    )
    assert found == Counter(_part_ids(wall(name)))


def _on_wall(root: etree._Element, box: Box) -> tuple[float, float, float, float]:
    """Map a box on paper back to the wall: from, to, foot and top [mm]."""
    scale, zero, grade = (float(root.attrib[name]) for name in ("data-scale", "data-zero", "data-grade"))
    along = sorted((x - zero) * float(root.attrib["data-way"]) * scale for x in (box.left, box.right))
    return along[0], along[1], (grade - box.bottom) * scale, (grade - box.top) * scale


def _joined(stretches: list[tuple[float, float]]) -> tuple[float, float]:
    """Join stretches to one; they leave no hole between them."""
    start, end = min(stretches)
    for begins, ends in sorted(stretches):
        assert begins <= end, "a stretch is on no sheet"
        end = max(end, ends)
    return start, end


@pytest.mark.parametrize("name", WALLS)
@pytest.mark.parametrize("width", [110, 267])
def test_pieces_in_elevations_stand_where_they_are_planned(name: str, width: float) -> None:
    """Fragments of a piece over all sheets, mapped back to the wall, join to its place and length to 0.1 mm."""
    found: dict[str, list[tuple[float, float, float, float]]] = {}
    for drawing in _drawn(name, "elevation", width=width):
        root = tree(drawing)
        for part, box in rectangles(root):
            found.setdefault(part, []).append(_on_wall(root, box))
    for run in wall(name)["layout"]["runs"]:
        heights = run["elevations"]
        for field in COURSES:
            for piece in run[field]:  # type: ignore[literal-required]
                shown = _joined([box[:2] for box in found[piece["id"]]])
                assert shown[0] == pytest.approx(piece["x_start_mm"], abs=0.1)
                assert shown[1] - shown[0] == pytest.approx(piece["length_mm"], abs=0.1)
        panel = found[run["panels"][0]["id"]][0]
        assert panel[2:] == pytest.approx((heights["panel_foot_mm"], heights["panel_top_mm"]), abs=0.1)
        for standing in (*run["joint_profiles"], *run["end_battens"]):
            start, end, foot, _ = found[standing["id"]][0]
            assert foot == pytest.approx(standing["bottom_mm"], abs=0.1)
            assert start < standing["x_mm"] < end


def test_openings_stand_beside_the_jambs_of_their_runs() -> None:
    """Each opening is named with its clear width on the sheets of the runs before and after it, and nowhere else."""
    told = [
        [words for _, words in texts(tree(drawing)) if "clear" in words]
        for drawing in _drawn("openings", "elevation")
    ]
    left, right = "opening, 1000 mm clear", "opening, 1452 mm clear"
    assert told == [[left], [left], [], [right], [right], []]


@pytest.mark.parametrize("name", WALLS)
@pytest.mark.parametrize("width", [110, 267])
def test_no_text_touches_another_or_leaves_the_paper(name: str, width: float) -> None:
    for drawing in _drawn(name, width=width):
        written = list(texts(tree(drawing)))
        for box, words in written:
            assert box.left >= 0, (drawing.id, words)
            assert box.right <= drawing.width, (drawing.id, words)
            assert box.top >= 0, (drawing.id, words)
            assert box.bottom <= drawing.height, (drawing.id, words)
        for (first, words), (second, others) in combinations(written, 2):
            assert not first.overlaps(second), (drawing.id, words, others)


@pytest.mark.parametrize("name", ["22 bays", "openings", "upright flutes"])
def test_cutting_diagrams_are_to_scale_and_name_every_piece(name: str) -> None:
    """Each pattern's pieces are as long on paper as planned, to 0.1 mm, and every piece is listed once over all."""
    plan = wall(name)
    drawings = iter(_drawn(name, "cutting"))
    listed: list[str] = []
    for material in plan["cutting"]["materials"]:
        for stock in material["stock"]:
            for pattern in stock["patterns"]:
                drawing = next(drawings)
                root = tree(drawing)
                turned = stock.get("cut_along") == "width"
                shown = sorted(
                    round((float(rect.attrib["height" if turned else "width"])) * (drawing.scale or 0), 1)
                    for rect in root.iterfind(".//s:g[@class='cut']/s:rect", NS)
                )
                cuts = [cut for strip in pattern.get("strips", []) for cut in strip["cuts"]] + pattern.get(
                    "cuts", []
                )
                assert shown == pytest.approx(
                    sorted(cut["length_mm"] for cut in cuts for _ in range(cut["count"])), abs=0.11
                )
                written = " ".join(words for _, words in texts(root)).replace(",", " ").split()
                listed += [
                    word for word in written if word in {piece for cut in cuts for piece in cut["pieces"]}
                ]
    wanted = [piece for material in plan["cutting"]["materials"] for piece in _pieces(material)]
    assert Counter(listed) == Counter(wanted)


def _pieces(material: MaterialOut) -> Iterator[str]:
    for stock in material["stock"]:
        for pattern in stock["patterns"]:
            for strip in (*pattern.get("strips", []), pattern):
                for cut in strip.get("cuts", []):
                    yield from cut["pieces"]


@pytest.mark.parametrize("name", ["22 bays", "openings"])
def test_templates_show_every_hole_where_it_is_drilled(name: str) -> None:
    """The crosses of a template, mapped back by its scale, lie at the plan's distances from the panel's front end."""
    held = {template["id"]: template for template in wall(name)["drilling"]["templates"]}
    drawings = _drawn(name, "template")
    assert [drawing.id for drawing in drawings] == [key for key in held if key.startswith("panel")]
    for drawing in drawings:
        root, template = tree(drawing), held[drawing.id]
        outline = root.find(".//s:g[@class='panel']/s:rect", NS)
        assert outline is not None
        left, width, foot = float(outline.attrib["x"]), float(outline.attrib["width"]), _bottom(outline)
        crosses = [
            [tuple(map(float, point.split(","))) for point in line.attrib["points"].split()]
            for line in root.iterfind(".//s:g[@class='holes']/s:polyline", NS)
        ]
        level = [(sum(x for x, _ in ends) / 2, ends[0][1]) for ends in crosses if ends[0][1] == ends[1][1]]
        mirrored, scale = all(piece.startswith("left") for piece in template["pieces"]), drawing.scale or 0
        back = [((left + width - x if mirrored else x - left) * scale, (foot - y) * scale) for x, y in level]
        assert len(back) == len(template["holes"])
        for shown, hole in zip(back, template["holes"], strict=True):
            assert shown == pytest.approx((hole["x_mm"], hole["z_mm"]), abs=0.1)


def _bottom(rect: etree._Element) -> float:
    return float(rect.attrib["y"]) + float(rect.attrib["height"])


def test_nothing_in_a_drawing_can_harm_a_page() -> None:
    """No script, style, address, handler or foreign element; what a person wrote is text."""
    allowed = {"svg", "g", "rect", "polyline", "polygon", "circle", "text", "title", "desc"}
    for drawing in _drawn("two bays"):
        assert b"<script" not in drawing.svg
        for element in tree(drawing).iter():
            assert etree.QName(element).localname in allowed
            assert etree.QName(element).namespace == NS["s"]
            for name, value in element.attrib.items():
                assert name not in {"style", "href"}
                assert not str(name).startswith("on")
                assert "url(" not in value


def test_drawings_begin_with_title_and_description_for_screen_readers() -> None:
    for drawing in _drawn("openings"):
        root = tree(drawing)
        title, description = root[0], root[1]
        assert (title.text, description.text) == (drawing.title, drawing.description)
        assert root.attrib["aria-labelledby"] == f"{title.attrib['id']} {description.attrib['id']}"
        assert root.attrib["role"] == "graphics-document"
        assert len(drawing.description) > 20


def _luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 glossary."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])
def test_text_and_lines_stand_out_from_every_ground(scheme: dict[Ink, str]) -> None:
    """4.5:1 for text (WCAG 2.2, 1.4.3) and 3:1 for lines (1.4.11) on all fills, in both schemes."""
    grounds: tuple[Ink, ...] = ("paper", "panel", "board", "metal", "post", "earth", "rest", "wood")
    for ink, least in (("text", 4.5), ("line", 4.5), ("faint", 3.0)):
        for ground in grounds:
            dark, light = sorted((_luminance(scheme[ink]), _luminance(scheme[ground])))  # type: ignore[index]
            assert (light + 0.05) / (dark + 0.05) >= least, (ink, ground)
    dark, light = sorted((_luminance(scheme["faint"]), _luminance(scheme["paper"])))
    assert (light + 0.05) / (dark + 0.05) >= 4.5, "names of rows are written so"


def test_a_themed_drawing_takes_its_colours_from_the_page() -> None:
    """Every colour is the page's, with the light one to fall back on; other drawings name theirs outright."""
    (drawing,) = draw(wall("22 bays"), ["tunnel"], Words(), 267, themed=True)
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawing.svg.decode())) - {"none"}
    assert colours
    assert all(re.fullmatch(r"var\(--wall-[a-z]+, #[0-9a-f]{6}\)", colour) for colour in colours)
    assert b"var(" not in _drawn("22 bays", "tunnel")[0].svg


def test_text_is_measured_as_the_font_has_it() -> None:
    """Against the font's own table, glyph by glyph: 11' 11 5/8" in DejaVu Sans Condensed."""
    with TTFont(FONTS / "DejaVuSansCondensed.ttf") as font:
        words = "11' 11 5/8\""
        units = sum(font["hmtx"][font.getBestCmap()[ord(sign)]][0] for sign in words)
        assert text_width(words, 2.5) == pytest.approx(2.5 * units / font["head"].unitsPerEm)


def test_the_same_plan_is_drawn_with_the_same_bytes() -> None:
    again = draw(wall("openings"), KINDS, Words(), 267)
    assert [drawing.svg for drawing in _drawn("openings")] == [drawing.svg for drawing in again]


def test_lanes_keep_labels_apart() -> None:
    """Labels that want one place go under each other; one that would leave the paper is moved onto it."""
    lanes = Lanes(0, 100, gap=1)
    assert [lanes.place(50, 10), lanes.place(55, 10), lanes.place(61, 10)] == [(0, 50), (1, 55), (0, 61)]
    assert lanes.place(99, 10) == (0, 95)


def test_heights_are_spread_no_more_than_needed() -> None:
    """By hand: 0, 1 and 2 at a pitch of 3 become -2, 1 and 4; 20 stays."""
    assert spread([0, 1, 2, 20], 3) == pytest.approx([-2, 1, 4, 20])


def test_letters_go_on_after_z() -> None:
    assert [letter(index) for index in (0, 25, 26, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]
