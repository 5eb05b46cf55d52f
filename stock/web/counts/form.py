"""A sheet sent as an ordinary form: its lines as entries, and what each one is told.

Only lines that were changed on the page become entries, so that a page that stood
open for an hour does not undo what another device has counted since.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from stock.counts.answers import AnswerState, EntryAnswer
from stock.counts.entries import sequence_at
from stock.counts.lines import EntryIn
from stock.counts.sheets import CountSheet, SheetLine
from stock.errors import MeasureError, SeveralReadingsError
from stock.measures.nouns import with_noun
from stock.measures.reading.spoken import read_spoken
from stock.measures.slips import Slip
from stock.models import CountEntry
from stock.web.counts.found import FoundItem, found_entry, read_found
from stock.web.counts.lines import (
    echo_words,
    entry_words,
    field_name,
    lot_words,
    record_words,
    who,
)

DEVICE = "page"
TYPE_AGAIN = gettext_lazy("This could not be read when it came. Type it again.")


@dataclass(frozen=True, slots=True)
class Typed:
    """What a line says, and whether it answers a question about it."""

    text: str | None  # None: the page did not send it
    asked: str = ""
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class ShownLine:
    """A line as the template shows it."""

    line: SheetLine
    text: str
    was: str  # what the field said when the page was made
    problem: str = ""
    slip: Slip | None = None
    readings: tuple[str, ...] = ()  # of what could mean several things
    unit: str = ""  # what a bare number means

    @property
    def units(self) -> tuple[str, ...]:
        """The units that a bare number may mean, smallest first."""
        return self.line.unit_choices

    @property
    def id(self) -> str:
        """The name of its field."""
        return field_name(self.line.line.key)

    @property
    def name(self) -> str:
        """The item."""
        return self.line.line.item.name

    @property
    def lot_words(self) -> str:
        """The use-by and the lot that the line is about."""
        return lot_words(self.line.line.key.use_by, self.line.line.key.lot_code)

    @property
    def meanings(self) -> list[tuple[str, str]]:
        """What its text may mean: what a button sends, and says."""
        return [(text, _named(text, self.line)) for text in self.readings]

    @property
    def form_key(self) -> str:
        """A key for the entry that this form may send: once, however often sent."""
        return str(uuid4())

    @property
    def echo(self) -> str:
        """What was understood; only then what is on record, and who else counted."""
        own, others = self.line.own, self.line.others
        if own is None:
            return " ".join(
                _("Counted by {who}.").format(who=who(other)) for other in others
            )
        parts = [f"{echo_words(self.line, own)}."]
        if on_record := record_words(self.line):
            parts.append(_("On record {on_record}.").format(on_record=on_record))
        for other in others:
            words = entry_words(other, self.line.converter)
            parts.append(f"{who(other)}: {words}.")
        return " ".join(parts)

    @property
    def kind(self) -> str:
        """How the line is marked."""
        if self.problem:
            return "faulty"
        return "counted" if self.line.own else ""


class SentForm:
    """What a page sent, line by line; empty where a page is only looked at."""

    def __init__(self, request: HttpRequest, sheet: CountSheet) -> None:
        self.sent = request.POST
        self.by_id = request.user.pk
        self.sheet = sheet
        self.problems: dict[str, str] = {}
        self.readings: dict[str, tuple[str, ...]] = {}
        self.answers: dict[str, EntryAnswer] = {}
        self.line_by_key: dict[UUID, str] = {}
        self.found: FoundItem = read_found(self.sent)

    def entries(self) -> list[EntryIn]:
        """Return an entry for each changed line that can be read.

        One that cannot is kept as it is where it would replace a figure.
        """
        at = timezone.now()
        entries = [
            entry for line in self.sheet.lines if (entry := self._entry(line, at))
        ]
        found = found_entry(
            self.found, self.sheet.count, self.sheet.place, at=at, by_id=self.by_id
        )
        return [*entries, found] if found else entries

    def hear(self, answers: Iterable[EntryAnswer]) -> None:
        """Remember what became of each entry."""
        for answer in answers:
            line_id = self.line_by_key.get(answer.key, "")
            self.answers[line_id] = answer
            if answer.state in (AnswerState.KEPT, AnswerState.REFUSED):
                self.problems.setdefault(line_id, answer.sentence)

    def shown(self, line: SheetLine) -> ShownLine:
        """Return a line as the page shows it after what was sent.

        What could not be read is shown, not the figure before it.
        """
        newest = line.unread or line.own
        own = newest.text if newest else ""
        name = field_name(line.line.key)
        problem = self.problems.get(name, "")
        answer = self.answers.get(name)
        fault, readings = _unread_fault(line)
        return ShownLine(
            line=line,
            text=self.sent.get(name, "") if problem else own,
            was=own,
            problem=problem or fault or (line.fault if own else ""),
            slip=answer.slip if answer else line.question,
            readings=self.readings.get(name, readings),
            unit=self.sent.get(f"{name}-unit", "") or line.counting_unit or "",
        )

    @property
    def needs_a_look(self) -> bool:
        """Whether something could not be read, or has to be asked about."""
        asks = any(answer.slip for answer in self.answers.values())
        return bool(self.problems) or asks or bool(self.found.problem)

    @property
    def faulty_count(self) -> int:
        """How many lines could not be kept."""
        return len(self.problems)

    @property
    def outcome(self) -> str:
        """What was kept, as a sentence."""
        kept = len(self.answers)
        lines = ngettext("1 line", "{kept} lines", kept).format(kept=kept)
        return (
            _("{lines} kept.").format(lines=lines)
            if kept
            else _("Nothing was changed.")
        )

    @property
    def kept_sentences(self) -> list[str]:
        """What the answers say of entries that came too late."""
        return [
            answer.sentence
            for answer in self.answers.values()
            if answer.state in (AnswerState.KEPT, AnswerState.REFUSED)
        ]

    def _entry(self, line: SheetLine, at: datetime) -> EntryIn | None:
        name, key = field_name(line.line.key), line.line.key
        typed = self._typed(name)
        was = self.sent.get(f"{name}-was", "")
        if typed.text is None or (typed.text == was and not typed.confirmed):
            return None
        text = line.with_unit(typed.text, self.sent.get(f"{name}-unit"))
        if fault := _fault(text, line):
            self.problems[name], self.readings[name] = fault
            if not line.is_counted:
                return None
        form_key = _uuid(self.sent.get(f"{name}-key", ""))
        self.line_by_key[form_key] = name
        own = line.own
        return EntryIn(
            key=form_key,
            count_id=self.sheet.count.pk,
            **key._asdict(),
            text=text,
            entered_at=at,
            by_id=self.by_id,
            device=DEVICE,
            sequence=_sequence((own, line.unread), at),
            supersedes=own.key if own and own.text == was else None,
            asked=typed.asked,
            confirmed=typed.confirmed,
            typed=own.quoted if own and own.text == typed.text else typed.text,
        )

    def _typed(self, name: str) -> Typed:
        """Return what a line says; a tapped answer to its question says it anew."""
        field, _, rest = self.sent.get("answer", "").partition("=")
        kind, asked, text = [*rest.split("=", 2), "", ""][:3]
        if field == name:
            return Typed(text.strip(), asked, confirmed=kind == "so")
        typed = self.sent.get(name)
        return Typed(None if typed is None else typed.strip())


def _sequence(before: Iterable[CountEntry | None], at: datetime) -> int:
    """Return a running number above those of the entries which the page replaces."""
    own = [each.sequence + 1 for each in before if each and each.device == DEVICE]
    return max([sequence_at(at), *own])


def _unread_fault(line: SheetLine) -> tuple[str, tuple[str, ...]]:
    """Return why the newest entry cannot be read, and what it may mean."""
    if line.unread is None:
        return "", ()
    before = ""
    if line.own is not None:
        text = _named(line.own.text, line)
        before = _(" {text} stands until then.").format(text=text)
    problem, readings = _fault(line.unread.text, line) or (TYPE_AGAIN, ())
    return f"{problem}{before}", readings


def _named(text: str, line: SheetLine) -> str:
    """Return a text with the item's own word for one of it."""
    return with_noun(text, line.converter) if line.converter else text


def _fault(text: str, line: SheetLine) -> tuple[str, tuple[str, ...]] | None:
    """Return what is wrong with a text, and what it may mean; None for nothing."""
    if text and line.converter is None:
        return line.fault, ()
    try:
        if line.converter is not None:
            read_spoken(text, line.converter, line.tares)
    except SeveralReadingsError as error:
        return str(error), error.readings
    except MeasureError as error:
        return str(error), ()
    return None


def _uuid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        return uuid4()
