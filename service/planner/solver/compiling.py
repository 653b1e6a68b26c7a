"""Machine code: how functions that loop over numbers are compiled, and the arrays that they take.

Rules of this file
------------------
- No fast arithmetic: the same numbers must come out wherever and however often a function is compiled.
- Where it is kept is no matter of the planner's: ``service/machine_code.py`` decides.
"""

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

compiled = njit(cache=True, error_model="numpy")
"""Compiles a function at its first call, or loads what an earlier process has compiled."""
compiled_apart = njit(cache=True, error_model="numpy", nogil=True)
"""The same for what may take long: other threads go on meanwhile."""


@compiled
def copy_into(own: NDArray[Any], other: NDArray[Any]) -> None:
    """Copy an array into another; a plain loop takes far less time to compile than an assignment."""
    for k in range(len(own)):
        other[k] = own[k]
