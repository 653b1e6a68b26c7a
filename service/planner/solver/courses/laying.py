"""From how many of each piece to one path a section: pieces put in a row, and shared out where equal sections differ."""

from collections import Counter
from collections.abc import Sequence
from itertools import accumulate, islice, permutations

from service.planner.solver.courses.pieces import END, EVEN, INNER, PLACED, START, WHOLE, Block

Path = tuple[int, ...]
"""The supports where the pieces of a section end, from the first to the last [-]."""
PAIRINGS = 120
"""How many ways to pair first pieces with last ones are tried [-]."""


def paths_of(block: Block, counts: Sequence[int]) -> list[Path] | None:
    """Turn how many of each piece into one path a section, None when counts cannot be shared out.

    Parameters
    ----------
    block
        The possible pieces.
    counts
        How many of each are chosen; they satisfy the block's rows [-].
    """
    if block.way == PLACED:
        return _placed_paths(block, counts)
    size = block.group.size
    if not any(count % size for count in counts):
        return [_one_path(block, [count // size for count in counts])] * size
    return _even_paths(block, counts) if block.way == EVEN else _alike_paths(block, counts)


def _one_path(block: Block, counts: Sequence[int]) -> Path:
    """Put the pieces of a single section, told by spans, in a row: the first, inner ones from the longest down, the last."""
    ends: list[list[int]] = [[], [], [], []]
    for piece, count in zip(block.pieces, counts, strict=True):
        if count:
            ends[piece.place[0]] += [piece.place[1]] * count
    ends[INNER].sort(reverse=True)
    return tuple(accumulate([*ends[WHOLE], *ends[START], *ends[INNER], *ends[END]], initial=0))


def _placed_paths(block: Block, counts: Sequence[int]) -> list[Path]:
    """Follow chosen pieces from support to support."""
    onward: dict[int, list[int]] = {}
    for piece, count in zip(block.pieces, counts, strict=True):
        onward.setdefault(piece.place[0], []).extend([piece.place[1]] * count)
    paths = []
    for _ in range(block.group.size):
        path = [0]
        while path[-1] != block.group.section.last:
            path.append(onward[path[-1]].pop())
        paths.append(tuple(path))
    return paths


def _even_paths(block: Block, counts: Sequence[int]) -> list[Path] | None:
    """Share starts, ends and inner pieces out to the sections."""
    pools: list[list[int]] = [[], [], [], []]
    for piece, count in zip(block.pieces, counts, strict=True):
        pools[piece.place[0]].extend([piece.place[1]] * count)
    last = block.group.section.last
    starts, inner = sorted(pools[START]), Counter(pools[INNER])
    for ends in islice(permutations(sorted(pools[END], reverse=True)), PAIRINGS):
        shares = _share_out([last - a - b for a, b in zip(starts, ends, strict=True)], Counter(inner))
        if shares is not None:
            inside = [_ends_of(start, share, last) for start, share in zip(starts, shares, strict=True)]
            return [(0, last) for _ in pools[WHOLE]] + inside
    return None


def _alike_paths(block: Block, counts: Sequence[int]) -> list[Path] | None:
    """Share pieces out to the sections, whichever end they touch."""
    pool = Counter({piece.place[1]: count for piece, count in zip(block.pieces, counts, strict=True)})
    shares = _share_out([block.group.section.last] * block.group.size, pool)
    return None if shares is None else [tuple(accumulate(share, initial=0)) for share in shares]


def _ends_of(start: int, share: list[int], last: int) -> Path:
    """Path of a section from its first piece and its inner ones."""
    return (0, *accumulate(share, initial=start), last)


def _share_out(needs: list[int], inner: Counter[int]) -> list[list[int]] | None:
    """Split inner pieces into parts with the given sums, longest pieces first; None when that fails."""
    shares = []
    for need in needs:
        share = _take(need, inner)
        if share is None:
            return None
        inner.subtract(share)
        shares.append(share)
    return shares


def _take(need: int, inner: Counter[int]) -> list[int] | None:
    """Choose pieces that add up to `need`, as many long ones as can be; None when there are none."""
    reached: dict[int, list[int]] = {0: []}
    for spans in sorted((s for s in inner if inner[s]), reverse=True):
        for total, taken in list(reached.items()):
            for count in range(1, min(inner[spans], (need - total) // spans) + 1):
                reached[total + count * spans] = [*taken, *[spans] * count]
    return reached.get(need)
