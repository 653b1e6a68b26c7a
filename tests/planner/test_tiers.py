"""Agreed prices: contract before percentage before list, on the day that the request names."""

from typing import Any

import pytest

from service.planner.asked.catalog import Catalog
from service.planner.errors import FieldsDisagree, NoSuchItem
from tests.planner.asking import english, line, material, plan_of, request
from tests.planner.scenarios import catalog_with, example_a_document, with_item

TIERS = [
    {"name": "co-op", "valid_from": "2027-01-01", "valid_until": "2027-06-30", "percent_off": 10,
     "prices": [{"sku": "sheet", "price": "40.00"}]},
    {"name": "autumn", "valid_from": "2027-07-01", "valid_until": "2027-12-31", "percent_off": 12.5},
]  # fmt: skip


@pytest.fixture(scope="module")
def agreed() -> Catalog:
    """Add two tiers to the hand-solved tunnel's stock."""
    return catalog_with(example_a_document(), tiers=TIERS)


def on(date: str | None, tier: str = "co-op") -> dict[str, Any]:
    """Ask on a day."""
    return request(pricing={"tier": tier} | ({"date": date} if date else {}))


def test_a_contract_price_wins_and_the_rest_take_the_percentage(agreed: Catalog) -> None:
    """Sheets 40.00 by contract; boards 24.00 less 10 % are 21.60; both count in what is minimised."""
    plan = plan_of(on("2027-03-01"), agreed)
    assert (line(plan, "sheet")["pack_price"], line(plan, "board")["pack_price"]) == ("40.00", "21.60")
    # 8 sheets x 40 + 14 joints x 18 + 16 crosscuts x 1.50
    assert material(plan, "sheet")["objective"] == "596.00"


def test_without_a_contract_price_the_percentage_counts(agreed: Catalog) -> None:
    """12.5 % off 48.00 is 42.00; its first day counts."""
    assert line(plan_of(on("2027-07-01", "autumn"), agreed), "sheet")["pack_price"] == "42.00"


def test_without_a_tier_the_list_stands(agreed: Catalog) -> None:
    """48.00 as listed."""
    assert line(plan_of(request(), agreed), "sheet")["pack_price"] == "48.00"


def test_a_contract_price_stands_instead_of_quantity_breaks() -> None:
    """Listed at 48.00 and 35.00 from 5 on; by contract 40.00 for all 8, less 12.5 % 30.63 from 5 on."""
    breaks = with_item(example_a_document(), "sheet", breaks=[{"packs": 5, "price": "35.00"}])
    catalog = catalog_with(breaks, tiers=TIERS)
    assert line(plan_of(request(), catalog), "sheet")["pack_price"] == "35.00"
    assert line(plan_of(on("2027-03-01"), catalog), "sheet")["pack_price"] == "40.00"
    # 35.00 x 0.875 = 30.625, half up
    assert line(plan_of(on("2027-07-01", "autumn"), catalog), "sheet")["pack_price"] == "30.63"


@pytest.mark.parametrize("date", ["2026-12-31", "2027-07-01", None])
def test_a_tier_out_of_its_days_is_refused(date: str | None, agreed: Catalog) -> None:
    """With the days that it is valid."""
    with pytest.raises(FieldsDisagree) as caught:
        plan_of(on(date), agreed)
    assert "2027-01-01 to 2027-06-30" in english(caught.value.errors[0].detail)


def test_an_unknown_tier_names_those_that_there_are(agreed: Catalog) -> None:
    """In the order of the catalog."""
    with pytest.raises(NoSuchItem) as caught:
        plan_of(on("2027-03-01", "nobody"), agreed)
    assert caught.value.errors[0].allowed == ("co-op", "autumn")
