"""Count sheets on paper: printed in walking order, typed in by short codes.

The file that comes back is the printed one with its quantities filled in. It is taken
whole or not at all; what says the same as before is no new entry.
"""

import csv
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from uuid import uuid4

from django.db import transaction
from django.utils.text import Truncator
from django.utils.translation import gettext as _

from stock.counts.answers import EntryAnswer
from stock.counts.codes import read_line_code
from stock.counts.entries import sequence_at, take_entries
from stock.counts.errors import CountError, CountStateError
from stock.counts.lines import EntryIn, LineKey
from stock.counts.sheets import CountSheet, Look, SheetLine, look
from stock.counts.states import state_words
from stock.entry.entries import EntryFaultsError, Fault, folded
from stock.errors import MeasureError
from stock.measures.counting_units import with_unit
from stock.measures.reading.spoken import read_spoken
from stock.measures.resolution import to_ledger
from stock.models import Count, CountEntry
from stock.wording.safe_text import csv_text

COLUMNS = (
    *("count", "code", "place", "item", "use_by"),
    *("units", "counted_in", "quantity"),
)
NEEDED = ("code", "quantity")
DEVICE = "paper"
# What spreadsheet programs put between cells where a comma is the decimal point.
OTHER_SEPARATORS = {";": "semicolons", "\t": "tabs"}
ID_PATTERN = re.compile(r"\d{1,18}")  # what a column of ids holds
LONGEST_SHOWN = 20


class CountFileError(CountError):
    """A file that is no count sheet."""


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One filled-in line."""

    number: int  # of the row in its file
    code: str
    quantity: str
    counted_in: str = ""  # what a bare number meant when it was printed; blank: as now
    typed: str = ""  # the quantity, before it was given its unit


@dataclass(frozen=True, slots=True)
class Replaced:
    """A figure that took the place of what the same person had entered before."""

    code: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Entered:
    """What became of a file."""

    answers: tuple[EntryAnswer, ...]  # for the new entries
    replaced: tuple[Replaced, ...]
    unchanged: int
    blank: int

    @property
    def questions(self) -> tuple[EntryAnswer, ...]:
        """The answers that ask whether there was a slip."""
        return tuple(answer for answer in self.answers if answer.slip)


def csv_rows(sheets: Iterable[CountSheet]) -> Iterator[tuple[str, ...]]:
    """Return the rows of a file to fill in, header first, in walking order."""
    yield COLUMNS
    for sheet in sheets:
        for line in sheet.lines:
            yield (
                str(sheet.count.pk),
                line.line.code,
                csv_text(sheet.place.name),
                csv_text(line.line.item.name),
                line.line.use_by.isoformat() if line.line.use_by else "",
                csv_text(units_words(line)),
                csv_text(line.counting_unit or ""),
                "",
            )


def units_words(line: SheetLine) -> str:
    """Return the words to write an amount in: `case, stick, lb`."""
    return ", ".join(line.unit_words)


def read_count_file(path: Path) -> tuple[list[PaperRow], int | None]:
    """Return the rows of a filled-in file, and the count that it names.

    Commas stand between cells; a file with other marks is told how to be saved.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as lines:
            rows = list(enumerate(csv.reader(lines, strict=True), start=1))
    except FileNotFoundError as error:
        raise CountFileError(
            _("There is no file {name}.").format(name=path.name)
        ) from error
    except OSError as error:
        raise CountFileError(
            _("{name} cannot be read: {strerror}.").format(
                name=path.name, strerror=error.strerror
            )
        ) from error
    except UnicodeDecodeError as error:
        raise CountFileError(
            _('{name} is not written in UTF-8. Save it again as "CSV UTF-8".').format(
                name=path.name
            )
        ) from error
    except csv.Error as error:
        raise CountFileError(
            _("{name} is broken ({error}).").format(name=path.name, error=error)
        ) from error
    filled = [(number, row) for number, row in rows if any(map(str.strip, row))]
    if not filled:
        raise CountFileError(
            _("{name} is empty. Print one with count_sheet --csv.").format(
                name=path.name
            )
        )
    places = _places_of_columns(path.name, filled[0][1])
    return _rows_and_count(filled[1:], places)


