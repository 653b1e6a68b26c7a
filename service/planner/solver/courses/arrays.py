"""A program as arrays of whole numbers, for compiled code."""

from collections.abc import Iterable, Sequence
from itertools import accumulate
from typing import NamedTuple

import numpy as np

from service.planner.solver.compiling import Integers
from service.planner.solver.courses.strips import Size, Supply


class SlotArrays(NamedTuple):
    """Slots; nothing changes them.

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


class StockArrays(NamedTuple):
    """Strips and stock; nothing changes them. Where things of many lengths follow one another, the last entry is where the last one ends.

    Parameters
    ----------
    strips
        Room of every strip: its length and a kerf [nm].
    strip_classes
        Height class of every strip [-].
    prices
        Price of every stock [minor units of money].
    counts
        How many there are of every stock, negative when unlimited [-].
    rips
        Where the rips of every stock begin [-].
    yields
        Where the yields of every rip begin [-].
    given
        Strip and number of every yield [-].
    """

    strips: Integers
    strip_classes: Integers
    prices: Integers
    counts: Integers
    rips: Integers
    yields: Integers
    given: Integers


class Arrays(NamedTuple):
    """A program.

    Parameters
    ----------
    places
        Place and slot of every piece, block after block [-].
    firsts
        Where the pieces of every block begin, and where the last ones end [-].
    lasts
        Last support of every block's section [-].
    ways
        How the pieces of every block are told.
    sizes
        How many sections every block has [-].
    slots
        Its slots.
    stock
        Its strips and stock.
    """

    places: Integers
    firsts: Integers
    lasts: Integers
    ways: Integers
    sizes: Integers
    slots: SlotArrays
    stock: StockArrays


def slot_arrays(sizes: Iterable[Size], slot_of: Sequence[int], slots: Sequence[int], kerf: int) -> SlotArrays:
    """Return the slots of kinds of piece as arrays.

    Parameters
    ----------
    sizes
        Length and height class of every kind.
    slot_of
        The slot of every kind [-].
    slots
        Length of every slot [nm].
    kerf
        Width of a cut [nm].
    """
    shortest, classes = list(slots), [0] * len(slots)
    for (length, height_class), slot in zip(sizes, slot_of, strict=True):
        shortest[slot] = min(shortest[slot], length)
        classes[slot] = height_class
    return SlotArrays(np.array(slot_of), np.array(slots) + kerf, np.array(classes), np.array(shortest) + kerf)


def stock_arrays(strips: Sequence[Size], supplies: Sequence[Supply], kerf: int) -> StockArrays:
    """Return strips and stock as arrays.

    Parameters
    ----------
    strips
        Length and height class of every strip.
    supplies
        Stock and its rips.
    kerf
        Width of a cut [nm].
    """
    rips = [rip for supply in supplies for rip in supply.rips]
    return StockArrays(
        np.array([length for length, _ in strips]) + kerf,
        np.array([own for _, own in strips]),
        np.array([supply.price for supply in supplies]),
        np.array([-1 if supply.count is None else supply.count for supply in supplies]),
        starts_of([len(supply.rips) for supply in supplies]),
        starts_of([len(rip) for rip in rips]),
        np.array([pair for rip in rips for pair in rip]),
    )


def starts_of(lengths: Iterable[int]) -> Integers:
    """Return where things of some lengths begin that follow one another, and where the last one ends."""
    return np.array([0, *accumulate(lengths)])
