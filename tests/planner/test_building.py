"""Walls built as the steps say, by a crew that refuses what cannot be done."""

from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.asked.catalog_rules import read_catalog
from service.planner.errors import SpecError
from tests.planner.asking import plan_of, request
from tests.planner.building import CannotBeDoneError, build, screws_on_marks
from tests.planner.plan_cases import CASES
from tests.planner.scenarios import demo_catalog, demo_document, with_part, without_items

TWO_PIECE = read_catalog(without_items(with_part(demo_document(), "HP08-8FT", pieces="two_piece"), "HP08-3M"))


@pytest.mark.parametrize("name", CASES)
def test_the_cases_can_be_built(name: str) -> None:
    """Every tunnel that makes the rows of the order of work appear goes up to the last screw."""
    plan = plan_of(CASES[name], demo_catalog())
    build(dict(plan))
    screws_on_marks(dict(plan))


@pytest.mark.parametrize("extent", ["above_baseboard", "full_height"])
def test_two_piece_profiles_can_be_built(extent: str) -> None:
    """Bases before the panels, caps after."""
    build(dict(plan_of(request(structure={"bays": 7}, wall={"joint_profile_extent": extent}), TWO_PIECE)))


@st.composite
def structures(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a tunnel: even or uneven bays, doors, flaps, ends, profiles, both ways of laying."""
    bays = draw(st.integers(1, 11))
    spans = st.sampled_from([40, 48, 48, 54, 60, 72])
    stations, x = ["0"], 0
    for span in draw(st.lists(spans, min_size=bays, max_size=bays)):
        x += span
        stations.append(f"{x} in")
    even = draw(st.booleans())
    base = {"bays": bays, "bay_spacing": "4 ft"} if even else {"stations": stations}
    door = draw(st.none() | st.integers(0, bays - 1))
    left = [0, *[int(s.split()[0]) for s in stations[1:]]] if not even else [48 * n for n in range(bays + 1)]
    openings = []
    if door is not None and bays > 1:
        inset = draw(st.sampled_from([0, 5, 9]))
        openings = [{"side": "left", "offset": f"{left[door] + inset} in", "width": "30 in"}]
    corners = ["left-front", "left-back", "right-front", "right-back"]
    end = st.sampled_from(["film", "polycarbonate", "open"])
    return request(
        structure={
            **base,
            "openings": openings,
            "sides": draw(st.sampled_from([["left"], ["left", "right"]])),
            "end_walls": {"front": draw(end), "back": draw(end)},
        },
        wall={
            "height": f"{draw(st.sampled_from([12, 24, 30]))} in",
            "joint_profile_extent": draw(st.sampled_from(["above_baseboard", "full_height"])),
        },
        options={
            "lay_from": draw(st.sampled_from(["front", "back"])),
            "wind_flaps": sorted(draw(st.sets(st.sampled_from(corners)))),
        },
    )


@settings(max_examples=60, deadline=None)
@given(body=structures())
def test_every_wall_can_be_built_as_the_steps_say(body: dict[str, Any]) -> None:
    """Nothing is laid, measured, pushed on or screwed where something is not there yet, and nothing is left over."""
    try:
        plan = plan_of(body, demo_catalog())
    except SpecError:
        return
    build(dict(plan))
    screws_on_marks(dict(plan))


def _steps(plan: Any, name: str) -> Any:
    return next(s for s in plan["install_sequence"]["steps"] if s["id"] == name)


@pytest.mark.parametrize(
    ("earlier", "later"),
    [
        ("left-1-next-panel", "left-1-next-board"),
        ("left-1-next-board", "left-1-profile"),
        ("left-1-profile", "left-1-fix"),
        ("left-1-far-upright", "left-1-channel"),
        ("left-1-start-upright", "left-1-channel"),
        ("left-1-first-board", "left-1-profile"),
    ],
)
def test_the_crew_refuses_steps_in_the_wrong_order(earlier: str, later: str) -> None:
    """Two steps swapped cannot be built, so that building means something."""
    body = request(structure={"bays": 9}, options={"wind_flaps": ["left-front", "left-back"]})
    plan = deepcopy(dict(plan_of(body, demo_catalog())))
    one, other = _steps(plan, earlier), _steps(plan, later)
    one["actions"], other["actions"] = other["actions"], one["actions"]
    with pytest.raises(CannotBeDoneError):
        build(plan)
