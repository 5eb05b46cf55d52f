"""Counting: a count is opened, walked, reviewed, and posted once, or discarded.

One moment belongs to a count. Posting corrects the ledger as of that moment, so that
deliveries and bakes after it stay on top.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, transaction
from django.db.models import Max, QuerySet
from django.utils.translation import gettext as _

from stock.calendar.calendars import is_believable
from stock.counts.answers import AnswerState, EntryAnswer
from stock.counts.deciding import accept_as_entered, decide, note
from stock.counts.entries import odd_lots, sequence_at, take_entries
from stock.counts.errors import (
    CorrectedSinceError,
    CountedSinceError,
    MomentAheadError,
    MomentTooFarError,
    NothingCountedError,
    NothingToWalkError,
    OddUseByError,
    PlaceBeingCountedError,
    UndecidedError,
)
from stock.counts.history import corrected_items
from stock.counts.lines import (
    EntryIn,
    LineKey,
    Shelf,
    Standing,
    counted_base_by_shelf,
    counted_lines,
)
from stock.counts.lots import LotChange, expected_base_by_line, lot_changes
from stock.counts.questions import open_questions, typed_words, unread_words
from stock.counts.records import cost_of, price_per_base_by_item
from stock.counts.review import Review, review
from stock.counts.sheets import CountSheet, Look, look_at, sheet, sheets
from stock.counts.shown import refuse_changed
from stock.counts.states import (
    close,
    locked,
    move,
    state_error,
)
from stock.counts.undoing import undo_post
from stock.ledger import ledger, levels
from stock.ledger.levels import ZERO, LotOnHand
from stock.ledger.sharing import held_undated_lots
from stock.models import (
    Count,
    CountEntry,
    CountPlace,
    CountResult,
    Item,
    Movement,
    Place,
)

__all__ = [
    "AnswerState",
    "CountSheet",
    "EntryAnswer",
    "EntryIn",
    "LineKey",
    "Review",
    "decide",
    "discard",
    "note",
    "open_count",
    "post_count",
    "reopen",
    "review",
    "send_to_review",
    "sequence_at",
    "sheet",
    "sheets",
    "take_entries",
    "undo_post",
]


@transaction.atomic
def open_count(
    *,
    counted_at: datetime | None,
    at: datetime,
    place_ids: Sequence[int] | None = None,
    by_id: int | None = None,
) -> Count:
    """Open a count of some places, or of all, as of a moment; None: as of now.

    Now is never before what is on record there: where the clock was set back, shelves
    that were counted before could not be counted again until it has caught up.
    Refused where another open count walks one of the places, or a posted one has
    counted it as of later: two counts of one shelf would each undo the other.
    """
    if counted_at is not None and counted_at > at:
        raise MomentAheadError
    if counted_at is not None and not is_believable(counted_at.date()):
        raise MomentTooFarError(counted_at.date())
    places = Place.objects.all()
    if place_ids is not None:
        places = places.filter(pk__in=list(place_ids))
    walked = list(places)
    if not walked:
        raise NothingToWalkError
    _refuse_walked(walked)
    if counted_at is None:
        counted_at = _now_on_record(walked, at)
    _refuse_counted_since(walked, counted_at)
    count = Count.objects.create(
        counted_at=counted_at, opened_at=at, opened_by_id=by_id
    )
    try:
        with transaction.atomic():
            CountPlace.objects.bulk_create(
                CountPlace(count=count, place=place) for place in walked
            )
    except IntegrityError as error:  # somebody opened one at the same moment
        raise PlaceBeingCountedError(place.name for place in walked) from error
    return count


@transaction.atomic
def send_to_review(count_id: int) -> Count:
    """End the walk; entries that still come in are taken, and shown in the review."""
    return move(count_id, to=Count.State.IN_REVIEW)


@transaction.atomic
def reopen(count_id: int) -> Count:
    """Go back from the review to the walk; every entry stays."""
    return move(count_id, to=Count.State.OPEN)


@transaction.atomic
def discard(
    count_id: int,
    *,
    at: datetime,
    by_id: int | None = None,
    seen: str | None = None,
) -> Count:
    """End a count without posting it; its entries are kept, the ledger is not moved.

    Refused where the count was posted, and where its page showed something else
    (`seen`, which is `Review.shown`). Discarding again changes nothing.
    """
    count = locked(count_id)
    if count.state == Count.State.DISCARDED:
        return count
    if count.state == Count.State.POSTED:
        raise state_error(count, _("Undo it, or count again."))
    if seen is not None:
        refuse_changed(look_at(count), seen, "discard")
    close(count, Count.State.DISCARDED, at=at, by_id=by_id)
    return count


@transaction.atomic
def post_count(
    count_id: int,
    *,
    at: datetime,
    by_id: int | None = None,
    seen: str | None = None,
    as_entered: bool = False,
) -> int:
    """Correct the ledger to what was counted; return how many items it corrected.

    What has no figure is left alone: not counted is not zero. Posting again changes
    nothing and returns the first answer. `seen` is what the review showed
    (`Review.shown`): where anything of it has changed since, it is refused. Figures
    that were asked about, or that a later entry was to replace which could not be read,
    or is typed and not entered, are refused until somebody answers; `as_entered`
    answers for all of them. See `counts.lots` for what each lot comes to. At most 31
    queries for 400 lines.
    """
    count = locked(count_id)
    if count.state == Count.State.POSTED:
        return corrected_items(count_id)
    if count.state != Count.State.IN_REVIEW:
        raise state_error(count, _("Send it to review first, then post it."))
    entries = CountEntry.objects.filter(count=count, kept="").order_by()
    ledger.lock_items(entries.values_list("item_id", flat=True).distinct())
    now = look_at(count)
    refuse_changed(now, seen, "post")
    _refuse_undecided(now, as_entered=as_entered, at=at, by_id=by_id)
    _refuse_odd_use_bys(now)
    standing_by_line = now.standings
    _refuse_corrected_since(count, counted_lines(standing_by_line))
    on_hand = now.walk.on_hand
    changes = lot_changes(standing_by_line, on_hand, held_undated_lots())
    _record(count, changes, by_id=by_id)
    results = _results(count, standing_by_line, on_hand)
    CountResult.objects.bulk_create(results)
    close(count, Count.State.POSTED, at=at, by_id=by_id)
    return len(
        {row.item_id for row in results if row.counted_base != row.expected_base}
    )


def _record(count: Count, changes: Iterable[LotChange], *, by_id: int | None) -> None:
    changes = list(changes)
    lot_ids = ledger.lots_for(change.lot for change in changes)
    ledger.record(
        [
            ledger.NewMovement(
                item_id=change.lot.item_id,
                place_id=change.place_id,
                lot_id=lot_ids[change.lot],
                kind=Movement.Kind.COUNTED,
                amount_base=change.change_base,
                at=count.counted_at,  # so that later deliveries still add to it
                note=str(count),
                by_id=by_id,
            )
            for change in changes
        ]
    )


def _results(
    count: Count,
    standing_by_line: Mapping[LineKey, Standing],
    on_hand: Iterable[LotOnHand],
) -> list[CountResult]:
    """Return what was counted on each shelf, beside what was on record there."""
    expected: dict[Shelf, Decimal] = {}
    for line, amount_base in expected_base_by_line(standing_by_line, on_hand).items():
        shelf = Shelf(line.place_id, line.item_id)
        expected[shelf] = expected.get(shelf, ZERO) + amount_base
    prices = price_per_base_by_item({shelf.item_id for shelf in expected})
    return [
        CountResult(
            count=count,
            place_id=shelf.place_id,
            item_id=shelf.item_id,
            counted_base=counted_base,
            expected_base=expected[shelf],
            variance_cost=cost_of(
                counted_base - expected[shelf], prices.get(shelf.item_id)
            ),
        )
        for shelf, counted_base in counted_base_by_shelf(standing_by_line).items()
    ]


def _refuse_undecided(
    seen: Look, *, as_entered: bool, at: datetime, by_id: int | None
) -> None:
    """Refuse what is to be decided, all of it at once, and a count without a figure."""
    differing = {
        line.item_id for line, each in seen.standings.items() if each.is_conflict
    }
    questions = open_questions(seen)
    replaced = [line for line, each in seen.standings.items() if each.is_replaced]
    asked = set() if as_entered else {line.item_id for line in questions}
    unread = [] if as_entered else unread_words(seen)
    typed = [] if as_entered else typed_words(seen)
    if differing or asked or unread or typed:
        raise UndecidedError(_names(differing), _names(asked), unread, typed)
    if all(standing.counted_base is None for standing in seen.standings.values()):
        raise NothingCountedError(seen.walk.count.pk)
    lines = (*questions, *replaced)
    entry_by_line = {line: seen.standings[line].entries[-1] for line in lines}
    accept_as_entered(seen.walk.count, entry_by_line, at=at, by_id=by_id)


def _refuse_odd_use_bys(seen: Look) -> None:
    """Refuse figures of a use-by that nobody can mean, unless there is such a lot."""
    odd = {
        line
        for line in counted_lines(seen.standings)
        if line.use_by is not None and not is_believable(line.use_by)
    }
    known = odd_lots(line.use_by for line in odd)
    faulty = [
        line
        for line in seen.walk.lines
        if line.key in odd and (line.item.pk, line.key.use_by) not in known
    ]
    if faulty:
        raise OddUseByError(
            (line.item.name, line.place.name, line.key.use_by) for line in faulty
        )


def _names(item_ids: Collection[int]) -> list[str]:
    if not item_ids:
        return []
    items = Item.objects.filter(pk__in=item_ids).order_by("name")
    return list(items.values_list("name", flat=True))


def _refuse_walked(places: Sequence[Place]) -> None:
    walked = CountPlace.objects.filter(is_live=True, place__in=places)
    for row in walked.select_related("place").order_by("place__walk_order")[:1]:
        names = walked.filter(count_id=row.count_id).order_by("place__walk_order")
        raise PlaceBeingCountedError(
            names.values_list("place__name", flat=True), row.count_id
        )


def _now_on_record(places: Sequence[Place], at: datetime) -> datetime:
    """Return the moment, or that of what is on record as of later. Two queries."""
    moved = Movement.objects.filter(place__in=places, at__gt=at)
    counted = _counted_after(places, at)
    return max(
        at,
        moved.aggregate(last=Max("at"))["last"] or at,
        counted.aggregate(last=Max("count__counted_at"))["last"] or at,
    )


def _counted_after(places: Sequence[Place], at: datetime) -> QuerySet[CountResult]:
    return CountResult.objects.filter(
        place__in=places,
        count__state=Count.State.POSTED,
        count__counted_at__gt=at,
    )


def _refuse_counted_since(places: Sequence[Place], counted_at: datetime) -> None:
    later = _counted_after(places, counted_at)
    if row := later.select_related("place").order_by("place__walk_order").first():
        raise CountedSinceError(row.place.name, row.count_id)


def _refuse_corrected_since(count: Count, lines: Iterable[LineKey]) -> None:
    """Refuse lines whose shelf somebody has set since: both changes would add up."""
    said_at = levels.last_counted_at_by_shelf()
    corrected = {
        line.item_id
        for line in lines
        if said_at.get((line.item_id, line.place_id), count.counted_at)
        > count.counted_at
    }
    if corrected:
        raise CorrectedSinceError(_names(corrected))
