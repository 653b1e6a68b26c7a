"""Reading catalogs: every rule broken once, everything told at once, nothing but CatalogInvalid raised.

In the table an item stands in a pointer by its sku, ``-`` adds to a list (as in RFC 6902, section 4.1).
"""

import json
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stdnum.ean import calc_check_digit

from service.planner.asked.catalog_rules import RULES, check_digit, read_catalog
from service.planner.asked.catalog_sizes import SIZE_RULES
from service.planner.asked.roles import CATALOG_ROLES
from service.planner.errors import CatalogInvalid, FieldProblem
from tests.planner.asking import english
from tests.planner.scenarios import (
    Document,
    catalog_with,
    demo_document,
    example_a_document,
    with_item,
    with_items,
    with_part,
    without_items,
)

REMOVED = object()
"""As the new value of a field: take it away."""


def _find(document: Document, pointer: str) -> tuple[Any, Any]:
    """The list or object that a pointer leads into, and the last step."""
    holder: Any = document
    *steps, last = pointer.split("/")[1:]
    for step in steps:
        holder = holder[_place(holder, step)]
    return holder, _place(holder, last)


def _place(holder: object, step: str) -> str | int:
    if not isinstance(holder, list) or step == "-":
        return step
    skus = [entry["sku"] for entry in holder if "sku" in entry]
    return skus.index(step) if step in skus else int(step)


def changed(document: Document, edits: dict[str, Any]) -> Document:
    """Change a copy of a document at pointers."""
    copy = deepcopy(document)
    for pointer, value in edits.items():
        holder, last = _find(copy, pointer)
        if value is REMOVED:
            del holder[last]
        elif last == "-":
            holder.append(deepcopy(value))
        else:
            holder[last] = value
    return copy


def problems_of(document: object) -> tuple[FieldProblem, ...]:
    """Read a document that must be refused."""
    with pytest.raises(CatalogInvalid) as refusal:
        read_catalog(document)
    return refusal.value.problems


BASE = changed(
    example_a_document(),
    {
        "/tiers": [
            {
                "name": "group", "valid_from": "2026-03-01", "valid_until": "2026-09-30",
                "prices": [{"sku": "sheet", "price": "45.00"}],
            }
        ],
        "/limits": [{"name": "kerf", "value": "1/8 in"}],
        "/fastening": [
            {
                "place": "field", "number": 10, "length": "1 1/2 in", "head": "pan", "drive": "cross", "washer": True,
            }
        ],
        "/items/board/breaks": [{"packs": 5, "price": "23.00"}, {"packs": 20, "price": "22.00"}],
    },
)  # fmt: skip
"""The hand-solved tunnel's stock, with one of everything that a catalog can hold."""
SECOND_SHEET = BASE["items"][0] | {"sku": "second"}
CAP = {
    "sku": "cap", "description": "cap", "price": "5.00", "mass_kg": 0.3,
    "part": {"role": "end_cap", "thickness": "8 mm", "length": "8 ft", "web": "1/16 in", "leg": "1.2 mm"},
}  # fmt: skip
CAP_OF_TEN = CAP | {"part": CAP["part"] | {"thickness": "10 mm"}}  # type: ignore[operator] # a table's row is any JSON
CORNER_CAP = {
    "sku": "corner", "description": "corner", "price": "5.00", "mass_kg": 0.3,
    "part": {"role": "corner_cap", "length": "6 in", "width": "2 in", "metal": "0.05 in"},
}  # fmt: skip
TEN_MM_SHEET = SECOND_SHEET | {"part": SECOND_SHEET["part"] | {"thickness": "10 mm"}}
WIDE_SHEET = SECOND_SHEET | {"part": SECOND_SHEET["part"] | {"thickness": "40 mm"}}

