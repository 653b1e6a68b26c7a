"""Knapsacks and patterns against brute force on small cases."""

from collections.abc import Sequence
from itertools import product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.planner.solver.cuts.patterns import Pricing, Shape
from service.planner.solver.cuts.sheets import best_pattern, near_sheets
from service.planner.solver.knapsack import Filler, raster
from tests.planner.small_programs import endless

PROPERTY = settings(max_examples=150, deadline=None, derandomize=True)


@st.composite
def fillings(draw: st.DrawFn) -> tuple[list[int], list[int], list[int], int]:
    """Sizes, values and limits of up to four pieces, and a capacity."""
    pieces = draw(st.integers(1, 4))
    sizes = [draw(st.integers(1, 15)) for _ in range(pieces)]
    values = [draw(st.integers(0, 30)) for _ in range(pieces)]
    limits = [draw(st.integers(0, 4)) for _ in range(pieces)]
    return sizes, values, limits, draw(st.integers(1, 40))


def total(one: Sequence[int], other: Sequence[int]) -> int:
    return sum(first * second for first, second in zip(one, other, strict=True))


def all_counts(sizes: Sequence[int], limits: Sequence[int], capacity: int) -> list[tuple[int, ...]]:
    """Every filling that fits."""
    ranges = [range(limit + 1) for limit in limits]
    return [counts for counts in product(*ranges) if total(counts, sizes) <= capacity]


@given(fillings())
@PROPERTY
def test_the_best_filling_is_found_exactly(case: tuple[list[int], list[int], list[int], int]) -> None:
    """Dynamic programming over the raster equals trying everything, and its pieces are worth what it says."""
    sizes, values, limits, capacity = case
    ((value, cuts),) = Filler(sizes, capacity, endless()).finds.fills(
        values, limits, [range(len(sizes))], nested=False
    )
    assert value == max(total(counts, values) for counts in all_counts(sizes, limits, capacity))
    assert value == sum(values[piece] * count for piece, count in cuts)
    assert sum(sizes[piece] * count for piece, count in cuts) <= capacity
    assert all(0 < count <= limits[piece] for piece, count in cuts)


