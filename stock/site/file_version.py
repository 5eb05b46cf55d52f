"""One version for all files that pages load, so that none loads a mix of two.

It stands in the address of each: a page names the files of the program that made it,
and scripts import each other from beside themselves.
"""

import hashlib
from collections.abc import Iterable
from importlib.metadata import version
from pathlib import Path

LETTERS = 12


def file_version(folders: Iterable[Path], packages: Iterable[str]) -> str:
    """Return a word that is another once any file is another, or a package's version.

    Hidden files are no files of a page. It takes some milliseconds.
    """
    digest = hashlib.sha256()
    for folder in folders:
        for path in sorted(folder.rglob("*")):
            if path.is_file() and not path.name.startswith("."):
                digest.update(f"{path.relative_to(folder).as_posix()}\0".encode())
                digest.update(hashlib.sha256(path.read_bytes()).digest())
    for package in packages:
        digest.update(f"{package} {version(package)}\0".encode())
    return digest.hexdigest()[:LETTERS]
