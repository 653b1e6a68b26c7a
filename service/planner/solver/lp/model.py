"""A linear program as it is stated: columns one after another, each with its entries, cost and bounds.

Rules of this file
------------------
- Minimise cost times value within the bounds of columns and of rows; what rows and columns mean is the caller's business.
- No column costs less than nothing unless it has an upper bound or `most` gives it one.
"""

from collections.abc import Sequence
from math import inf
from typing import NamedTuple

import numpy as np

from service.planner.solver.compiling import Floats, Integers


class Given(NamedTuple):
    """A model as arrays, for compiled code.

    Parameters
    ----------
    starts
        Where the entries of each column begin, and where the last ones end [-].
    rows
        Row of every entry [-].
    values
        Value of every entry [-].
    costs
        Cost of one of every column.
    lows
        Least value of every column [-].
    highs
        Greatest value of every column [-].
    row_lows
        Least value of every row [-].
    row_highs
        Greatest value of every row [-].
    """

    starts: Integers
    rows: Integers
    values: Floats
    costs: Floats
    lows: Floats
    highs: Floats
    row_lows: Floats
    row_highs: Floats


class Model:
    """Rows and columns, added one by one."""

    def __init__(self) -> None:
        self.costs: list[float] = []
        self.lows: list[float] = []
        self.highs: list[float] = []
        self.starts: list[int] = [0]
        self.rows: list[int] = []
        self.values: list[float] = []
        self.row_lows: list[float] = []
        self.row_highs: list[float] = []

    def row(self, low: float = -inf, high: float = inf) -> int:
        """Add a row without entries; its number."""
        self.row_lows.append(low)
        self.row_highs.append(high)
        return len(self.row_lows) - 1

    def column(
        self, cost: float, rows: Sequence[int], values: Sequence[float], low: float = 0.0, high: float = inf
    ) -> int:
        """Add a column with its entries; its number."""
        self.rows += rows
        self.values += values
        return self.end_column(cost, low, high)

    def end_column(self, cost: float, low: float = 0.0, high: float = inf) -> int:
        """End a column whose entries were put behind `rows` and `values`; its number."""
        self.costs.append(cost)
        self.lows.append(low)
        self.highs.append(high)
        self.starts.append(len(self.rows))
        return len(self.costs) - 1

    def given(self) -> Given:
        """Return it as arrays."""
        return Given(
            np.array(self.starts),
            np.array(self.rows, dtype=np.int64),
            np.array(self.values, dtype=float),
            np.array(self.costs, dtype=float),
            np.array(self.lows, dtype=float),
            np.array(self.highs, dtype=float),
            np.array(self.row_lows, dtype=float),
            np.array(self.row_highs, dtype=float),
        )
