"""Filling one length with the most valuable pieces, in exact integers.

Rules of this file
------------------
- Sizes already carry the kerf, so that what fits is a plain sum.
- Values are integers; the best value returned by `Filler.proves` is a proven limit: no filling is worth more.
- Nothing here knows of sheets, stock counts or money.
"""

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import numpy.typing as npt

Integers = npt.NDArray[np.int64]
Step = tuple[int, int, int, Integers, npt.NDArray[np.bool_]]
"""One bundle tried: piece, copies, first point that holds it, landing points, where it was worth taking"""

Cuts = tuple[tuple[int, int], ...]
"""Pieces of one filling: (index of the piece, how many), ascending [-]"""

RASTER_LIMIT = 60_000
"""Points beyond which a coarse grid takes the place of the raster [-]"""
COARSE_STEPS = 10_000
"""Steps of the coarse grid over the capacity [-]"""
STEPS_PER_FILLING = 20
"""Steps of an enumeration allowed for each filling asked for [-]"""


def raster(sizes: Iterable[int], capacity: int, limit: int = RASTER_LIMIT) -> Integers | None:
    """Capacities that a filling can leave over, each rounded down to a sum of sizes.

    Parameters
    ----------
    sizes
        Sizes of the pieces [nm].
    capacity
        Capacity [nm].
    limit
        Most points worth having [-].

    Returns
    -------
    Integers | None
        Ascending points, the last one standing for the whole capacity; None when there would be too many [nm].

    Notes
    -----
    Rounding a capacity down to the next sum of sizes loses no filling, so that only these few points are needed.

    References
    ----------
    Terno, Lindemann, Scheithauer, Zuschnittprobleme und ihre praktische Loesung (1987), reduced raster; from memory.
    """
    sums = np.zeros(1, dtype=np.int64)
    for size in sorted(set(sizes), reverse=True):
        step = size
        while step <= capacity:
            longer = sums[: np.searchsorted(sums, capacity - step, "right")] + step
            merged = np.sort(np.concatenate([sums, longer]), kind="stable")
            sums = merged[np.append(True, np.diff(merged) > 0)]
            step *= 2
            if len(sums) > limit:
                return None
    return np.unique(sums[np.searchsorted(sums, capacity - sums, "right") - 1])


