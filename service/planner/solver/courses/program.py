"""The integer program of a material: pieces of the runs, patterns of strips, rips of stock.

Every piece costs a joint and a crosscut, a pattern costs nothing, and one that is filled exactly gives its
crosscut back. Patterns may have room for more pieces than are chosen, except where the crosscut is given
back. Opened stock pays its price and supplies strips.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import chain
from math import gcd
from typing import NamedTuple

import numpy as np

from service.planner.records import record
from service.planner.solver.courses.arrays import (
    Arrays,
    SlotArrays,
    StockArrays,
    slot_arrays,
    starts_of,
    stock_arrays,
)
from service.planner.solver.courses.pieces import Block, Kinds, alike
from service.planner.solver.courses.problem import CourseProblem, Stock
from service.planner.solver.courses.slots import share_slots
from service.planner.solver.courses.strips import (
    Listing,
    Pattern,
    Size,
    Supply,
    as_patterns,
    listing_of,
    sheet_rips,
    strip_patterns,
)

PATTERNS = 150
"""How many patterns of a strip are listed [-]."""
KEPT = 1_000
"""How many answers are kept of what many problems have in common [-]."""


@record
class Program:
    """What the integer program is made of.

    Parameters
    ----------
    blocks
        Possible pieces of every group of sections.
    kinds
        Kinds of piece.
    slot_of
        The slot that each kind is cut from [-].
    slots
        Length of every slot [nm].
    strips
        Length and height class of every strip.
    patterns
        Patterns of each strip.
    listed
        Whether these are all patterns there are.
    listing
        They as arrays, None where they are not all or not needed so.
    slotted
        Its slots as arrays, None where they are not needed as a rule.
    kerf
        Width of a cut [nm].
    supplies
        Stock and its rips.
    stocked
        Strips and stock as arrays.
    joint_cost
        Allowance for a joint [minor units of money].
    cut_cost
        Allowance for a crosscut [minor units of money].
    step
        Costs of plans differ by multiples of this [minor units of money].
    """

    blocks: list[Block]
    kinds: Kinds
    slot_of: Sequence[int]
    slots: Sequence[int]
    strips: tuple[Size, ...]
    patterns: Sequence[Sequence[Pattern]]
    listed: bool
    listing: Listing | None
    slotted: SlotArrays | None
    kerf: int
    supplies: tuple[Supply, ...]
    stocked: StockArrays
    joint_cost: int
    cut_cost: int
    step: int

    def slot_arrays(self) -> SlotArrays:
        """Return its slots as arrays."""
        return self.slotted or slot_arrays(self.kinds.sizes, self.slot_of, self.slots, self.kerf)

    def arrays(self) -> Arrays:
        """Return it as arrays, for compiled code."""
        slot_of = self.slot_of
        told_by = [(*piece.place, slot_of[piece.kind]) for block in self.blocks for piece in block.pieces]
        places = np.fromiter(chain.from_iterable(told_by), np.int64).reshape(-1, 3)
        told = [(block.group.section.last, block.way, block.group.size) for block in self.blocks]
        lasts, ways, sizes = np.ascontiguousarray(np.array(told).T)
        firsts = starts_of([len(block.pieces) for block in self.blocks])
        return Arrays(places, firsts, lasts, ways, sizes, self.slot_arrays(), self.stocked)

    def plan(self, chosen: "Chosen") -> "Plan":
        """Return a solution with its cost."""
        cost = self.joint_cost * sum(map(sum, chosen.pieces))
        cost += self.cut_cost * sum([pattern.crosscuts for _, pattern in chosen.strips])
        cost += sum([self.supplies[at].price for at, _ in chosen.opened])
        return Plan(chosen=chosen, cost=cost)


@record
class Chosen:
    """A solution of the integer program.

    Parameters
    ----------
    pieces
        For every block how many of each piece [-].
    strips
        Strip and pattern of everything cut; those that must be full come first.
    opened
        Index of supply and of rip of everything opened [-].
    """

    pieces: list[list[int]]
    strips: list[tuple[int, Pattern]]
    opened: list[tuple[int, int]]


@record
class Plan:
    """A plan and what it costs.

    Parameters
    ----------
    chosen
        Pieces, strips and stock.
    cost
        Stock, crosscuts and a joint for every piece [minor units of money].
    """

    chosen: Chosen
    cost: int


def make_program(problem: CourseProblem, kinds: Kinds, blocks: list[Block]) -> Program:
    """Return the integer program of the problem.

    Parameters
    ----------
    problem
        Stock and costs.
    kinds
        Kinds of piece.
    blocks
        Possible pieces of every group of sections.
    """
    heights = problem.heights or (0,)
    strips, supplies, stocked = _supplies(problem.stock, heights, problem.kerf, problem.cut_cost)
    slotted = _slotted(tuple(kinds.sizes), strips, problem.kerf, problem.cut_cost > 0, PATTERNS)
    return Program(
        blocks=[alike(block, slotted.slot_of) for block in blocks],
        kinds=kinds,
        slot_of=slotted.slot_of,
        slots=slotted.slots,
        strips=strips,
        patterns=slotted.patterns,
        listed=slotted.listed,
        listing=slotted.listing,
        slotted=slotted.arrays,
        kerf=problem.kerf,
        supplies=supplies,
        stocked=stocked,
        joint_cost=problem.joint_cost,
        cut_cost=problem.cut_cost,
        step=gcd(problem.joint_cost, problem.cut_cost, *[supply.price for supply in supplies]) or 1,
    )


class _Slotted(NamedTuple):
    """Slots of some lengths of piece and patterns of them; the fields are those of a program."""

    slot_of: Sequence[int]
    slots: Sequence[int]
    arrays: SlotArrays
    patterns: Sequence[Sequence[Pattern]]
    listed: bool
    listing: Listing | None


@lru_cache(maxsize=KEPT)
def _slotted(
    sizes: tuple[Size, ...], strips: tuple[Size, ...], kerf: int, flush_matters: bool, most: int
) -> _Slotted:
    """Return the slots of kinds of these lengths and height classes, and patterns; the same bays have the same ones."""
    slot_of, slots = [0] * len(sizes), list[int]()
    found: dict[Size, list[Pattern]] = {}
    for height_class in sorted({own for _, own in (*sizes, *strips)}):
        members = [kind for kind, (_, own) in enumerate(sizes) if own == height_class]
        lengths = [sizes[kind][0] for kind in members]
        longer = [length for length, own in strips if own == height_class]
        shared = share_slots(lengths, longer, kerf, flush_matters=flush_matters)
        numbers = range(len(slots), len(slots) + len(shared.slots))
        for strip, fillings in (shared.fillings or {}).items():
            found[strip, height_class] = as_patterns(numbers, fillings)
        for number, slot in zip(numbers, shared.slots, strict=True):
            for at in slot:
                slot_of[members[at]] = number
            slots.append(lengths[slot[0]])
    if len(found) == len(strips) and sum(map(len, found.values())) <= most:
        patterns, listed = [found[strip] for strip in strips], True
    else:
        classes = [own for _, own in sizes]
        patterns, listed = list_patterns(strips, kerf, classes, slot_of, slots, most)
    arrays = slot_arrays(sizes, slot_of, slots, kerf)
    return _Slotted(slot_of, slots, arrays, patterns, listed, listing_of(patterns) if listed else None)


def list_patterns(
    strips: Sequence[Size],
    kerf: int,
    classes: Sequence[int],
    slot_of: Sequence[int],
    lengths: Sequence[int],
    most: int,
) -> tuple[list[list[Pattern]], bool]:
    """Return patterns of every strip, and whether they are all there are; else they are those of one slot alone.

    Parameters
    ----------
    strips
        Length and height class of every strip.
    kerf
        Width of a cut [nm].
    classes
        Height class of every kind of piece [-].
    slot_of
        The slot that each kind is cut from [-].
    lengths
        Length of every slot [nm].
    most
        How many patterns are listed [-].
    """
    own = [
        sorted({slot for slot, of in zip(slot_of, classes, strict=True) if of == height_class})
        for _, height_class in strips
    ]
    patterns: list[list[Pattern]] = []
    for (length, _), slots in zip(strips, own, strict=True):
        found = strip_patterns(length, kerf, slots, lengths, most - sum(map(len, patterns)))
        if found is None:
            return [
                _plain_patterns(strip, kerf, slots, lengths)
                for (strip, _), slots in zip(strips, own, strict=True)
            ], False
        patterns.append(found)
    return patterns, True


def _plain_patterns(length: int, kerf: int, slots: Sequence[int], lengths: Sequence[int]) -> list[Pattern]:
    """Patterns of one slot alone."""
    fitting = [slot for slot in slots if lengths[slot] <= length]
    counts = [(length + kerf) // (lengths[slot] + kerf) for slot in fitting]
    return [
        Pattern(((slot, count),), count * (lengths[slot] + kerf) == length + kerf)
        for slot, count in zip(fitting, counts, strict=True)
    ]


@lru_cache(maxsize=KEPT)
def _supplies(
    stock: tuple[Stock, ...], heights: tuple[int, ...], kerf: int, cut_cost: int
) -> tuple[tuple[Size, ...], tuple[Supply, ...], StockArrays]:
    """Return strips and the stock that gives them, and both as arrays."""
    numbers: dict[Size, int] = {}
    supplies = []
    for index in _worth_having(stock, heights, kerf, cut_cost):
        own = stock[index]
        yields = [(1,)] if own.width is None else sheet_rips(own.width, kerf, heights)
        rips = tuple([_numbered(numbers, own.length, counts) for counts in yields])
        if rips and own.count != 0:
            supplies.append(Supply(stock=index, price=own.price, count=own.count, rips=rips))
    return tuple(numbers), tuple(supplies), stock_arrays(tuple(numbers), supplies, kerf)


def _worth_having(stock: Sequence[Stock], heights: Sequence[int], kerf: int, cut_cost: int) -> list[int]:
    """Return the stock that no other makes needless: some of it, at least as long, for no more money.

    Where the other is longer, every strip that is used up may cost it a crosscut more.
    """
    lengths, prices = np.array([own.length for own in stock]), np.array([own.price for own in stock])
    widths = np.array([-1 if own.width is None else own.width for own in stock])
    least = min(heights) + kerf
    strips = np.array([1 if own.width is None else (own.width + kerf) // least for own in stock])
    kept, numbers = np.array([own.count is None for own in stock]), np.arange(len(stock))
    for at in sorted(numbers.tolist(), key=lambda at: (stock[at].count is not None, at)):
        if len(heights) == 1:
            needed = -(-strips[at] // np.maximum(1, strips))
            holds = (strips > 0) | (strips[at] == 0)
        else:
            needed, holds = 1, (widths >= widths[at]) | (strips[at] == 0)
        cost = needed * prices + cut_cost * strips[at] * (lengths > lengths[at])
        cheaper = (cost < prices[at]) | ((cost == prices[at]) & (numbers < at)) | (strips[at] == 0)
        outdone = kept & holds & cheaper & (lengths >= lengths[at]) & (numbers != at)
        if stock[at].count is None:
            kept[at] = not outdone.any()
        elif outdone.any():
            strips[at] = -1
    return [at for at in numbers.tolist() if kept[at] or (stock[at].count is not None and strips[at] >= 0)]


def _numbered(numbers: dict[Size, int], length: int, counts: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """Return the strips of a rip, by number."""
    return tuple([(numbers.setdefault((length, at), len(numbers)), n) for at, n in enumerate(counts) if n])
