"""Prices: packs rounded once, breaks by packs, a bill that foots to the hundredth."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.asked.catalog import Item, PriceBreak
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.parts import Screw, Sheet, Tape
from service.planner.bill.pricing import in_unit, price, price_of_pack, together
from service.planner.bill.takeoff import Need
from service.planner.fields import money_text
from service.planner.units import INCH, METRE, MILLIMETRE
from tests.planner.asking import plan_of, request
from tests.planner.plan_cases import CASES, case, example_a
from tests.planner.scenarios import example_a_document

SCREW = Item(
    sku="screw",
    description="",
    part=Screw(role="screw", number=10, length=3 * INCH // 2, head="pan", drive="cross", point=3),
    price=1200,
    pack_size=100,
    mass_kg=0.005,
    breaks=(PriceBreak(packs=5, price=1100), PriceBreak(packs=20, price=1000)),
)
SHEET = Item(
    sku="sheet",
    description="",
    part=Sheet(role="sheet", thickness=8 * MILLIMETRE, length=144 * INCH, width=48 * INCH),
    price=4800,
    mass_kg=6.69,
)
ROLL = Item(
    sku="roll",
    description="",
    part=Tape(role="foil_tape", width=3 * INCH, length=33 * METRE),
    price=2800,
    mass_kg=0.43,
)


def _screws(required: int, spare: int = 0, row: str = "row") -> Need:
    return Need(
        item=SCREW, unit="H87", required=required, spare=spare, per_pack=SCREW.pack_size, needed_by=(row,)
    )


@given(required=st.integers(1, 10**6), spare=st.integers(0, 10**5))
def test_packs_hold_what_is_needed_and_no_pack_more(required: int, spare: int) -> None:
    """One pack fewer would not do."""
    line = price([_screws(required, spare)]).lines[0]
    assert line.quantity >= required + spare > line.quantity - line.per_pack


def test_packs_are_rounded_once_after_summing() -> None:
    """Three tunnels of 30 screws share one pack of 100; rounded one by one they would take three."""
    needs = [_screws(30, row=row) for row in ("a", "b", "c")]
    assert [line.packs for line in price(together(needs)).lines] == [1]
    assert together(needs)[0].needed_by == ("a", "b", "c")


@pytest.mark.parametrize(("packs", "expected"), [(1, 1200), (4, 1200), (5, 1100), (19, 1100), (20, 1000)])
def test_a_break_begins_with_its_number_of_packs(packs: int, expected: int) -> None:
    """The unit price is that of one pack, at the last break reached."""
    assert price_of_pack(SCREW, packs) == expected
    assert price([_screws(packs * 100)]).lines[0].pack_price == expected


def test_the_order_of_breaks_does_not_matter() -> None:
    """The break with the most packs reached decides, wherever it stands in the list."""
    turned = Item(
        sku="x", description="", part=SCREW.part, price=1200, mass_kg=0.0, breaks=SCREW.breaks[::-1]
    )
    assert price_of_pack(turned, 30) == 1000


def test_a_small_bill_by_hand() -> None:
    """Amounts, masses and the longest piece of three lines.

    174 screws: 2 packs, 24.00, 200 x 0.005 = 1 kg. 8 sheets: 384.00, 53.52 kg. 11.1 m of tape: 1 roll, 28.00, 0.43 kg.
    Together 436.00 and 54.95 kg; the sheet of 144 in is the longest.
    """
    bill = price(
        [
            _screws(158, 16),
            Need(item=SHEET, unit="H87", required=8, spare=0, per_pack=1, needed_by=()),
            Need(
                item=ROLL,
                unit="MTR",
                required=10 * METRE,
                spare=11 * METRE // 10,
                per_pack=33 * METRE,
                needed_by=(),
            ),
        ]
    )
    assert [line.amount for line in bill.lines] == [2400, 38400, 2800]
    assert bill.total == 43600
    assert bill.total_mass_kg == pytest.approx(54.95)
    assert bill.longest == 144 * INCH


def test_nothing_bought_is_a_bill_of_nothing() -> None:
    """An empty take-off costs nothing and has no longest piece."""
    bill = price([])
    assert (bill.lines, bill.total, bill.total_mass_kg, bill.longest) == ((), 0, 0, 0)


def test_small_parts_do_not_make_the_longest_piece() -> None:
    """A roll of 33 m travels in a box."""
    need = Need(
        item=ROLL, unit="MTR", required=METRE, spare=0, per_pack=33 * METRE, needed_by=("left-1-panel-1",)
    )
    assert price([need]).longest == 0


@pytest.mark.parametrize("name", CASES)
def test_every_bill_foots(name: str) -> None:
    """The total is the sum of packs times pack prices, done again in decimal money."""
    bill = price(case(name).needs)
    again = sum((Decimal(line.packs) * Decimal(line.pack_price).scaleb(-2) for line in bill.lines), Decimal())
    assert Decimal(bill.total).scaleb(-2) == again
    assert all(line.packs > 0 for line in bill.lines)


def test_units_are_codes_of_recommendation_20() -> None:
    """Counted parts are pieces (H87), tape is in metres (MTR). UN/CEFACT Recommendation 20, annex I."""
    bill = price(example_a().needs)
    units = {line.item.part.role: line.unit for line in bill.lines}
    assert units.pop("foil_tape") == "MTR"
    assert set(units.values()) == {"H87"}
    assert in_unit(33 * METRE + 500 * MILLIMETRE, "MTR") == 33.5
    assert in_unit(44, "H87") == 44


def test_the_hand_solved_tunnel_in_packs() -> None:
    """Packs of 100: 174 pan screws 2 packs, 64 hex 1, 86 short 1, 124 washers 2; 43.89 ft of tape is one roll."""
    packs = {line.item.sku: line.packs for line in price(example_a().needs).lines}
    names = ("pan-cross-long", "hex-long", "pan-square-short", "washer", "foil", "sheet", "plate")
    assert [packs[name] for name in names] == [2, 1, 1, 2, 1, 8, 20]


@st.composite
def _price_lists(draw: st.DrawFn) -> dict[str, Any]:
    """Draw the hand-solved tunnel's stock list with other prices, packs and quantity breaks, and a tier."""
    document = example_a_document()
    for item in document["items"]:
        cents = draw(st.integers(2, 20_000))
        falls = draw(st.lists(st.integers(1, cents - 1), max_size=3, unique=True).map(sorted))[::-1]
        packs = sorted(draw(st.sets(st.integers(2, 60), min_size=len(falls), max_size=len(falls))))
        item["price"] = money_text(cents)
        item["pack_size"] = draw(st.sampled_from([1, 3, 25, 100]))
        item["breaks"] = [
            {"packs": at, "price": money_text(cents)} for at, cents in zip(packs, falls, strict=True)
        ]
    off = draw(st.sampled_from([0, 7.5, 33]))
    contract = draw(st.lists(st.sampled_from(["sheet", "washer", "foil"]), unique=True))
    prices = [{"sku": sku, "price": "7.77"} for sku in contract]
    tier = {
        "name": "group",
        "valid_from": "2027-01-01",
        "valid_until": "2027-12-31",
        "percent_off": off,
        "prices": prices,
    }
    return {**document, "tiers": [tier]}


