"""Which version of a row a person saw, and what is refused if it is no longer that.

Every row that a form edits counts its changes. A form is opened as of one version and
posts it; a job that is told which one refuses to write over a later one. Files and
other jobs name rows by their keys and see what is stored when they write.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from django.db import models
from django.db.models import F
from django.utils.translation import gettext as _

from stock.errors import StockError
from stock.models.versions import Versioned
from stock.wording.names import capitalized

UNSEEN = 0  # versions start at 1, so this is never the stored one

ModelT = TypeVar("ModelT", bound=models.Model)
VersionedT = TypeVar("VersionedT", bound=Versioned)


@dataclass(frozen=True, slots=True)
class Seen:
    """A stored row, as of the version that a person saw of it."""

    pk: int
    version: int


class ChangedSinceError(StockError):
    """Somebody changed a row after a person opened it; nothing was written over.

    `theirs` are the stored values by column, where a job knows them by column.
    """

    def __init__(
        self, label: str, version: int, theirs: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(
            capitalized(
                _(
                    "{label}: changed after you opened it, so nothing was done. Check "
                    "it, then try again."
                ).format(label=label)
            )
        )
        self.label = label
        self.version = version
        self.theirs = dict(theirs or {})


class RemovedSinceError(StockError):
    """Somebody removed the row that an entry is for; the entry is not stored."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "Somebody removed this after you opened it, so it can't be saved. "
                "Save it again to add it anew."
            )
        )


def check_seen(
    row: Versioned,
    seen: int | None,
    *,
    label: str = "",
    theirs: Mapping[str, Any] | None = None,
) -> None:
    """Refuse a row that is no longer what was seen; None: nobody had to see it."""
    if seen is not None and row.version != seen:
        raise ChangedSinceError(label or str(row), row.version, theirs)


def set_seen(row: VersionedT, seen: int | None, **values: Any) -> VersionedT:
    """Set some columns of a row that is held, as of the version that was seen.

    A repeat changes nothing: what is so already is not compared with what was seen.
    """
    if any(getattr(row, name) != value for name, value in values.items()):
        check_seen(row, seen)
        for name, value in values.items():
            setattr(row, name, value)
        row.version += 1
        row.save(update_fields=[*values, "version"])
    return row


def update_versioned(
    model: type[ModelT], changed: Sequence[ModelT], fields: Sequence[str]
) -> None:
    """Store some fields of rows that changed, each as its next version."""
    stored = list(fields)
    if issubclass(model, Versioned):
        stored.append("version")
        for row in changed:
            row.version = F("version") + 1  # type: ignore[attr-defined]
    model._default_manager.bulk_update(changed, stored)  # noqa: SLF001 (Django's own API)
