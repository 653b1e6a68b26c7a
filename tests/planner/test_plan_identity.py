"""A plan is a function of the question, the catalog's revision and the planner's version alone."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import fields, is_dataclass, replace
from typing import Any, Final

import orjson
import pytest
from pydantic import ValidationError

from service.planner.asked.catalog import Catalog
from service.planner.asked.changes import reader
from service.planner.asked.identity import UNCOUNTED
from service.planner.plan import make_plan, plan_id
from tests.planner.asking import REVISION, job_of, plan_of, request, spec_of


def bytes_of(body: dict[str, Any], catalog: Catalog, revision: str = REVISION) -> bytes:
    """Plan and dump."""
    return orjson.dumps(make_plan(spec_of(body), catalog, revision))


def id_of(body: dict[str, Any], catalog: Catalog) -> str:
    """A plan's identity."""
    return plan_of(body, catalog)["plan_id"]


def test_the_same_question_has_the_same_bytes(demo: Catalog) -> None:
    """Asked twice."""
    assert bytes_of(request(), demo) == bytes_of(request(), demo)


@pytest.mark.parametrize(
    "same",
    [
        {"structure": {"bay_spacing": 1219.2}},
        {"structure": {"bays": 22.0}},
        {"structure": {"sides": ["right", "left"]}},
        {"wall": {"height": "24 in", "baseboard_face": "6 in"}},
        {"allowances": {"metal_joint": "2.00"}},
        {"options": {"spares_percent": 10, "rope_hooks": "auto", "whole_sheets": False}},
    ],
)
def test_another_way_to_ask_has_the_same_bytes(same: dict[str, Any], demo: Catalog) -> None:
    """Units and spelled-out defaults are no part of the question: one id, one answer."""
    assert bytes_of(request(**same), demo) == bytes_of(request(), demo)


def test_stations_count_from_the_first_and_flaps_have_no_order(demo: Catalog) -> None:
    """A tape hooked two feet before the first post, and corners named the other way round."""
    here = request(
        structure={"stations": ["0", "4 ft", "9 ft"]}, options={"wind_flaps": ["left-front", "right-back"]}
    )
    there = request(
        structure={"stations": ["2 ft", "6 ft", "11 ft"]},
        options={"wind_flaps": ["right-back", "left-front"]},
    )
    assert bytes_of(here, demo) == bytes_of(there, demo)


def test_the_customers_reference_is_no_part_of_the_identity(demo: Catalog) -> None:
    """It is repeated in the answer, and nothing else changes."""
    plain, named = plan_of(request(), demo), plan_of(request(reference="order 17"), demo)
    assert named == plain | {"reference": "order 17"}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        # they come to one wall, and what would change it is written to other fields
        ({"wall": {"height": "23 in", "top_above_post": "3 in"}}, {"wall": {"height": "23 in"}}),
        ({}, {"structure": {"stations": [f"{4 * number} ft" for number in range(23)]}}),
    ],
)
def test_questions_whose_advice_differs_have_two_ids(
    one: dict[str, Any], other: dict[str, Any], demo: Catalog
) -> None:
    """Else one id would stand for two answers."""
    assert id_of(request(**one), demo) != id_of(request(**other), demo)


def test_every_field_of_the_spec_counts_but_for_those_that_say_why_not(demo: Catalog) -> None:
    """Each field of each of the spec's classes is set to something else in turn: new fields are found by themselves."""
    base = job_of(request(**WHOLE), demo)
    known = plan_id(base, REVISION)
    for place, name in fields_of(base.spec):
        kind = type(base.spec if not place else _at(base.spec, place))
        fine = [*place, name]
        if not place and name in UNCOUNTED:
            continue
        ids = {
            plan_id(replace(base, spec=_put(base.spec, place, name, value)), REVISION)
            for value in others(kind, name)
            if value != getattr(_at(base.spec, place), name) and (name != "sku" or value in demo.by_sku)
        }
        if fine in SETTLED:
            continue
        # one of the values may be the default spelled out
        assert ids - {known}, fine


