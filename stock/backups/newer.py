"""What a place holds that a backup lacks, in words."""

from django.apps import apps
from django.utils.translation import gettext as _

from stock.backups.contents import Contents
from stock.backups.records import BackupRecord

MOVEMENT = "stock.Movement"
MOST_NAMED = 4


def newer_words(there: Contents, record: BackupRecord) -> str:
    """Return a sentence on what would be missed if a place were replaced.

    Rows that came after the backup's newest are counted; changes to older rows are
    not seen, and the sentence says so.
    """
    made = _("{made_at:%Y-%m-%d %H:%M} UTC").format(made_at=record.made_at)
    counted = {
        label: rows
        for label, rows in (
            (label, _newer_rows(label, there, record)) for label in there.rows
        )
        if rows > 0
    }
    if not counted:
        return _(
            "It has no rows newer than the backup of {made}, though rows may "
            "have been edited since."
        ).format(made=made)
    movements = counted.pop(MOVEMENT, 0)
    most_first = sorted(counted.items(), key=lambda row: (-row[1], row[0]))
    named = [f"{rows} {_name(label, rows)}" for label, rows in most_first[:MOST_NAMED]]
    if movements:
        last = _("{last_moved_at:%Y-%m-%d %H:%M} UTC").format(
            last_moved_at=there.last_moved_at
        )
        named.insert(
            0,
            _("{movements} {name}, the last of {last}").format(
                movements=movements, name=_name(MOVEMENT, movements), last=last
            ),
        )
    rest = len(most_first) - MOST_NAMED
    more = _("; and {rest} more kinds of rows").format(rest=rest) if rest > 0 else ""
    return _("Newer than the backup of {made}: {named}{more}.").format(
        made=made, named="; ".join(named), more=more
    )


def _newer_rows(label: str, there: Contents, record: BackupRecord) -> int:
    """Return how many rows came later; by ids where they are numbers that only grow."""
    more = there.rows[label] - record.rows.get(label, 0)
    if label in there.newest_id:
        grown = there.newest_id[label] - record.newest_id.get(label, 0)
        return max(more, min(grown, there.rows[label]))
    return more


def _name(label: str, rows: int) -> str:
    options = apps.get_model(label)._meta
    return str(options.verbose_name if rows == 1 else options.verbose_name_plural)


def counted(number: int, noun: str) -> str:
    """Return a number with its noun: 1 movement, 2 movements."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
