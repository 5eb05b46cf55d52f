"""Functions turned into machine code when they are first called, and kept on disk.

What numba keeps of a function has the functions in it that it calls, in whatever
module they are, and it looks at one module alone to see whether that is stale. So the
code lies in a folder named by everything in this package, by numba and by Python:
another version of the program finds its own folder, and takes nobody else's away.
"""

from collections.abc import Callable
from typing import TypeVar, cast

import numba

from planning.engine.ordering.kernels import place

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Return a function as machine code; it may use numbers, arrays and tuples.

    While it runs, other threads do too. Where nothing can be written to disk, the code
    is made anew in each run.
    """
    return cast("F", numba.njit(cache=IS_KEPT, nogil=True)(function))


PLACE = place.made(place.place())
IS_KEPT = PLACE is not None
if PLACE is not None:
    numba.config.CACHE_DIR = str(PLACE)  # type: ignore[attr-defined]
