"""Alternatives: none beaten in every respect, each reachable by its changes, each with its words."""

from decimal import Decimal
from typing import Any

import pytest
from pydantic import TypeAdapter

from service.planner.alternatives import Alternatives, find_alternatives
from service.planner.asked.catalog import Catalog
from service.planner.errors import HeightUnbuildable
from tests.planner.asking import plan_of, request, spec_of


def found(body: dict[str, Any], catalog: Catalog) -> Alternatives:
    """Find alternatives and check their published shape."""
    return TypeAdapter(Alternatives).validate_python(find_alternatives(spec_of(body), catalog))


def measures(alternative: Any) -> tuple[Any, ...]:
    """What an alternative is judged by."""
    return (
        Decimal(alternative["total"]),
        alternative["panel_joints"],
        alternative["waste_m2"],
        alternative["longest_mm"],
    )


BODY = request(structure={"bays": 12}, wall={"height": "26 in"})


def test_none_is_beaten_in_every_respect(demo: Catalog) -> None:
    """For any two, each is better somewhere."""
    listed = found(BODY, demo)["alternatives"]
    assert len(listed) > 1
    for one in listed:
        for other in listed:
            if one is not other:
                assert any(a < b for a, b in zip(measures(one), measures(other), strict=True))


def test_the_cheapest_comes_first_and_the_others_say_what_they_cost_more(demo: Catalog) -> None:
    """Differences are to the cheapest in the list."""
    listed = found(BODY, demo)["alternatives"]
    totals = [Decimal(alternative["total"]) for alternative in listed]
    assert totals == sorted(totals)
    assert [Decimal(a["more_than_cheapest"]) for a in listed] == [total - totals[0] for total in totals]


def test_each_is_what_its_changes_give(demo: Catalog) -> None:
    """Applied to the request, the changes plan to the total, joints and sheets stated."""
    for alternative in found(BODY, demo)["alternatives"]:
        body = BODY
        for change in alternative["changes"]:
            _, section, name = change["pointer"].split("/")
            body = body | {section: body.get(section, {}) | {name: change["value"]}}
        summary = plan_of(body, demo)["summary"]
        assert (summary["total"], summary["panel_joints"], summary["sheets"]) == (
            alternative["total"],
            alternative["panel_joints"],
            alternative["sheets"],
        )


def test_a_height_that_uses_the_sheet_up_says_what_it_saves(demo: Catalog) -> None:
    """26 in leaves 22 in of a 48 in sheet over; 2 1/16 in lower takes two strips of it."""
    texts = [alternative["text"] for alternative in found(BODY, demo)["alternatives"]]
    assert any(text.startswith('2 1/16" lower: saves USD') for text in texts)


def test_the_wall_as_asked_is_told_apart(demo: Catalog) -> None:
    """It has no changes and says so."""
    asked = found(BODY, demo)["asked"]
    assert asked is not None
    assert (asked["changes"], asked["text"]) == ([], "As asked.")


def test_a_wall_that_cannot_be_built_may_have_alternatives_that_can(demo: Catalog) -> None:
    """Upright sheets of 2.1 m cannot pass a flap's upright on 2 m bays, where no joint may fall; flutes along can."""
    body = request(
        structure={"bays": 2, "bay_spacing": "2 m"},
        wall={"panel_thickness": 10, "flutes": "upright"},
        options={"wind_flaps": ["left-front"]},
    )
    answer = found(body, demo)
    assert answer["asked"] is None
    assert any(change["pointer"] == "/wall/flutes" for a in answer["alternatives"] for change in a["changes"])


def test_no_alternative_leaves_the_bounds_of_its_field(demo: Catalog) -> None:
    """Just above the least height that the contract allows, lower ones that use a sheet up are left out."""
    with pytest.raises(HeightUnbuildable):
        find_alternatives(spec_of(request(wall={"height": 51})), demo)
