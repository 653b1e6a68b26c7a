"""Kinds of piece that differ too little to matter for the cutting, put into one slot.

Two kinds may share a slot when every strip that has room for the shorter has room for the longer: then
patterns speak of slots alone. Kinds that can fill a strip exactly keep a slot of their own, since that saves
a crosscut.
"""

from collections.abc import Sequence
from typing import NamedTuple

from service.planner.solver.courses.strips import Filling, shared_fillings

MOST = 400
"""How many patterns of a strip are compared before kinds are left apart [-]."""
CLOSE = 8
"""Kinds are tried together when they differ by less than the shortest kind divided by this [-]."""


class Shared(NamedTuple):
    """Slots and what is known of them.

    Parameters
    ----------
    slots
        Which kinds are in each slot, longest first [-].
    fillings
        Fillings of every length of strip, by slot; None where they were not looked at.
    """

    slots: list[list[int]]
    fillings: dict[int, list[Filling]] | None


def share_slots(lengths: Sequence[int], strips: Sequence[int], kerf: int, *, flush_matters: bool) -> Shared:
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
    """
    order = sorted(range(len(lengths)), key=lambda at: (-lengths[at], at))
    slots = _close_together(order, lengths)
    while len(slots) < len(order):
        longest = [lengths[slot[0]] for slot in slots]
        shortest = [lengths[slot[-1]] for slot in slots]
        found: dict[int, list[Filling]] = {}
        for strip in strips:
            fillings = _fillings(longest, shortest, strip, kerf)
            if fillings is None:
                return Shared([[at] for at in order], None)
            found[strip] = fillings
        filled = {
            at for fillings in found.values() for counts, rest in fillings if rest == 0 for at, _ in counts
        }
        mixed = [at for at in filled if longest[at] != shortest[at]] if flush_matters else []
        if not mixed:
            return Shared(slots, found)
        slots = _split(slots, mixed, lengths)
    return Shared(slots, None)


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
    """The longest kinds of the mixed slots a slot of their own."""
    found = []
    for at, slot in enumerate(slots):
        top = [kind for kind in slot if lengths[kind] == lengths[slot[0]]] if at in mixed else slot
        found.append(top)
        if len(top) < len(slot):
            found.append(slot[len(top) :])
    return found


def _fillings(longest: Sequence[int], shortest: Sequence[int], strip: int, kerf: int) -> list[Filling] | None:
    """Return fillings of a strip, by slot; None when they differ for the shortest kinds, or are too many."""
    first = next((at for at, size in enumerate(longest) if size <= strip), len(longest))
    if first and shortest[first - 1] <= strip:
        return None
    if first == len(longest):
        return []
    sizes, shorter = [[size + kerf for size in own[first:]] for own in (longest, shortest)]
    return shared_fillings(sizes, shorter, strip + kerf, MOST, first)