class Knapsack:
    """Dynamic programming over a raster of capacities.

    Parameters
    ----------
    sizes
        Sizes of the pieces [step].
    points
        Raster of capacities, ascending [step].
    step
        Step of the grid [nm].
    """

    def __init__(self, sizes: Sequence[int], points: Integers, step: int = 1) -> None:
        self.sizes = np.array(sizes, dtype=np.int64)
        self.points = points
        self.step = step
        self._moves: dict[int, tuple[int, Integers]] = {}

    def _move(self, size: int) -> tuple[int, Integers]:
        """First point that holds a size, and where each point lands when the size is taken from it."""
        if size not in self._moves:
            first = int(np.searchsorted(self.points, size))
            landing = np.searchsorted(self.points, self.points[first:] - size, "right") - 1
            self._moves[size] = (first, landing)
        return self._moves[size]

    def _bundles(self, piece: int, value: int, limit: int) -> Iterator[int]:
        """Split a piece worth taking into bundles of 1, 2, 4 ... copies that make up every number."""
        size = int(self.sizes[piece])
        left = limit if size == 0 else min(limit, int(self.points[-1]) // size)
        copies = 1
        while value > 0 and left > 0:
            yield min(copies, left)
            left -= copies
            copies *= 2

    def fills(
        self, values: Sequence[int], limits: Sequence[int], groups: Iterable[range], *, nested: bool
    ) -> Iterator[tuple[int, Cuts]]:
        """Most valuable filling of the whole capacity with each group of pieces.

        Parameters
        ----------
        values
            Value of each piece; those not above zero are left out [-].
        limits
            How many of each piece may be used [-].
        groups
            Pieces that may share a filling.
        nested
            Whether a group may also use the pieces of the groups before it.
        """
        best = np.zeros(len(self.points), dtype=np.int64)
        steps: list[Step] = []
        for group in groups:
            if not nested:
                best, steps = np.zeros(len(self.points), dtype=np.int64), []
            for piece in reversed(group):
                for copies in self._bundles(piece, values[piece], limits[piece]):
                    steps.append(self._try(best, piece, copies, values[piece]))
            yield int(best[-1]), _trace(steps, len(self.points) - 1)

    def _try(self, best: Integers, piece: int, copies: int, value: int) -> Step:
        """Offer a bundle to every point; raises `best` where it is worth taking."""
        first, landing = self._move(int(self.sizes[piece]) * copies)
        taken = best.take(landing)
        taken += value * copies
        kept = best[first:]
        better = taken > kept
        np.maximum(kept, taken, out=kept)
        return piece, copies, first, landing, better

    def tables(self, values: Sequence[int], limits: Sequence[int]) -> Integers:
        """Best value at every point using the first 0, 1, 2 ... pieces [-]."""
        best = np.zeros(len(self.points), dtype=np.int64)
        rows = [best.copy()]
        for piece in range(len(self.sizes)):
            for copies in self._bundles(piece, values[piece], limits[piece]):
                self._try(best, piece, copies, values[piece])
            rows.append(best.copy())
        return np.array(rows)

    def point(self, capacity: int) -> int:
        """Index of the point that stands for a capacity in nanometres [-]."""
        return int(np.searchsorted(self.points, capacity // self.step, "right")) - 1


def _trace(steps: Sequence[Step], point: int) -> Cuts:
    """Pieces behind the best value of a point."""
    counts: dict[int, int] = {}
    for piece, copies, first, landing, better in reversed(steps):
        if point >= first and better[point - first]:
            counts[piece] = counts.get(piece, 0) + copies
            point = int(landing[point - first])
    return tuple(sorted(counts.items()))


class Filler:
    """Pieces in one capacity: a knapsack that finds fillings and one that proves limits.

    Parameters
    ----------
    sizes
        Sizes of the pieces, each above zero [nm].
    capacity
        Capacity [nm].
    limit
        Most points of an exact raster; beyond it both knapsacks round to a coarse grid [-].
    """

    def __init__(self, sizes: Sequence[int], capacity: int, limit: int = RASTER_LIMIT) -> None:
        self.sizes = tuple(sizes)
        self.capacity = capacity
        points = raster(sizes, capacity, limit)
        self.exact = points is not None
        self.steps = 0
        if points is not None:
            self.finds = self.proves = Knapsack(sizes, points)
            return
        step = -(-capacity // COARSE_STEPS)
        grid = np.arange(capacity // step + 1, dtype=np.int64)
        # pieces rounded up always fit; pieces rounded down leave no filling out
        self.finds = Knapsack([-(-size // step) for size in sizes], grid, step)
        self.proves = Knapsack([size // step for size in sizes], grid, step)

    def near(
        self, values: Sequence[int], limits: Sequence[int], floor: int, most: int
    ) -> list[tuple[int, Cuts]] | None:
        """All fillings worth at least a floor to which no further piece can be added.

        Parameters
        ----------
        values
            Value of each piece, none below zero [-].
        limits
            How many of each piece may be used [-].
        floor
            Least value of interest [-].
        most
            Fillings beyond which the list is given up [-].

        Returns
        -------
        list[tuple[int, Cuts]] | None
            Value and pieces of each filling; None when there are too many.
        """
        reach = _Reach(self.proves, values, limits)
        by_size = sorted(range(len(self.sizes)), key=self.sizes.__getitem__)
        found: list[tuple[int, Cuts]] = []
        stack: list[tuple[int, int, int, Cuts]] = [(len(self.sizes) - 1, self.capacity, 0, ())]
        steps = most * STEPS_PER_FILLING
        while stack:
            last, room, value, cuts = stack.pop()
            steps -= 1
            self.steps += 1
            if steps < 0 or len(found) > most:
                return None
            counts = dict(cuts)
            if value >= floor and self._full(by_size, counts, limits, room):
                found.append((value, tuple(reversed(cuts))))
            for piece in reach.pieces(room, last, floor - value):
                count = counts.get(piece, 0) + 1
                if count <= limits[piece] and self.sizes[piece] <= room:
                    rest = cuts[:-1] if count > 1 else cuts
                    stack.append(
                        (piece, room - self.sizes[piece], value + values[piece], (*rest, (piece, count)))
                    )
        return found

    def _full(self, by_size: Sequence[int], counts: dict[int, int], limits: Sequence[int], room: int) -> bool:
        """Whether no piece that is still allowed fits the room."""
        smallest = next((piece for piece in by_size if counts.get(piece, 0) < limits[piece]), None)
        return smallest is None or self.sizes[smallest] > room


class _Reach:
    """Which pieces can still lead to a value, taken in descending order."""

    def __init__(self, knapsack: Knapsack, values: Sequence[int], limits: Sequence[int]) -> None:
        self.knapsack = knapsack
        self.tables = knapsack.tables(values, limits)
        self.values = np.array(values, dtype=np.int64)
        allowed = np.array(limits, dtype=np.int64)
        self.rows = np.arange(len(values)) + (allowed > 1)  # a single copy leaves only the pieces before it
        self.allowed = allowed > 0
        self._known: dict[int, Integers] = {}

    def pieces(self, room: int, last: int, needed: int) -> list[int]:
        """Pieces up to `last` after which the value still needed can be reached."""
        point = self.knapsack.point(room)
        if point not in self._known:
            landing = np.searchsorted(
                self.knapsack.points, self.knapsack.points[point] - self.knapsack.sizes, "right"
            )
            worth = self.values + self.tables[self.rows, np.maximum(landing - 1, 0)]
            self._known[point] = np.where((landing > 0) & self.allowed, worth, -1)
        return np.flatnonzero(self._known[point][: last + 1] >= needed).tolist()
