"""Files that wait between the look at what they hold and their storing.

What was read of a file lies in a folder of the machine that nobody can guess, for an
hour at most. Its token goes through the browser: it is signed, names the person who
sent the file and the fingerprint of what was read, so that what is stored is what was
looked at.
"""

import hashlib
import os
import secrets
import stat
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from django.core import signing
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

from planning.errors import PlanningError

SALT = "planning.web.kitchen.waiting_files.cells"  # what waits is cells, as JSON
LONGEST_WAIT_SECONDS = 60 * 60
OWNER_ALONE, ANYBODY_ELSE = 0o700, 0o077
MOST_FILES_A_PERSON = 3
MOST_BYTES = 200 * 2**20


class NotWaitingError(PlanningError):
    """The file has been stored, has waited too long, or is somebody else's."""

    def __init__(self) -> None:
        super().__init__(
            _("That file is no longer here; it is kept for an hour. Choose it again.")
        )


class StoredAlreadyError(PlanningError):
    """The file is stored: by another tap, or before an answer was lost."""

    def __init__(self, name: str) -> None:
        super().__init__(
            _("{name} is stored already. Choose it again to compare.").format(name=name)
        )


class NoRoomError(PlanningError):
    """Others have sent so much that no more can wait."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "Too many files are waiting to be stored. Store or leave yours, or try "
                "again in an hour."
            )
        )


class UnsafeFolderError(PlanningError):
    """Somebody else on this machine could read or change what waits."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            _(
                "{folder} belongs to somebody else, so no file was kept there. "
                "Whoever runs this site: remove it, or set TMPDIR."
            ).format(folder=folder)
        )


@dataclass(frozen=True, slots=True)
class WaitingFile:
    """What was read of a file that somebody sent."""

    name: str
    path: Path
    content: bytes

    def forget(self) -> None:
        """Take what it holds away; an empty file says for an hour that it is stored."""
        emptied = self.path.with_name(f"{self.path.name}-{secrets.token_hex(4)}")
        emptied.touch()
        emptied.replace(self.path)  # whoever reads it finds all of it or nothing


def put_aside(content: bytes, name: str, *, user_id: int) -> str:
    """Keep what a file holds for its sender; return the token that finds it again."""
    _clear()
    _make_room(user_id, len(content))
    path = _folder() / f"{user_id}-{secrets.token_hex(16)}"
    with path.open("xb") as copy:
        copy.write(content)
    facts = [user_id, path.name, hashlib.sha256(content).hexdigest(), name]
    return signing.dumps(facts, salt=SALT)


def find(token: str, *, user_id: int) -> WaitingFile:
    """Return what its sender put aside, unchanged.

    Raises StoredAlreadyError where it is stored, NotWaitingError where it is not here.
    """
    try:
        facts = signing.loads(token, salt=SALT, max_age=LONGEST_WAIT_SECONDS)
        sender_id, file_name, digest, name = facts
        path = _folder() / file_name
        content = path.read_bytes()
    except (signing.BadSignature, FileNotFoundError) as error:
        raise NotWaitingError from error
    if sender_id == user_id and not content:
        raise StoredAlreadyError(name)
    if sender_id != user_id or hashlib.sha256(content).hexdigest() != digest:
        raise NotWaitingError
    return WaitingFile(name, path, content)


def _folder() -> Path:
    name = salted_hmac(SALT, "folder").hexdigest()[:24]
    folder = Path(tempfile.gettempdir()) / f"kitchen-{name}"
    folder.mkdir(mode=OWNER_ALONE, exist_ok=True)
    found = folder.lstat()
    if found.st_uid != os.getuid() or stat.S_IMODE(found.st_mode) & ANYBODY_ELSE:
        raise UnsafeFolderError(folder)
    return folder


def _make_room(user_id: int, size_bytes: int) -> None:
    """Keep to the quotas: one person's oldest files go first, the whole is refused."""
    by_age = sorted(_folder().iterdir(), key=_age)
    mine = [
        path
        for path in by_age
        if path.name.startswith(f"{user_id}-") and _size_bytes(path)
    ]
    for path in mine[: max(len(mine) - MOST_FILES_A_PERSON + 1, 0)]:
        path.unlink(missing_ok=True)
    kept_bytes = sum(_size_bytes(path) for path in by_age)
    if kept_bytes + size_bytes > MOST_BYTES:
        raise NoRoomError


def _age(path: Path) -> float:
    try:
        return path.stat().st_mtime
    except FileNotFoundError:
        return 0.0


def _size_bytes(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


def _clear() -> None:
    """Take away what has waited for too long."""
    too_old = time.time() - LONGEST_WAIT_SECONDS
    for path in _folder().iterdir():
        try:
            if path.stat().st_mtime < too_old:
                path.unlink()
        except FileNotFoundError:
            continue  # another request was quicker
