"""Deciding in the review: which figure of a line stands, and notes beside it.

Two people may review at once. Whoever decides says which decision and which entries
they saw; what somebody else decided meanwhile is never overwritten unseen.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from stock.counts.errors import (
    DecidedSinceError,
    EnteredSinceError,
    LineGoneError,
    NoteChangedError,
)
from stock.counts.lines import LineKey, newest_by_person
from stock.counts.states import (
    locked,
    newest_entry_id,
    newest_typed_id,
    refuse_closed,
    refuse_undone,
)
from stock.ledger.levels import ZERO
from stock.models import Count, CountDecision, CountEntry
from stock.wording.names import person_name

LONGEST_NOTE = 200


@dataclass(frozen=True, slots=True)
class ChosenReading:
    """A figure that nobody entered: another reading of what somebody did."""

    text: str
    amount_base: Decimal


@transaction.atomic
def decide(
    count_id: int,
    line: LineKey,
    choice: str,
    *,
    at: datetime,
    entry_id: int | None = None,
    reading: ChosenReading | None = None,
    seen_entry_id: int | None = None,
    seen_typed_id: int | None = None,
    seen_version: int | None = None,
    seen_undone: str | None = None,
    by_id: int | None = None,
) -> None:
    """Say which figure of a line stands; a blank choice undoes a decision.

    One entry, all of them added up, or another reading of one. An entry that comes in
    later asks again; so does what is typed and not entered, where the review had not
    shown it (`seen_typed_id`). Refused where the review had not shown an entry of this
    line (`seen_entry_id`), where somebody else decided since `seen_version`, and where
    the count was undone since `seen_undone`; the same decision twice is one.
    """
    count = locked(count_id)
    refuse_closed(count)
    refuse_undone(count, seen_undone)
    refuse_entered_since(count_id, line, seen_entry_id)
    entries = CountEntry.objects.filter(count=count, kept="")
    through = newest_entry_id(count_id) if seen_entry_id is None else seen_entry_id
    typed = newest_typed_id(count_id) if seen_typed_id is None else seen_typed_id
    of_line = {entry.pk: entry for entry in entries.filter(**line._asdict())}
    if choice == CountDecision.Choice.SUM:
        entry_id = None
    elif choice and entry_id not in of_line:
        raise LineGoneError
    said = reading or _said(of_line.values(), through, entry_id)
    decided = _figure(choice, entry_id, said)
    decided |= {"through_entry": through, "through_typed": typed}
    who = {"by_id": by_id, "at": at}
    _store(count, line, decided, seen_version=seen_version, who=who)


def _store(
    count: Count,
    line: LineKey,
    decided: dict[str, Any],
    *,
    seen_version: int | None,
    who: dict[str, Any],
) -> None:
    """Store a decision as the next version of its line's; the same again is none."""
    earlier = _decision(count, line)
    if earlier is not None and _is_same(earlier, decided):
        return
    refuse_decided_since(earlier, seen_version)
    version = earlier.version if earlier else 0
    CountDecision.objects.update_or_create(
        count=count,
        **line._asdict(),
        defaults=decided | {"version": version + 1} | who,
    )


@transaction.atomic
def note(
    count_id: int,
    line: LineKey,
    text: str,
    *,
    at: datetime,
    seen_note: str | None = None,
    by_id: int | None = None,
) -> None:
    """Write a note beside a line; refused where another came since `seen_note`."""
    count = locked(count_id)
    refuse_closed(count)
    text = text.strip()[:LONGEST_NOTE]
    earlier = _decision(count, line)
    stored = earlier.note if earlier else ""
    if seen_note is not None and stored not in (seen_note.strip(), text):
        raise NoteChangedError(stored)
    CountDecision.objects.update_or_create(
        count=count,
        **line._asdict(),
        defaults={"note": text, "note_by_id": by_id},
        create_defaults={"note": text, "note_by_id": by_id, "by_id": by_id, "at": at},
    )


def refuse_entered_since(
    count_id: int, line: LineKey, seen_entry_id: int | None
) -> None:
    """Refuse a decision from a page that had not shown an entry of its line."""
    if seen_entry_id is None:
        return
    kinds = (CountEntry.Kept.TAKEN, CountEntry.Kept.UNREADABLE)
    since = CountEntry.objects.filter(
        count_id=count_id, kept__in=kinds, pk__gt=seen_entry_id, **line._asdict()
    )
    if newest := since.select_related("by").order_by("pk").last():
        raise EnteredSinceError(person_name(newest.by), newest.quoted)


def refuse_decided_since(
    decision: CountDecision | None, seen_version: int | None
) -> None:
    """Refuse what a page sends that had not shown the decision that stands now."""
    version = decision.version if decision else 0
    if seen_version not in (None, version):
        raise DecidedSinceError(*_told(decision))


def accept_as_entered(
    count: Count,
    entry_by_line: Mapping[LineKey, CountEntry],
    *,
    at: datetime,
    by_id: int | None,
) -> None:
    """Decide that figures which were asked about stand as they were entered."""
    for line, entry in entry_by_line.items():
        decide(
            count.pk,
            line,
            CountDecision.Choice.ONE,
            at=at,
            entry_id=entry.pk,
            by_id=by_id,
        )


def _decision(count: Count, line: LineKey) -> CountDecision | None:
    rows = CountDecision.objects.filter(count=count, **line._asdict())
    return rows.select_related("by").first()


def _said(
    entries: Iterable[CountEntry], through: int, entry_id: int | None
) -> ChosenReading:
    """Return what one entry says, or the newest of each person added up."""
    chosen = [
        entry
        for entry in entries
        if entry.pk == entry_id or (entry_id is None and entry.pk <= through)
    ]
    if entry_id is None:
        newest = newest_by_person(chosen)
        chosen = [entry for heads in newest.values() for entry in heads]
    texts = [entry.text for entry in chosen if entry.amount_base is not None]
    return ChosenReading(
        " + ".join(texts)[:LONGEST_NOTE],
        sum((entry.amount_base or ZERO for entry in chosen), ZERO),
    )


def _figure(
    choice: str, entry_id: int | None, said: ChosenReading
) -> dict[str, object]:
    """Return what a decision comes to; a blank choice says nothing."""
    return {
        "choice": choice,
        "entry_id": entry_id if choice else None,
        "text": said.text if choice else "",
        "amount_base": said.amount_base if choice else None,
    }


def _is_same(earlier: CountDecision, decided: Mapping[str, object]) -> bool:
    return all(getattr(earlier, name) == value for name, value in decided.items())


def _told(decision: CountDecision | None) -> tuple[str, str]:
    """Return who decided, and for what; blank where it was taken back."""
    if decision is None or not decision.choice:
        return "", ""
    return person_name(decision.by), decision.text
