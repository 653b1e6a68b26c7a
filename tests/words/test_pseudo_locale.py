"""No plain text escapes: in a made-up language every text is marked, and what is not marked is no text.

The made-up language takes the place of Spanish in a service that answers over HTTP. Its texts are the English ones
between two marks. Whatever words then stand outside marks came past the catalogs, unless they are the dealer's own
(descriptions of items, titles and notes of catalogs) or the caller's.
"""

import re
from collections.abc import Iterator
from typing import Any, Final

import pytest
from fastapi.testclient import TestClient

from service.app import create_app
from service.planner.writing import ENGLISH, Language, one_or_several
from service.settings import Settings
from service.words.extracting import template
from service.words.languages import languages

LOCALE: Final = {"accept-language": "es"}
PROSE: Final = re.compile(r"[A-Za-z]{2,},? [A-Za-z]{2,}|[a-z]{3,}\.$")
"""Two words beside each other, or a word at the end of a sentence"""
DEALERS: Final = frozenset({"description", "title", "note", "place", "headings"})
"""Members that hold the dealer's own words where no code stands beside them"""
Body = dict[str, Any]


def tunnel(*, wall: Body | None = None, **structure: object) -> Body:
    """Ask for a wall on three bays of 4 ft."""
    base = {} if "stations" in structure else {"bays": 3, "bay_spacing": "4 ft"}
    return {"structure": base | structure, "wall": {"panel_thickness": "8 mm"} | (wall or {})}


DOOR: Final = {"side": "left", "offset": "5 ft", "width": "30 in"}
CURVED: Final = {"profile": "curved", "radius": "15 ft", "width": "1.66 in"}
PLANS: Final[dict[str, Body]] = {
    "plain": tunnel(),
    "metric": tunnel() | {"display_units": "metric"},
    "everything": tunnel(
        bays=9,
        bow=CURVED,
        openings=[DOOR],
        end_walls={"front": "polycarbonate", "back": "open"},
        ground_heights={"left": ["0", "2 in", "4 in", "9 in", 0, 0, 0, 0, 0, 0]},
        wall={"joint_profile_extent": "full_height", "bury_depth": "2 in"},
    )
    | {
        "options": {
            "wind_flaps": ["right-back"],
            "trench": {"width": "8 in", "depth": "12 in"},
            "existing_tunnel": True,
            "whole_sheets": True,
        },
        "site": {"wind": {"basic_speed": "115 mph"}, "design_heat_difference_c": 20},
    },
    "upright flutes": tunnel(wall={"flutes": "upright"}),
    "windy": tunnel(bay_spacing="12 ft") | {"site": {"wind": {"basic_speed": 80, "standard": "EN 1991-1-4"}}},
    "no kerf loss hidden": tunnel(wall={"height": "24 in"}) | {"options": {"rope_hooks": {"spacing": 150}}},
    "short": tunnel(stations=["0", "10 in"], sides=["left"]),
}
REFUSED: Final[dict[str, Body]] = {
    "fields": tunnel(wall={"height": 24, "end_cover": "9 m", "colour": "red"}),
    "two ways": {"structure": {"bays": 3, "stations": [0, 1200]}, "wall": {"panel_thickness": "8 mm"}},
    "bays alone": {"structure": {"bays": 3}, "wall": {"panel_thickness": "8 mm"}},
    "stations": {"structure": {"stations": [0, 1, 2]}, "wall": {"panel_thickness": "8 mm"}},
    "too wide": tunnel(bay_spacing="19 ft"),
    "no such thickness": tunnel(wall={"panel_thickness": "9 mm"}),
    "no such face": tunnel(wall={"baseboard_face": "7 in"}),
    "too low": tunnel(wall={"height": "8 in"}),
    "too high": tunnel(wall={"height": "80 in"}),
    "near the hip": tunnel(hip_height="26 in"),
    "heights": tunnel(wall={"height": "24 in", "top_above_post": "9 in"}),
    "no trench": tunnel(wall={"bury_depth": "2 in"}),
    "shallow trench": tunnel(wall={"bury_depth": "9 in"})
    | {"options": {"trench": {"width": "8 in", "depth": "2 in"}}},
    "no radius": tunnel(bow={"profile": "curved"}),
    "post in the door": tunnel(openings=[DOOR | {"offset": "3 ft"}]),
    "door beyond": tunnel(openings=[DOOR | {"offset": "90 ft"}]),
    "doors together": tunnel(openings=[DOOR, DOOR]),
    "door in a side without a wall": tunnel(openings=[DOOR], sides=["right"]),
    "a side twice": tunnel(sides=["left", "left"]),
    "nothing to wall": tunnel(bays=1, sides=["left"], openings=[DOOR | {"offset": "0", "width": "5 ft"}]),
    "ground": tunnel(ground_heights={"left": [0, 0]}),
    "flap": tunnel(bays=1) | {"options": {"wind_flaps": ["left-front"]}},
    "temperatures": tunnel() | {"site": {"lowest_temperature_c": 20}},
    "on hand": tunnel() | {"on_hand": [{"sku": "NONE", "length": "4 ft", "height": "2 ft", "count": 1}]},
    "short stock": tunnel() | {"options": {"longest_stock": "1 m"}},
    "no catalog": tunnel() | {"catalog": "none"},
    "no revision": tunnel() | {"catalog_revision": "r-00000000000000000000000000000000"},
    "no tier": tunnel() | {"pricing": {"tier": "gold", "date": "2027-01-01"}},
    "no day": tunnel() | {"pricing": {"tier": "gold", "date": "2027-02-30"}},
}