WHOLE: Final[dict[str, Any]] = {
    # every object that may be left out, so that its fields are walked too
    "structure": {
        "openings": [{"side": "left", "offset": "8 ft", "width": "4 ft"}],
        "bow": {"profile": "curved", "radius": "15 ft"},
    },
    "wall": {"height": "23 in", "top_above_post": "3 in"},
    "options": {"trench": {}, "rope_hooks": {"spacing": "2 ft"}},
    "site": {"wind": {"basic_speed": 40}},
    "on_hand": [{"sku": "BB06-12L", "length": "5 ft"}],
}
SETTLED: Final = [
    # what the settled job holds stands for the field: the walk changes the spec alone
    ["structure", "sides"], ["wall", "baseboard_face"], ["allowances", "joint"], ["allowances", "metal_joint"],
    ["allowances", "cut"], ["structure", "stations"],
]  # fmt: skip


def test_what_the_job_stands_for_counts_as_settled(demo: Catalog) -> None:
    """The fields that the walk cannot change alone."""
    base = id_of(request(), demo)
    for body in (
        {"structure": {"sides": ["left"]}},
        {"wall": {"baseboard_face": "8 in"}},
        {"allowances": {"joint": "9.00"}},
        {"allowances": {"metal_joint": "9.00"}},
        {"allowances": {"cut": "9.00"}},
        {"structure": {"stations": ["0", "4 ft"]}},
    ):
        assert id_of(request(**body), demo) != base, body


def fields_of(value: Any, place: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Walk every field of every object of a spec."""
    for field in fields(value):
        inner = getattr(value, field.name)
        if is_dataclass(inner):
            yield from fields_of(inner, (*place, field.name))
        elif isinstance(inner, tuple) and inner and is_dataclass(inner[0]):
            yield from fields_of(inner[0], (*place, field.name, 0))
        else:
            yield place, field.name


def _at(value: Any, place: tuple[str | int, ...]) -> Any:
    """Go down to a part of a spec."""
    for step in place:
        value = value[step] if isinstance(step, int) else getattr(value, step)
    return value


def _put(value: Any, place: tuple[str | int, ...], name: str, new: object) -> Any:
    """Copy a spec with one field changed, whether it can be built or not."""
    if not place:
        return replace(value, **{name: new})
    step, *rest = place
    if isinstance(step, int):
        return (_put(value[step], tuple(rest), name, new), *value[step + 1 :])
    return replace(value, **{step: _put(getattr(value, step), tuple(rest), name, new)})


def others(kind: type, name: str) -> list[Any]:
    """Give values that a field takes: any that its own reader lets through."""
    tried: tuple[object, ...] = (
        True,
        False,
        1,
        3,
        10,
        50,
        75.0,
        300,
        900,
        1.5,
        2000,
        "9.00",
        "text",
        "BB06-10L",
        "2026-05-01",
        "4 in",
        None,
        *WORDS,
        [],
        ["left"],
        ["left-front"],
        [0, 1000],
        [{"side": "left", "offset": 0, "width": 900}],
        [{"sku": "BB06-12L", "length": 900}],
        {"basic_speed": 30},
        {"spacing": 900},
        {"depth": 300},
    )
    taken = []
    for value in tried:
        with suppress(ValidationError):
            taken.append(reader(kind, name).validate_python(value))
    return taken


WORDS: Final = (
    "round", "square", "straight", "curved", "film", "polycarbonate", "open", "left", "right", "front", "back", "along",
    "upright", "above_baseboard", "full_height", "auto", "ASCE 7-16", "EN 1991-1-4", "B", "D", "0", "III", "enclosed",
    "single", "double", "imperial", "metric",
)  # fmt: skip


@pytest.mark.parametrize(
    "other",
    [
        {"display_units": "metric"},
        {"structure": {"bays": 21}},
        {"wall": {"height": "23 in"}},
        {"options": {"lay_from": "back"}},
        {"site": {"highest_temperature_c": 60}},
        {"allowances": {"cut": "9.00"}},
        {"structure": {"post": {"width": "2 in"}}},
        {"on_hand": [{"sku": "BB06-12L", "length": "5 ft"}]},
    ],
)
def test_another_question_is_another_plan(other: dict[str, Any], demo: Catalog) -> None:
    """Anything that could change the wall."""
    assert id_of(request(**other), demo) != id_of(request(), demo)


def test_the_catalogs_revision_is_part_of_the_identity(demo: Catalog) -> None:
    """The same stock under another revision is another plan."""
    other = "r-" + "1" * 32
    assert bytes_of(request(), demo, other) != bytes_of(request(), demo)