@given(fillings())
@PROPERTY
def test_nested_groups_may_use_the_groups_before_them(
    case: tuple[list[int], list[int], list[int], int],
) -> None:
    """The best filling with the first 1, 2, 3 ... pieces, in one pass; alone, each piece by itself."""
    sizes, values, limits, capacity = case
    finds = Filler(sizes, capacity, endless()).finds
    groups = [range(piece, piece + 1) for piece in range(len(sizes))]
    for count, (value, _) in enumerate(finds.fills(values, limits, groups, nested=True), start=1):
        first = [limit if piece < count else 0 for piece, limit in enumerate(limits)]
        assert value == max(total(counts, values) for counts in all_counts(sizes, first, capacity))
    for piece, (value, _) in enumerate(finds.fills(values, limits, groups, nested=False)):
        assert value == values[piece] * min(limits[piece], capacity // sizes[piece])


@given(fillings(), st.integers(0, 60))
@PROPERTY
def test_all_full_fillings_worth_a_floor_are_listed_once(
    case: tuple[list[int], list[int], list[int], int], floor: int
) -> None:
    """The list is exactly the fillings worth the floor to which no allowed piece can be added."""
    sizes, values, limits, capacity = case

    def full(counts: tuple[int, ...]) -> bool:
        room = capacity - total(counts, sizes)
        return all(
            count == limit or size > room for count, limit, size in zip(counts, limits, sizes, strict=True)
        )

    listed = Filler(sizes, capacity, endless()).near(values, limits, floor, 10_000)
    assert listed is not None
    expected = {
        counts
        for counts in all_counts(sizes, limits, capacity)
        if full(counts) and total(counts, values) >= floor
    }
    found = [tuple(dict(cuts).get(piece, 0) for piece in range(len(sizes))) for _, cuts in listed]
    assert len(found) == len(set(found))
    assert set(found) == expected
    assert [value for value, _ in listed] == [total(counts, values) for counts in found]


def test_a_listing_that_grows_too_long_is_given_up() -> None:
    """Twelve different pieces, any six of which fit: 924 fillings are more than 100."""
    assert Filler([1] * 12, 6, endless()).near([1] * 12, [1] * 12, 6, 100) is None


def test_the_raster_keeps_only_capacities_that_matter() -> None:
    """Sizes 6 and 7 in 20: sums 0 6 7 12 13 14 18 19 20; what is left beside each, rounded down to a sum."""
    # left beside 0: 20, 6: 14, 7: 13, 12: 8 -> 7, 13: 7, 14: 6, 18: 2 -> 0, 19: 1 -> 0, 20: 0
    points = raster([6, 7], 20)
    assert points is not None
    assert points.tolist() == [0, 6, 7, 13, 14, 20]


def test_a_raster_beyond_its_limit_is_refused() -> None:
    """The same sizes with room for three points."""
    assert raster([6, 7], 20, limit=3) is None


@pytest.mark.parametrize("seed", range(20))
def test_a_coarse_grid_errs_on_the_safe_side(seed: int) -> None:
    """Where the raster is too fine, what is found fits, and what is proven is never below the best."""
    chance = Random(seed)  # noqa: S311 - repeatable cases, no secrets
    capacity = 1_000_003
    sizes = [chance.randint(20, 600_000) for _ in range(4)]
    values = [chance.randint(1, 1000) for _ in sizes]
    limits = [chance.randint(1, 4) for _ in sizes]
    coarse = Filler(sizes, capacity, endless(), limit=2)
    assert not coarse.exact
    everything = [range(len(sizes))]
    ((found, cuts),) = coarse.finds.fills(values, limits, everything, nested=False)
    ((cap, _),) = coarse.proves.fills(values, limits, everything, nested=False)
    best = max(total(counts, values) for counts in all_counts(sizes, limits, capacity))
    assert found <= best <= cap
    assert sum(sizes[piece] * count for piece, count in cuts) <= capacity
    listed = coarse.near(values, limits, best, 10_000)
    assert listed is not None
    assert max(value for value, _ in listed) == best


def test_a_coarse_grid_neither_overfills_nor_rules_out_a_flush_filling() -> None:
    """Three pieces of 333 334 fill 1 000 002 flush: proven possible there, and never found in one less."""
    size, values, limits, everything = 333_334, [1], [3], [range(1)]
    flush = Filler([size], 3 * size, endless(), limit=0)
    ((cap, _),) = flush.proves.fills(values, limits, everything, nested=False)
    assert cap == 3
    short = Filler([size], 3 * size - 1, endless(), limit=0)
    ((found, _),) = short.finds.fills(values, limits, everything, nested=False)
    assert found == 2


def random_sheet(seed: int) -> tuple[Pricing, list[int], list[int]]:
    """Make a sheet, and values and limits of up to three kinds of pieces in up to three widths."""
    chance = Random(seed)  # noqa: S311 - repeatable cases, no secrets
    pieces = sorted((chance.choice([3, 5, 8]), chance.randint(2, 12)) for _ in range(chance.randint(2, 3)))
    widths = sorted({width for width, _ in pieces})
    shape = Shape(
        lengths=tuple(length for _, length in pieces),
        widths=tuple(widths),
        classes=tuple(widths.index(width) for width, _ in pieces),
        trim=chance.random() < 0.5,
    )
    values = [chance.randint(0, 20) for _ in pieces]
    limits = [chance.randint(1, 2) for _ in pieces]
    return Pricing(shape, chance.randint(12, 20), chance.randint(8, 16), endless()), values, limits


def sheet_yields(pricing: Pricing, limits: Sequence[int]) -> set[tuple[int, ...]]:
    """List what a sheet can yield, by putting every piece into any of a few strips or none."""
    shape = pricing.shape
    copies = [piece for piece, limit in enumerate(limits) for _ in range(limit)]
    yields = set()
    for strips in product(range(len(copies) + 1), repeat=len(copies)):  # the last number stands for none
        if any(strip > own for own, strip in enumerate(strips[:-1]) if strip < len(copies)):
            continue  # strip s is opened by one of the first s + 1 copies
        across = 0
        counts = [0] * len(limits)
        fits = True
        for strip in set(strips) - {len(copies)}:
            held = [copies[copy] for copy, place in enumerate(strips) if place == strip]
            classes = {shape.classes[piece] for piece in held}
            fits &= shape.trim or len(classes) == 1
            fits &= sum(shape.lengths[piece] for piece in held) <= pricing.length
            across += max(shape.widths[width] for width in classes)
            for piece in held:
                counts[piece] += 1
        if fits and across <= pricing.width:
            yields.add(tuple(counts))
    return yields


@pytest.mark.parametrize("seed", range(30))
def test_the_best_sheet_is_found_and_its_cap_is_tight(seed: int) -> None:
    """The search equals trying everything; the quick cap is never below."""
    pricing, values, limits = random_sheet(seed)
    best = max(total(counts, values) for counts in sheet_yields(pricing, limits))
    cap, column = best_pattern(pricing, values, limits, 100_000)
    assert cap == best == total(column.counts, values)
    quick, rough = best_pattern(pricing, values, limits, 0)
    assert total(rough.counts, values) <= best <= quick


@pytest.mark.parametrize("seed", range(30))
def test_the_list_of_sheets_leaves_no_yield_out(seed: int) -> None:
    """Whatever a sheet can yield above the floor, a listed pattern yields at least as much of every piece."""
    pricing, values, limits = random_sheet(seed)
    floor = max(total(counts, values) for counts in sheet_yields(pricing, limits)) * 2 // 3
    listed = near_sheets(pricing, values, limits, floor, 100_000)
    assert listed is not None
    yields = sheet_yields(pricing, limits)
    assert {column.counts for column in listed} <= yields
    for counts in yields:
        if total(counts, values) >= floor:
            assert any(
                all(own >= other for own, other in zip(column.counts, counts, strict=True))
                for column in listed
            )
