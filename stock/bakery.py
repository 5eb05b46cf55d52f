"""Keeping the bakery's settings."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from stock.calendar.calendars import WEEKDAYS
from stock.entry.batches import Batch
from stock.entry.cells import CellError
from stock.entry.entries import Entry, Kept
from stock.models import Bakery
from stock.saving import upsert
from stock.saving.sheets import SETTING_COLUMNS, SETTINGS
from stock.saving.upsert import Keeping, Row
from stock.saving.versions import check_seen

COLUMN_BY_SETTING = {column.name: column for column in SETTING_COLUMNS}
FIELD_BY_SETTING = {
    name: "name" if name == "bakery" else name for name in COLUMN_BY_SETTING
}

EVERY_DAY = " ".join(WEEKDAYS)


@dataclass(slots=True)
class _Setting:
    """One setting of the bakery, as if it were a row of its own."""

    pk: int
    values: dict[str, Any]


def keep_settings(
    entries: Sequence[Entry],
    *,
    seen: int | None = None,
    rows: Sequence[int] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store settings, one an entry; return which changed and which did not.

    Every setting has a value from the start, so none is ever added. A page turns the
    fields of its form into entries with `setting_rows`, and says which version of
    them was `seen`.
    """
    with upsert.together(batch) as own:
        bakery, _ = Bakery.objects.get_or_create(pk=1)
        kept: Keeping[Any] = Keeping(SETTINGS, entries, own, rows=rows)
        stored = _settings(bakery)
        for row in kept.match(stored, lambda setting: setting.values):
            _spell_value(kept, row)
        changed = [row for row in kept.sound_rows() if row.before != row.after]
        for row in changed:
            name = row.after["setting"]
            value = COLUMN_BY_SETTING[name].read(row.after["value"])
            setattr(bakery, FIELD_BY_SETTING[name], value)
        if changed:
            theirs = {each.values["setting"]: each.values["value"] for each in stored}
            check_seen(bakery, seen, label=SETTINGS.name, theirs=theirs)
            bakery.version += 1
            bakery.save()
    return kept.kept()


def setting_rows(values: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return one entry for each setting that the fields of a page name."""
    return [{"setting": name, "value": value} for name, value in values.items()]


def setting_entries() -> list[dict[str, Any]]:
    """Return every setting as an entry, in the order of the sheet. One query.

    What nobody has said yet, and must be said, is left out.
    """
    bakery = Bakery.current()
    return [
        setting.values
        for setting in _settings(bakery)
        if setting.values["value"]
        or not COLUMN_BY_SETTING[setting.values["setting"]].required
    ]


def time_zone_note() -> str:
    """Return that nobody has said the bakery's time zone, and what to do; or blank."""
    bakery = Bakery.current()
    if bakery.time_zone:
        return ""
    return _(
        "No time zone is set, so days are told on this machine's clock, "
        "{zone}. Set it: manage.py set_time_zone"
    ).format(zone=bakery.zone)


def _settings(bakery: Bakery) -> list[_Setting]:
    return [
        _Setting(
            number,
            {
                "setting": name,
                "value": column.text(getattr(bakery, FIELD_BY_SETTING[name])),
            },
        )
        for number, (name, column) in enumerate(COLUMN_BY_SETTING.items())
    ]


def _spell_value(kept: Keeping[Any], row: Row[Any]) -> None:
    """Bring a value into the one spelling of its setting, or note the fault."""
    column = COLUMN_BY_SETTING[row.after["setting"]]
    if not row.says("value"):
        return
    try:
        row.after["value"] = column.text(column.read(row.after["value"]))
    except CellError as error:
        kept.fault(row, "value", str(error))
        return
    if column.name == "closed_days" and row.after["value"] == EVERY_DAY:
        sentence = _("Nothing could ever be made. Leave at least one weekday out.")
        kept.fault(row, "value", sentence)
