"""Functions turned into machine code when they are first called.

The code is kept on disk, so that only the first run after a change waits for it.
"""

from collections.abc import Callable
from typing import TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Return a function as machine code; it may use numbers, arrays and tuples.

    While it runs, other threads do too.
    """
    return cast("F", numba.njit(cache=True, nogil=True)(function))