def _marked() -> Language:
    """Make the language whose every text is marked."""
    texts = {}
    for entry in template():
        if entry.context:
            forms = entry.id if isinstance(entry.id, (tuple, list)) else (entry.id,)
            texts[entry.context] = tuple(f"\u00ab{form}\u00bb" for form in forms)
    return Language(tag="es", decimal=".", texts=texts, form=one_or_several)


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    """A service that answers Spanish in the made-up language."""
    held, spanish = languages(), languages()["es"]
    held["es"] = _marked()
    with TestClient(
        create_app(Settings(open_mode=True)), base_url="http://127.0.0.1", headers=LOCALE
    ) as shop:
        yield shop
    held["es"] = spanish


def _strings(value: object, place: str = "", member: str = "") -> Iterator[tuple[str, str, str]]:
    """Walk the texts of a JSON value: its place, the name of its member, and the text."""
    if isinstance(value, dict):
        coded = "code" in value and "values" in value
        for name, inner in value.items():
            yield from _strings(inner, f"{place}/{name}", f"coded {name}" if coded else name)
    elif isinstance(value, list):
        for inner in value:
            yield from _strings(inner, f"{place}/*", member)
    elif isinstance(value, str):
        yield place, member, value


def _escaped(answer: object) -> dict[str, str]:
    """Find words outside marks, by their place."""
    found = {}
    for place, member, text in _strings(answer):
        if member in {"coded text", "coded detail"}:
            if not (text[:1] == "\u00ab" and text[-1:] == "\u00bb"):
                found[place] = text
        elif member not in DEALERS and PROSE.search(text) and not text.startswith("\u00ab"):
            found[place] = text
    return found


def _own_titles(answer: Body) -> bool:
    """Tell whether a problem's title is marked; it stands in no catalog of a dealer."""
    return str(answer["title"]).startswith("\u00ab")


@pytest.mark.parametrize("name", PLANS)
def test_plans_and_alternatives_hold_no_unmarked_text(client: TestClient, name: str) -> None:
    """Steps, cautions, tools, checks, notices, the bill's remarks, drawings of what is drilled."""
    for path in ("/v1/plans", "/v1/alternatives"):
        answer = client.post(path, json=PLANS[name])
        assert answer.status_code == 200, answer.json()
        assert _escaped(answer.json()) == {}


