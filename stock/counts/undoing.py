"""Undoing a posted count as a whole: by counter-movements, back into its review.

Undone is only what nothing later depends on: nobody has set, imported or counted these
shelves since, and what the count found there has not been used.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple

from django.db import transaction
from django.db.models import QuerySet, Sum
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.counts.errors import DependedOnError, PlaceBeingCountedError
from stock.counts.lines import Shelf
from stock.counts.states import locked, state_error
from stock.ledger import ledger
from stock.ledger.levels import ZERO
from stock.ledger.said_since import Written, said_since_each
from stock.models import (
    Balance,
    Count,
    CountEntry,
    CountPlace,
    CountResult,
    Item,
    Movement,
    Place,
)

USED_WORDS = gettext_lazy("used since from what the count found")
MOVED_WORDS = gettext_lazy("moved since from what the count found")


class _Stock(NamedTuple):
    """A lot of an item in a place."""

    place_id: int
    item_id: int
    lot_id: int

    @property
    def shelf(self) -> Shelf:
        return Shelf(self.place_id, self.item_id)


@transaction.atomic
def undo_post(
    count_id: int,
    *,
    at: datetime,
    by_id: int | None = None,
    posted_at: datetime | None = None,
) -> int:
    """Take back what a posted count wrote; return how many shelves it corrects back.

    The ledger is as it was without the count, at the count's own moment, and what was
    never counted before is never counted again. The count is in review, to be posted
    anew or discarded. Entries that came after it was posted are taken now, as any that
    come during a review. Undoing again changes nothing; where it was posted anew since
    `posted_at`, that posting is left alone.
    """
    count = locked(count_id)
    if count.state == Count.State.IN_REVIEW and count.undone_at is not None:
        return 0
    if count.state != Count.State.POSTED:
        raise state_error(count, _("Only a posted count can be undone."))
    if posted_at is not None and posted_at != count.closed_at:
        raise state_error(count, _("It was posted again since you looked. Look again."))
    results = CountResult.objects.filter(count=count)
    item_ids = set(results.values_list("item_id", flat=True))
    ledger.lock_items(item_ids)
    changes = _changes(count)
    _refuse_counted_elsewhere(count)
    _refuse_depended_on(count, changes)
    _record_back(count, changes, by_id)
    results.delete()
    ledger.forget_undone(item_ids)
    count.state, count.closed_at, count.closed_by_id = Count.State.IN_REVIEW, None, None
    count.undone_at, count.undone_by_id = at, by_id
    count.save()
    count.count_places.update(is_live=True)
    _take_late(count)
    return len({stock.shelf for stock in changes})


def late_entries(count_id: int) -> QuerySet[CountEntry]:
    """Return the entries of a count that came after it was posted."""
    posted = CountEntry.Kept.POSTED
    return CountEntry.objects.filter(count_id=count_id, kept=posted)


def _take_late(count: Count) -> None:
    """Let what came late stand in the review, each entry as it would if it came now."""
    late, kept = late_entries(count.pk), CountEntry.Kept
    late.exclude(place__in=count.places.all()).update(kept=kept.ELSEWHERE)
    late.filter(amount_base=None).exclude(text="").update(kept=kept.UNREADABLE)
    late.update(kept=kept.TAKEN)


def _record_back(
    count: Count, changes: Mapping[_Stock, Decimal], by_id: int | None
) -> None:
    """Record the opposite of what the count has changed, at the count's own moment."""
    ledger.record(
        [
            ledger.NewMovement(
                item_id=stock.item_id,
                place_id=stock.place_id,
                lot_id=stock.lot_id,
                kind=Movement.Kind.COUNTED,
                amount_base=-change_base,
                at=count.counted_at,
                note=_undone_note(count),
                by_id=by_id,
            )
            for stock, change_base in changes.items()
        ]
    )


def _changes(count: Count) -> dict[_Stock, Decimal]:
    """Return what the count has changed, all its postings and undoings together."""
    rows = _movements(count).order_by().values_list("place_id", "item_id", "lot_id")
    return {
        _Stock(*stock): change_base
        for *stock, change_base in rows.annotate(total=Sum("amount_base"))
        if change_base
    }


def _movements(count: Count) -> QuerySet[Movement]:
    return Movement.objects.filter(
        kind=Movement.Kind.COUNTED,
        at=count.counted_at,
        note__in=[str(count), _undone_note(count)],
    )


def _undone_note(count: Count) -> str:
    return f"{count} undone"


def _refuse_counted_elsewhere(count: Count) -> None:
    live = CountPlace.objects.filter(is_live=True, place__in=count.places.all())
    for row in live.exclude(count=count).select_related("place"):
        raise PlaceBeingCountedError([row.place.name], row.count_id)


def in_the_way(count: Count) -> list[str]:
    """Return what later builds on a posted count, so that it cannot be undone.

    Nothing is locked: it may change until somebody undoes it. Nine queries at most.
    """
    return _built_on_it(count, _changes(count))


def _refuse_depended_on(count: Count, changes: Mapping[_Stock, Decimal]) -> None:
    if reasons := _built_on_it(count, changes):
        raise DependedOnError(count.pk, reasons)


def _built_on_it(count: Count, changes: Mapping[_Stock, Decimal]) -> list[str]:
    if not changes:
        return []
    newest_id = _movements(count).order_by("-pk").values_list("pk", flat=True)[0]
    said = _said_since(count, {stock.shelf for stock in changes}, newest_id)
    return list(dict.fromkeys([*said, *_used_since(changes, newest_id)]))


def _said_since(count: Count, shelves: Iterable[Shelf], newest_id: int) -> list[str]:
    """Return what was set since, or found to be so by a hand, workbook or count."""
    rows = [
        Written(
            shelf.item_id, shelf.place_id, count.counted_at, newest_id, count.closed_at
        )
        for shelf in sorted(shelves)
    ]
    said = [
        (row, what)
        for row, what in zip(rows, said_since_each(rows), strict=True)
        if what
    ]
    items = Item.objects.in_bulk({row.item_id for row, _ in said})
    places = Place.objects.in_bulk({row.place_id for row, _ in said})
    return [
        _named(items[row.item_id], places[row.place_id], what) for row, what in said
    ]


def _used_since(changes: Mapping[_Stock, Decimal], newest_id: int) -> Iterator[str]:
    """Yield what left since of lots that would be below nothing without the count."""
    lot_ids = {stock.lot_id for stock in changes}
    rows = Balance.objects.filter(lot_id__in=lot_ids)
    left = {(row.place_id, row.lot_id): row.amount_base for row in rows}
    later = Movement.objects.filter(
        pk__gt=newest_id, lot_id__in=lot_ids, amount_base__lt=0
    )
    for row in later.select_related("item", "place"):
        stock = _Stock(row.place_id, row.item_id, row.lot_id)
        found_base = changes.get(stock, ZERO)
        balance_base = left.get((row.place_id, row.lot_id), ZERO)
        if found_base > 0 and balance_base < found_base:
            is_move = row.kind == Movement.Kind.MOVED
            yield _named(
                row.item, row.place, str(MOVED_WORDS if is_move else USED_WORDS)
            )


def _named(item: Item, place: Place, what: str) -> str:
    return _("{name} in {name2} was {what}").format(
        name=item.name, name2=place.name, what=what
    )
