"""What a strip and a sheet may hold: cutting patterns of pieces, and ways to rip a sheet into strips."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pattern:
    """How one strip is cut.

    Parameters
    ----------
    counts
        Kind of piece and how many of it [-].
    flush
        Whether pieces and the kerfs between them fill the strip exactly.
    """

    counts: tuple[tuple[int, int], ...]
    flush: bool

    @property
    def crosscuts(self) -> int:
        """Cuts across the strip [-]."""
        return sum(count for _, count in self.counts) - self.flush


def strip_patterns(length: int, kerf: int, kinds: Sequence[int], lengths: Sequence[int]) -> Iterator[Pattern]:
    """Every pattern of a strip that is worth having: those that take no further piece, and flush ones.

    Parameters
    ----------
    length
        Length of the strip [nm].
    kerf
        Width of a cut [nm].
    kinds
        Kinds of piece that may be cut from it [-].
    lengths
        Length of every kind [nm].
    """
    order = sorted((k for k in kinds if lengths[k] <= length), key=lambda k: (-lengths[k], k))
    sizes = [lengths[k] + kerf for k in order]
    for counts, rest in _fillings(sizes, length + kerf, 0):
        chosen = tuple((order[at], count) for at, count in counts)
        if chosen and (rest == 0 or rest < sizes[-1]):
            yield Pattern(chosen, rest == 0)


def _fillings(sizes: list[int], room: int, at: int) -> Iterator[tuple[list[tuple[int, int]], int]]:
    """Every choice of how many of each size fit into the room, and what is left of it."""
    if at == len(sizes):
        yield [], room
        return
    size = sizes[at]
    for count in range(room // size, -1, -1):
        for counts, rest in _fillings(sizes, room - count * size, at + 1):
            yield ([(at, count), *counts] if count else counts), rest


def sheet_rips(width: int, kerf: int, heights: Sequence[int]) -> list[tuple[int, ...]]:
    """Ways to rip a sheet into strips of the given heights that take no further strip.

    Parameters
    ----------
    width
        Width of the sheet [nm].
    kerf
        Width of a cut [nm].
    heights
        Height of each class [nm].

    Returns
    -------
    list of tuple
        How many strips of each class.
    """
    sizes = [height + kerf for height in heights]
    least = min(sizes)
    rips = []
    for counts, rest in _fillings(sizes, width + kerf, 0):
        if counts and rest < least:
            found = dict(counts)
            rips.append(tuple(found.get(at, 0) for at in range(len(sizes))))
    return rips
