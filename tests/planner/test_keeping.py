"""What is kept: it goes with the catalog that it follows from, it is bounded, and it changes no answer."""

import gc
import re
from dataclasses import replace
from pathlib import Path
from weakref import ref

import service.planner
from service.planner.asked.catalog import Catalog, Item, index
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.parts import Sheet
from service.planner.asked.sections import section, short_enough, thicknesses
from service.planner.keeping import MOST, kept_with_catalog
from tests.planner.asking import plan_of, request
from tests.planner.scenarios import demo_catalog, demo_document

BODIES = (
    request(structure={"bays": 4, "bay_spacing": "5 ft"}),
    request(options={"longest_stock": "12 ft"}),
    request(
        pricing={"tier": "growers-group", "date": "2026-06-01"}, structure={"bays": 5, "bay_spacing": "5 ft"}
    ),
)


def test_fifty_published_catalogs_leave_nothing_behind() -> None:
    """Fifty catalogs are planned from, at agreed prices and with short stock; of those that are dropped none stays."""
    seen: list[ref[Catalog]] = []
    newest = demo_catalog()
    for number in range(50):
        newest = read_catalog(demo_document() | {"title": f"Catalog {number}"})
        for body in BODIES:
            plan_of(body, newest)
        seen.append(ref(newest))
    gc.collect()
    assert [each() for each in seen if each() is not None] == [newest]


def test_a_catalog_goes_without_the_collector_of_circles() -> None:
    """What a catalog keeps does not lead back to it, so that it goes with its last user, even where all was frozen."""
    catalog = read_catalog(demo_document())
    for body in BODIES:
        plan_of(body, catalog)
    gone = ref(catalog)
    gc.collect()
    gc.disable()
    try:
        del catalog
        assert gone() is None
    finally:
        gc.enable()


def test_two_catalogs_in_one_place_of_memory_do_not_answer_for_each_other() -> None:
    """A catalog that takes the place of a dropped one gives its own answers."""
    places: set[int] = set()
    repeated = 0
    for thickness in range(6, 36):
        whole = demo_catalog().document
        part = Sheet(role="sheet", thickness=thickness * 1_000_000, length=1, width=1)
        own = Item(sku="sheet", description="", part=part, price=1, mass_kg=1.0)
        catalog = index(replace(whole, items=(own,)))
        repeated += id(catalog) in places
        places.add(id(catalog))
        assert thicknesses(catalog) == (thickness * 1_000_000,)
        del catalog
    assert repeated, "no place was taken twice, so that nothing was tried"


def test_what_follows_from_another_catalog_is_not_taken_over() -> None:
    """The catalog with shorter stock asks anew, though it was made from one that had answered."""
    catalog = read_catalog(demo_document())
    whole = section(catalog, "baseboard", object)  # type: ignore[type-var]  # any class will do
    short = section(short_enough(catalog, 3_700_000_000), "baseboard", object)  # type: ignore[type-var]
    assert whole is not None
    assert short is not None
    assert len(short.items) < len(whole.items)


class _Owner:
    def __init__(self) -> None:
        self.kept: dict[object, dict[object, object]] = {}


def test_what_is_kept_is_bounded_and_asked_once() -> None:
    """So many answers are kept as the table says; a question that is kept is not worked out again."""
    asked: list[int] = []

    @kept_with_catalog("catalogs")
    def answer(_: _Owner, number: int) -> int | None:
        asked.append(number)
        return number if number % 2 else None

    owner = _Owner()
    for number in (*range(MOST["catalogs"]), *range(MOST["catalogs"])):
        assert answer(owner, number) == (number if number % 2 else None)
    assert asked == list(range(MOST["catalogs"])), "none is an answer too"
    answer(owner, -1)
    assert [len(answers) for answers in owner.kept.values()] == [1]


def test_nothing_else_in_the_planner_keeps_answers() -> None:
    """Outside the solver one file makes memories."""
    planner = Path(service.planner.__file__).parent
    makes = re.compile(r"\b(lru_cache|cache|cached_property)\b\s*\(|@cache\b|@cached_property\b")
    found = {
        str(file.relative_to(planner))
        for file in planner.rglob("*.py")
        if "solver" not in file.parts and makes.search(file.read_text("utf-8"))
    }
    assert found == {"keeping.py"}
