"""How a kernel is compiled, and the arrays it takes.

Every kernel has one fixed signature and is compiled, or taken from the cache, on import, so that
no time measured later hides a compilation. All release the interpreter lock.
"""

from collections.abc import Callable
from typing import Any, TypeVar

import numba
import numpy as np
from numba import float32, float64, int64, types, uint8
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]
Octets = NDArray[np.uint8]

OCTETS = types.Array(uint8, 1, "C", readonly=True)
VECTOR = float64[::1]
TABLE = float64[:, ::1]
WHOLE = int64[::1]
GRID = int64[:, ::1]
TAPS = float32[:, ::1]

_Kernel = TypeVar("_Kernel", bound=Callable[..., Any])


def compiled(signature: object, *liberties: str) -> Callable[[_Kernel], _Kernel]:
    """Compile to this signature on import, taking these liberties with the order of sums."""
    # Called through Any: to numba's own annotations a compiled function is not a function.
    njit: Any = numba.njit

    def compile_it(function: _Kernel) -> _Kernel:
        fastmath = set(liberties)
        try:
            kernel: _Kernel = njit(signature, cache=True, nogil=True, fastmath=fastmath)(function)
        except (RuntimeError, OSError):
            # No place to keep the cache, or a full one: a slower start is no reason to stop.
            kernel = njit(signature, nogil=True, fastmath=fastmath)(function)
        return kernel

    return compile_it
