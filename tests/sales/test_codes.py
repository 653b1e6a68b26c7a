"""What a catalog may say in codes is on the lists that their bodies published."""

from typing import get_args

import pytest

from service.planner.asked.catalog import Currency, PackUnit, TaxCategory
from service.planner.asked.roles import Unit
from tests.sales.codes import CURRENCIES, PACKAGES, TAXES, UNITS


@pytest.mark.parametrize(
    ("ours", "published"),
    [
        (get_args(Currency), CURRENCIES),
        (get_args(TaxCategory), TAXES),
        (get_args(Unit), UNITS),
        (get_args(PackUnit), UNITS),
        ([code.removeprefix("X") for code in get_args(PackUnit)], PACKAGES),
    ],
)
def test_codes_are_on_their_lists(ours: list[str], published: frozenset[str]) -> None:
    """Every one of them, and the lists are not empty."""
    assert set(ours) < published
