"""A bound by counting, and a plan that often meets it: no linear program for the easiest problems.

Every piece covers spans; a strip holds only so many spans; the cheapest stock that holds all spans is a bound on
the stock, and the cheapest path of every section, each piece with its joint and the least crosscuts it can
have, is a bound on the rest. Pieces longer than the shorter stock holds need longer strips, which bounds the pieces
from below. Both bounds hold together for every number of each stock, so the least sum is a bound of the whole.
"""

from collections.abc import Iterable, Iterator, Sequence
from math import inf

from service.planner.course_solver.guided import Prices, cheapest_path, guided_plan
from service.planner.course_solver.numbers import Need, Room, cheapest_numbers, stacked
from service.planner.course_solver.pieces import END, PLACED, START, WHOLE, Block, Piece
from service.planner.course_solver.program import Plan, Program, Supply

TRIES = 20_000
"""How many numbers of each stock are tried [-]."""
SMALL = 4
"""Most supports of a section whose pieces are told by place [-]."""
TILT = 1e-3
"""Preference for one short piece over several that are each a little short, in shares of a strip's worth [-]."""


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
    found = _cheapest_numbers(program, rooms, _need(program, least))
    if found is None:
        return None
    cost, numbers = found
    bound = program.step * -int(-(cost - 1e-6) // program.step)
    return _best_plan(program, _price_lists(program, rooms, spans, least), numbers, bound), bound


def _need(program: Program, least: Sequence[float]) -> Need:
    """Count what all stock together must hold."""
    lengths = [float(length + program.kerf) for length in _least_lengths(program)]
    blocks, slot_of = program.blocks, program.slot_of
    return Need(
        spans=sum(
            block.group.size * (block.group.section.last - sum(_short_ends(block))) for block in blocks
        ),
        pieces=sum(block.fewest for block in blocks),
        length=int(sum(cheapest_path(block, slot_of, lengths)[0] for block in blocks)),
        share=float(min(least)),
        paths=sum(cheapest_path(block, slot_of, least)[0] for block in blocks),
    )


def _least_lengths(program: Program) -> list[int]:
    """Length of the shortest piece of each slot [nm]."""
    lengths = list(program.slots)
    for kind, length in enumerate(program.kinds.lengths):
        lengths[program.slot_of[kind]] = min(lengths[program.slot_of[kind]], length)
    return lengths


def _cheapest_numbers(
    program: Program, rooms: Sequence[Room], need: Need
) -> tuple[float, tuple[int, ...]] | None:
    """Return the least cost of any numbers of each stock that hold everything, and the numbers."""
    order = sorted(range(len(rooms)), key=lambda at: program.supplies[at].count is None)
    cost, found = cheapest_numbers(stacked([rooms[at] for at in order]), need, TRIES)
    if cost == inf:
        return None
    numbers = [0] * len(rooms)
    for at, n in zip(order, found.tolist(), strict=True):
        numbers[at] = n
    return cost, tuple(numbers)


def _best_plan(
    program: Program, lists: Iterable[Prices], numbers: tuple[int, ...], bound: float
) -> Plan | None:
    """Return the best plan at some prices, within some numbers of stock where there is one; the first that meets the bound."""
    best, tried = None, []
    for prices in lists:
        tried.append(prices)
        best = _better(best, guided_plan(program, prices, numbers))
        if best is not None and best.cost <= bound:
            return best
    if best is None:
        for prices in tried:
            best = _better(best, guided_plan(program, prices, None))
    return best


def _better(one: Plan | None, other: Plan | None) -> Plan | None:
    """Return the cheaper of two plans, the first of equal ones."""
    return other if one is None or (other is not None and other.cost < one.cost) else one


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
    most, longest, pieces = 0, 0, 0
    for pattern in program.patterns[strip]:
        held = count = 0
        for slot, n in pattern.counts:
            held, count, longest = held + spans[slot] * n, count + n, max(longest, spans[slot])
        most, pieces = max(most, held), max(pieces, count)
    return Room(
        price=float(supply.price),
        number=-1 if supply.count is None else supply.count,
        strips=strips,
        spans=most,
        longest=longest,
        pieces=pieces,
        length=program.strips[strip][0] + program.kerf,
    )


def _least_share(program: Program, slot: int) -> float:
    """Joint and least crosscuts of a piece: a full strip with n pieces has n - 1."""
    share = 1.0
    for patterns in program.patterns:
        for pattern in patterns:
            if pattern.flush and any(slot == own for own, _ in pattern.counts):
                share = min(share, pattern.crosscuts / (pattern.crosscuts + 1))
    return program.joint_cost + program.cut_cost * share


def _price_lists(
    program: Program, rooms: Sequence[Room], spans: Sequence[int], least: Sequence[float]
) -> Iterator[Prices]:
    """Prices by spans, set by the stock that covers spans at the least cost, then prices of pieces alone in a strip."""
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
    for contents in ([share * n for n in spans], None):
        own = contents or _alone(program, [worth[at] for at in paid], paid)
        pieces = [cost + value + extra for cost, value, extra in zip(least, own, tilt, strict=True)]
        yield Prices(pieces=pieces, contents=own, strips=strips)


def _alone(program: Program, worth: Sequence[float], paid: Sequence[int]) -> list[float]:
    """Worth of the cheapest strip that has room for a piece of each slot."""
    strips = [program.strips[program.supplies[at].rips[0][0][0]][0] for at in paid]
    return [
        min(
            (value for value, strip in zip(worth, strips, strict=True) if strip >= length), default=max(worth)
        )
        for length in program.slots
    ]
