"""The best pattern of a strip for given prices of its slots, by dynamic programming over its length.

Used where there are too many patterns to list: the relaxation is solved over the patterns known so far, and
patterns that its prices make worth while are added until there are none, which makes its value a bound for
all patterns.
"""

from collections.abc import Sequence
from functools import reduce
from math import gcd

import numpy as np
from numpy.typing import NDArray

from service.planner.strips import Pattern

Values = NDArray[np.float64]
UNREACHED = -1e30
NEARLY = 1e-9


class Knapsack:
    """A strip and the slots that fit in it.

    Parameters
    ----------
    length
        Length of the strip [nm].
    kerf
        Width of a cut [nm].
    slots
        Slots that may be cut from it [-].
    lengths
        Length of every slot [nm].
    """

    def __init__(self, length: int, kerf: int, slots: Sequence[int], lengths: Sequence[int]) -> None:
        self.slots = [slot for slot in slots if lengths[slot] <= length]
        sizes = [lengths[slot] + kerf for slot in self.slots]
        self.unit = reduce(gcd, sizes, 0) or 1
        self.room = (length + kerf) // self.unit
        self.even = (length + kerf) % self.unit == 0
        self.sizes = [size // self.unit for size in sizes]

    def best(self, prices: Sequence[float], *, flush: bool) -> tuple[float, Pattern | None]:
        """Return the highest price of a pattern, and the pattern; `flush` asks for one that fills the strip.

        Parameters
        ----------
        prices
            Price of every slot [minor units of money].
        flush
            Whether the strip must be used up.
        """
        if flush and not self.even:
            return UNREACHED, None
        worth = [(size, prices[slot], slot) for size, slot in zip(self.sizes, self.slots, strict=True)]
        if not flush:
            worth = [item for item in worth if item[1] > NEARLY]
        values = self._values(worth, flush=flush)
        if values[self.room] <= UNREACHED / 2:
            return UNREACHED, None
        counts: dict[int, int] = {}
        room, value = self.room, float(values[self.room])
        while room and value > values[0] + NEARLY or (flush and room):
            for size, price, slot in worth:
                if size <= room and abs(values[room - size] + price - value) < 1e-6:
                    counts[slot] = counts.get(slot, 0) + 1
                    room, value = room - size, float(values[room - size])
                    break
            else:
                break
        return float(values[self.room]), Pattern(tuple(sorted(counts.items())), self.even and room == 0)

    def _values(self, worth: Sequence[tuple[int, float, int]], *, flush: bool) -> Values:
        """Highest price within every room."""
        values = np.full(self.room + 1, UNREACHED) if flush else np.zeros(self.room + 1)
        values[0] = 0.0
        for size, price, _ in worth:
            for _ in range(self.room // size):
                before = values[size:].copy()
                np.maximum(values[size:], values[:-size] + price, out=values[size:])
                if np.array_equal(before, values[size:]):
                    break
        return values
