"""A plan is a function of the question, the catalog's revision and the planner's version alone."""

from typing import Any

import orjson
import pytest

from service.planner.asked.catalog import Catalog
from service.planner.plan import make_plan
from tests.planner.asking import REVISION, plan_of, request, spec_of


def bytes_of(body: dict[str, Any], catalog: Catalog, revision: str = REVISION) -> bytes:
    """Plan and dump."""
    return orjson.dumps(make_plan(spec_of(body), catalog, revision))


def id_of(body: dict[str, Any], catalog: Catalog) -> str:
    """Give a plan's identity."""
    return plan_of(body, catalog)["plan_id"]


def test_the_same_question_has_the_same_bytes(demo: Catalog) -> None:
    """Asked twice."""
    assert bytes_of(request(), demo) == bytes_of(request(), demo)


@pytest.mark.parametrize(
    "same",
    [
        {"reference": "order 17"},
        {"structure": {"bay_spacing": 1219.2}},
        {"structure": {"bays": 22.0}},
        {"structure": {"stations": [f"{4 * number} ft" for number in range(23)]}},
        {"structure": {"sides": ["right", "left"]}},
        {"wall": {"height": "24 in", "baseboard_face": "6 in"}},
        {"allowances": {"metal_joint": "2.00"}},
    ],
)
def test_another_way_to_ask_is_the_same_plan(same: dict[str, Any], demo: Catalog) -> None:
    """Units, spelled-out defaults and the customer's reference are no part of the question."""
    assert id_of(request(**same), demo) == id_of(request(), demo)


@pytest.mark.parametrize(
    "other",
    [
        {"display_units": "metric"}, {"structure": {"bays": 21}}, {"wall": {"height": "23 in"}},
        {"options": {"lay_from": "back"}}, {"site": {"highest_temperature_c": 60}}, {"allowances": {"cut": "9.00"}},
        {"structure": {"post": {"width": "2 in"}}}, {"on_hand": [{"sku": "BB06-12L", "length": "5 ft"}]},
    ],
)  # fmt: skip
def test_another_question_is_another_plan(other: dict[str, Any], demo: Catalog) -> None:
    """Anything that could change the wall."""
    assert id_of(request(**other), demo) != id_of(request(), demo)


def test_the_catalogs_revision_is_part_of_the_identity(demo: Catalog) -> None:
    """The same stock under another revision is another plan."""
    other = "r-" + "1" * 32
    assert bytes_of(request(), demo, other) != bytes_of(request(), demo)
