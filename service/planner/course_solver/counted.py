"""A bound by counting, and a plan that often meets it: no linear program for the easiest problems.

Every piece covers spans; a strip holds only so many spans; the cheapest stock that holds all spans is a bound on
the stock, and the cheapest path of every section, each piece with its joint and the least crosscuts it can
have, is a bound on the rest. Pieces longer than the shorter stock holds need longer strips, which bounds the pieces
from below. Both bounds hold together for every number of each stock, so the least sum is a bound of the whole.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from service.planner.course_solver.guided import Plan, Prices, cheapest_path, guided_plan
from service.planner.course_solver.pieces import END, PLACED, START, WHOLE, Block, Piece
from service.planner.course_solver.program import Program, Supply

TRIES = 4_000
"""How many numbers of each stock are tried [-]."""
SMALL = 4
"""Most supports of a section whose pieces are told by place [-]."""
TILT = 1e-3
"""Preference for one short piece over several that are each a little short, in shares of a strip's worth [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What one piece of a stock holds.

    Parameters
    ----------
    strips
        Strips it gives [-].
    spans
        Most spans in one of its strips [-].
    longest
        Most spans of one piece [-].
    pieces
        Most pieces in one of its strips [-].
    """

    strips: int
    spans: int
    longest: int
    pieces: int


def counted(program: Program) -> tuple[Plan | None, int] | None:
    """Return a plan and a bound made by counting, with a joint for every piece, None where counting says little.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    """
    one_rip = all(len(supply.rips) == 1 and len(supply.rips[0]) == 1 for supply in program.supplies)
    small = all(block.way != PLACED or block.group.section.last <= SMALL for block in program.blocks)
    if not (program.listed and one_rip and small):
        return None
    spans = _spans(program)
    rooms = [_room(program, supply, spans) for supply in program.supplies]
    if any(room.spans == 0 for room in rooms):
        return None
    least = [_least_share(program, slot) for slot in range(len(program.slots))]
    paths = sum(cheapest_path(block, program.slot_of, least)[0] for block in program.blocks)
    whole = sum(
        block.group.size * (block.group.section.last - sum(_short_ends(block))) for block in program.blocks
    )
    best: float | None = None
    most: tuple[int, ...] = ()
    fewest = sum(block.fewest for block in program.blocks)
    for numbers in _numbers(program, rooms, whole, fewest):
        stock = sum([supply.price * n for supply, n in zip(program.supplies, numbers, strict=True)])
        cost = stock + max(paths, _fewest_pieces(rooms, numbers, whole) * min(least))
        if best is None or cost < best:
            best, most = cost, numbers
    if best is None:
        return None
    step = program.step
    bound = step * -int(-(best - 1e-6) // step)
    return _best_plan(program, _price_lists(program, rooms, spans, least), most, bound), bound


def _best_plan(
    program: Program, lists: Iterable[Prices], numbers: tuple[int, ...], bound: float
) -> Plan | None:
    """Return the best plan at some prices and within some numbers of stock, the first that meets the bound."""
    best = None
    for prices, limit in product(lists, (numbers, None)):
        plan = guided_plan(program, prices, limit)
        if plan is not None and (best is None or plan.cost < best.cost):
            best = plan
            if plan.cost <= bound:
                return best
    return best


def _spans(program: Program) -> list[int]:
    """Most spans that a piece of each slot covers."""
    spans = [0] * len(program.slots)
    for block in program.blocks:
        short = _short_ends(block)
        for piece in block.pieces:
            slot = program.slot_of[piece.kind]
            spans[slot] = max(spans[slot], _full_spans(block, piece, short))
    return spans


def _short_ends(block: Block) -> tuple[int, int]:
    """Whether the first and the last span are shorter than those between, 1 each; they are not counted."""
    x = block.group.section.positions
    if block.way == PLACED:
        return 0, 0
    return int(x[1] - x[0] < x[2] - x[1]), int(x[-1] - x[-2] < x[2] - x[1])


def _full_spans(block: Block, piece: Piece, short: tuple[int, int]) -> int:
    """Spans that a piece covers, short ends left out."""
    start, end = piece.place
    if block.way == PLACED:
        return end - start
    first = short[0] if start in (WHOLE, START) else 0
    last = short[1] if start in (WHOLE, END) else 0
    return end - first - last


def _room(program: Program, supply: Supply, spans: Sequence[int]) -> Room:
    """Count what one piece of a stock holds."""
    strip, strips = supply.rips[0][0]
    patterns = program.patterns[strip]
    return Room(
        strips=strips,
        spans=max((sum([spans[slot] * n for slot, n in p.counts]) for p in patterns), default=0),
        longest=max((spans[slot] for p in patterns for slot, _ in p.counts), default=0),
        pieces=max((sum([n for _, n in p.counts]) for p in patterns), default=0),
    )


def _least_share(program: Program, slot: int) -> float:
    """Joint and least crosscuts of a piece: a full strip with n pieces has n - 1."""
    share = 1.0
    for patterns in program.patterns:
        for pattern in patterns:
            if pattern.flush and any(slot == own for own, _ in pattern.counts):
                share = min(share, pattern.crosscuts / (pattern.crosscuts + 1))
    return program.joint_cost + program.cut_cost * share


def _numbers(program: Program, rooms: Sequence[Room], spans: int, pieces: int) -> Iterator[tuple[int, ...]]:
    """Numbers of each stock that hold all spans and pieces; of one unlimited stock always just enough."""
    free = [at for at, supply in enumerate(program.supplies) if supply.count is None]
    last = free[-1] if free else None
    ranges = []
    for at, (supply, room) in enumerate(zip(program.supplies, rooms, strict=True)):
        most = max(-(-spans // (room.strips * room.spans)), -(-pieces // (room.strips * room.pieces)))
        if supply.count is not None:
            most = min(most, supply.count)
        ranges.append(range(1 if at == last else most + 1))
    tries = 1
    for own in ranges:
        tries *= len(own)
    if tries > TRIES:
        return
    for numbers in product(*ranges):
        held = spans - sum([n * room.strips * room.spans for n, room in zip(numbers, rooms, strict=True)])
        cut = pieces - sum([n * room.strips * room.pieces for n, room in zip(numbers, rooms, strict=True)])
        if last is None:
            if held <= 0 and cut <= 0:
                yield numbers
            continue
        room = rooms[last]
        missing = max(0, -(-held // (room.strips * room.spans)), -(-cut // (room.strips * room.pieces)))
        yield (*numbers[:last], missing, *numbers[last + 1 :])


def _fewest_pieces(rooms: Sequence[Room], numbers: Sequence[int], spans: int) -> int:
    """Fewest pieces that cover the spans: the long ones first, as many as there are long strips for."""
    order = sorted(range(len(rooms)), key=lambda at: -rooms[at].longest)
    pieces = 0
    for place, at in enumerate(order):
        room = rooms[at]
        rest = max((rooms[other].longest for other in order[place + 1 :]), default=0)
        if numbers[at] and spans > 0:
            longer = min(rest + 1, room.longest)
            most = numbers[at] * room.strips * (room.spans // longer)
            used = min(most, -(-spans // room.longest))
            pieces += used
            spans -= used * room.longest
    return pieces


def _price_lists(
    program: Program, rooms: Sequence[Room], spans: Sequence[int], least: Sequence[float]
) -> list[Prices]:
    """Prices by spans, set by the stock that covers spans at the least cost, and prices of pieces alone in a strip."""
    worth = [supply.price / room.strips for supply, room in zip(program.supplies, rooms, strict=True)]
    step = min(least)
    paid = [at for at, supply in enumerate(program.supplies) if supply.count is None] or list(
        range(len(rooms))
    )
    best = min(
        paid, key=lambda at: (worth[at] + step * rooms[at].spans / rooms[at].longest) / rooms[at].spans
    )
    share = worth[best] / rooms[best].spans
    strips = [0.0] * len(program.strips)
    for at, supply in enumerate(program.supplies):
        strips[supply.rips[0][0][0]] = worth[at]
    tilt = [TILT * max(share, 1.0) * n * max(0, rooms[best].longest - n) for n in spans]
    lists = []
    for contents in ([share * n for n in spans], _alone(program, [worth[at] for at in paid], paid)):
        pieces = [own + value + extra for own, value, extra in zip(least, contents, tilt, strict=True)]
        lists.append(Prices(pieces=pieces, contents=contents, strips=strips))
    return lists


def _alone(program: Program, worth: Sequence[float], paid: Sequence[int]) -> list[float]:
    """Worth of the cheapest strip that has room for a piece of each slot."""
    strips = [program.strips[program.supplies[at].rips[0][0][0]][0] for at in paid]
    return [
        min(
            (value for value, strip in zip(worth, strips, strict=True) if strip >= length), default=max(worth)
        )
        for length in program.slots
    ]
