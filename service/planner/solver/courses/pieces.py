"""The pieces a group of equal sections may be laid with, as columns of an integer program.

A block lists its possible pieces. Each has a kind (its length and height class, shared by all blocks), its
place, and its coefficients in the block's rows. In an even section the rows count starts, ends and spans; in
any other they balance the pieces that end and start at every support. `laying.py` turns a choice of how many of each
piece back into one path a section.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, repeat
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from service.planner.solver.courses.sections import Group, Section

WHOLE, START, INNER, END = range(4)
PLACED, EVEN, ALIKE = range(3)
"""How a block's pieces are told: by place, by end and spans, or by spans alone."""


@dataclass(slots=True)
class Kinds:
    """The different (length, height class) of pieces, numbered as they are met.

    Parameters
    ----------
    longest
        Longest piece of each height class [nm].
    grid
        Step that cut lengths are rounded down to [nm].
    max_span
        Longest span of a piece, None for no limit [nm].
    """

    longest: tuple[int, ...]
    grid: int
    max_span: int | None
    lengths: list[int] = field(default_factory=list)
    classes: list[int] = field(default_factory=list)
    _known: dict[tuple[int, int], int] = field(default_factory=dict)

    @property
    def sizes(self) -> Iterable[tuple[int, int]]:
        """Length and height class of every kind."""
        return zip(self.lengths, self.classes, strict=True)

    def of(self, length: int, height_class: int) -> int:
        """Return the number of the kind with this cut length, a new one when it is the first of its kind."""
        kind = self._known.setdefault((length, height_class), len(self.lengths))
        if kind == len(self.lengths):
            self.lengths.append(length)
            self.classes.append(height_class)
        return kind


class Piece(Struct, frozen=True, gc=False):
    """A possible piece of a section.

    Parameters
    ----------
    kind
        Number of its kind [-].
    place
        In an even section which end it touches and how many spans it covers, else its first and last support [-].
    rows
        Rows of the block it counts in [-].
    """

    kind: int
    place: tuple[int, int]
    rows: tuple[tuple[int, int], ...]


@dataclass(slots=True, kw_only=True)
class Block:
    """Possible pieces of one group.

    Parameters
    ----------
    group
        The equal sections.
    way
        How its pieces are told.
    pieces
        The possible pieces.
    totals
        What each row must add up to [-].
    kinds
        The kinds its pieces are of.
    """

    group: Group
    kinds: Kinds
    way: int
    pieces: list[Piece]
    totals: list[int]
    _places: NDArray[np.int64] | None = field(default=None, init=False)

    @property
    def places(self) -> NDArray[np.int64]:
        """Place and kind of every piece, for compiled code [-]."""
        if self._places is None:
            rows = [(*piece.place, piece.kind) for piece in self.pieces]
            self._places = np.array(rows, dtype=np.int64).reshape(len(rows), 3)
        return self._places

    @property
    def fewest(self) -> int:
        """How many pieces the group needs at least; a plain bound [-]."""
        return self.group.size * (1 if self.way == PLACED else _fewest(self))


def make_block(group: Group, kinds: Kinds, *, even: bool | None = None) -> Block:
    """List the possible pieces of a group; `even` False places them even where counting would do."""
    section, size = group.section, group.size
    if is_even(section) if even is None else even:
        pieces, totals, way = list(_even_pieces(section, kinds)), [size, size, size * section.last], EVEN
    else:
        pieces, way = list(_placed_pieces(section, kinds)), PLACED
        totals = [size, *[0] * (section.last - 1), -size]
    return Block(group=group, kinds=kinds, way=way, pieces=pieces, totals=totals)


def alike(block: Block, slot_of: Sequence[int]) -> Block:
    """Tell an even block's pieces by spans alone, where the ends make no difference for the cutting.

    Parameters
    ----------
    block
        The possible pieces.
    slot_of
        The slot that each kind is cut from [-].
    """
    if block.way != EVEN:
        return block
    slots: list[dict[int, int]] = [{}, {}, {}, {}]
    for piece in block.pieces:
        slots[piece.place[0]][piece.place[1]] = slot_of[piece.kind]
    if slots[WHOLE] or not slots[START] == slots[INNER] == slots[END]:
        return block
    pieces = [
        Piece(piece.kind, piece.place, ((0, piece.place[1]),))
        for piece in block.pieces
        if piece.place[0] == INNER
    ]
    totals = [block.group.size * block.group.section.last]
    return Block(group=block.group, kinds=block.kinds, way=ALIKE, pieces=pieces, totals=totals)


