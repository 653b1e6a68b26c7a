"""What a check offers works: its changes, put into the request, make a plan in which it passes.

Requests are drawn from the whole space of specs, with winds, low hip rails, short posts, curved bows and uneven ground
on top, so that most checks fail somewhere.
"""

from copy import deepcopy
from typing import Any, Final

from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.asked.catalog import Catalog
from service.planner.errors import SpecError
from tests.planner.asking import plan_of
from tests.planner.held import apply_change
from tests.planner.requests import requests
from tests.planner.scenarios import demo_catalog

Body = dict[str, Any]
EDITS: Final[dict[str, list[Any]]] = {
    # edits of a request, each pointer with the values it is drawn from
    "/site/wind": [{"basic_speed": 40}, {"basic_speed": 80}, {"basic_speed": 30, "standard": "EN 1991-1-4"}],
    "/structure/hip_height": ["2 ft", "3 ft"],
    "/structure/post/height_above_grade": ["2 in", "12 in", "24.5 in", "36 in"],
    "/structure/bow": [{"profile": "curved", "radius": "3 ft"}, {"profile": "curved", "radius": "8 ft"}],
}


@st.composite
def difficult(draw: st.DrawFn) -> Body:
    """Draw a request that asks for trouble."""
    body: Body = deepcopy(draw(requests()))
    for pointer in draw(st.lists(st.sampled_from(sorted(EDITS)), max_size=3, unique=True)):
        apply_change(body, pointer, draw(st.sampled_from(EDITS[pointer])))
    structure = body["structure"]
    posts = len(structure["stations"]) if "stations" in structure else structure["bays"] + 1
    level = draw(st.sampled_from([0, -12, -60, 80, 200]))
    levels = [0, *[level] * (posts - 2), 0] if posts > 2 else [0] * posts
    return body | {"structure": structure | {"ground_heights": {"left": levels, "right": levels}}}


@settings(derandomize=True, max_examples=40, deadline=None)
@given(body=difficult())
def test_what_a_check_offers_makes_it_pass(body: Body) -> None:
    """Whichever check it is, whatever else the request asks for."""
    catalog = demo_catalog()
    for check in _checks(body, catalog):
        if not check["changes"]:
            continue
        changed = deepcopy(body)
        for change in check["changes"]:
            apply_change(changed, change["pointer"], change["value"])
        again = next(each for each in plan_of(changed, catalog)["checks"] if each["id"] == check["id"])
        assert again["outcome"] == "pass", (check, again)


def _checks(body: Body, catalog: Catalog) -> list[Any]:
    """Give a request's checks, none where it cannot be built."""
    try:
        return list(plan_of(body, catalog)["checks"])
    except SpecError:
        return []
