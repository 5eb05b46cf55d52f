"""What all jobs that keep entries share: reading, matching, faults and the outcome.

A job reads its entries into a `Keeping`, matches them with what is stored, checks
them, and writes the rows that are sound. Its `Batch` carries the faults of one or
several sheets; the batch refuses everything when it closes, if anything was wrong.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Generic, Protocol, TypeVar

from django.db import connection, transaction
from django.utils.translation import gettext as _

from stock.entry.batches import Batch, Origin
from stock.entry.entries import (
    Change,
    Column,
    Entry,
    EntryFaultsError,
    Kept,
    Key,
    Sheet,
    folded,
    kept_of,
)
from stock.models.versions import Versioned
from stock.saving import recompiling
from stock.saving.versions import (
    ModelT,
    RemovedSinceError,
    Seen,
    VersionedT,
    check_seen,
    update_versioned,
)
from stock.wording import names
from stock.wording.names import capitalized


class HasName(Protocol):
    """Anything with a name."""

    name: Any


NamedT = TypeVar("NamedT", bound=HasName)
Id = int | Seen | None  # of a stored row, perhaps as it was seen; None: a new one

TURN = 7_313_108  # any number that nothing else in this database locks
# The name spaces of a kitchen: items, parts and recipes share one.
NAMES, PLACES, SUPPLIERS, PACKS = "name", "place", "supplier", "pack"


@contextmanager
def together(batch: Batch | None) -> Iterator[Batch]:
    """Keep within a batch: the given one, or a transaction of its own.

    Leaving a batch of its own works out what depends on changed units, and raises
    EntryFaultsError, which takes everything back, if anything was wrong.
    """
    if batch is not None:
        yield batch
        return
    with transaction.atomic():
        wait_for_turn()
        batch = Batch()
        yield batch
        close(batch)


def wait_for_turn() -> None:
    """Let two people who enter figures at once wait for each other. One query.

    PostgreSQL locks a number and not the row of settings, which a new database lacks.
    On SQLite whoever writes has the whole database; asking it begins the wait.
    """
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [TURN])
        else:
            cursor.execute("SELECT 1")


def hold(model: type[VersionedT], pk: int) -> VersionedT:
    """Wait for one's turn; return a row that nobody changes until it has ended."""
    wait_for_turn()
    return model._default_manager.select_for_update().get(pk=pk)  # noqa: SLF001 (Django's own API)


def remove(model: type[VersionedT], pk: int, *, seen: int | None = None) -> None:
    """Remove a row, unless it is no longer what was seen. Twice is the same."""
    with transaction.atomic():
        wait_for_turn()
        row = model._default_manager.filter(pk=pk).first()  # noqa: SLF001 (as above)
        if row is not None:
            check_seen(row, seen)
            row.delete()


def close(batch: Batch) -> None:
    """Work out again what depends on changed units; raise what was wrong."""
    recompiling.recompile(batch)
    if batch.faults:
        raise EntryFaultsError(batch.faults)


def by_name(stored: Iterable[NamedT]) -> dict[Key, NamedT]:
    """Return what is stored by its name, as `Keeping.find` looks it up."""
    return {(folded(each.name),): each for each in stored}


@dataclass(slots=True)
class Row(Generic[ModelT]):
    """One entry on its way in."""

    number: int
    given: dict[str, Any]
    key: Key = ()
    stored: ModelT | None = None
    stored_id: int | None = None  # the row that it is said to be for
    seen_version: int | None = None  # as of which version; None: nobody had to see it
    instance: ModelT | None = None  # what is stored for it in the end
    before: dict[str, Any] = field(default_factory=dict)
    after: dict[str, Any] = field(default_factory=dict)
    links: dict[str, Any] = field(default_factory=dict)  # what names stand for
    faulty: set[str] = field(default_factory=set)  # columns
    is_sound: bool = True

    @property
    def is_new(self) -> bool:
        """Whether nothing is stored for it yet."""
        return self.stored is None

    def says(self, *columns: str) -> bool:
        """Whether these columns could all be read."""
        return not self.faulty.intersection(columns)

    def changes(self, *columns: str) -> bool:
        """Whether any of these columns is new or no longer what it was."""
        return self.is_new or any(
            self.before[column] != self.after[column] for column in columns
        )


