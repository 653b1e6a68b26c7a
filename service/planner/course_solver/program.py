"""The integer program of a material: pieces of the runs, patterns of strips, rips of stock.

Every piece costs a joint and a crosscut, a pattern costs nothing, and one that is filled exactly gives its
crosscut back. Patterns may have room for more pieces than are chosen, except where the crosscut is given
back. Opened stock pays its price and supplies strips.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd

from service.planner.course_problem import CourseProblem, Stock
from service.planner.course_solver.pieces import Block, Kinds, alike
from service.planner.course_solver.slots import share_slots
from service.planner.course_solver.strips import Pattern, as_patterns, sheet_rips, strip_patterns

PATTERNS = 150
"""How many patterns of a strip are listed [-]."""

Size = tuple[int, int]
"""Length and height class of a strip."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """One kind of stock and the ways it may be ripped.

    Parameters
    ----------
    stock
        Index of the stock in the problem [-].
    price
        Price of one [minor units of money].
    count
        How many there are, None when unlimited [-].
    rips
        Each way to rip it: index of the strip and how many of it [-].
    """

    stock: int
    price: int
    count: int | None
    rips: tuple[tuple[tuple[int, int], ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
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
    kerf
        Width of a cut [nm].
    supplies
        Stock and its rips.
    joint_cost
        Allowance for a joint [minor units of money].
    cut_cost
        Allowance for a crosscut [minor units of money].
    """

    blocks: list[Block]
    kinds: Kinds
    slot_of: list[int]
    slots: list[int]
    strips: list[Size]
    patterns: list[list[Pattern]]
    listed: bool
    kerf: int
    supplies: list[Supply]
    joint_cost: int
    cut_cost: int

    @property
    def step(self) -> int:
        """Costs of plans differ by multiples of this [minor units of money]."""
        return gcd(self.joint_cost, self.cut_cost, *(supply.price for supply in self.supplies)) or 1

    def plan(self, chosen: "Chosen") -> "Plan":
        """Return a solution with its cost."""
        cost = self.joint_cost * sum(map(sum, chosen.pieces))
        cost += self.cut_cost * sum([pattern.crosscuts for _, pattern in chosen.strips])
        cost += sum([self.supplies[at].price for at, _ in chosen.opened])
        return Plan(chosen=chosen, cost=cost)


@dataclass(frozen=True, slots=True, kw_only=True)
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


@dataclass(frozen=True, slots=True, kw_only=True)
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
    strips, supplies = _supplies(problem)
    slot_of, lengths, found = _slots(problem, kinds, strips)
    listed = len(found) == len(strips) and sum(map(len, found.values())) <= PATTERNS
    patterns = [found[strip] for strip in strips] if listed else []
    if not listed:
        patterns, listed = list_patterns(strips, problem.kerf, kinds, slot_of, lengths, PATTERNS)
    return Program(
        blocks=[alike(block, slot_of) for block in blocks],
        kinds=kinds,
        slot_of=slot_of,
        slots=lengths,
        strips=strips,
        patterns=patterns,
        listed=listed,
        kerf=problem.kerf,
        supplies=supplies,
        joint_cost=problem.joint_cost,
        cut_cost=problem.cut_cost,
    )


def list_patterns(
    strips: Sequence[Size], kerf: int, kinds: Kinds, slot_of: Sequence[int], lengths: Sequence[int], most: int
) -> tuple[list[list[Pattern]], bool]:
    """Return patterns of every strip, and whether they are all there are; else they are those of one slot alone.

    Parameters
    ----------
    strips
        Length and height class of every strip.
    kerf
        Width of a cut [nm].
    kinds
        Kinds of piece.
    slot_of
        The slot that each kind is cut from [-].
    lengths
        Length of every slot [nm].
    most
        How many patterns are listed [-].
    """
    own = [
        sorted({slot for slot, of in zip(slot_of, kinds.classes, strict=True) if of == height_class})
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


def _supplies(problem: CourseProblem) -> tuple[list[Size], list[Supply]]:
    """Return strips and the stock that gives them."""
    numbers: dict[Size, int] = {}
    supplies = []
    heights = problem.heights or (0,)
    for index in _worth_having(problem, heights):
        stock = problem.stock[index]
        yields = [(1,)] if stock.width is None else sheet_rips(stock.width, problem.kerf, heights)
        rips = tuple([_numbered(numbers, stock.length, counts) for counts in yields])
        if rips and stock.count != 0:
            supplies.append(Supply(stock=index, price=stock.price, count=stock.count, rips=rips))
    return list(numbers), supplies


def _worth_having(problem: CourseProblem, heights: Sequence[int]) -> list[int]:
    """Return the stock that no other makes needless: some of it, at least as long, for no more money.

    Where the other is longer, every strip that is used up may cost it a crosscut more.
    """
    kept: list[int] = []
    order = sorted(range(len(problem.stock)), key=lambda at: (problem.stock[at].count is not None, at))
    for at in order:
        others = [*kept, *(other for other in order if other > at)]
        if not any(
            _outdoes(problem, heights, problem.stock[by], problem.stock[at], by < at) for by in others
        ):
            kept.append(at)
    return sorted(kept)


def _outdoes(problem: CourseProblem, heights: Sequence[int], one: Stock, other: Stock, earlier: bool) -> bool:
    """Whether so many of one stock replace another at no more cost; of equals the earlier one does."""
    if one.count is not None or one.length < other.length or (one.width is None) != (other.width is None):
        return False
    strips, needed = 1, 1
    if one.width is not None and other.width is not None:
        strips = (other.width + problem.kerf) // (min(heights) + problem.kerf)
        if len(heights) == 1:
            own = (one.width + problem.kerf) // (heights[0] + problem.kerf)
            needed = -(-strips // own) if own else 0
        elif one.width < other.width:
            needed = 0
    if not needed:
        return strips == 0
    cost = needed * one.price + (problem.cut_cost * strips if one.length > other.length else 0)
    return cost < other.price or (cost == other.price and earlier)


def _numbered(numbers: dict[Size, int], length: int, counts: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """Return the strips of a rip, by number."""
    return tuple([(numbers.setdefault((length, at), len(numbers)), n) for at, n in enumerate(counts) if n])


def _slots(
    problem: CourseProblem, kinds: Kinds, strips: Sequence[Size]
) -> tuple[list[int], list[int], dict[Size, list[Pattern]]]:
    """Slot of every kind, length of every slot [nm], and the patterns that came to light on the way."""
    slot_of = [0] * len(kinds.lengths)
    lengths: list[int] = []
    patterns: dict[Size, list[Pattern]] = {}
    for height_class in range(len(problem.heights or (0,))):
        members = [kind for kind, at in enumerate(kinds.classes) if at == height_class]
        sizes = [kinds.lengths[kind] for kind in members]
        longer = [length for length, at in strips if at == height_class]
        shared = share_slots(sizes, longer, problem.kerf, flush_matters=problem.cut_cost > 0)
        numbers = range(len(lengths), len(lengths) + len(shared.slots))
        for strip, fillings in (shared.fillings or {}).items():
            patterns[strip, height_class] = as_patterns(numbers, fillings)
        for number, slot in zip(numbers, shared.slots, strict=True):
            for at in slot:
                slot_of[members[at]] = number
            lengths.append(sizes[slot[0]])
    return slot_of, lengths, patterns