def is_even(section: Section) -> bool:
    """Whether the inner supports are equally spaced, deduct alike, and are forbidden only next to the ends."""
    x, last = section.positions, section.last
    if last < 3 or len(set(section.deductions[1:last])) > 1:
        return False
    step = x[2] - x[1]
    if x[1:last] != tuple(range(x[1], x[last - 1] + 1, step)):
        return False
    low, high = _free_range(section)
    return low <= high and all(i < low or i > high for i in section.forbidden)


def _free_range(section: Section) -> tuple[int, int]:
    """First and last inner support where a joint may fall."""
    low, high = 1, section.last - 1
    while low in section.forbidden:
        low += 1
    while high in section.forbidden:
        high -= 1
    return low, high


class _Reach(NamedTuple):
    """What decides which pieces of a section are admissible.

    Parameters
    ----------
    positions
        Centres of the supports [nm].
    lost
        What a piece that ends there loses at each support [nm].
    most
        The greatest of these [nm].
    height_class
        Index into the heights of the problem [-].
    longest
        Longest piece [nm].
    """

    positions: tuple[int, ...]
    lost: tuple[int, ...]
    most: int
    height_class: int
    longest: int


def _reach(section: Section, kinds: Kinds) -> _Reach:
    """Return what decides which pieces of a section are admissible."""
    own = section.height_class
    return _Reach(section.positions, section.deductions, max(section.deductions), own, kinds.longest[own])


def _even_pieces(section: Section, kinds: Kinds) -> Iterator[Piece]:
    """Possible pieces of an even section."""
    last, (low, high), reach = section.last, _free_range(section), _reach(section, kinds)
    for kind, _ in _growing(reach, ((0, last),), kinds):
        yield Piece(kind, (WHOLE, last), ((0, 1), (1, 1), (2, last)))
    firsts = zip(repeat(0), range(low, high + 1))
    lasts = zip(range(high, low - 1, -1), repeat(last))
    inners = zip(repeat(low), range(low + 1, high + 1))
    for kind, spans in _growing(reach, firsts, kinds):
        yield Piece(kind, (START, spans), ((0, 1), (2, spans)))
    for kind, spans in _growing(reach, lasts, kinds):
        yield Piece(kind, (END, spans), ((1, 1), (2, spans)))
    for kind, spans in _growing(reach, inners, kinds):
        yield Piece(kind, (INNER, spans), ((2, spans),))


def _growing(reach: _Reach, places: Iterable[tuple[int, int]], kinds: Kinds) -> Iterator[tuple[int, int]]:
    """Kind and number of spans of the admissible ones among ever longer pieces."""
    positions, lost, most, height_class, longest = reach
    grid, max_span = kinds.grid, kinds.max_span
    for start, end in places:
        span = positions[end] - positions[start]
        if max_span is not None and span > max_span:
            return
        length = (span - lost[start] - lost[end]) // grid * grid
        if 0 < length <= longest:
            yield kinds.of(length, height_class), end - start
        elif span - lost[start] - most >= longest + grid:
            return  # neither this piece nor any longer one can be admissible


def _placed_pieces(section: Section, kinds: Kinds) -> Iterator[Piece]:
    """Possible pieces of any section."""
    free = [i for i in range(section.last + 1) if i not in section.forbidden]
    reach = _reach(section, kinds)
    for at, start in enumerate(free, start=1):
        for kind, spans in _growing(reach, zip(repeat(start), free[at:]), kinds):
            end = start + spans
            yield Piece(kind, (start, end), ((start, 1), (end, -1)))


def _fewest(block: Block) -> int:
    """Return how many pieces an even section needs at least [-]."""
    most = [0, 0, 0, 0]
    for piece in block.pieces:
        end, spans = piece.place
        most[end] = max(most[end], spans)
    if most[WHOLE]:
        return 1
    if block.way == ALIKE:
        return -(-block.group.section.last // max(1, most[INNER]))
    inner = block.group.section.last - most[START] - most[END]
    return 2 if inner <= 0 else 2 + -(-inner // max(1, most[INNER]))


def gap_in(block: Block) -> tuple[int, int] | None:
    """Return the supports of a stretch that no piece covers, None when the section can be laid.

    Where every two neighbouring free supports are joined by a piece there is a path. Else there is only one if
    longer pieces lead past a stretch that is too short for a piece of its own.
    """
    section = block.group.section
    places = {piece.place for piece in block.pieces}
    if block.way == EVEN:
        low, high = _free_range(section)
        ends = {(START, low), (END, section.last - high)}
        if ends <= places and (low == high or (INNER, 1) in places):
            return None
        places = {piece.place for piece in make_block(block.group, block.kinds, even=False).pieces}
    free = [i for i in range(section.last + 1) if i not in section.forbidden]
    gaps = [pair for pair in pairwise(free) if pair not in places]
    if not gaps:
        return None
    reached = {0}
    for start, end in sorted(places):
        if start in reached:
            reached.add(end)
    return None if section.last in reached else gaps[0]