class Keeping(Generic[ModelT]):
    """The entries of one sheet, from reading them to saying what became of them.

    `rows` are the caller's own numbers of the entries. `ids` say which stored row
    each entry is for, None for a new one; without them the keys say it. With them a
    key may change, and a new one must not be there yet. An id may be `Seen`: the row is
    not changed if somebody else changed it since (ChangedSinceError).
    """

    def __init__(
        self,
        sheet: Sheet,
        entries: Sequence[Entry],
        batch: Batch,
        *,
        rows: Sequence[int] | None = None,
        ids: Sequence[Id] | None = None,
    ) -> None:
        self.sheet = sheet
        self.batch = batch
        self.by_id = ids is not None
        numbers = rows if rows is not None else range(1, len(entries) + 1)
        stored_ids = ids if ids is not None else [None] * len(entries)
        self.rows = [
            self._read(*numbered)
            for numbered in zip(numbers, entries, stored_ids, strict=True)
        ]

    def _read(self, number: int, entry: Entry, stored: Id) -> Row[ModelT]:
        reading = self.sheet.read(entry, needs_key=stored is None)
        row: Row[ModelT] = Row(number, reading.values)
        if isinstance(stored, Seen):
            row.stored_id, row.seen_version = stored.pk, stored.version
        else:
            row.stored_id = stored
        for column, message in reading.faults.items():
            self.fault(row, column, message)
        return row

    def origin(self, row: Row[ModelT], column: str) -> Origin:
        """Return the cell that faults and changes are traced to."""
        return Origin(self.sheet.name, row.number, column)

    def fault(self, row: Row[ModelT], column: str, message: str) -> None:
        """Note what is wrong with a cell; its row is not stored."""
        row.is_sound = False
        if column not in row.faulty:
            row.faulty.add(column)
            self.batch.fault(self.origin(row, column), message)

    def match(
        self,
        stored: Iterable[ModelT],
        values_of: Callable[[ModelT], dict[str, Any]],
    ) -> list[Row[ModelT]]:
        """Return the rows whose keys could be read, beside what is stored for them."""
        by_key, by_id, values_by_id = {}, {}, {}
        for row_stored in stored:
            values = values_of(row_stored)
            by_key[self.key_of(values)] = by_id[row_stored.pk] = row_stored
            values_by_id[row_stored.pk] = values
        readable = [row for row in self.rows if row.says(*self._key_names())]
        for row in readable:
            if self.by_id and row.stored_id is not None:
                if row.stored_id not in by_id:
                    raise RemovedSinceError
                self._fill_key(row, values_by_id[row.stored_id])
            row.key = self.key_of(row.given)
            row.stored = self._stored_for(row, by_key, by_id)
            before = values_by_id.get(row.stored.pk) if row.stored else None
            self._complete(row, before)
        self._refuse_duplicates(readable)
        return readable

    def _key_names(self) -> list[str]:
        return [column.name for column in self.sheet.keys]

    def key_of(self, values: Mapping[str, Any]) -> Key:
        """Return the key of a row's values, as keys are compared."""
        return tuple(
            folded(column.text(values[column.name])) for column in self.sheet.keys
        )

    def _fill_key(self, row: Row[ModelT], stored_values: Mapping[str, Any]) -> None:
        for name in self._key_names():
            row.given.setdefault(name, stored_values[name])

    def _stored_for(
        self,
        row: Row[ModelT],
        by_key: Mapping[Key, ModelT],
        by_id: Mapping[int, ModelT],
    ) -> ModelT | None:
        holder = by_key.get(row.key)
        if not self.by_id:
            return holder
        own = by_id[row.stored_id] if row.stored_id is not None else None
        if holder is not None and (own is None or holder.pk != own.pk):
            self.fault(row, self._key_names()[-1], self._there_already(row))
        return own

    def _there_already(self, row: Row[ModelT]) -> str:
        return _("{label} already exists.").format(label=self.label(row))

    def label(self, row: Row[ModelT]) -> str:
        """Return the words by which a row is spoken of: its key."""
        values = {**row.given, **row.after}
        texts = [column.text(values.get(column.name)) for column in self.sheet.keys]
        return ", ".join(text for text in texts if text)

    def _complete(self, row: Row[ModelT], before: Mapping[str, Any] | None) -> None:
        if before is None:
            for column in self.sheet.missing(row.given):
                if column.name not in row.faulty:
                    self.fault(row, column.name, self._missing(row, column))
            row.after = {**self.sheet.defaults(), **row.given}
            return
        row.before = dict(before)
        row.after = {**before, **row.given}
        if not self.by_id:
            row.after.update({name: before[name] for name in self._key_names()})

    def _missing(self, row: Row[ModelT], column: Column) -> str:
        return capitalized(
            _("{label} is new here. {blank}").format(
                label=self.label(row), blank=column.blank_words
            )
        )

    def _refuse_duplicates(self, rows: Iterable[Row[ModelT]]) -> None:
        first: dict[Key, int] = {}
        for row in rows:
            if row.key in first:
                self.fault(
                    row,
                    self._key_names()[-1],
                    capitalized(
                        _("{label} is in row {first} already.").format(
                            label=self.label(row), first=first[row.key]
                        )
                    ),
                )
            first.setdefault(row.key, row.number)

    def sound_rows(self, space: str = "") -> list[Row[ModelT]]:
        """Return what can be stored, and let the batch know of names that cannot."""
        name = self._key_names()[-1]
        if space:
            self.batch.refused.update(
                (space, (folded(row.given[name]),))
                for row in self.rows
                if not row.is_sound and row.is_new and name in row.given
            )
        return [row for row in self.rows if row.is_sound]

    def find(
        self,
        row: Row[ModelT],
        column: str,
        directory: Mapping[Key, Any],
        *,
        space: str,
        noun: str,
    ) -> Any | None:
        """Return what a cell's name stands for, or None after noting the fault.

        What is found is the row's link of that column, and its name the one spelling.
        """
        name = row.after.get(column)
        if not name or not row.says(column):
            return None
        found = directory.get((folded(name),))
        if found is not None:
            row.links[column] = found
            row.after[column] = found.name
            return found
        row.is_sound = False
        if (space, (folded(name),)) not in self.batch.refused:
            self.fault(row, column, self._unknown(name, directory, space, noun))
        return None

    def _unknown(
        self, name: str, directory: Mapping[Key, Any], space: str, noun: str
    ) -> str:
        what = self.batch.elsewhere.get(folded(name)) if space == NAMES else None
        if what is None:
            return names.unknown(noun, name, [each.name for each in directory.values()])
        return capitalized(
            _("{name}: {what}, not a bought item. Write what is bought.").format(
                name=name, what=what
            )
        )

    def kept(self) -> Kept:
        """Return what became of the rows, each counted once."""
        added: dict[int, str] = {}
        changed: list[tuple[int, Change]] = []
        unchanged: list[int] = []
        for row in self.rows:
            if not row.is_sound:
                continue
            if row.is_new:
                added[row.number] = self.label(row)
                continue
            changes = self._changes(row)
            changed += [(row.number, change) for change in changes]
            unchanged += [] if changes else [row.number]
        return kept_of(added, changed, unchanged, faulty=self.faulty)

    @property
    def faulty(self) -> int:
        """How many rows cannot be stored."""
        return sum(not row.is_sound for row in self.rows)

    def write(
        self,
        rows: Iterable[Row[ModelT]],
        assign: Callable[[ModelT, Row[ModelT]], None],
        model: type[ModelT],
        fields: Sequence[str],
    ) -> None:
        """Store new rows and those that changed; leave the others alone.

        A row that changed is of the next version; one that somebody else changed after
        it was seen is refused.
        """
        new: list[ModelT] = []
        changed: list[ModelT] = []
        for row in rows:
            row.instance = row.stored if row.stored is not None else model()
            if row.before != row.after:
                self._check_seen(row)
                assign(row.instance, row)
                (new if row.is_new else changed).append(row.instance)
        model._default_manager.bulk_create(new)  # noqa: SLF001 (as above)
        update_versioned(model, changed, fields)

    def _check_seen(self, row: Row[ModelT]) -> None:
        if isinstance(row.stored, Versioned):
            label = self.label(row)
            check_seen(row.stored, row.seen_version, label=label, theirs=row.before)

    def _changes(self, row: Row[ModelT]) -> list[Change]:
        return [
            Change(
                self.label(row),
                column.name,
                column.text(row.before[column.name]),
                column.text(row.after[column.name]),
            )
            for column in self.sheet.columns
            if row.before[column.name] != row.after[column.name]
        ]