BROKEN: list[tuple[str, dict[str, Any], list[str]]] = [
    # rule, what is changed, every pointer that is told
    ("one_item_per_sku", {"/items/-": SECOND_SHEET | {"sku": "sheet"}}, ["/items/17/sku"]),
    ("one_currency", {"/items/board/currency": "CAD"}, ["/items/board/currency"]),
    ("gtin_checks", {"/items/board/gtin": "4006381333937"}, ["/items/board/gtin"]),
    ("breaks_go_down", {"/items/board/breaks/1/packs": 5}, ["/items/board/breaks/1/packs"]),
    ("breaks_go_down", {"/items/board/breaks/1/price": "23.00"}, ["/items/board/breaks/1/price"]),
    ("breaks_go_down", {"/items/board/breaks/0/price": "24.00"}, ["/items/board/breaks/0/price"]),
    ("needed_roles", {"/items/plate": REMOVED}, ["/items"]),
    ("needed_roles", {"/items/foil": REMOVED}, ["/items"]),
    ("needed_roles", {"/items/washer": REMOVED}, ["/items"]),
    ("needed_roles", {"/items/film-channel": REMOVED}, ["/items"]),
    ("needed_roles", {"/items/board": REMOVED}, ["/items"]),
    ("needed_roles", {"/items/joint-profile": REMOVED}, ["/items"]),
    ("needed_roles", {"/items/channel": REMOVED}, ["/items"]),
    ("needed_roles", {"/items/sheet": REMOVED, "/tiers/0/prices/0/sku": "board"}, ["/items"]),
    ("hook_set_whole", {"/items/nut": REMOVED}, ["/items"]),
    # a 10 mm sheet without joint profile and top channel of 10 mm
    ("thickness_complete", {"/items/-": TEN_MM_SHEET}, ["/items/second/part/thickness"] * 2),
    # ... and without an end cap, once caps of another thickness are sold
    ("thickness_complete", {"/items/-": CAP_OF_TEN}, ["/items/sheet/part/thickness", "/items/cap/part/thickness"]),
    ("profile_fits_a_sheet", {"/items/-": CAP_OF_TEN}, ["/items/sheet/part/thickness", "/items/cap/part/thickness"]),
    ("screw_for_every_place", {"/items/pan-square-short": REMOVED}, ["/items"]),
    ("screw_for_every_place", {"/fastening/0/number": 12}, ["/fastening/0"]),
    ("one_row_per_place", {"/fastening/-": BASE["fastening"][0]}, ["/fastening/1/place"]),
    ("known_limits", {"/limits/0/name": "kerfs"}, ["/limits/0/name"]),
    ("known_limits", {"/limits/-": {"name": "kerf", "value": 4}}, ["/limits/1/name"]),
    ("one_tier_per_name", {"/tiers/-": BASE["tiers"][0]}, ["/tiers/1/name"]),
    ("one_tier_per_name", {"/tiers/0/prices/-": {"sku": "sheet", "price": "44.00"}}, ["/tiers/0/prices/1/sku"]),
    ("tier_dates", {"/tiers/0/valid_until": "2026-02-28"}, ["/tiers/0/valid_until"]),
    ("tier_dates", {"/tiers/0/valid_from": "2026-02-29"}, ["/tiers/0/valid_from"]),  # 2026 is no leap year
    ("tier_prices_an_item", {"/tiers/0/prices/0/sku": "nowhere"}, ["/tiers/0/prices/0/sku"]),
    # a 3 ft bay wants 36 - 1/16 (web) - 2 x 3 mm of sheet: 35.70 in
    (
        "sheet_serves_a_bay",
        {"/items/sheet/part/length": "35.7 in", "/items/sheet/part/width": "24 in"},
        ["/items/sheet/part/length"],
    ),
    # board 6 in + clear height 75 mm + slot 3/4 in = 246.45 mm
    ("sheet_serves_a_wall", {"/items/sheet/part/width": "246.4 mm"}, ["/items/sheet/part/width"]),
    ("board_serves_a_bay", {"/items/board/part/length": "38.9 in"}, ["/items/board/part/length"]),  # 36 + 3
    ("channel_serves_a_bay", {"/items/channel/part/length": "911 mm"}, ["/items/channel/part/length"]),  # 911.4
    # a 12 in wall: 12 - 6 - 3/4 = 5.25 in clear, less 3 mm: 130.35 mm; channel top 1 3/4 in higher: 177.8 mm
    ("profile_serves_a_wall", {"/items/joint-profile/part/length": 130}, ["/items/joint-profile/part/length"]),
    ("batten_serves_a_wall", {"/items/film-channel/part/length": 177}, ["/items/film-channel/part/length"]),
    ("batten_serves_a_wall", {"/items/-": CORNER_CAP}, ["/items/corner/part/length"]),
    ("lines_on_the_face", {"/items/board/part/upper_line": "6 in"}, ["/items/board/part/upper_line"]),
    ("lines_on_the_face", {"/items/board/part/lower_line": "5 1/4 in"}, ["/items/board/part/lower_line"]),
    # least gap 3 mm + least bite 12 mm = 15 mm
    ("profile_reaches", {"/items/joint-profile/part/reach": "14.9 mm"}, ["/items/joint-profile/part/reach"]),
    # No.10: 4.826 mm, hole 1.5 mm larger, covered by 3 mm all round: 12.326 mm
    ("washer_covers_its_hole", {"/items/washer/part/outer_diameter": 12.3}, ["/items/washer/part/outer_diameter"]),
    # 8 mm and 3/8 in = 9.525 mm over each face: 27.05 mm, so an inch is too narrow for the sheet and for use
    (
        "tape_for_every_sheet",
        {"/items/foil/part/width": "1 in"},
        ["/items/sheet/part/thickness", "/items/foil/part/width"],
    ),
]  # fmt: skip