@given(document=_price_lists(), pricing=st.sampled_from([{}, {"tier": "group", "date": "2027-03-01"}]))
@settings(max_examples=40, deadline=None)
def test_every_price_can_be_recomputed_from_the_answer(
    document: dict[str, Any], pricing: dict[str, Any]
) -> None:
    """Amounts are packs times pack prices, totals their sums; what is left over is worth its share of the packs."""
    bill = plan_of(request(structure={"bays": 4}, pricing=pricing), read_catalog(document))[
        "bill_of_materials"
    ]
    for line in bill["lines"]:
        assert Decimal(line["amount"]) == line["packs"] * Decimal(line["pack_price"])
        left = line["quantity"] - line["required"] - line["spare"]
        worth = Decimal(str(left)) * Decimal(line["pack_price"]) / Decimal(str(line["pack_size"]))
        # metres of tape are written to more digits than a cent can tell
        assert abs(Decimal(line["unopened_worth"]) - worth) <= Decimal("0.0051")
        assert ("pack_unit" in line) == (line["pack_size"] > 1)
    assert Decimal(bill["total"]) == sum(Decimal(line["amount"]) for line in bill["lines"])
    assert Decimal(bill["unopened_worth"]) == sum(Decimal(line["unopened_worth"]) for line in bill["lines"])
    assert bill["lead_days"] == max(line["lead_days"] for line in bill["lines"])


def test_shares_of_spares_are_rounded_once() -> None:
    """Three walls of 31 screws with 10 % to spare: 9.3 are 10 spares on one order, where 4 each would make 12."""
    needs = [replace(_screws(31, 4, row), spare_percent=10) for row in ("a", "b", "c")]
    assert [need.spare for need in together(needs)] == [10]
    # a count of its own is for every wall
    assert [need.spare for need in together([_screws(31, 2), _screws(31, 2)])] == [4]


def test_an_item_at_two_prices_is_two_lines() -> None:
    """Quotes of different days keep their prices on one order."""
    dearer = replace(SCREW, price=1300)
    assert len(together([_screws(30), replace(_screws(30), item=dearer)])) == 2
