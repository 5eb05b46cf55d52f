"""Answers to entries: what became of each one, and what its counter should do."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db.models import TextChoices
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.counts.lines import EntryIn, LineKey, Standing, line_of, standings
from stock.counts.questions import entry_question, is_answered
from stock.counts.records import Past, records
from stock.counts.walk import walk
from stock.measures.amount_words import stated_amount_words
from stock.measures.conversion import Converter
from stock.measures.reading.quantity import LONGEST_TEXT, TypedQuantity
from stock.measures.slips import Slip
from stock.models import Count, CountDecision, CountEntry, Item


class AnswerState(TextChoices):
    """What became of an entry."""

    TAKEN = "taken", gettext_lazy("Taken")
    REPLACED = "replaced", gettext_lazy("Replaced by a newer one")
    KEPT = "kept", gettext_lazy("Kept for you here")
    REFUSED = "refused", gettext_lazy("Not taken")
    APART = "apart", gettext_lazy("Kept apart, for its writer to send")


@dataclass(frozen=True, slots=True)
class EntryAnswer:
    """What became of one entry; its device may forget it unless it was refused."""

    key: UUID
    state: AnswerState
    sentence: str  # what to do, or how it was understood
    amount_base: Decimal | None = None
    words: str = ""  # 2 cases + 6 lb, none; blank: not counted
    slip: Slip | None = None


@dataclass(slots=True)
class Known:
    """What entries speak of, read once for all of them."""

    counts: dict[int, Count]
    walked: set[tuple[int, int]]  # count id, place id
    items: dict[int, Item]
    place_names: dict[int, str]
    people: dict[int, str]
    converters: dict[int, Converter]
    broken: dict[int, str]
    tares: Mapping[tuple[int, int], dict[str, TypedQuantity]]
    odd_lots: Collection[tuple[int, date | None]]  # item id, a use-by nobody can mean
    refusals: dict[UUID, str] = field(default_factory=dict)
    remarks: dict[UUID, str] = field(default_factory=dict)


def answers(
    entries: Sequence[EntryIn], stored: Mapping[UUID, CountEntry], known: Known
) -> list[EntryAnswer]:
    """Return what became of each entry, in the order given. Eight queries."""
    standing_by_count = _standings(stored.values())
    slips = _slips(entries, stored, known, standing_by_count)
    return [
        _answer(entry, stored.get(entry.key), known, standing_by_count, slips)
        for entry in entries
    ]


def _standings(
    rows: Iterable[CountEntry],
) -> dict[int, dict[LineKey, Standing]]:
    """Return what all lines of the touched items come to, by count id."""
    touched = {(row.count_id, row.item_id) for row in rows}
    counts = {count_id for count_id, _ in touched}
    items = {item_id for _, item_id in touched}
    only = {"count_id__in": counts, "item_id__in": items}
    said = list(CountEntry.objects.filter(**only).select_related("item"))
    decided = list(CountDecision.objects.filter(**only))
    return {
        count_id: standings(
            [row for row in said if row.count_id == count_id],
            [row for row in decided if row.count_id == count_id],
        )
        for count_id in counts
    }


def _slips(
    entries: Sequence[EntryIn],
    stored: Mapping[UUID, CountEntry],
    known: Known,
    standing_by_count: Mapping[int, Mapping[LineKey, Standing]],
) -> dict[UUID, Slip]:
    """Ask about entries that count, unless their counter has confirmed them."""
    slips: dict[UUID, Slip] = {}
    past = Past({entry.item_id for entry in entries})
    for count in known.counts.values():
        if not count.is_live:
            continue
        lines = standing_by_count.get(count.pk, {})
        record_by_line = records(walk(count, lines), past, lines)
        for row in stored.values():
            converter = known.converters.get(row.item_id)
            record = record_by_line.get(line_of(row))
            if row.count_id != count.pk or converter is None or record is None:
                continue
            standing = lines.get(line_of(row))
            if standing is None or is_answered(standing):
                continue
            tares = known.tares.get((row.place_id, row.item_id))
            if slip := entry_question(row, record, converter, tares):
                slips[row.key] = slip
    return slips


def _answer(
    entry: EntryIn,
    row: CountEntry | None,
    known: Known,
    standing_by_count: Mapping[int, Mapping[LineKey, Standing]],
    slips: Mapping[UUID, Slip],
) -> EntryAnswer:
    if row is None:
        sentence = known.refusals.get(entry.key, "")
        return EntryAnswer(entry.key, AnswerState.REFUSED, sentence)
    if (row.count_id, line_of(row), row.text) != (
        entry.count_id,
        entry.line._replace(lot_code=entry.lot_code.strip()),
        entry.text.strip()[:LONGEST_TEXT],
    ):
        sentence = _("Another entry came under the same key. Type this one again.")
        return EntryAnswer(entry.key, AnswerState.REFUSED, sentence)
    words = _words(row, known)
    if row.kept:
        is_apart = row.kept == CountEntry.Kept.APART
        state = AnswerState.APART if is_apart else AnswerState.KEPT
        sentence = _kept_sentence(row, known)
        return EntryAnswer(entry.key, state, sentence, row.amount_base, words)
    standing = standing_by_count[row.count_id].get(line_of(row))
    newer = _newer(row, standing)
    if newer is not None:
        now = _words(newer, known) or _("not counted")
        sentence = _("Replaced by a newer entry: {now}.").format(now=now)
        return EntryAnswer(
            entry.key, AnswerState.REPLACED, sentence, row.amount_base, words
        )
    return EntryAnswer(
        entry.key,
        AnswerState.TAKEN,
        _taken_sentence(row, known, standing),
        row.amount_base,
        words,
        slips.get(entry.key),
    )


def _newer(row: CountEntry, standing: Standing | None) -> CountEntry | None:
    """Return the entry of the same person that stands instead of this one, if any."""
    if standing is None:
        return None
    own = standing.newest.get(row.by_id, ())
    if not own or any(entry.pk == row.pk for entry in own):
        return None
    return own[0]


def _kept_sentence(row: CountEntry, known: Known) -> str:
    item = known.items[row.item_id].name
    place = known.place_names[row.place_id]
    said = row.quoted or "blank"
    if row.kept == CountEntry.Kept.POSTED:
        return _(
            "Count {count_id} was posted before this came. {said} of {item} is "
            "kept with it: look at what is on record now, and correct it by "
            "hand."
        ).format(count_id=row.count_id, said=said, item=item)
    if row.kept == CountEntry.Kept.DISCARDED:
        return _(
            "Count {count_id} was discarded before this came. {said} of {item} "
            "is kept with it: enter it in the next count."
        ).format(count_id=row.count_id, said=said, item=item)
    if row.kept == CountEntry.Kept.APART:
        writer = known.people.get(row.claimed_by_id or 0, "somebody else")
        return _(
            "{said} of {item} was entered by {writer}, and somebody else is "
            "signed in. It counts once {writer} signs in on that phone and "
            "sends it."
        ).format(said=said, item=item, writer=writer)
    if row.kept == CountEntry.Kept.ELSEWHERE:
        return _(
            "Count {count_id} does not walk {place}. {said} of {item} is kept "
            "with it: open a count of {place} and enter it there."
        ).format(count_id=row.count_id, place=place, said=said, item=item)
    reason = known.remarks.get(row.key) or _(
        "{said} of {item} could not be read."
    ).format(said=said, item=item)
    return _("{reason} It is kept as typed; type the line again.").format(reason=reason)


def _taken_sentence(row: CountEntry, known: Known, standing: Standing | None) -> str:
    if row.amount_base is None:
        return _("Not counted.")
    item = known.items[row.item_id]
    parts = [f"{item.name}: {_words(row, known)}."]
    if item.retired:
        parts.append(_("It is retired: bring it back on its page if you still use it."))
    if standing is not None and standing.is_conflict:
        whose = (
            _("Another phone of yours")
            if standing.is_one_person
            else _("Somebody else")
        )
        parts.append(
            _("{whose} has another figure; the review decides.").format(whose=whose)
        )
    return " ".join(parts)


def _words(row: CountEntry, known: Known) -> str:
    if row.amount_base is None:
        return ""
    converter = known.converters.get(row.item_id)
    if converter is None:
        unit = known.items[row.item_id].base_unit
        return f"{row.amount_base.normalize():f} {unit}"
    return stated_amount_words(row.amount_base, converter)