def _as_indices(document: Document, pointer: str) -> str:
    """Write a pointer that names an item by its sku with the item's index."""
    *_, field, entry, rest = (
        (*pointer.split("/", 3), "", "")[:4] if pointer.count("/") > 1 else ("", "", "", "")
    )
    return f"/{field}/{_place(document[field], entry)}" + (f"/{rest}" if rest else "") if entry else pointer


@pytest.mark.parametrize(("rule", "edits", "pointers"), BROKEN)
def test_a_broken_rule_is_told_at_its_field(rule: str, edits: dict[str, Any], pointers: list[str]) -> None:
    """Each rule, broken by one change, tells exactly the fields that break it."""
    document = changed(BASE, edits)
    assert [problem.pointer for problem in problems_of(document)] == [
        _as_indices(document, pointer) for pointer in pointers
    ], rule


def test_every_rule_is_broken_once() -> None:
    """A rule without a row in the table fails here."""
    assert {rule for rule, _, _ in BROKEN} == {rule.judge.__name__ for rule in (*RULES, *SIZE_RULES)}


def test_the_base_of_the_table_is_sound() -> None:
    """The table's base breaks nothing, so each row breaks what it says."""
    assert read_catalog(BASE).document.tiers[0].prices[0].price == 4500


@pytest.mark.parametrize(
    "edits",
    [
        {"/items/sheet/part/length": 906.8125, "/items/sheet/part/width": "24 in"},
        {"/items/sheet/part/width": 246.45},
        {"/items/board/part/length": "39 in"},
        {"/items/channel/part/length": "911.4 mm"},
        {"/items/joint-profile/part/length": 130.35},
        {"/items/film-channel/part/length": "7 in"},
        {"/items/joint-profile/part/reach": "15 mm"},
        {"/items/washer/part/outer_diameter": 12.326},
        {"/items/foil/part/width": "27.05 mm"},
        {"/tiers/0/valid_until": "2026-03-01"},
    ],
)
def test_a_size_on_the_limit_is_taken(edits: dict[str, Any]) -> None:
    """What just serves is stock: the limits themselves are not refused."""
    read_catalog(changed(BASE, edits))


def test_a_limit_that_the_dealer_sets_is_the_one_judged_by() -> None:
    """With a bite of 6 mm a reach of 10 mm serves."""
    shorter = with_part(BASE, "joint-profile", reach="10 mm")
    assert len(problems_of(shorter)) == 1
    catalog_with(shorter, limits=[{"name": "bite", "value": "6 mm"}])


def test_the_nearest_limit_is_suggested() -> None:
    """A name mistyped comes back with the one that was meant."""
    (problem,) = problems_of(changed(BASE, {"/limits/0/name": "rip_tolerence"}))
    assert problem.suggestion == "rip_tolerance"


def test_a_suggested_size_is_taken() -> None:
    """The size that a refusal suggests, put at its pointer, mends the catalog."""
    short = with_part(BASE, "board", length="2 ft")
    (problem,) = problems_of(short)
    read_catalog(with_part(short, "board", length=problem.suggestion))


def test_wrong_fields_and_broken_rules_are_told_together_in_document_order() -> None:
    """One refusal carries a wrong price, a repeated sku, a dangling contract price and a missing title."""
    document = changed(
        BASE,
        {
            "/items/channel/price": "0.00",
            "/items/-": SECOND_SHEET | {"sku": "board"},
            "/items/nut/pack_size": 0,
            "/tiers/0/valid_until": "2026-02-01",
            "/title": REMOVED,
        },
    )
    assert [problem.pointer for problem in problems_of(document)] == [
        "/title",
        "/items/3/price",
        "/items/14/pack_size",
        "/items/17/sku",
        "/tiers/0/valid_until",
    ]


