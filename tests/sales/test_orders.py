"""Orders: what is true of every one, whatever walls it is made from."""

from collections import Counter
from collections.abc import Iterable
from decimal import Decimal
from functools import cache
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.plan import Worked, work_out
from service.planner.wall.layout import Cutting
from service.planner.writing import ENGLISH, Writer
from service.sales.describing import describe_order
from service.sales.errors import OnHandClaimedTwice, OrderMixed
from service.sales.orders import Order, Structure, combine, shared
from service.sales.shapes import OrderOut, OrderRequest
from tests.planner.asking import spec_of
from tests.planner.plan_cases import CASES, tunnel
from tests.planner.scenarios import catalog_with, demo_catalog, demo_document

WALLS: dict[str, dict[str, Any]] = {
    **{name: body for name, body in CASES.items() if name != "on hand"},
    "spares": {**tunnel(3), "options": {"spares_percent": 3}},
    "thick": {**tunnel(5), "wall": {"panel_thickness": "10 mm", "height": "31 in"}},
}


@cache
def worked(name: str) -> Worked:
    """Work one of the walls out."""
    return work_out(spec_of(WALLS[name]), demo_catalog())


def order_of(*names: str) -> Order:
    """Order walls together, numbered."""
    return combine(
        [Structure(id=f"w{at}", reference=name, worked=worked(name)) for at, name in enumerate(names)]
    )


def described(order: Order) -> OrderOut:
    """Turn an order into plain values."""
    return describe_order(order, OrderRequest(), "2027-03-01", Writer(ENGLISH, "imperial"))


@pytest.mark.parametrize("name", WALLS)
def test_an_order_of_one_wall_is_that_wall(name: str) -> None:
    """Line by line, and its share is the whole."""
    bill, order = worked(name).facts.bill, order_of(name)
    assert [
        (line.item, line.packs, line.pack_price, line.required, line.spare) for line in order.bill.lines
    ] == [(line.item, line.packs, line.pack_price, line.required, line.spare) for line in bill.lines]
    assert order.shares == (bill.total,) == (order.apart,)
    assert not order.recuts


@given(names=st.lists(st.sampled_from(sorted(WALLS)), min_size=2, max_size=7))
@settings(max_examples=25, deadline=None)
def test_together_never_costs_more_and_shares_add_up(names: list[str]) -> None:
    """To the cent; nobody pays more than alone; every piece is cut once and carries its wall's id."""
    order = order_of(*names)
    alone = [worked(name).facts.bill.total for name in names]
    assert order.bill.total <= order.summed <= order.apart == sum(alone)
    assert sum(order.shares) == order.bill.total
    assert all(share <= own for share, own in zip(order.shares, alone, strict=True))
    out = described(order)
    assert sum(Decimal(share["share"]) for share in out["structures"]) == Decimal(out["total"])
    saving = out["saving"]
    assert Decimal(saving["by_packs"]) + Decimal(saving["by_cutting"]) == Decimal(saving["saved"])
    cut = Counter(
        piece
        for entry in out["cutting"]
        for stock in entry["material"]["stock"]
        for pattern in stock["patterns"]
        for cuts in (pattern.get("cuts", []), *(strip["cuts"] for strip in pattern.get("strips", [])))
        for each in cuts
        for piece in each["pieces"]
    )
    wanted = {
        f"w{at}/{piece}"
        for at, name in enumerate(names)
        for cutting in worked(name).facts.layout.cuttings
        for pattern in cutting.patterns
        for strip in pattern.strips
        for pieces in strip.pieces
        for piece in pieces
    }
    assert set(cut) == wanted
    assert set(cut.values()) == {1}


@pytest.mark.parametrize("pair", [*combinations(("plain", "sides of two heights", "low wall", "thick"), 2)])
def test_what_is_cut_together_fits_and_is_what_is_bought(pair: tuple[str, str]) -> None:
    """Pieces and kerfs lie within their stock, strips within the sheet; as many are bought as are opened."""
    order = order_of(*pair, *pair)
    opened: Counter[str] = Counter()
    for recut in order.recuts:
        for pattern in recut.cutting.patterns:
            opened[pattern.sku] += pattern.repeat
            kerf = recut.cutting.kerf
            for strip in pattern.strips:
                number = sum(count for _, count in strip.cuts)
                used = sum(length * count for length, count in strip.cuts)
                assert used + kerf * (number - 1) <= pattern.length
                assert all(len(pieces) == number for pieces in strip.pieces)
            if pattern.width is not None:
                heights = [strip.height or 0 for strip in pattern.strips]
                assert sum(heights) + kerf * (len(heights) - 1) <= pattern.width
    bought = {line.item.sku: line.required for line in order.bill.lines}
    assert opened
    assert all(bought[sku] >= count for sku, count in opened.items())


