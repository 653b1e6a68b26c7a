"""Cutting of parts whose lengths are known: flush sticks, kerf, limits. Rules: common practice, no source."""

from typing import Any

import pytest

from service.planner.errors import NoPieceFits
from tests.planner.asking import english, material, plan_of, request
from tests.planner.scenarios import catalog_with, example_a_document, with_part

ONE_SIDE = request(structure={"sides": ["left"]})


def channel_of(length: str) -> Any:
    """Cut one side's two end battens of 18 15/16 in from sticks of a length."""
    catalog = catalog_with(with_part(example_a_document(), "film-channel", length=length))
    return material(plan_of(ONE_SIDE, catalog), "film_channel")


@pytest.mark.parametrize(
    ("length", "sticks", "crosscuts", "offcuts"),
    [
        ("38 in", 1, 1, []),  # 2 x 18 15/16 + 1/8 fill it
        ("38 1/16 in", 1, 2, []),  # 1/16 in is left: less than a kerf
        ("40 in", 1, 2, [{"length_mm": 47.625, "count": 1}]),  # 2 in less a kerf
        ("37 15/16 in", 2, 1, [{"length_mm": 479.425, "count": 1}]),  # a sixteenth short: one batten a stick
    ],
)
def test_kerfs_decide_what_a_stick_gives(
    length: str, sticks: int, crosscuts: int, offcuts: list[Any]
) -> None:
    """Sum of lengths and the kerfs between them at most the stick; flush saves a cut."""
    (stock,) = channel_of(length)["stock"]
    (pattern,) = stock["patterns"]
    assert (stock["count"], pattern["crosscuts"], pattern["offcuts"]) == (sticks, crosscuts, offcuts)


def test_a_part_longer_than_its_stick_is_refused() -> None:
    """18 15/16 in does not come out of 18 in."""
    with pytest.raises(NoPieceFits) as caught:
        channel_of("18 in")
    assert "film channel" in english(caught.value.errors[0].detail)