def _ten_mm(sku: str) -> Document:
    (item,) = [item for item in BASE["items"] if item["sku"] == sku]
    part: Document = item["part"]
    return {**item, "sku": f"{sku}-10", "part": {**part, "thickness": "10 mm"}}


JUST_ENOUGH = changed(
    with_items(
        BASE,
        *(_ten_mm(sku) for sku in ("sheet", "joint-profile", "channel")),
        CAP, CAP_OF_TEN | {"sku": "cap-10"},
        BASE["items"][2] | {"sku": "low-board", "part": BASE["items"][2]["part"] | {"face": "5 in", "upper_line": "4 in"}},
        BASE["items"][6] | {"sku": "thin-screw", "part": BASE["items"][6]["part"] | {"number": 8}},
        BASE["items"][11] | {"sku": "narrow-foil", "part": BASE["items"][11]["part"] | {"width": "24.1 mm"}},
    ),
    {
        "/limits": [
            {"name": name, "value": value}
            for name, value in {
                "least_gap": 20, "bite": 5, "clear_height": 60, "channel_gap": 10, "profile_clearance": 10,
                "hole_oversize": 1, "washer_cover": 2, "tape_lap": 8,
            }.items()
        ],
        "/fastening/0/number": 8,
        "/items/board/currency": "USD",
        "/items/sheet/part/length": 873,  # 914.4 - web 1.5875 - 2 gaps
        "/items/sheet/part/width": 207,  # low board 127 + clear 60 + slot 19.05
        "/items/channel/part/length": 905,  # 914.4 - gap
        "/items/joint-profile/part/length": 124,  # 304.8 - board 152.4 - slot 19.05 - clearance
        "/items/joint-profile/part/reach": 25,  # gap and bite
        "/items/film-channel/part/length": 178,  # 304.8 - board 152.4 + flange 25.4
        "/items/washer/part/outer_diameter": 9.2,  # No.8: 4.1656 + 1 + 2 x 2
        "/items/foil/part/width": 26.1,  # the 10 mm sheet and two laps
    },
)  # fmt: skip
"""A catalog in which every size just serves because of what else the catalog holds and which limits it sets."""


@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        *((f"/items/{place}/mass_kg", -1) for place in range(len(JUST_ENOUGH["items"]))),
        *((f"/limits/{row}/value", "long") for row in range(len(JUST_ENOUGH["limits"]))),
        ("/fastening/0/washer", 3),
        ("/tiers/0/percent_off", 91),
        ("/allowances/cut", "-1"),
        ("/currency", "GOLD"),
        ("/title", 3),
    ],
)
def test_a_wrong_field_raises_no_false_alarm(pointer: str, value: object) -> None:
    """What hangs on a field that could not be read is not judged: no missing role, dangling sku or short stock."""
    assert [p.pointer for p in problems_of(changed(JUST_ENOUGH, {pointer: value}))] == [pointer]


def test_the_catalog_in_which_everything_just_serves_is_sound() -> None:
    """Sizes on the limits that the dealer sets are taken."""
    read_catalog(JUST_ENOUGH)


def test_a_row_that_is_wrong_leaves_its_place_unjudged() -> None:
    """A fastening row that could not be read may be what replaces a screw that nobody stocks."""
    row = {
        "place": "top_channel",
        "number": 10,
        "length": "3/4 in",
        "head": "hex_washer",
        "drive": "hex",
        "washer": 3,
    }
    document = changed(without_items(BASE, "pan-square-short"), {"/fastening/-": row})
    assert [problem.pointer for problem in problems_of(document)] == ["/fastening/1/washer"]


def test_a_currency_that_is_wrong_leaves_the_items_unjudged() -> None:
    """Which of two currencies is meant cannot be told when the catalog's own is not one."""
    document = changed(BASE, {"/currency": "GOLD", "/items/board/currency": "CAD"})
    assert [problem.pointer for problem in problems_of(document)] == ["/currency"]


def test_stock_that_serves_one_of_two_channels_is_taken() -> None:
    """Beside a channel with a slot of 3/4 in and a flange of 1 in stands one with 1 1/4 in and 3/4 in.

    Sheet: 6 in + 75 mm + 3/4 in = 246.45 mm. Joint profile: 12 - 6 - 1 1/4 = 4 3/4 in, less 3 mm: 117.65 mm.
    Film channel: 4 3/4 in + 3/4 in + 1 in = 6 1/2 in.
    """
    part: Document = BASE["items"][3]["part"]
    deep = {**BASE["items"][3], "sku": "deep", "part": {**part, "slot_depth": "1 1/4 in", "flange": "3/4 in"}}
    sizes = {
        "/items/sheet/part/width": 246.45,
        "/items/joint-profile/part/length": 117.65,
        "/items/film-channel/part/length": "6 1/2 in",
    }
    read_catalog(changed(with_items(BASE, deep), sizes))


