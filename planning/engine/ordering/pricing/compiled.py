"""Functions turned into machine code when they are first called.

The code is kept on disk, so that only the first run after a change waits for it.
"""

from collections.abc import Callable
from typing import TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Return a function as machine code; it may use numbers, arrays and tuples.

    While it runs, other threads do too. Where nothing can be written to disk, the code
    is made anew in each run.
    """
    try:
        return cast("F", numba.njit(cache=True, nogil=True)(function))
    except RuntimeError:  # there is no place to keep it
        return cast("F", numba.njit(nogil=True)(function))
