"""Advice works: put into the request, every change of a check or notice and every suggestion of a refusal is accepted and helps.

Requests are drawn from the whole space of specs, with every way to set a height, winds, low hip rails, short posts,
curved bows and uneven ground on top, so that most checks fail somewhere and a third of the requests is refused.
"""

from copy import deepcopy
from typing import Any, Final

from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.asked.catalog import Catalog
from service.planner.errors import FieldProblem, SpecError
from tests.planner.asking import plan_of
from tests.planner.held import apply_change
from tests.planner.requests import heights, requests
from tests.planner.scenarios import demo_catalog

Body = dict[str, Any]
EDITS: Final[dict[str, list[Any]]] = {
    # edits of a request, each pointer with the values it is drawn from
    "/site/wind": [{"basic_speed": 40}, {"basic_speed": 80}, {"basic_speed": 30, "standard": "EN 1991-1-4"}],
    "/site/install_temperature_c": [-10, 45, 60],
    "/structure/hip_height": ["18 in", "2 ft", "3 ft"],
    "/structure/post/height_above_grade": ["0", "2 in", "12 in", "24.5 in", "36 in"],
    "/structure/bow": [{"profile": "curved", "radius": "3 ft"}, {"profile": "curved", "radius": "8 ft"}, {"profile": "curved"}],
    "/structure/bay_spacing": ["9 ft", "12 ft", "3.66 m"],
    "/wall/baseboard_face": ["4 in", "6 in", "200 mm"],
    "/wall/end_cover": ["1 in", "40 mm"],
    "/options/longest_stock": ["5 ft", "8 ft", "3 m"],
    "/options/trench": [{"depth": "2 in"}, {"depth": "3 ft"}],
    "/structure/post/embed_depth": ["18 in"],
}  # fmt: skip


@st.composite
def difficult(draw: st.DrawFn) -> Body:
    """Draw a request that asks for trouble."""
    body: Body = deepcopy(draw(requests()))
    body["wall"] |= draw(heights())
    for pointer in draw(st.lists(st.sampled_from(sorted(EDITS)), max_size=3, unique=True)):
        if pointer != "/structure/bay_spacing" or "bays" in body["structure"]:
            apply_change(body, pointer, draw(st.sampled_from(EDITS[pointer])))
    structure = body["structure"]
    posts = len(structure["stations"]) if "stations" in structure else structure["bays"] + 1
    level = draw(st.sampled_from([0, 0, -12, -60, 80, 200]))
    levels = [0, *[level] * (posts - 2), 0] if posts > 2 else [0] * posts
    return body | {"structure": structure | {"ground_heights": {"left": levels, "right": levels}}}


@settings(derandomize=True, max_examples=60, deadline=None)
@given(body=difficult())
def test_advice_is_accepted_and_has_the_effect_that_it_claims(body: Body) -> None:
    """A check with its changes passes, a notice with its changes is not said again, a field with its suggestion is not refused."""
    catalog = demo_catalog()
    try:
        plan = plan_of(body, catalog)
    except SpecError as error:
        for problem in error.errors:
            if problem.suggestion is not None:
                accepts_suggestion(body, problem, catalog)
        return
    for check in plan["checks"]:
        if check["changes"]:
            again = plan_of(changed(body, check["changes"]), catalog)
            outcomes = [each["outcome"] for each in again["checks"] if each["id"] == check["id"]]
            assert set(outcomes) <= {"pass", "provided"}, (check, outcomes)
    for notice in plan["notices"]:
        if notice["changes"]:
            again = plan_of(changed(body, notice["changes"]), catalog)
            assert notice["text"] not in [each["text"] for each in again["notices"]], notice


def changed(body: Body, changes: list[Any]) -> Body:
    """Apply changes to a copy of a request."""
    copy = deepcopy(body)
    for change in changes:
        apply_change(copy, change["pointer"], change["value"])
    return copy


def accepts_suggestion(body: Body, problem: FieldProblem, catalog: Catalog) -> None:
    """Put a suggestion at its pointer: the plan is made, or another field is at fault."""
    refused: tuple[FieldProblem, ...] = ()
    try:
        plan_of(changed(body, [{"pointer": problem.pointer, "value": problem.suggestion}]), catalog)
    except SpecError as error:
        refused = error.errors
    assert problem.pointer not in {other.pointer for other in refused}, (problem, refused)
