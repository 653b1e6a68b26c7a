"""Dynamic programmes of the course solver against brute force: fillings of strips, numbers of stock, pieces of sections."""

from collections.abc import Iterator, Sequence
from itertools import product
from math import inf
from operator import mul
from random import Random

import numpy as np
import pytest

from service.planner.solver.compiling import Floats, Integers
from service.planner.solver.courses.filling import Filling, choose, fill, list_fillings
from service.planner.solver.courses.paths import cheapest_pieces
from service.planner.solver.courses.pieces import ALIKE, END, EVEN, INNER, PLACED, START, WHOLE
from service.planner.solver.courses.stock_numbers import Need, Rooms, cheapest_numbers
from service.planner.solver.courses.strips import maximal_fillings, shared_fillings

PLENTY = 100_000
NEVER = -1e20
"""What cannot be filled is worth less than this."""

Counts = tuple[int, ...]


def draw_sizes(seed: int, least: int = 0) -> tuple[Integers, Floats, int]:
    """Draw up to six sizes, what they are worth, in eighths, and a room; sizes may come twice, prices may be nothing."""
    random = Random(f"sizes {seed}")  # noqa: S311 - no secret
    sizes = sorted(random.randint(1 + seed % 5, 14) for _ in range(random.randint(1, 6)))
    prices = [random.randint(least, 40) / 8 * random.choice((1, 1, 1, 0)) for _ in sizes]
    if seed % 3 == 0:
        prices = [size * 1.0 for size in sizes]
    return np.array(sizes), np.array(prices), random.randint(0, 24)