@transaction.atomic
def enter_sheet(
    count_id: int,
    rows: Sequence[PaperRow],
    *,
    at: datetime,
    by_id: int | None = None,
    sent_by_id: int | None = None,
) -> Entered:
    """Enter a filled-in sheet: all of it, or nothing and every faulty cell.

    A blank quantity is not counted. A row that says what this person said last on its
    line is left alone, so that the same file again changes nothing.
    """
    Count.objects.select_for_update(no_key=True).filter(pk=count_id).first()
    seen = look(count_id)
    if not seen.walk.count.is_live:
        state = state_words(seen.walk.count)
        raise CountStateError(count_id, state, _("Open a new count."))
    faults: list[Fault] = []
    entries, replaced, unchanged, blank = [], [], 0, 0
    first_row: dict[LineKey, PaperRow] = {}
    units = seen.counting_units()
    for each in rows:
        line = _line(each, seen, first_row, faults)
        row = each if line is None else _with_unit(each, line, seen, units)
        if line is None or not _is_readable(row, line, seen, faults):
            continue
        own = _own(line, seen, by_id or sent_by_id)
        if not row.quantity.strip():
            blank += 1
        elif own is not None and _says_the_same(row, line, own, seen):
            unchanged += 1
        else:
            entries.append(_entry(row, line, own, seen, at=at, by_id=by_id))
            if own is not None and own.text:
                replaced.append(Replaced(row.code, own.text, row.quantity))
    if faults:
        raise EntryFaultsError(faults)
    answers = take_entries(entries, at=at, sent_by_id=sent_by_id or by_id)
    return Entered(tuple(answers), tuple(replaced), unchanged, blank)


def twice_words(first: str, second: str) -> str:
    """Return the remedy for two figures of one line: what to write instead of both."""
    return _(
        'Keep one of the two; if both stand there, write "{first} + {second}" once.'
    ).format(first=first, second=second)


def _places_of_columns(name: str, header: Sequence[str]) -> dict[str, int]:
    places = {folded(column): place for place, column in enumerate(header)}
    for mark, called in OTHER_SEPARATORS.items():
        if len(header) == 1 and mark in header[0]:
            raise CountFileError(
                _(
                    "{name} has {called} between its cells. Save it again as CSV with "
                    "commas, or fill in what count_sheet --csv prints."
                ).format(name=name, called=called)
            )
    unknown = [column for column in header if folded(column) not in COLUMNS]
    if unknown:
        column = unknown[0].strip() or _("without a name")
        raise CountFileError(
            _(
                "{name} has a column {column}. The columns of a count sheet are "
                "{columns}."
            ).format(name=name, column=column, columns=", ".join(COLUMNS))
        )
    for column in NEEDED:
        if column not in places:
            raise CountFileError(
                _("{name} has no column {column}.").format(name=name, column=column)
            )
    return places


def _rows_and_count(
    filled: Iterable[tuple[int, Sequence[str]]], places: dict[str, int]
) -> tuple[list[PaperRow], int | None]:
    rows, faults = [], []
    count_ids: set[str] = set()
    for number, row in filled:
        cells = {
            column: row[place].strip() if place < len(row) else ""
            for column, place in places.items()
        }
        unit = cells.get("counted_in", "").removeprefix("'")
        rows.append(PaperRow(number, cells["code"], cells["quantity"], unit))
        said = cells.get("count", "")
        if said and not ID_PATTERN.fullmatch(said):
            shown = Truncator(said).chars(LONGEST_SHOWN)
            sentence = _(
                '"{shown}" isn\'t a count. Write its number as printed: 12.'
            ).format(shown=shown)
            faults.append(Fault(number, "count", sentence))
        elif said:
            count_ids.add(said)
            if len(count_ids) > 1:
                sentence = _("This row is of another count. Enter one count a file.")
                faults.append(Fault(number, "count", sentence))
                count_ids.discard(said)
    if faults:
        raise EntryFaultsError(faults)
    return rows, int(count_ids.pop()) if count_ids else None


