"""What goes out once comes back in full: equal runs, their rows and their steps."""

from typing import Any, Final

import orjson
import pytest

from service.planner.answer.counting_on import counted_on, each_of
from service.planner.answer.once import in_full, said_once
from service.planner.answer.shapes import PARTS, Part
from service.planner.plan import make_plan
from tests.planner.asking import REVISION, request, spec_of
from tests.planner.plan_cases import CASES
from tests.planner.scenarios import demo_catalog

STANDARD: Final = request(structure={"bays": 12})


def _made(body: dict[str, Any], *parts: Part) -> Any:
    """Make a plan, as it would be read from JSON."""
    return orjson.loads(
        orjson.dumps(make_plan(spec_of(body), demo_catalog(), REVISION, parts=parts or PARTS))
    )


@pytest.mark.parametrize("name", CASES)
def test_what_is_left_out_comes_back(name: str) -> None:
    """Whatever the runs are: alike, unlike, cut by doors, laid from the back."""
    plan = _made(CASES[name])
    assert in_full(said_once(plan)) == plan


@pytest.mark.parametrize("part", PARTS)
def test_each_part_can_be_rebuilt_by_itself(part: Part) -> None:
    """A part asked for alone holds what says which of its runs are equal."""
    plan = _made(STANDARD, part)
    assert in_full(said_once(plan)) == plan


def test_two_sides_alike_are_described_once() -> None:
    """The right side is its id and whose likeness it is; no row and no step of it is written out."""
    once: Any = said_once(_made(STANDARD))
    assert once["layout"]["runs"][1] == {"id": "right-1", "side": "right", "same_as": "left-1"}
    equal = [{"id": "right-1", "same_as": "left-1"}]
    assert once["fastener_schedule"]["equal_runs"] == once["install_sequence"]["equal_runs"] == equal
    assert {row["run"] for row in once["fastener_schedule"]["rows"]} == {"left-1"}
    along = [step for step in once["install_sequence"]["steps"] if step["id"].startswith("right-1")]
    assert along
    assert all(step.keys() == {"id", "same_as"} for step in along)


def test_a_side_that_differs_is_described_by_itself() -> None:
    """Another height on the right: nothing refers to the left."""
    wall = {"per_side": {"right": {"height": "35 in"}}}
    once: Any = said_once(_made(request(structure={"bays": 4}, wall=wall)))
    assert all("same_as" not in run for run in once["layout"]["runs"])
    assert once["fastener_schedule"]["equal_runs"] == []


@pytest.mark.parametrize(
    ("names", "written"),
    [
        (["a-1", "a-2", "a-3", "b-3", "b-4"], ["a-1..3", "b-3..4"]),
        (["a-2", "a-1"], ["a-2", "a-1"]),
        (["left-1-hook-9", "left-1-hook-10", "x"], ["left-1-hook-9..10", "x"]),
        (["a-01", "a-2", "a-0", "a-1"], ["a-01", "a-2", "a-0", "a-1"]),
        ([], []),
    ],
)
def test_ids_that_count_on_are_written_by_the_first_and_the_last(
    names: list[str], written: list[str]
) -> None:
    """And each of them can be written again."""
    assert list(counted_on(names)) == written
    assert list(each_of(written)) == names
