"""Entries: the rows by which a kitchen's figures come in, from a file or from a form.

Pure: no Django. An entry maps a sheet's column names to what was typed. A column
that an entry does not name leaves what is stored as it is; a column that it names but
leaves blank means the column's default. Jobs called `keep_...` take many entries, check
them all, store all or nothing, and say what became of them.
"""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import compress
from typing import Any

from django.utils.translation import gettext as _

from stock.entry.cells import (
    LONGEST_VALUE,
    CellError,
    CellKind,
    Choice,
    Unreadable,
    is_blank,
    too_long,
)
from stock.errors import StockError

Entry = Mapping[str, Any]  # column name -> typed text, or a value of the column's kind
Key = tuple[str, ...]  # case-folded values of a sheet's key columns


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one cell."""

    row: int  # as the caller numbers its rows; else 1 for the first entry
    column: str
    message: str
    sheet: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """One value that is no longer what it was."""

    key: str
    column: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Kept:
    """What a job did with its entries."""

    added: tuple[str, ...] = ()
    changed: tuple[Change, ...] = ()
    unchanged: int = 0
    faulty: int = 0  # rows of which something cannot be taken
    # The caller's numbers of the rows above, in their order.
    added_rows: tuple[int, ...] = ()
    changed_rows: tuple[int, ...] = ()
    unchanged_rows: tuple[int, ...] = ()

    def without(self, faulty_rows: Set[int]) -> "Kept":
        """Return the same, some of whose rows have turned out to be faulty since."""
        added = [row not in faulty_rows for row in self.added_rows]
        changed = [row not in faulty_rows for row in self.changed_rows]
        unchanged = [row for row in self.unchanged_rows if row not in faulty_rows]
        late = {*self.added_rows, *self.changed_rows, *self.unchanged_rows}
        return Kept(
            added=tuple(compress(self.added, added)),
            changed=tuple(compress(self.changed, changed)),
            unchanged=len(unchanged),
            faulty=self.faulty + len(late & faulty_rows),
            added_rows=tuple(compress(self.added_rows, added)),
            changed_rows=tuple(compress(self.changed_rows, changed)),
            unchanged_rows=tuple(unchanged),
        )

    @property
    def changed_keys(self) -> tuple[str, ...]:
        """The rows that changed, each once."""
        return tuple(dict.fromkeys(change.key for change in self.changed))


def kept_of(
    added: Mapping[int, str],
    changed: Sequence[tuple[int, Change]],
    unchanged: Sequence[int],
    *,
    faulty: int,
) -> Kept:
    """Return what a job did, each row by the caller's own number of it."""
    return Kept(
        added=tuple(added.values()),
        changed=tuple(change for _, change in changed),
        unchanged=len(unchanged),
        faulty=faulty,
        added_rows=tuple(added),
        changed_rows=tuple(number for number, _ in changed),
        unchanged_rows=tuple(unchanged),
    )


class EntryFaultsError(StockError):
    """Some entries cannot be taken; nothing was stored."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__(" ".join(fault.message for fault in self.faults))


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a sheet, one field of a form."""

    name: str
    kind: CellKind
    is_key: bool = False
    required: bool = False  # a key is, unless key_may_be_blank
    key_may_be_blank: bool = False
    default: Any = None  # what blank means
    label: str = ""  # on a page; else the name in plain letters
    help: str = ""

    @property
    def heading(self) -> str:
        """The words on a page."""
        return _(self.label or self.name.replace("_", " ").capitalize())

    @property
    def help_words(self) -> str:
        """The line of help on a page; blank where there is none."""
        return _(self.help) if self.help else ""

    @property
    def choices(self) -> tuple[str, ...]:
        """The words to choose from; empty where anything may be written."""
        return self.kind.choices if isinstance(self.kind, Choice) else ()

    @property
    def blank_words(self) -> str:
        """What is said of a blank where there must be something."""
        return _("“{heading}” must not stay blank.").format(heading=self.heading)

    def read(self, value: object) -> Any:
        """Return what a cell stands for, or raise a CellError."""
        if isinstance(value, Unreadable):
            raise CellError(_(value.message))
        if not is_blank(value):
            self._refuse_pasted_pages(value)
            return self.kind.parse(value)
        if self.required or (self.is_key and not self.key_may_be_blank):
            raise CellError(self.blank_words)
        return self.default

    def _refuse_pasted_pages(self, value: object) -> None:
        """Refuse far too long a text before a sentence quotes all of it."""
        longest = getattr(self.kind, "max_length", LONGEST_VALUE)
        if isinstance(value, str) and len(value.strip()) > longest:
            raise CellError(too_long(len(value.strip()), longest))

    def cell(self, value: Any) -> object:
        """Return what a spreadsheet cell holds for a value; None is blank."""
        return self.kind.cell(value)

    def text(self, value: Any) -> str:
        """Return the value as text that `read` takes back."""
        return self.kind.text(value)


@dataclass(frozen=True, slots=True)
class ReadEntry:
    """An entry as values of its columns' kinds, and what could not be read."""

    values: dict[str, Any]
    faults: dict[str, str]  # column -> sentence


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of the kitchen workbook."""

    name: str
    columns: tuple[Column, ...]
    noun: str = ""  # what one row is, in sentences

    @property
    def keys(self) -> tuple[Column, ...]:
        """The columns that say which row it is."""
        return tuple(column for column in self.columns if column.is_key)

    def column(self, name: str) -> Column:
        """Return the column of this name; a KeyError if there is none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(f"{self.name} has no column {name!r}")

    def read(self, entry: Entry, *, needs_key: bool = True) -> ReadEntry:
        """Return what an entry says, column by column, with all its faults.

        Only named columns are read, and the keys, unless the row is known already.
        """
        unknown = set(entry) - {column.name for column in self.columns}
        if unknown:
            raise KeyError(f"{self.name} has no column {', '.join(sorted(unknown))}")
        reading = ReadEntry({}, {})
        for column in self.columns:
            if column.name not in entry and not (column.is_key and needs_key):
                continue
            try:
                reading.values[column.name] = column.read(entry.get(column.name))
            except CellError as error:
                reading.faults[column.name] = str(error)
        return reading

    def defaults(self) -> dict[str, Any]:
        """Return what a row holds that names no column but its key."""
        return {
            column.name: column.default for column in self.columns if not column.is_key
        }

    def missing(self, values: Mapping[str, Any]) -> list[Column]:
        """Return the required columns that a new row does not name."""
        return [
            column
            for column in self.columns
            if column.required and column.name not in values
        ]


def folded(name: str) -> str:
    """Return a name as names are compared: without case and outer spaces."""
    return name.strip().casefold()
