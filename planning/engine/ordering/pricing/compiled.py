"""Functions turned into machine code when they are first called.

The code is kept on disk, so that only the first run after a change waits for it. What
is kept of a function has the functions in it that it calls, in whatever module they
are. So it is kept by all that is written in these rooms, and made anew when any of it
changes.
"""

import hashlib
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TypeVar, cast

import numba

from planning.engine.shelves import leftovers

F = TypeVar("F", bound=Callable[..., object])

ROOM = Path(__file__).parents[1]


def compiled(function: F) -> F:
    """Return a function as machine code; it may use numbers, arrays and tuples.

    While it runs, other threads do too. Where nothing can be written to disk, the code
    is made anew in each run.
    """
    return cast("F", numba.njit(cache=IS_KEPT, nogil=True)(function))


def mark_of(sources: Iterable[Path]) -> str:
    """Return what tells one state of some files from another."""
    written = hashlib.sha256()
    for source in sorted(sources):
        written.update(source.read_bytes())
    return written.hexdigest()[:16]


def make_place(kept: Path, mark: str) -> Path | None:
    """Return the folder for the code with a mark, and drop all others.

    None where nothing can be written.
    """
    place = kept / mark
    try:
        place.mkdir(parents=True, exist_ok=True)
        (place / "made here").touch()
    except OSError:
        return None
    for other in kept.iterdir():
        if other != place:
            shutil.rmtree(other, ignore_errors=True)
    return place


_place = make_place(
    ROOM / "__pycache__" / "machine_code",
    mark_of([*ROOM.rglob("*.py"), Path(leftovers.__file__)]),
)
IS_KEPT = _place is not None
if _place is not None:
    numba.config.CACHE_DIR = str(_place)  # type: ignore[attr-defined]