@pytest.mark.parametrize("name", REFUSED)
def test_refusals_hold_no_unmarked_text(client: TestClient, name: str) -> None:
    """Title, detail, and the detail of every field."""
    answer = client.post("/v1/plans", json=REFUSED[name])
    assert answer.status_code == 422, name
    assert _own_titles(answer.json())
    assert _escaped(answer.json()) == {}


@pytest.mark.parametrize(
    ("method", "path", "sent"),
    [
        ("POST", "/v1/plans", {"content": b"{"}),
        ("POST", "/v1/plans", {"content": b"[1", "headers": {"content-type": "application/json"}}),
        ("POST", "/v1/plans", {"content": b"x", "headers": {"content-type": "text/plain"}}),
        ("POST", "/v1/plans?parts=none", {"json": PLANS["plain"]}),
        ("POST", "/v1/plans", {"json": PLANS["plain"], "headers": {"accept": "text/html"}}),
        ("DELETE", "/v1/plans", {}),
        ("GET", "/v1/none", {}),
        ("GET", "/problems/none", {}),
        ("GET", "/v1/catalogs/none", {}),
        ("GET", "/v1/quotes/none", {}),
        ("GET", "/v1/form?catalog=none", {}),
        ("POST", "/v1/orders", {"json": {}}),
        ("POST", "/v1/orders", {"json": {"structures": [{"id": "a", "spec": REFUSED["too low"]}]}}),
        ("POST", "/v1/quotes", {"json": REFUSED["too low"]}),
        ("POST", "/v1/cut-lists", {"json": {"kind": "sticks", "demand": [], "stock": []}}),
        ("POST", "/v1/drawings?kinds=none", {"json": PLANS["plain"]}),
        ("POST", "/v1/jobs", {"content": b"{}", "headers": {"content-type": "application/jsonl"}}),
        ("PUT", "/v1/catalogs/mine", {"json": {"items": [{}]}}),
        ("PUT", "/v1/catalogs/mine", {"json": {}, "headers": {"if-none-match": "*"}}),
    ],
)
def test_other_refusals_hold_no_unmarked_text(
    client: TestClient, method: str, path: str, sent: dict[str, Any]
) -> None:
    """Malformed, unknown, unacceptable: each is told in the language."""
    answer = client.request(method, path, **sent)
    assert answer.status_code >= 400
    assert answer.headers["content-language"] == "es"
    assert _own_titles(answer.json())
    assert _escaped(answer.json()) == {}


def test_a_refused_bid_list_holds_no_unmarked_text(client: TestClient) -> None:
    """Its header names columns that there are not."""
    answer = client.post(
        "/v1/batches", content=b"bays,none,none\n3,4,5\n", headers={"content-type": "text/csv"}
    )
    assert answer.status_code == 422
    assert _escaped(answer.json()) == {}


def test_quotes_and_orders_hold_no_unmarked_text(client: TestClient) -> None:
    """What a shopper and an ordering system read."""
    quote = client.post("/v1/quotes", json=PLANS["everything"])
    assert quote.status_code == 200, quote.json()
    assert _escaped(quote.json()) == {}
    order = client.post("/v1/orders", json={"structures": [{"id": "a", "spec": PLANS["everything"]}]})
    assert order.status_code == 200, order.json()
    assert _escaped(order.json()) == {}


def test_pages_of_problems_hold_no_unmarked_text(client: TestClient) -> None:
    """Titles, meanings, remedies."""
    for page in client.get("/problems").json()["problems"]:
        for member in ("title", "meaning", "remedy"):
            assert page[member].startswith("\u00ab"), page


def test_an_unmarked_text_would_be_seen() -> None:
    """The walk finds words past the catalogs, also beside a code and among values."""
    told = {"code": "a.b", "text": "Cut the sheet.", "values": {"why": "so that it fits"}}
    assert set(_escaped({"step": told, "advice": "Cut it here."})) == {
        "/step/text",
        "/step/values/why",
        "/advice",
    }
    assert ENGLISH.texts == {}