def sizes(cuttings: Iterable[Cutting], prefix: str = "") -> dict[str, tuple[int, int | None]]:
    """Give length and height of every piece by its id."""
    return {
        f"{prefix}{piece}": (length, strip.height)
        for cutting in cuttings
        for pattern in cutting.patterns
        for strip in pattern.strips
        for pieces in strip.pieces
        for piece, length in zip(
            pieces, [one for one, count in strip.cuts for _ in range(count)], strict=True
        )
    }


def test_the_layouts_are_kept() -> None:
    """A piece that is cut together with others has the length and height that its wall's own cutting gave it."""
    order = order_of("plain", "low wall", "sides of two heights", "plain")
    alone: dict[str, tuple[int, int | None]] = {}
    for structure in order.structures:
        alone |= sizes(structure.worked.facts.layout.cuttings, f"{structure.id}/")
    cut = sizes(recut.cutting for recut in order.recuts)
    assert cut
    assert cut.items() <= alone.items()


@given(total=st.integers(0, 10**9), alone=st.lists(st.integers(0, 10**8), min_size=1, max_size=40))
def test_shares_add_up_to_the_last_hundredth(total: int, alone: list[int]) -> None:
    """By largest remainder: none is a hundredth or more away from its exact part."""
    shares, whole = shared(total, alone), sum(alone)
    if whole:
        assert sum(shares) == total
        assert all(
            abs(share * whole - total * part) < whole for share, part in zip(shares, alone, strict=True)
        )
    else:
        assert set(shares) == {0}


def test_two_walls_with_one_id_are_refused() -> None:
    """Their pieces could not be told apart."""
    one = Structure(id="a", reference="", worked=worked("plain"))
    with pytest.raises(OrderMixed):
        combine([one, one])


def test_two_currencies_are_refused() -> None:
    """And named."""
    euros = work_out(spec_of(tunnel()), catalog_with(demo_document(), currency="EUR"))
    with pytest.raises(OrderMixed) as caught:
        combine(
            [
                Structure(id="a", reference="", worked=worked("plain")),
                Structure(id="b", reference="", worked=euros),
            ]
        )
    assert caught.value.detail.values["currencies"] == ("EUR", "USD")


def test_two_tiers_are_refused() -> None:
    """An order is priced at one."""
    tier = {**tunnel(), "pricing": {"tier": "schools", "date": "2026-05-01"}}
    schools = work_out(spec_of(tier), demo_catalog())
    with pytest.raises(OrderMixed):
        combine(
            [
                Structure(id="a", reference="", worked=worked("plain")),
                Structure(id="b", reference="", worked=schools),
            ]
        )


def test_stock_on_hand_is_not_used_twice() -> None:
    """Two walls that both cut the same two boards up need four: refused with both. With four there, they may."""

    def board(count: int) -> Worked:
        body = {**CASES["on hand"], "on_hand": [{"sku": "BB06-12L", "length": "99 in", "count": count}]}
        return work_out(spec_of(body), demo_catalog())

    def both(count: int) -> Order:
        return combine([Structure(id=name, reference="", worked=board(count)) for name in ("a", "b")])

    used = sum(
        pattern.repeat
        for cutting in board(1).facts.layout.cuttings
        for pattern in cutting.patterns
        if pattern.from_on_hand
    )
    assert used == 1
    with pytest.raises(OnHandClaimedTwice) as caught:
        both(1)
    assert [problem.pointer for problem in caught.value.errors] == [
        "/structures/0/spec/on_hand",
        "/structures/1/spec/on_hand",
    ]
    one = Structure(id="a", reference="", worked=board(1))
    assert combine([one, Structure(id="b", reference="", worked=worked("plain"))])


def test_packing_and_picking_hold_every_line_once() -> None:
    """Bundles by kind with the longest piece and its length step; places in the yard by name."""
    out = described(order_of("plain", "metric", "thick"))
    skus = [sku for bundle in out["packing"] for sku in bundle["skus"]]
    assert sorted(skus) == sorted(line["sku"] for line in out["lines"])
    assert sum(bundle["mass_kg"] for bundle in out["packing"]) == pytest.approx(
        out["total_mass_kg"], abs=0.01
    )
    assert max(bundle["longest_mm"] for bundle in out["packing"]) == out["longest_mm"]
    for bundle in out["packing"]:
        assert bundle["length_step_mm"] is None or bundle["length_step_mm"] >= bundle["longest_mm"]
    assert sorted(number for pick in out["picking"] for number in pick["lines"]) == list(
        range(1, len(out["lines"]) + 1)
    )
    assert [pick["place"] for pick in out["picking"]] == ["Rack A", "Rack B", "Rack C", "Shelf D"]
