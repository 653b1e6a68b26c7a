"""A program as arrays of whole numbers, for compiled code."""

from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

import numpy as np

from service.planner.course_solver.basis import Integers
from service.planner.course_solver.program import KEPT, Program, Size, Supply


class Arrays(NamedTuple):
    """Pieces, strips and stock; where things of many lengths follow one another, the last entry is where the last one ends.

    Parameters
    ----------
    places
        Place and slot of every piece, block after block [-].
    firsts
        Where the pieces of every block begin [-].
    lasts
        Last support of every block's section [-].
    ways
        How the pieces of every block are told.
    sizes
        How many sections every block has [-].
    slots
        Room that a piece of every slot takes: its length and a kerf [nm].
    slot_classes
        Height class of every slot [-].
    strips
        Room of every strip: its length and a kerf [nm].
    strip_classes
        Height class of every strip [-].
    prices
        Price of every stock [minor units of money].
    rips
        Where the rips of every stock begin [-].
    yields
        Where the yields of every rip begin [-].
    given
        Strip and number of every yield [-].
    """

    places: Integers
    firsts: Integers
    lasts: Integers
    ways: Integers
    sizes: Integers
    slots: Integers
    slot_classes: Integers
    strips: Integers
    strip_classes: Integers
    prices: Integers
    rips: Integers
    yields: Integers
    given: Integers


class Slots(NamedTuple):
    """Slots as arrays.

    Parameters
    ----------
    of
        The slot of every kind of piece [-].
    rooms
        Room that a piece of every slot takes: its length and a kerf [nm].
    classes
        Height class of every slot [-].
    shortest
        Room that the shortest piece of every slot takes itself [nm].
    """

    of: Integers
    rooms: Integers
    classes: Integers
    shortest: Integers


def arrays_of(program: Program) -> Arrays:
    """Return a program as arrays."""
    blocks, slots = program.blocks, slots_of(program)
    places = np.concatenate([block.places for block in blocks])
    places[:, 2] = slots.of[places[:, 2]]
    told = [(block.group.section.last, block.way, block.group.size) for block in blocks]
    lasts, ways, sizes = np.ascontiguousarray(np.array(told).T)
    return Arrays(
        places,
        _starts([len(block.pieces) for block in blocks]),
        lasts,
        ways,
        sizes,
        slots.rooms,
        slots.classes,
        *_stock_arrays(program.strips, program.supplies, program.kerf),
    )


def slots_of(program: Program) -> Slots:
    """Return a program's slots as arrays; nothing changes them."""
    kinds = program.kinds
    sizes = tuple(zip(kinds.lengths, kinds.classes, strict=True))
    return _slot_arrays(sizes, tuple(program.slot_of), tuple(program.slots), program.kerf)


@lru_cache(maxsize=KEPT)
def _slot_arrays(
    sizes: tuple[Size, ...], slot_of: tuple[int, ...], slots: tuple[int, ...], kerf: int
) -> Slots:
    """Return the arrays of the slots of pieces of some lengths and height classes; the same bays have the same ones."""
    of, (lengths, kinds) = np.array(slot_of), np.array(sizes).T
    shortest, classes = np.array(slots), np.zeros(len(slots), np.int64)
    np.minimum.at(shortest, of, lengths)
    classes[of] = kinds
    return Slots(of, np.array(slots) + kerf, classes, shortest + kerf)


@lru_cache(maxsize=KEPT)
def _stock_arrays(
    strips: tuple[Size, ...], supplies: tuple[Supply, ...], kerf: int
) -> tuple[Integers, Integers, Integers, Integers, Integers, Integers]:
    """Return the arrays of strips and stock, in the order of their fields; nothing changes them."""
    rips = [rip for supply in supplies for rip in supply.rips]
    return (
        np.array([length for length, _ in strips]) + kerf,
        np.array([own for _, own in strips]),
        np.array([supply.price for supply in supplies]),
        _starts([len(supply.rips) for supply in supplies]),
        _starts([len(rip) for rip in rips]),
        np.array([pair for rip in rips for pair in rip]),
    )


def _starts(lengths: list[int]) -> Integers:
    """Return where things of some lengths begin that follow one another."""
    return np.array([0, *accumulate(lengths)])
