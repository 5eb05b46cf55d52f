"""Where machine code is kept, and whether what is there is complete.

Nothing here loads the compiler, so that any process may look.
"""

import hashlib
import os
import sys
from collections.abc import Iterable
from contextlib import suppress
from importlib.metadata import version
from pathlib import Path

import platformdirs

# A folder that may be written by whoever runs the site; see `deploy_files`.
FOLDER_VARIABLE = "MACHINE_CODE_DIR"
COMPLETE = "complete"


def mark_of(sources: Iterable[Path]) -> str:
    """Return what tells one state of some files, made by these tools, from another."""
    tools = f"{version('numba')} {version('llvmlite')} {sys.version}"
    written = hashlib.sha256(tools.encode())
    for source in sorted(sources):
        written.update(source.read_bytes())
    return written.hexdigest()[:16]


def kept_in() -> Path:
    """Return the folder with every version's code: as the environment says, or ours.

    Whoever runs this without a home folder has one beside the sources. Never one that
    others may write to: what is found there is run.
    """
    asked = os.environ.get(FOLDER_VARIABLE)
    if asked:
        return Path(asked)
    try:
        cache = platformdirs.user_cache_path("tierlarder", appauthor=False)
    except RuntimeError:
        cache = Path(__file__).parent / "__pycache__"
    return cache / "machine_code"


def place() -> Path:
    """Return the folder of this version's code, whether or not it is there."""
    return kept_in() / mark_of(Path(__file__).parent.glob("*.py"))


def is_complete() -> bool:
    """Whether all of this version's code is kept."""
    with suppress(OSError):  # a folder that may not be looked into keeps nothing
        return (place() / COMPLETE).exists()
    return False


def made(place: Path) -> Path | None:
    """Return a folder for code, made if need be; None if it cannot be written."""
    try:
        place.mkdir(parents=True, exist_ok=True)
        (place / "made here").touch()
    except OSError:
        return None
    return place


def note_complete() -> None:
    """Note that all of this version's code is kept, where it can be."""
    folder = made(place())
    if folder is not None:
        with suppress(OSError):
            (folder / COMPLETE).touch()
