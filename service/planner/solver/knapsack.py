"""Filling one length with the most valuable pieces, in exact integers.

Rules of this file
------------------
- Sizes already carry the kerf, so that what fits is a plain sum.
- Values are integers; the best value returned by `Filler.proves` is a proven limit: no filling is worth more.
- Tables are bounded by cells: where a raster would need more, a coarse grid takes its place.
- Nothing here knows of sheets, stock counts or money.
"""

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from service.planner.solver.compiling import Integers, compiled_apart
from service.planner.solver.effort import Effort

Cuts = tuple[tuple[int, int], ...]
"""Pieces of one filling: (index of the piece, how many), ascending [-]"""
Steps = tuple[Integers, Integers, NDArray[np.bool_]]
"""Bundles tried: piece and copies of each, and at which points it was worth taking"""

RASTER_LIMIT = 60_000
"""Points beyond which a coarse grid takes the place of the raster [-]"""
COARSE_STEPS = 10_000
"""Steps of the coarse grid over the capacity [-]"""
CELLS = 15_000_000
"""Most points times pieces of a table [-]"""
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


@compiled_apart
def put_all(best: Integers, points: Integers, sizes: Integers, values: Integers, limits: Integers) -> Steps:
    """Offer pieces to every point, the last one first, and raise `best` where they are worth taking.

    Parameters
    ----------
    best
        Highest value of every point so far; changed in place [-].
    points
        Raster of capacities, ascending [step].
    sizes
        Size of each piece [step].
    values
        Value of each piece; those not above zero are left out [-].
    limits
        How many of each may be used [-].
    """
    number = 0
    for piece in range(len(sizes)):
        left, copies = _most(points, sizes[piece], values[piece], limits[piece]), 1
        while left > 0:
            number, left, copies = number + 1, left - copies, 2 * copies
    pieces, bundles = np.zeros(number, np.int64), np.zeros(number, np.int64)
    took, at = np.zeros((number, len(points)), np.bool_), 0
    for piece in range(len(sizes) - 1, -1, -1):
        left, copies = _most(points, sizes[piece], values[piece], limits[piece]), 1
        while left > 0:
            pieces[at], bundles[at] = piece, min(copies, left)
            _put(best, took[at], points, sizes[piece] * bundles[at], values[piece] * bundles[at])
            at, left, copies = at + 1, left - copies, 2 * copies
    return pieces, bundles, took


@compiled_apart
def _most(points: Integers, size: int, value: int, limit: int) -> int:
    """How many of a piece are worth offering, in bundles of 1, 2, 4 ... that make up every number."""
    if value <= 0:
        return 0
    return min(limit, points[-1] // size) if size else limit


@compiled_apart
def _put(best: Integers, took: NDArray[np.bool_], points: Integers, size: int, value: int) -> None:
    """Offer one bundle to every point, from the last one down, so that each point takes it once."""
    rest = len(points) - 1
    for at in range(len(points) - 1, -1, -1):
        left = points[at] - size
        if left < 0:
            return
        while points[rest] > left:
            rest -= 1
        through = best[rest] + value
        if through > best[at]:
            best[at], took[at] = through, True


@compiled_apart
def trace(steps: Steps, points: Integers, sizes: Integers, at: int, counts: Integers) -> int:
    """Count the pieces that led to a point; the point before them."""
    pieces, bundles, took = steps
    for step in range(len(pieces) - 1, -1, -1):
        if took[step, at]:
            counts[pieces[step]] += bundles[step]
            left = points[at] - sizes[pieces[step]] * bundles[step]
            at = np.searchsorted(points, left, "right") - 1
    return at


class Knapsack:
    """Dynamic programming over a raster of capacities.

    Parameters
    ----------
    sizes
        Sizes of the pieces [step].
    points
        Raster of capacities, ascending [step].
    effort
        Counter of units.
    step
        Step of the grid [nm].
    """

    def __init__(self, sizes: Sequence[int], points: Integers, effort: Effort, step: int = 1) -> None:
        self.sizes = np.array(sizes, dtype=np.int64)
        self.points, self.effort, self.step = points, effort, step

    def _put(self, best: Integers, values: Integers, limits: Integers, group: range) -> Steps:
        """Offer the pieces of a group to every point."""
        own = slice(group.start, group.stop)
        steps = put_all(best, self.points, self.sizes[own], values[own], limits[own])
        self.effort.charge(5.0 + steps[2].size / 500)
        return steps

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
        own, most = np.array(values, dtype=np.int64), np.array(limits, dtype=np.int64)
        best = np.zeros(len(self.points), dtype=np.int64)
        put: list[tuple[range, Steps]] = []
        for group in groups:
            if not nested:
                best[:] = 0
                put.clear()
            put.append((group, self._put(best, own, most, group)))
            counts, at = np.zeros(len(own), np.int64), len(self.points) - 1
            for members, steps in reversed(put):
                part = slice(members.start, members.stop)
                at = trace(steps, self.points, self.sizes[part], at, counts[part])
            used = np.flatnonzero(counts)
            yield int(best[-1]), tuple(zip(used.tolist(), counts[used].tolist(), strict=True))

    def tables(self, values: Sequence[int], limits: Sequence[int]) -> Integers:
        """Best value at every point using the first 0, 1, 2 ... pieces [-]."""
        own, most = np.array(values, dtype=np.int64), np.array(limits, dtype=np.int64)
        rows = np.zeros((len(self.sizes) + 1, len(self.points)), dtype=np.int64)
        for piece in range(len(self.sizes)):
            rows[piece + 1] = rows[piece]
            self._put(rows[piece + 1], own, most, range(piece, piece + 1))
        return rows

    def point(self, capacity: int) -> int:
        """Index of the point that stands for a capacity in nanometres [-]."""
        return int(np.searchsorted(self.points, capacity // self.step, "right")) - 1


class Filler:
    """Pieces in one capacity: a knapsack that finds fillings and one that proves limits.

    Parameters
    ----------
    sizes
        Sizes of the pieces, each above zero [nm].
    capacity
        Capacity [nm].
    effort
        Counter of units.
    limit
        Most points of an exact raster; beyond it both knapsacks round to a coarse grid [-].
    """

    def __init__(
        self, sizes: Sequence[int], capacity: int, effort: Effort, limit: int = RASTER_LIMIT
    ) -> None:
        self.sizes, self.capacity, self.effort = tuple(sizes), capacity, effort
        most = max(16, CELLS // max(1, len(self.sizes)))
        points = raster(sizes, capacity, min(limit, most))
        effort.charge(len(self.sizes) * (20.0 + (most if points is None else len(points)) / 100))
        self.exact = points is not None
        if points is not None:
            self.finds = self.proves = Knapsack(sizes, points, effort)
            return
        step = -(-capacity // min(COARSE_STEPS, most))
        grid = np.arange(capacity // step + 1, dtype=np.int64)
        # pieces rounded up always fit; pieces rounded down leave no filling out
        self.finds = Knapsack([-(-size // step) for size in sizes], grid, effort, step)
        self.proves = Knapsack([size // step for size in sizes], grid, effort, step)

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
            self.effort.charge(5.0 + len(self.sizes) / 100)
            if steps < 0 or len(found) > most or self.effort.ended:
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