def test_a_high_board_leaves_the_least_clear_height() -> None:
    """Behind a 10 in board a 12 in wall is too low: the batten is then for the least clear height.

    A limit of 60 mm and the channel's 1 3/4 in make 104.45 mm. With the limit unread nothing is judged by 75 mm.
    """
    high = changed(
        BASE,
        {
            "/items/board/part/face": "10 in",
            "/limits/0": {"name": "clear_height", "value": 60},
            "/items/film-channel/part/length": 104.45,
        },
    )
    read_catalog(high)
    (problem,) = problems_of(with_part(high, "film-channel", length=104))
    assert problem.suggestion == 104.45
    assert [p.pointer for p in problems_of(changed(high, {"/limits/0/value": "low"}))] == ["/limits/0/value"]


def test_a_wrong_title_leaves_the_currency_judged() -> None:
    """A Canadian catalog without a proper title is still judged in Canadian dollars."""
    document = changed(
        BASE, {"/currency": "CAD", "/title": 3, "/items/board/currency": "CAD", "/items/nut/currency": "USD"}
    )
    assert [problem.pointer for problem in problems_of(document)] == ["/title", "/items/14/currency"]


def test_a_fastening_table_without_washers_asks_none_of_their_size() -> None:
    """Where no screw takes a washer, a small one is the dealer's business."""
    places = ("locating", "field", "joint_profile", "jamb_cap")
    rows = [BASE["fastening"][0] | {"place": place, "washer": False} for place in places]
    catalog_with(with_part(BASE, "washer", outer_diameter="6 mm"), fastening=rows)


@pytest.mark.parametrize("price", ["0", "0.00", "-1.00", "1e3", "", 48, 48.0, None, "1.999", "NaN"])
def test_a_price_is_a_positive_decimal_text(price: object) -> None:
    """What is no positive amount of money is told at the price."""
    assert [p.pointer for p in problems_of(with_item(BASE, "board", price=price, breaks=[]))] == [
        "/items/2/price"
    ]


def test_an_unknown_role_is_told_with_every_role() -> None:
    """The roles that exist are offered at the role itself."""
    (problem,) = problems_of(with_item(BASE, "plug", part={"role": "gutter"}))[-1:]
    assert (problem.pointer, problem.allowed) == ("/items/16/part/role", CATALOG_ROLES)


def test_a_choice_is_told_with_what_is_allowed() -> None:
    """A head that does not exist is answered with those that do."""
    (problem,) = problems_of(with_part(BASE, "hex-long", head="round"))
    assert (problem.pointer, problem.allowed) == ("/items/7/part/head", ("pan", "hex_washer"))


def test_a_field_named_like_a_role_is_told_where_it_stands() -> None:
    """The validator's own step for the role is no part of the pointer, whatever the field is called."""
    (problem,) = problems_of(with_part(BASE, "sheet", sheet={"length": 1}))
    assert problem.pointer == "/items/0/part/sheet"


def test_a_pointer_escapes_its_steps() -> None:
    """A slash and a tilde in a field's name are written as RFC 6901, section 3, asks."""
    assert [problem.pointer for problem in problems_of(BASE | {"a/b~c": 1})] == ["/a~1b~0c"]


def test_text_bytes_and_decoded_json_read_alike() -> None:
    """The same document gives the same catalog, however it comes."""
    text = json.dumps(BASE)
    catalog = read_catalog(BASE)
    for read in (read_catalog(text), read_catalog(text.encode())):
        assert (read.document, read.by_role, read.by_sku) == (
            catalog.document,
            catalog.by_role,
            catalog.by_sku,
        )


