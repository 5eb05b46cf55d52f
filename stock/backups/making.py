"""Make a backup: copy, open, verify, and only then let it count."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, connections
from django.utils.translation import gettext as _

from stock.backups import postgresql, records, sqlite
from stock.backups.contents import Contents, read_contents
from stock.backups.errors import FolderError, LedgerNotWholeError
from stock.backups.records import BackupRecord
from stock.ledger import verifying

# What a backup that was cut off has left behind; a younger one may still be written.
LEFT_BEHIND = f".{records.PREFIX}*{records.PARTIAL_ENDING}"
# It holds everybody's passwords, if only as they are kept.
OWNER_FOLDER, OWNER_FILE = 0o700, 0o600
LEFT_BEHIND_AFTER = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class MadeBackup:
    """A backup that counts, and how many older ones were removed for it."""

    path: Path
    record: BackupRecord
    removed: int


def make_backup(folder: Path, *, at: datetime, keep: int | None = None) -> MadeBackup:
    """Copy the whole database into a folder, and return the backup.

    It counts once it was opened, its ledger proved whole and its checksum written;
    before that nothing of the name stands in the folder. Then all but the newest
    `keep` backups there are removed. Whoever uses the kitchen meanwhile goes on.
    """
    with _writable(folder):
        folder.mkdir(mode=OWNER_FOLDER, parents=True, exist_ok=True)
        _clear_leftovers(folder, at)
        vendor = connections[DEFAULT_DB_ALIAS].vendor
        is_sqlite = vendor == "sqlite"
        ending = sqlite.ENDING if is_sqlite else postgresql.ENDING
        path, partial = _begin(folder, at, ending)
        try:
            contents = (_copy_sqlite if is_sqlite else _copy_postgresql)(partial)
            records.flush_path(partial)
            record = _record(path.name, partial, vendor, contents, at)
            partial.replace(path)
            record.write(records.record_path(path))
        finally:
            partial.unlink(missing_ok=True)
            if not records.record_path(path).is_file():
                path.unlink(missing_ok=True)
        return MadeBackup(path, record, _rotate(path, keep))


def _copy_sqlite(partial: Path) -> Contents:
    sqlite.copy(sqlite.database_path(), partial)
    sqlite.check_integrity(partial)
    with sqlite.opened(partial) as copy:
        _check_ledger(copy)
        return read_contents(using=copy)


def _copy_postgresql(partial: Path) -> Contents:
    with postgresql.one_moment() as snapshot:
        _check_ledger(DEFAULT_DB_ALIAS)
        contents = read_contents()
        postgresql.dump(partial, snapshot)
    postgresql.check_readable(partial)
    return contents


def _check_ledger(using: str) -> None:
    if not verifying.verify_ledger(using=using).is_whole:
        raise LedgerNotWholeError(
            _("Run `verify_ledger` to see what is wrong with it; earlier backups stay.")
        )


def _record(
    name: str, partial: Path, vendor: str, contents: Contents, at: datetime
) -> BackupRecord:
    return BackupRecord(
        file=name,
        sha256=records.sha256_of(partial),
        made_at=at,
        database=vendor,
        migrations=contents.migrations,
        rows=contents.rows,
        newest_id=contents.newest_id,
        last_moved_at=contents.last_moved_at,
    )


def _begin(folder: Path, at: datetime, ending: str) -> tuple[Path, Path]:
    """Return a name that no backup has or is getting, and the file it is made in.

    Two within one second get a number.
    """
    path = folder / records.name_for(at, ending)
    number = 1
    while True:
        partial = path.with_name(f".{path.name}{records.PARTIAL_ENDING}")
        if not path.exists() and not records.record_path(path).exists():
            with suppress(FileExistsError):
                partial.touch(mode=OWNER_FILE, exist_ok=False)
                return path, partial
        number += 1
        path = folder / records.name_for(at, f"_{number}{ending}")  # sorts after


def _clear_leftovers(folder: Path, at: datetime) -> None:
    oldest = (at - LEFT_BEHIND_AFTER).timestamp()
    for leftover in folder.glob(LEFT_BEHIND):
        if leftover.stat().st_mtime < oldest:
            leftover.unlink(missing_ok=True)


def _rotate(made: Path, keep: int | None) -> int:
    """Remove all but so many backups, the one just made among those that stay.

    Where the clock was set back, names stand in the future: these go first, or they
    would push out every new one until their time has come.
    """
    if keep is None:
        return 0
    others = [path for path in records.finished(made.parent) if path != made]
    others.sort(key=lambda path: path.name > made.name)
    for backup in others[keep - 1 :]:
        records.remove(backup)
    return len(others[keep - 1 :])


@contextmanager
def _writable(folder: Path) -> Iterator[None]:
    """Say it of the folder if nothing can be written there."""
    try:
        yield
    except OSError as error:
        raise FolderError(folder, error.strerror or str(error)) from error
