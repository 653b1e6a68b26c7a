"""The crew's packet and labels, read back with a general PDF library."""

import io
import re
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader

from service.paper import labels as labels_module
from service.paper import packet as packet_module
from service.paper.labels import LabelStock, labelled, labels
from service.paper.packet import Choice, PacketTooLong, packet
from service.paper.words import Words
from service.words.languages import languages
from tests.paper.walls import HOSTILE, wall

_PLAIN = Choice()


@cache
def _packet(name: str, choice: Choice = _PLAIN, tag: str = "en") -> bytes:
    return packet(wall(name), Words(languages()[tag]), choice)


def _read(content: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(content))


@cache
def _text(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in _read(content).pages).split())


@pytest.mark.parametrize("tag", ["en", "es", "fr"])
def test_the_packet_is_tagged_and_names_its_language(tag: str) -> None:
    """PDF/UA-1, ISO 14289-1 clauses 6.2, 7.1 and 7.2: marked, with a structure tree, a language and a shown title."""
    root: Any = _read(_packet("openings", tag=tag)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value is True
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == tag
    assert root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert b"pdfuaid:part" in root["/Metadata"].get_data()


@pytest.mark.parametrize("tag", ["es", "fr"])
def test_every_sign_of_a_language_can_be_set(tag: str) -> None:
    """Accents, quotes and the spaces that do not break: nothing in a translated packet is a sign for a sign that is missing."""
    text = _text(packet(wall("openings", tag), Words(languages()[tag]), _PLAIN))
    assert "\ufffd" not in text
    assert {"es": "Lea primero", "fr": "À lire d'abord"}[tag] in text


def test_every_font_is_embedded() -> None:
    """ISO 14289-1 clause 7.21.4.1: a font program stands in the descriptor of every font."""
    fonts: dict[str, Any] = {}
    for page in _read(_packet("openings")).pages:
        resources: Any = page["/Resources"]
        for name, font in (resources.get("/Font") or {}).items():
            fonts[name] = font.get_object()
    assert fonts
    for font in fonts.values():
        inner = font["/DescendantFonts"][0].get_object()
        assert "DejaVuSans" in inner["/BaseFont"]
        assert {"/FontFile2", "/FontFile3"} & set(inner["/FontDescriptor"].get_object())


@pytest.mark.parametrize("name", ["uneven", "openings"])
def test_the_packet_says_the_plans_numbers(name: str) -> None:
    """Ids and lengths of every panel, each mark, every step's title and every item of the bill stand in the text."""
    plan, text = wall(name), _text(_packet(name))
    for run in plan["layout"]["runs"]:
        for panel in run["panels"]:
            assert panel["id"] in text
            assert panel["length_text"] in text
        for mark in run["marks"]:
            assert mark["x_text"] in text
    for line in plan["bill_of_materials"]["lines"]:
        assert line["sku"] in text
        assert f"{line['quantity']:g}" in text
    squeezed = re.sub(r"\s", "", text)
    for step in plan["install_sequence"]["steps"]:
        assert re.sub(r"\s", "", step["title"]["text"]) in squeezed


def test_prices_stand_in_the_packet_only_when_asked_for() -> None:
    """Neither the total nor the price of any pack leaks into the crew's copy, its pictures' words included."""
    bill = wall("two bays")["bill_of_materials"]
    plain, priced = _packet("two bays"), _packet("two bays", Choice(prices=True, paper="us-letter"))
    assert bill["total"] in _text(priced)
    assert bill["total"] not in _text(plain)
    assert bill["currency"] not in _text(plain)
    # ANSI Y14.1 letter, 8.5 in by 11 in, in points
    assert [round(float(side)) for side in _read(priced).pages[0].mediabox[2:]] == [612, 792]


def test_what_a_person_wrote_is_typeset_as_text() -> None:
    """A reference that is source in other languages stands on the cover as it was written; unknown signs are replaced."""
    text = _text(_packet("two bays"))
    assert '<script>alert("x")</script>' in text
    assert "#let x = 1 $" in text
    assert "\u202e" in HOSTILE
    assert "\u202e" not in text


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert packet(wall("openings"), Words(), Choice()) == _packet("openings")


def test_a_packet_that_would_not_end_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packet_module, "MOST_DRAWINGS", 5)
    with pytest.raises(PacketTooLong) as refused:
        packet(wall("two bays"), Words(), Choice())
    assert refused.value.drawings > 5
    monkeypatch.setattr(labels_module, "MOST_LABELS", 5)
    with pytest.raises(PacketTooLong):
        labels(wall("two bays"), Words(), LabelStock())


def test_every_cut_piece_gets_one_label() -> None:
    """Every panel, board and length of channel is labelled once; 21 lie on an A4 sheet of three by seven."""
    plan = wall("uneven")
    named = [name for name, _, _ in labelled(plan)]
    assert len(named) == len(set(named))
    for run in plan["layout"]["runs"]:
        for piece in (*run["panels"], *run["baseboards"], *run["top_channels"]):
            assert piece["id"] in named
    pages = _read(labels(plan, Words(), LabelStock())).pages
    assert len(pages) == -(-len(named) // 21)
    first = pages[0].extract_text()
    assert all(name in first for name in named[:21])
