"""Kinds of piece that differ too little to matter for the cutting, put into one slot.

Two kinds may share a slot when every strip that has room for the shorter has room for the longer: then
patterns speak of slots alone. Kinds that can fill a strip exactly keep a slot of their own, since that saves
a crosscut.
"""

from collections.abc import Sequence

from service.planner.course_solver.strips import maximal_fillings

MOST = 400
"""How many patterns of a strip are compared before kinds are left apart [-]."""
CLOSE = 8
"""Kinds are tried together when they differ by less than the shortest kind divided by this [-]."""


def share_slots(
    lengths: Sequence[int], strips: Sequence[int], kerf: int, *, flush_matters: bool
) -> list[list[int]]:
    """Put the kinds of one height class into slots, longest first.

    Parameters
    ----------
    lengths
        Length of each kind [nm].
    strips
        Lengths of the strips they may be cut from [nm].
    kerf
        Width of a cut [nm].
    flush_matters
        Whether a crosscut costs anything.

    Returns
    -------
    list of list
        Positions in `lengths` of the kinds in each slot.
    """
    order = sorted(range(len(lengths)), key=lambda at: (-lengths[at], at))
    apart = [[at] for at in order]
    slots = _close_together(order, lengths)
    while len(slots) < len(apart):
        longest = [lengths[slot[0]] for slot in slots]
        shortest = [lengths[slot[-1]] for slot in slots]
        filled: set[int] = set()
        for strip in strips:
            fillings = _fillings(longest, strip, kerf)
            if fillings is None or [c for c, _ in fillings] != [
                c for c, _ in _fillings(shortest, strip, kerf) or []
            ]:
                return apart
            filled.update(at for counts, rest in fillings if rest == 0 for at, _ in counts)
        mixed = [at for at in filled if longest[at] != shortest[at]] if flush_matters else []
        if not mixed:
            return slots
        slots = _split(slots, mixed, lengths)
    return slots


def _close_together(order: Sequence[int], lengths: Sequence[int]) -> list[list[int]]:
    """Kinds whose neighbours differ little."""
    if not order:
        return []
    near = lengths[order[-1]] // CLOSE
    slots = [[order[0]]]
    for at in order[1:]:
        if lengths[slots[-1][0]] - lengths[at] < near:
            slots[-1].append(at)
        else:
            slots.append([at])
    return slots


def _split(slots: Sequence[list[int]], mixed: Sequence[int], lengths: Sequence[int]) -> list[list[int]]:
    """Give the longest kinds of the mixed slots a slot of their own."""
    found = []
    for at, slot in enumerate(slots):
        top = [kind for kind in slot if lengths[kind] == lengths[slot[0]]] if at in mixed else slot
        found.append(top)
        if len(top) < len(slot):
            found.append(slot[len(top) :])
    return found


def _fillings(
    sizes: Sequence[int], strip: int, kerf: int
) -> list[tuple[tuple[tuple[int, int], ...], int]] | None:
    """Patterns of a strip, by slot; None when there are too many."""
    first = next((at for at, size in enumerate(sizes) if size <= strip), len(sizes))
    if first == len(sizes):
        return []
    found = maximal_fillings([size + kerf for size in sizes[first:]], strip + kerf, MOST)
    if len(found) > MOST:
        return None
    return [(tuple([(first + at, n) for at, n in counts]), rest) for counts, rest in found]