@pytest.mark.parametrize(
    "document",
    [
        None,
        True,
        3,
        1.5,
        "",
        b"",
        b"\xff",
        "{",
        "[]",
        [],
        {},
        {"items": {}},
        {1: 2},
        "null",
        "NaN",
        '{"title": NaN}',
        "[" * 100_000,
        '{"items":' * 5000,
        "9" * 5000,
        '{"title": "\\ud800"}',
        "\ud800",
        pytest.param(object(), id="object"),
        {"\ud800": 1},
        {"items": [None, 3, "x", [], {}, {"part": {"role": []}}, {"part": {"role": {}}}]},
        {
            "items": [
                {"part": {"role": "sheet", "length": 10**400, "width": float("inf"), "u_value": 10**400}}
            ]
        },
    ],
    ids=lambda document: repr(document)[:30],
)
def test_what_is_no_catalog_is_refused(document: object) -> None:
    """Whatever comes in, the refusal is a CatalogInvalid with at least one problem."""
    assert problems_of(document)


def test_nesting_without_end_is_refused() -> None:
    """A value nested ten thousand deep where a text is wanted is one wrong field."""
    deep: list[Any] = []
    for _ in range(10_000):
        deep = [deep]
    assert [problem.pointer for problem in problems_of(BASE | {"title": deep})] == ["/title"]


def test_a_document_of_wrong_fields_is_refused_as_a_whole() -> None:
    """Beyond a thousand wrong fields one sentence says so."""
    (problem,) = problems_of(BASE | {f"field{number}": 0 for number in range(1001)})
    assert problem.pointer == ""
    assert "1001" in english(problem.detail)


ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["items", "part", "role", "sku", "breaks", "x"]), inner, max_size=4)
    ),
    max_leaves=12,
)


def _places(value: object, pointer: str = "") -> list[str]:
    """List the pointer of everything in a document."""
    entries = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    )
    return [pointer, *(inner for key, entry in entries for inner in _places(entry, f"{pointer}/{key}"))]


PLACES = _places(BASE)[1:]


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.sampled_from(PLACES), ANY_JSON, min_size=1, max_size=3))
def test_any_change_is_read_or_refused_with_pointers_into_the_document(edits: dict[str, Any]) -> None:
    """Put anything anywhere: a catalog, or problems whose pointers lead to a field or to where one is missing."""
    document = deepcopy(BASE)
    for pointer in sorted(edits, key=len, reverse=True):  # inner places first: outer ones replace them
        holder, last = _find(document, pointer)
        holder[last] = edits[pointer]
    places = set(_places(document))
    for problem in _problems_if_any(document):
        holder, _, missing = problem.pointer.rpartition("/")
        assert problem.pointer in places or (holder in places and missing), problem


def _problems_if_any(document: object) -> tuple[FieldProblem, ...]:
    try:
        read_catalog(document)
    except CatalogInvalid as refusal:
        return refusal.problems
    return ()


def test_the_longest_list_is_read() -> None:
    """Two thousand items, the most a catalog may have, with fifty tiers; one more item is refused."""
    document = with_items(
        demo_document(),
        *(SECOND_SHEET | {"sku": f"extra-{n}"} for n in range(2000 - len(demo_document()["items"]))),
    )
    document["tiers"] = [
        {
            "name": f"tier-{number}",
            "valid_from": "2026-01-01",
            "valid_until": "2026-12-31",
            "prices": [{"sku": f"extra-{row}", "price": "40.00"} for row in range(100)],
        }
        for number in range(50)
    ]
    assert len(read_catalog(document).by_sku) == 2000
    with pytest.raises(CatalogInvalid):
        read_catalog(with_items(document, SECOND_SHEET | {"sku": "one-more"}))


def test_leaving_out_what_is_optional_is_no_problem() -> None:
    """A dealer without rope hooks has a catalog all the same."""
    read_catalog(without_items(BASE, "hook", "bolt", "nut", "flat-washer", "plug"))


@given(digits=st.from_regex(r"[0-9]{7}|[0-9]{11,13}", fullmatch=True))
def test_the_check_digit_is_that_of_a_general_library(digits: str) -> None:
    """GS1 General Specifications, section 7.9, as `stdnum.ean` computes it."""
    assert check_digit(digits) == calc_check_digit(digits)


def test_a_trade_item_number_that_does_not_check_is_corrected() -> None:
    """4006381333931 is the worked number of the check in many a textbook (from memory)."""
    item = demo_document()["items"][0]["sku"]
    assert read_catalog(with_item(demo_document(), item, gtin="4006381333931"))
    with pytest.raises(CatalogInvalid) as caught:
        read_catalog(with_item(demo_document(), item, gtin="4006381333937"))
    (problem,) = caught.value.problems
    assert (problem.pointer, problem.suggestion) == ("/items/0/gtin", "4006381333931")