def fillings(sizes: Sequence[int], room: int) -> Iterator[tuple[Counts, int]]:
    """Go through every choice of how many of each size fit, and the room that is left."""
    if not sizes:
        yield (), room
        return
    for count in range(room // sizes[0] + 1):
        for rest, left in fillings(sizes[1:], room - count * sizes[0]):
            yield (count, *rest), left


def worths(sizes: Integers, prices: Floats, room: int, *, exact: bool) -> dict[Counts, float]:
    """Worth of every filling; of those that use the room up where that is asked for."""
    own = prices.tolist()
    return {
        counts: sum(n * price for n, price in zip(counts, own, strict=True))
        for counts, left in fillings(sizes.tolist(), room)
        if not (exact and left)
    }


@pytest.mark.parametrize("exact", [False, True])
def test_every_room_is_filled_as_well_as_can_be(exact: bool) -> None:
    """Worth of all rooms up to the greatest is that of the best of all fillings; prices may be below nothing."""
    for seed in range(150):
        sizes, prices, room = draw_sizes(seed, least=-8)
        filling = fill(sizes, prices, room, exact)
        for own in range(room + 1):
            best = max(worths(sizes, prices, own, exact=exact).values(), default=-inf)
            if best == -inf:
                assert filling.worth[own] < NEVER
            else:
                assert filling.worth[own] == pytest.approx(best), f"seed {seed}, room {own}"


@pytest.mark.parametrize("exact", [False, True])
def test_the_best_fillings_with_each_size_are_chosen(exact: bool) -> None:
    """For every size the best of all fillings with it, those worth enough, the best first, no more than are wanted."""
    chosen = 0
    for seed in range(300):
        random = Random(seed)  # noqa: S311 - no secret
        sizes, prices, room = draw_sizes(seed)
        above, most = random.randint(0, 60) / 8 + 1 / 16, random.randint(1, 7)
        found = choose(fill(sizes, prices, max(room, 1), exact), room, above, most)
        own = worths(sizes, prices, room, exact=exact)
        best = [max((own[c] for c in own if c[at]), default=-inf) for at in range(len(sizes))]
        wanted = sorted((worth for worth in best if worth > above), reverse=True)[:most]
        assert [own[tuple(counts)] for counts in found.tolist()] == pytest.approx(wanted), f"seed {seed}"
        chosen += len(wanted)
    assert chosen >= 150


def test_no_filling_is_chosen_that_is_worth_no_more() -> None:
    """Exactly the limit is not above it."""
    filling = fill(np.array([2, 3]), np.array([1.0, 2.0]), 6, False)
    assert choose(filling, 6, 4.0, 5).tolist() == []
    assert choose(filling, 6, 3.5, 5).tolist() == [[0, 2]]


def full_fillings(sizes: Integers, prices: Floats, room: int, least: float) -> list[Counts]:
    """Every filling that takes no further piece and is worth enough."""
    own = prices.tolist()
    return sorted(
        counts
        for counts, left in fillings(sizes.tolist(), room)
        if left < sizes[0] and sum(n * price for n, price in zip(counts, own, strict=True)) >= least
    )


def test_all_fillings_that_are_worth_enough_are_listed_once() -> None:
    """Those that take no further piece, by brute force; a least worth met exactly is enough; one more than wanted when too many."""
    listed = cut_short = 0
    for seed in range(400):
        random = Random(seed)  # noqa: S311 - no secret
        sizes, prices, greatest = draw_sizes(seed)
        room = max(greatest, int(sizes[0]))
        filling = fill(sizes, prices, room + random.randint(0, 3), False)
        least = random.choice((-1.0, 0.0, random.randint(1, 80) / 8, float(filling.worth[room])))
        wanted = full_fillings(sizes, prices, room, least)
        found = [tuple(counts) for counts in list_fillings(filling, room, least, 500).tolist()]
        assert sorted(found) == wanted, f"seed {seed}"
        most = random.randint(0, 12)
        few = [tuple(counts) for counts in list_fillings(filling, room, least, most).tolist()]
        assert len(few) == min(len(wanted), most + 1), f"seed {seed}"
        assert len(set(few)) == len(few)
        assert set(few) <= set(wanted)
        listed, cut_short = listed + len(wanted), cut_short + (len(wanted) > most)
    assert listed >= 1_000
    assert cut_short >= 50


def test_all_fillings_with_room_for_no_more_are_listed() -> None:
    """Against every choice tried: none is missing or listed twice, those with more of the larger sizes come first."""
    listed = refused = 0
    for seed in range(400):
        random = Random(f"maximal {seed}")  # noqa: S311 - no secret
        sizes = sorted(random.sample(range(3, 40), random.randint(1, 4)), reverse=True)
        room, most = random.randint(1, 90), random.choice((3, 40, 10**6))
        choices = product(*(range(room // size, -1, -1) for size in sizes))
        rests = ((counts, room - sum(map(mul, counts, sizes))) for counts in choices)
        right = [(counts, rest) for counts, rest in rests if 0 <= rest < sizes[-1]]
        found = maximal_fillings(sizes, room, most)
        assert (found is None) == (len(right) > most)
        if found is not None:
            told = [
                (tuple(dict(taken).get(at, 0) for at in range(len(sizes))), rest) for taken, rest in found
            ]
            assert told == right, f"seed {seed}"
        listed, refused = listed + (found is not None), refused + (found is None)
    assert min(listed, refused) >= 20


def test_shorter_sizes_share_fillings_only_where_they_have_the_same_ones() -> None:
    """Against every choice tried with both: listed where the same counts fill the room with either, refused elsewhere."""
    listed = refused = 0
    for seed in range(600):
        random = Random(f"shared {seed}")  # noqa: S311 - no secret
        sizes = sorted(random.sample(range(8, 60), random.randint(1, 4)), reverse=True)
        shorter = [size - random.choice((0, 0, 1, 2)) for size in sizes]
        room = random.randint(1, 90)
        ways = [
            [
                counts
                for counts in product(*(range(room // size, -1, -1) for size in own))
                if 0 <= room - sum(map(mul, counts, own)) < min(own)
            ]
            for own in (sizes, shorter)
        ]
        found = shared_fillings(sizes, shorter, room, 10**6, first=2)
        assert (found is not None) == (ways[0] == ways[1]), f"seed {seed}"
        if found is not None:
            told = [tuple(dict(taken).get(at + 2, 0) for at in range(len(sizes))) for taken, _ in found]
            assert told == ways[0], f"seed {seed}"
        listed, refused = listed + (found is not None), refused + (found is None)
    assert min(listed, refused) >= 100


def test_a_filling_keeps_what_it_was_made_of() -> None:
    """Sizes and prices come back with it."""
    sizes, prices, _ = draw_sizes(1)
    filling = fill(sizes, prices, 9, False)
    assert isinstance(filling, Filling)
    assert (filling.sizes.tolist(), filling.prices.tolist()) == (sizes.tolist(), prices.tolist())


def draw_rooms(seed: int) -> tuple[Rooms, Need]:
    """Draw one to three kinds of stock, limited ones first, and what they must hold."""
    random = Random(f"rooms {seed}")  # noqa: S311 - no secret
    size = random.randint(1, 3)
    limited = random.randint(0, size if seed % 3 == 0 else size - 1)
    spans = [random.randint(1, 6) for _ in range(size)]
    longest = [random.randint(1, own) for own in spans]
    need = Need(
        spans=random.randint(1, 16),
        pieces=random.randint(1, 6),
        length=random.randint(1, 120),
        share=float(random.choice((0, 2, 7, 20))),
        paths=float(random.randint(0, 60)),
    )
    rooms = Rooms(
        prices=np.array([float(random.randint(0 if at < limited else 3, 40)) for at in range(size)]),
        counts=np.array([random.randint(1, 3) if at < limited else -1 for at in range(size)]),
        strips=np.array([random.randint(1, 3) for _ in range(size)]),
        spans=np.array(spans),
        longest=np.array(longest),
        pieces=np.array([random.randint(1, 4) for _ in range(size)]),
        lengths=np.array([random.randint(8, 60) for _ in range(size)]),
        order=np.array(sorted(range(size), key=lambda at: -longest[at])),
    )
    return rooms, need


def numbers_that_hold(rooms: Rooms, need: Need) -> Iterator[tuple[Counts, float]]:
    """Go through all numbers of stock that hold everything, and what the stock costs; more than these are no use."""
    enough = max(need.spans, need.pieces, -(-need.length // int(rooms.lengths.min())))
    ranges = [range((int(count) if count >= 0 else enough) + 1) for count in rooms.counts]
    for numbers in product(*ranges):
        strips = rooms.strips * numbers
        held = (strips @ rooms.spans, strips @ rooms.pieces, strips @ rooms.lengths)
        if all(have >= want for have, want in zip(held, (need.spans, need.pieces, need.length), strict=True)):
            yield numbers, float(rooms.prices @ numbers)


def fewest_pieces(rooms: Rooms, numbers: Counts, spans: int) -> int:
    """Count pieces, the longest first: as many as strips hold that are longer than what the next stock gives."""
    pieces = 0
    order = rooms.order.tolist()
    for at, following in zip(order, [*order[1:], None], strict=True):
        shorter = 0 if following is None else int(rooms.longest[following])
        length = int(rooms.longest[at])
        in_one = int(rooms.spans[at]) // min(shorter + 1, length)
        for _ in range(numbers[at] * int(rooms.strips[at]) * in_one):
            if spans > 0:
                pieces, spans = pieces + 1, spans - length
    return pieces


def test_the_cheapest_numbers_of_stock_are_found() -> None:
    """The least of all numbers that hold everything, each with its pieces or paths, by trying them all; none when none do."""
    none = by_pieces = 0
    for seed in range(250):
        rooms, need = draw_rooms(seed)
        least, best = inf, {}
        for numbers, stock in numbers_that_hold(rooms, need):
            pieces = need.share * fewest_pieces(rooms, numbers, need.spans)
            best[numbers] = stock + max(need.paths, pieces)
            if best[numbers] < least:
                least, tight = best[numbers], pieces > need.paths
        cost, found = cheapest_numbers(rooms, need, PLENTY)
        assert cost == least, f"seed {seed}"
        if least == inf:
            none += 1
        else:
            assert best[tuple(found.tolist())] == least, f"seed {seed}"
            by_pieces += tight
    assert none >= 5
    assert by_pieces >= 30


def test_the_cheapest_numbers_are_a_bound_of_every_packing() -> None:
    """However pieces of one span or more are put into strips, stock and pieces together cost no less.

    A packing is found strip by strip: most spans that so many pieces cover, each no longer than the stock allows.
    """
    tight = 0
    for seed in range(250):
        rooms, need = draw_rooms(seed)
        cost, _ = cheapest_numbers(rooms, need, PLENTY)
        for numbers, stock in numbers_that_hold(rooms, need):
            if stock + need.paths >= cost:
                continue
            pieces = packed_pieces(rooms, numbers, need.spans)
            if pieces is not None:
                assert cost <= stock + max(need.paths, need.share * pieces), f"seed {seed}"
                tight += cost == stock + need.share * pieces
    assert tight >= 10


def packed_pieces(rooms: Rooms, numbers: Counts, spans: int) -> int | None:
    """Fewest pieces that cover the spans, put into strips one by one; None when the strips do not hold them."""
    most = {0: 0}
    for at, number in enumerate(numbers):
        length, room, places = (int(own[at]) for own in (rooms.longest, rooms.spans, rooms.pieces))
        for _ in range(number * int(rooms.strips[at])):
            more = dict(most)
            for pieces, covered in most.items():
                for n in range(1, min(places, room) + 1):
                    total = min(spans, covered + min(n * length, room))
                    more[pieces + n] = max(more.get(pieces + n, 0), total)
            most = {pieces: covered for pieces, covered in more.items() if pieces <= spans}
    return min((pieces for pieces, covered in most.items() if covered >= spans), default=None)


def test_too_many_numbers_to_try_say_nothing() -> None:
    """The tries being used up, no bound is claimed."""
    rooms, need = draw_rooms(7)
    assert cheapest_numbers(rooms, need, PLENTY)[0] < inf
    assert cheapest_numbers(rooms, need, 1)[0] == inf


def draw_places(seed: int, way: int) -> tuple[Integers, Floats, int]:
    """Draw pieces of a section told in one of three ways, their costs in whole numbers, and its last support."""
    random = Random(f"places {seed} {way}")  # noqa: S311 - no secret
    last = random.randint(1, 7)
    if way == PLACED:
        pairs = [(i, j) for i in range(last) for j in range(i + 1, last + 1)]
        places = sorted(random.sample(pairs, random.randint(1, len(pairs))))
    else:
        ends = (INNER,) if way == ALIKE else (START, INNER, END, START, INNER, END, WHOLE)
        places = [
            (end, last if end == WHOLE else random.randint(1, 4))
            for end in random.choices(ends, k=random.randint(1, 9))
        ]
    costs = [float(random.randint(-3, 30)) for _ in places]
    kinds = [(*place, random.randrange(5)) for place in places]
    return np.array(kinds, dtype=np.int64), np.array(costs), last


def layings(places: Integers, last: int, way: int) -> Iterator[list[int]]:
    """Go through every choice of pieces, one after another, that lays a section."""
    rows = places.tolist()

    def onward(taken: list[int], at: int) -> Iterator[list[int]]:
        if at == last and (way != EVEN or rows[taken[-1]][0] in (END, WHOLE)):
            yield taken
        elif at < last and not (way == EVEN and taken and rows[taken[-1]][0] in (END, WHOLE)):
            for piece, (first, second, _) in enumerate(rows):
                begins = first == at if way == PLACED else True
                if way == EVEN:
                    begins = first in (INNER, END) if taken else first in (START, WHOLE)
                to = second if way == PLACED else at + second
                if begins and to <= last:
                    yield from onward([*taken, piece], to)

    return onward([], 0)


@pytest.mark.parametrize("way", [PLACED, EVEN, ALIKE])
def test_the_cheapest_pieces_of_a_section_are_found(way: int) -> None:
    """The least cost of all ways to lay a section, and pieces that lay it at that cost; none and infinite when there are none."""
    none = laid = 0
    for seed in range(400):
        places, costs, last = draw_places(seed, way)
        own = {tuple(sorted(taken)) for taken in layings(places, last, way)}
        total, used = cheapest_pieces(places, costs, last, way)
        if not own:
            none += 1
            assert total == inf, f"seed {seed}"
            assert not used.any()
            continue
        laid += 1
        assert total == min(sum(costs[at] for at in taken) for taken in own), f"seed {seed}"
        assert tuple(at for at, n in enumerate(used.tolist()) for _ in range(n)) in own, f"seed {seed}"
        assert used @ costs == total
    assert min(none, laid) >= 40
