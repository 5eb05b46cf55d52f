"""Counting: a count is opened, walked, reviewed, and posted once, or dropped.

One moment belongs to a count. Posting corrects the ledger as of that moment, so that
deliveries and bakes after it stay on top.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from django.db import IntegrityError, transaction

from stock import ledger, levels
from stock.counts.answers import Answer, AnswerState
from stock.counts.entries import sequence_at, take_entries
from stock.counts.errors import (
    CorrectedSinceError,
    CountedSinceError,
    CountStateError,
    EntriesCameInError,
    MomentAheadError,
    NothingCountedError,
    NothingToWalkError,
    PlaceBeingCountedError,
    UndecidedError,
    UnknownCountError,
)
from stock.counts.history import corrected_items
from stock.counts.lines import (
    ZERO,
    EntryIn,
    LineKey,
    Shelf,
    Standing,
    counted_base_by_shelf,
    standings,
)
from stock.counts.lots import LotChange, expected_base_by_line, lot_changes
from stock.counts.records import cost_of, price_per_base_by_item
from stock.counts.review import Review, review
from stock.counts.sheets import Sheet, sheet, sheets
from stock.levels import LotOnHand
from stock.models import (
    Count,
    CountDecision,
    CountEntry,
    CountPlace,
    CountResult,
    Item,
    Movement,
    Place,
)

__all__ = [
    "Answer",
    "AnswerState",
    "EntryIn",
    "LineKey",
    "Review",
    "Sheet",
    "decide",
    "drop",
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
]


@transaction.atomic
def open_count(
    *,
    counted_at: datetime,
    at: datetime,
    place_ids: Sequence[int] | None = None,
    by_id: int | None = None,
) -> Count:
    """Open a count of some places, or of all, as of a moment.

    Refused where another open count walks one of the places, or a posted one has
    counted it as of later: two counts of one shelf would each undo the other.
    """
    if counted_at > at:
        raise MomentAheadError
    places = Place.objects.all()
    if place_ids is not None:
        places = places.filter(pk__in=list(place_ids))
    walked = list(places)
    if not walked:
        raise NothingToWalkError
    _refuse_walked(walked)
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
    return _move(count_id, to=Count.State.IN_REVIEW)


@transaction.atomic
def reopen(count_id: int) -> Count:
    """Go back from the review to the walk; every entry stays."""
    return _move(count_id, to=Count.State.OPEN)


@transaction.atomic
def drop(count_id: int, *, at: datetime, by_id: int | None = None) -> Count:
    """End a count without posting it; its entries are kept, the ledger is not moved."""
    count = _locked(count_id)
    if count.state == Count.State.DROPPED:
        return count
    if count.state == Count.State.POSTED:
        raise _state_error(count, "Correct what is wrong by hand, or count again.")
    _close(count, Count.State.DROPPED, at=at, by_id=by_id)
    return count


@transaction.atomic
def decide(
    count_id: int,
    line: LineKey,
    choice: str,
    *,
    at: datetime,
    entry_id: int | None = None,
    seen_entry_id: int | None = None,
    by_id: int | None = None,
) -> None:
    """Say which entry of a line stands, or that they add up; blank: undo that.

    An entry that comes in later, or that the review had not shown (`seen_entry_id`),
    asks again.
    """
    count = _locked(count_id)
    _refuse_closed(count)
    entries = CountEntry.objects.filter(count=count)
    newest = entries.order_by("-pk").values_list("pk", flat=True).first() or 0
    CountDecision.objects.update_or_create(
        count=count,
        **line._asdict(),
        defaults={
            "choice": choice,
            "entry_id": entry_id if choice == CountDecision.Choice.ONE else None,
            "through_entry": newest if seen_entry_id is None else seen_entry_id,
            "by_id": by_id,
            "at": at,
        },
    )


@transaction.atomic
def note(
    count_id: int, line: LineKey, text: str, *, at: datetime, by_id: int | None = None
) -> None:
    """Write a note beside a line of the review."""
    count = _locked(count_id)
    _refuse_closed(count)
    CountDecision.objects.update_or_create(
        count=count,
        **line._asdict(),
        defaults={"note": text.strip()[:200], "by_id": by_id, "at": at},
    )


@transaction.atomic
def post_count(
    count_id: int,
    *,
    at: datetime,
    by_id: int | None = None,
    seen_entry_id: int | None = None,
) -> int:
    """Correct the ledger to what was counted; return how many items it corrected.

    What has no figure is left alone: not counted is not zero. Posting again changes
    nothing and returns the first answer. `seen_entry_id` is the newest entry that the
    review showed: where another has come in since, it is refused. See `count_lots`
    for what each lot comes to. At most 20 queries for 400 lines.
    """
    count = _locked(count_id)
    if count.state == Count.State.POSTED:
        return corrected_items(count_id)
    if count.state != Count.State.IN_REVIEW:
        raise _state_error(count, "Send it to review first, then post it.")
    standing_by_line = _sound_standings(count, seen_entry_id)
    counted = {
        line: standing.counted_base
        for line, standing in standing_by_line.items()
        if standing.counted_base is not None
    }
    item_ids = sorted({line.item_id for line in counted})
    ledger.lock_items(item_ids)
    _refuse_corrected_since(count, counted)
    on_hand = levels.lots_on_hand(at=count.counted_at)
    _record(count, lot_changes(standing_by_line, on_hand), by_id=by_id)
    results = _results(count, standing_by_line, on_hand)
    CountResult.objects.bulk_create(results)
    _close(count, Count.State.POSTED, at=at, by_id=by_id)
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


def _sound_standings(
    count: Count, seen_entry_id: int | None
) -> dict[LineKey, Standing]:
    entries = list(
        CountEntry.objects.filter(count=count, kept="").select_related("item")
    )
    newest_id = max((entry.pk for entry in entries), default=0)
    if seen_entry_id is not None and newest_id > seen_entry_id:
        raise EntriesCameInError(count.pk)
    standing_by_line = standings(entries)
    if any(len(said.entries) > 1 for said in standing_by_line.values()):
        decisions = CountDecision.objects.filter(count=count)
        standing_by_line = standings(entries, decisions)
    undecided = {
        line.item_id
        for line, standing in standing_by_line.items()
        if standing.is_conflict
    }
    if undecided:
        items = Item.objects.filter(pk__in=undecided).order_by("name")
        raise UndecidedError(items.values_list("name", flat=True))
    if not any(
        standing.counted_base is not None for standing in standing_by_line.values()
    ):
        raise NothingCountedError(count.pk)
    return standing_by_line


def _refuse_walked(places: Sequence[Place]) -> None:
    walked = CountPlace.objects.filter(is_live=True, place__in=places)
    for row in walked.select_related("place").order_by("place__walk_order")[:1]:
        names = walked.filter(count_id=row.count_id).order_by("place__walk_order")
        raise PlaceBeingCountedError(
            names.values_list("place__name", flat=True), row.count_id
        )


def _refuse_counted_since(places: Sequence[Place], counted_at: datetime) -> None:
    later = CountResult.objects.filter(
        place__in=places,
        count__state=Count.State.POSTED,
        count__counted_at__gt=counted_at,
    )
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
        items = Item.objects.filter(pk__in=corrected).order_by("name")
        raise CorrectedSinceError(items.values_list("name", flat=True))


def _locked(count_id: int) -> Count:
    # Entries that come in hold their count the same way.
    count = Count.objects.select_for_update(no_key=True).filter(pk=count_id).first()
    if count is None:
        raise UnknownCountError(count_id)
    return count


def _move(count_id: int, *, to: Count.State) -> Count:
    count = _locked(count_id)
    if count.state == to:
        return count
    _refuse_closed(count)
    count.state = to
    count.save(update_fields=["state"])
    return count


def _refuse_closed(count: Count) -> None:
    if not count.is_live:
        raise _state_error(count, "Open a new count.")


def _state_error(count: Count, way_out: str) -> CountStateError:
    return CountStateError(count.pk, count.get_state_display(), way_out)


def _close(
    count: Count, state: Count.State, *, at: datetime, by_id: int | None
) -> None:
    count.state, count.closed_at, count.closed_by_id = state, at, by_id
    count.save(update_fields=["state", "closed_at", "closed_by"])
    count.count_places.update(is_live=False)