def _line(
    row: PaperRow, seen: Look, first_row: dict[LineKey, PaperRow], faults: list[Fault]
) -> LineKey | None:
    line = read_line_code(row.code, near=seen.walk.count.counted_at.date())
    walked = {(each.place.pk, each.item.pk) for each in seen.walk.lines}
    if line is None:
        said = (
            _("\"{code}\" isn't a line's code").format(code=row.code)
            if row.code
            else _("The code is blank")
        )
        faults.append(
            Fault(
                row.number, "code", _("{said}. Write it as printed.").format(said=said)
            )
        )
        return None
    if (line.place_id, line.item_id) not in walked:
        sentence = _(
            "{code} isn't a line of count {pk}. Enter it in the count it was "
            "printed for."
        ).format(code=row.code, pk=seen.walk.count.pk)
        faults.append(Fault(row.number, "code", sentence))
        return None
    if not row.quantity.strip():
        return line
    if line in first_row:
        sentence = _again_words(row, first_row[line])
        faults.append(Fault(row.number, "code", sentence))
        return None
    first_row[line] = row
    return line


def _again_words(row: PaperRow, first: PaperRow) -> str:
    return _(
        '{code} is in row {number} already, with "{quantity}"; here it is '
        '"{other_quantity}". {remedy}'
    ).format(
        code=row.code,
        number=first.number,
        quantity=first.quantity,
        other_quantity=row.quantity,
        remedy=twice_words(first.quantity, row.quantity),
    )


def _with_unit(
    row: PaperRow, line: LineKey, seen: Look, units: Mapping[int, str | None]
) -> PaperRow:
    """Give a bare number the unit that stood beside it on the paper, else today's."""
    converter = seen.converters.get(line.item_id)
    if converter is None:
        return row
    tares = seen.tares[line.place_id, line.item_id]
    unit = row.counted_in or units.get(line.item_id)
    whole = with_unit(row.quantity, converter, tares, unit)
    return replace(row, quantity=whole, typed=row.quantity)


def _is_readable(row: PaperRow, line: LineKey, seen: Look, faults: list[Fault]) -> bool:
    converter = seen.converters.get(line.item_id)
    if converter is None:
        faults.append(Fault(row.number, "quantity", seen.faults[line.item_id]))
        return False
    try:
        read_spoken(row.quantity, converter, seen.tares[line.place_id, line.item_id])
    except MeasureError as error:
        faults.append(Fault(row.number, "quantity", str(error)))
        return False
    return True


def _own(line: LineKey, seen: Look, by_id: int | None) -> CountEntry | None:
    standing = seen.standings.get(line)
    own = standing.newest.get(by_id, ()) if standing else ()
    return own[0] if own else None


def _says_the_same(row: PaperRow, line: LineKey, own: CountEntry, seen: Look) -> bool:
    tares = seen.tares[line.place_id, line.item_id]
    spoken = read_spoken(row.quantity, seen.converters[line.item_id], tares)
    return spoken is not None and to_ledger(spoken.amount_base) == own.amount_base


def _entry(
    row: PaperRow,
    line: LineKey,
    own: CountEntry | None,
    seen: Look,
    *,
    at: datetime,
    by_id: int | None,
) -> EntryIn:
    sequence = sequence_at(at)
    if own is not None and own.device == DEVICE:
        sequence = max(sequence, own.sequence + 1)  # two files in one moment
    return EntryIn(
        key=uuid4(),
        count_id=seen.walk.count.pk,
        place_id=line.place_id,
        item_id=line.item_id,
        use_by=line.use_by,
        text=row.quantity,
        entered_at=at,
        by_id=by_id,
        device=DEVICE,
        sequence=sequence,
        supersedes=own.key if own else None,
        typed=row.typed,
    )
