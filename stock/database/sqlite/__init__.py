"""SQLite as this program uses it: also from a folder that may only be read."""

import os
from pathlib import Path

WAL_ENDING = "-wal"


def address(path: Path) -> str:
    """Return the URI to open a database by.

    A database in WAL mode keeps two files beside it, even for reading. Where these
    are not there and cannot be made, nobody can change the file either: only then is
    it opened as one that never changes. One that lacks but the second of them is
    refused, for what its journal holds could not be read.
    """
    uri = path.absolute().as_uri()
    is_shut = path.is_file() and not os.access(path.parent, os.W_OK)
    has_journal = path.with_name(f"{path.name}{WAL_ENDING}").exists()
    return f"{uri}?immutable=1" if is_shut and not has_journal else uri
