"""A good plan from prices: the cheapest path of every section at the prices, then strips filled one by one.

The prices come from a linear relaxation. The plan is a start for the search, and all there is where the
problem is too large to search.
"""

from bisect import bisect_right
from collections.abc import Sequence

import numpy as np

from service.planner.course_solver.paths import cheapest_pieces
from service.planner.course_solver.pieces import Block
from service.planner.course_solver.program import Chosen, Plan, Program
from service.planner.course_solver.strips import Pattern
from service.planner.records import record

FAR = float("inf")


@record
class Prices:
    """What pieces and strips are worth.

    Parameters
    ----------
    pieces
        Cost of choosing a piece of each slot, its joint and its share of stock and crosscut included [minor units of money].
    contents
        Worth of having a piece of each slot in a strip [minor units of money].
    strips
        Worth of each strip [minor units of money].
    """

    pieces: Sequence[float]
    contents: Sequence[float]
    strips: Sequence[float]


def guided_plan(program: Program, prices: Prices, numbers: Sequence[int | None] | None = None) -> Plan | None:
    """Return a plan made at these prices, None when stock runs out on the way or a section alone cannot be laid.

    Parameters
    ----------
    program
        Pieces, patterns and stock.
    prices
        What pieces and strips are worth.
    numbers
        How many of each stock may be opened, None for as many as there are [-].
    """
    counts = numbers or [supply.count for supply in program.supplies]
    stock = [10**9 if count is None else count for count in counts]
    paths = [cheapest_path(block, program.slot_of, prices.pieces) for block in program.blocks]
    if any(cost == FAR for cost, _ in paths):
        return None
    pieces = [own for _, own in paths]
    demand = [0] * len(program.slots)
    for block, own in zip(program.blocks, pieces, strict=True):
        for piece, count in zip(block.pieces, own, strict=True):
            demand[program.slot_of[piece.kind]] += count
    strips = _fill_strips(program, prices, demand, stock)
    opened = None if strips is None else _open_stock(program, strips, stock)
    if strips is None or opened is None:
        return None
    strips.sort(key=lambda entry: not entry[1].flush)
    return program.plan(Chosen(pieces=pieces, strips=strips, opened=opened))


def cheapest_path(block: Block, slot_of: Sequence[int], costs: Sequence[float]) -> tuple[float, list[int]]:
    """Return the cost of a block's cheapest pieces, the same in all its sections, and how many of each.

    Parameters
    ----------
    block
        The possible pieces.
    slot_of
        The slot that each kind is cut from [-].
    costs
        Cost of a piece of each slot.
    """
    slots = np.array(slot_of)[block.places[:, 2]]
    last, size = block.group.section.last, block.group.size
    total, used = cheapest_pieces(block.places, np.array(costs, dtype=float)[slots], last, block.way)
    return total * size, (used * size).tolist()


def _fill_strips(
    program: Program, prices: Prices, demand: Sequence[int], stock: Sequence[int]
) -> list[tuple[int, Pattern]] | None:
    """Cut all pieces: the longest left, with the longest that still fit beside it, from the strip that suits best."""
    left = _strips_left(program, stock)
    shelves = _shelves(program, demand)
    strips: list[tuple[int, Pattern]] = []
    for height_class, shelf in shelves.items():
        own = [at for at, (_, of) in enumerate(program.strips) if of == height_class]
        while shelf.sizes:
            best, found = FAR, None
            for at in own:
                room = program.strips[at][0] + program.kerf
                if left[at] > 0 and room >= shelf.sizes[-1]:
                    counts, rest = shelf.fill(room)
                    worth = sum([prices.contents[slot] * n for slot, n in counts])
                    waste = prices.strips[at] - worth - (program.cut_cost if rest == 0 else 0)
                    if waste < best:
                        best, found = waste, (at, counts, rest)
            if found is None:
                return None
            at, counts, rest = found
            repeat = min(left[at], shelf.take(counts))
            shelf.remove(counts, repeat)
            left[at] -= repeat
            strips.extend([(at, Pattern(tuple(counts), rest == 0))] * repeat)
    return strips


def _strips_left(program: Program, stock: Sequence[int]) -> list[int]:
    """How many strips of each type there are at most."""
    left = [0] * len(program.strips)
    for supply, count in zip(program.supplies, stock, strict=True):
        for strip in {strip for rip in supply.rips for strip, _ in rip}:
            left[strip] += count * max(dict(rip).get(strip, 0) for rip in supply.rips)
    return left


class _Shelf:
    """Pieces that wait to be cut, shortest first."""

    def __init__(self, pieces: list[tuple[int, int, int]]) -> None:
        pieces.sort()
        self.sizes = [size for size, _, _ in pieces]
        self.slots = [slot for _, slot, _ in pieces]
        self.counts = [count for _, _, count in pieces]

    def fill(self, room: int) -> tuple[list[tuple[int, int]], int]:
        """Take the longest pieces that fit one after another; slots and counts, and the room that is left."""
        taken: list[tuple[int, int]] = []
        at = len(self.sizes)
        while True:
            at = bisect_right(self.sizes, room, 0, at) - 1
            if at < 0:
                return taken, room
            count = min(self.counts[at], room // self.sizes[at])
            taken.append((self.slots[at], count))
            room -= count * self.sizes[at]

    def take(self, counts: Sequence[tuple[int, int]]) -> int:
        """How often these pieces are there."""
        return min(self.counts[self.slots.index(slot)] // n for slot, n in counts)

    def remove(self, counts: Sequence[tuple[int, int]], repeat: int) -> None:
        """Take pieces away."""
        for slot, n in counts:
            at = self.slots.index(slot)
            self.counts[at] -= n * repeat
            if not self.counts[at]:
                del self.sizes[at], self.slots[at], self.counts[at]


def _shelves(program: Program, demand: Sequence[int]) -> dict[int, _Shelf]:
    """Pieces of every height class."""
    pieces: dict[int, dict[int, tuple[int, int, int]]] = {}
    for kind, height_class in enumerate(program.kinds.classes):
        slot = program.slot_of[kind]
        if demand[slot]:
            pieces.setdefault(height_class, {})[slot] = (
                program.slots[slot] + program.kerf,
                slot,
                demand[slot],
            )
    return {height_class: _Shelf(list(own.values())) for height_class, own in sorted(pieces.items())}


def _open_stock(
    program: Program, strips: Sequence[tuple[int, Pattern]], stock: Sequence[int]
) -> list[tuple[int, int]] | None:
    """Open stock until every strip has its place, the cheapest by use first; None when there is too little."""
    need = [0] * len(program.strips)
    for at, _ in strips:
        need[at] += 1
    left = list(stock)
    opened: list[tuple[int, int]] = []
    while any(need):
        best, found = FAR, None
        for at, supply in enumerate(program.supplies):
            for rip, yields in enumerate(supply.rips):
                used = sum([min(n, need[strip]) * program.strips[strip][0] for strip, n in yields])
                if left[at] and used and supply.price / used < best:
                    best, found = supply.price / used, (at, rip)
        if found is None:
            return None
        yields = program.supplies[found[0]].rips[found[1]]
        whole = [need[strip] // n for strip, n in yields if need[strip]]
        repeat = max(1, min(left[found[0]], *whole)) if len(whole) == len(yields) else 1
        for strip, n in yields:
            need[strip] = max(0, need[strip] - n * repeat)
        left[found[0]] -= repeat
        opened.extend([found] * repeat)
    return opened
