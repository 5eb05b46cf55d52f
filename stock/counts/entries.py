"""Taking entries: many at once, in any order, any number of times, from anybody.

Every entry gets an answer of its own. What a count cannot take any more is kept all
the same, and the answer says what to do.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.contrib.auth import get_user_model
from django.db import transaction
from django.utils.translation import gettext as _

from stock.calendar.calendars import is_believable, too_far_away
from stock.conversion import converters
from stock.counts import tares
from stock.counts.answers import EntryAnswer, Known, answers
from stock.counts.lines import EntryIn
from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.reading.quantity import LONGEST_TEXT
from stock.measures.reading.spoken import read_spoken
from stock.measures.resolution import to_ledger
from stock.models import Count, CountEntry, CountPlace, Item, Lot, Place
from stock.models.ledger import LARGEST_AMOUNT_BASE

# A device reckons in its own arithmetic; closer than this to ours it read the same.
SAME_READING_FRACTION = Decimal("1e-6")


def take_entries(
    entries: Sequence[EntryIn], *, at: datetime, sent_by_id: int | None = None
) -> list[EntryAnswer]:
    """Store entries that are new; return an answer for each, in the order given.

    A repeat changes nothing and is answered as the entry stands now. An entry that says
    it is somebody else's than its sender's is nobody's figure: it is kept apart, under
    its sender, and does not stand in the way of the same entry sent by its writer.
    Without a sender, as from a command, the entry's own word counts. A fixed number of
    queries, however many entries; entries of one count wait for each other.
    """
    if not entries:
        return []
    written = entries
    entries = [_as_sent(entry, sent_by_id) for entry in written]
    with transaction.atomic():
        count_ids = sorted({entry.count_id for entry in entries})
        counts = Count.objects.select_for_update(no_key=True).filter(pk__in=count_ids)
        known = _known(entries, {count.pk: count for count in counts.order_by("pk")})
        stored = _stored(entries)
        fresh: dict[UUID, CountEntry] = {}
        for entry in entries:
            if entry.key not in stored and entry.key not in fresh:
                row = _row(entry, known, at=at, sent_by_id=sent_by_id)
                if row is not None:
                    fresh[entry.key] = row
        CountEntry.objects.bulk_create(fresh.values(), ignore_conflicts=True)
    stored |= _stored(entries) if fresh else {}
    return [
        replace(answer, key=entry.key)
        for entry, answer in zip(written, answers(entries, stored, known), strict=True)
    ]


def _as_sent(entry: EntryIn, sent_by_id: int | None) -> EntryIn:
    """Return an entry under the person who sends it, whatever it says itself."""
    if sent_by_id is None or entry.by_id in (None, sent_by_id):
        return replace(entry, by_id=entry.by_id or sent_by_id)
    return replace(
        entry,
        key=uuid5(entry.key, f"sent by {sent_by_id}"),
        by_id=sent_by_id,
        claimed_by_id=entry.by_id,
    )


def sequence_at(at: datetime) -> int:
    """Return a running number for entries that no device numbers: forms and files."""
    return int(at.timestamp() * 1_000_000)


def _stored(entries: Iterable[EntryIn]) -> dict[UUID, CountEntry]:
    keys = {entry.key for entry in entries}
    return {row.key: row for row in CountEntry.objects.filter(key__in=keys)}


def _known(entries: Sequence[EntryIn], counts: dict[int, Count]) -> Known:
    item_ids = {entry.item_id for entry in entries}
    place_ids = {entry.place_id for entry in entries}
    people = {entry.by_id for entry in entries} | {
        entry.claimed_by_id for entry in entries
    }
    compiled, broken = compiled_or_broken(item_ids)
    walked = CountPlace.objects.filter(count_id__in=counts).select_related("place")
    walks = {(row.count_id, row.place_id): row.place.name for row in walked}
    return Known(
        counts=counts,
        walked=set(walks),
        items=Item.objects.in_bulk(item_ids),
        place_names=_place_names(place_ids, walks),
        people=dict(
            get_user_model()
            .objects.filter(pk__in=people - {None})
            .values_list("pk", "username")
        ),
        converters=compiled,
        broken=broken,
        tares=tares.tares_by_shelf(
            {(entry.place_id, entry.item_id) for entry in entries}
        ),
        odd_lots=odd_lots(entry.use_by for entry in entries),
    )


def odd_lots(days: Iterable[date | None]) -> set[tuple[int, date | None]]:
    """Return stored lots with use-bys that nobody can mean: they can still be counted.

    By item id and use-by, of these days. One query where there is such a day.
    """
    odd = {day for day in days if day is not None and not is_believable(day)}
    if not odd:
        return set()
    return set(Lot.objects.filter(use_by__in=odd).values_list("item_id", "use_by"))


def _place_names(
    place_ids: set[int], walks: Mapping[tuple[int, int], str]
) -> dict[int, str]:
    names = {place_id: name for (_, place_id), name in walks.items()}
    if place_ids - names.keys():
        names |= dict(Place.objects.filter(pk__in=place_ids).values_list("pk", "name"))
    return names


def compiled_or_broken(
    item_ids: set[int],
) -> tuple[dict[int, Converter], dict[int, str]]:
    """Return converters by item id, and why the others have none. Two queries."""
    compiled, broken = {}, {}
    packs = converters.pack_words(item_ids)
    for item_id, texts in converters.item_texts(item_ids).items():
        try:
            compiled[item_id] = converters.compile_item(texts, packs.get(item_id, ()))
        except MeasureError as error:
            broken[item_id] = str(error)
    return compiled, broken


def _row(
    entry: EntryIn, known: Known, *, at: datetime, sent_by_id: int | None
) -> CountEntry | None:
    """Return the entry as it will be stored; None where it speaks of nothing known."""
    refusal = _refusal(entry, known)
    if refusal:
        known.refusals[entry.key] = refusal
        return None
    text, typed = entry.text.strip(), entry.typed.strip()
    amount_base, fault = _amount_base(entry, known)
    kept = _kept(entry, known)
    if fault and not kept:
        kept = CountEntry.Kept.UNREADABLE
    return CountEntry(
        key=entry.key,
        count_id=entry.count_id,
        place_id=entry.place_id,
        item_id=entry.item_id,
        use_by=entry.use_by,
        lot_code=entry.lot_code.strip(),
        text=text[:LONGEST_TEXT],
        typed="" if typed == text else typed[:LONGEST_TEXT],
        amount_base=amount_base,
        kept=kept,
        by_id=entry.by_id if entry.by_id in known.people else sent_by_id,
        sent_by_id=sent_by_id,
        claimed_by_id=(
            entry.claimed_by_id if entry.claimed_by_id in known.people else None
        ),
        device=entry.device,
        sequence=entry.sequence,
        supersedes=entry.supersedes,
        asked=entry.asked,
        confirmed=entry.confirmed,
        entered_at=entry.entered_at,
        received_at=at,
    )


def _refusal(entry: EntryIn, known: Known) -> str:
    if entry.count_id not in known.counts:
        return _(
            "There is no count {count_id} here. Keep this entry and ask who "
            "opened the count."
        ).format(count_id=entry.count_id)
    if entry.item_id not in known.items:
        return _("This item is no longer here. Add it again, then count it.")
    if entry.place_id not in known.place_names:
        return _("This place is no longer here. Count it where it stands now.")
    if (
        entry.text.strip()
        and entry.use_by is not None
        and not is_believable(entry.use_by)
        and (entry.item_id, entry.use_by) not in known.odd_lots
    ):
        return too_far_away(entry.use_by)
    return ""


def _kept(entry: EntryIn, known: Known) -> str:
    if entry.claimed_by_id is not None:
        return CountEntry.Kept.APART
    count = known.counts[entry.count_id]
    if count.state == Count.State.POSTED:
        return CountEntry.Kept.POSTED
    if count.state == Count.State.DISCARDED:
        return CountEntry.Kept.DISCARDED
    if (entry.count_id, entry.place_id) not in known.walked:
        return CountEntry.Kept.ELSEWHERE
    return CountEntry.Kept.TAKEN


def _amount_base(entry: EntryIn, known: Known) -> tuple[Decimal | None, str]:
    """Return what an entry comes to, and what is wrong with it.

    What the device understood stands, even if a word has come to mean something else
    since: the counter saw the echo. The review says so.
    """
    if not entry.text.strip():
        return None, ""
    understood_base = entry.understood_base
    if understood_base is not None and not _is_possible(understood_base):
        understood_base = None
    read_base, fault = _read_base(entry, known)
    if read_base is None:
        known.remarks[entry.key] = fault
        return understood_base, "" if understood_base is not None else fault
    if understood_base is None:
        return read_base, ""
    off_base = abs(understood_base - read_base)
    if off_base <= SAME_READING_FRACTION * read_base:
        return read_base, ""
    return to_ledger(understood_base), ""


def _read_base(entry: EntryIn, known: Known) -> tuple[Decimal | None, str]:
    if entry.item_id in known.broken:
        return None, known.broken[entry.item_id]
    shelf = (entry.place_id, entry.item_id)
    try:
        spoken = read_spoken(
            entry.text, known.converters[entry.item_id], known.tares[shelf]
        )
    except MeasureError as error:
        return None, str(error)
    if spoken is None:
        return None, ""
    return to_ledger(spoken.amount_base), ""


def _is_possible(amount_base: Decimal) -> bool:
    return amount_base.is_finite() and 0 <= amount_base <= LARGEST_AMOUNT_BASE
