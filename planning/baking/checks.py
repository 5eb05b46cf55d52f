"""What may be wrong with what is said to be made, and what has to be asked."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from django.utils.translation import gettext as _

from planning.baking.bench import BenchMove
from planning.baking.book import BakeBook, BookItem
from planning.baking.entries import MakeEntry
from planning.baking.errors import (
    BakeKeyError,
    BatchesError,
    DayCountedSinceError,
    LineAmountError,
    MadeMeanwhileError,
    ManyBatchesError,
)
from planning.models import Bake, BakeLine, PlannedCake
from planning.models.bakes import BATCH_PLACES
from planning.wording.bake_words import bake_words, who_and_when
from planning.wording.batch_words import batches_words
from stock.ledger.ledger import check_amounts
from stock.ledger.levels import last_counted_at_by_shelf
from stock.models import Bakery

MOST_BATCHES = 10_000  # more of one recipe in one go is a slip of the finger
# So many times what is planned is a slip of the finger: 10 typed for 1.
ASKED_ABOUT_TIMES = 10


def rounded(entry: MakeEntry) -> MakeEntry:
    """Return the entry with its batches as they are kept, to nine places.

    What nobody can make is left as it is, for `check_entry` to refuse.
    """
    if not entry.batches.is_finite() or abs(entry.batches) > MOST_BATCHES:
        return entry
    return replace(entry, batches=round(entry.batches, BATCH_PLACES))


def check_entry(entry: MakeEntry, item: BookItem, book: BakeBook) -> None:
    """Refuse batches and weights that nobody makes, and ask about ten times too many.

    A query only where an amount is beyond what any bakery holds.
    """
    if not (entry.batches.is_finite() and 0 < entry.batches <= MOST_BATCHES):
        raise BatchesError(item.name, MOST_BATCHES)
    components = {line.component_id for line in item.lines}
    for component_id, change in entry.changes.items():
        name = book.items[component_id].name
        if component_id not in components:
            raise LineAmountError(
                name, _("{name} takes none of it.").format(name=item.name)
            )
        if change.taken_base < 0:
            raise LineAmountError(name, _("enter what went in, 0 or more."))
    check_amounts(
        (change.item_id, change.taken_base) for change in entry.changes.values()
    )
    _ask_about_many(entry, item)


def _ask_about_many(entry: MakeEntry, item: BookItem) -> None:
    planned = entry.planned_batches
    if planned is None or entry.confirmed:
        return
    if float(entry.batches) >= ASKED_ABOUT_TIMES * max(planned, 1.0):
        said = batches_words(float(entry.batches))
        asked = _("the plan asks for {batches}").format(batches=batches_words(planned))
        raise ManyBatchesError(
            item.name, said, asked if planned else _("none is planned")
        )


def check_repeats(entries: Iterable[MakeEntry], known: Mapping[str, Bake]) -> None:
    """Refuse a key that came before with something else."""
    for entry in entries:
        row = known.get(entry.key)
        if row is None:
            continue
        is_same = row.recipe_id == entry.recipe_id and row.planned_cake_id is None
        if not is_same or row.batches != entry.batches:
            raise BakeKeyError(bake_words(row))


def check_cake_repeat(planned: PlannedCake, row: Bake) -> None:
    """Refuse the key of a bake that was not of this cake."""
    if row.planned_cake_id != planned.pk:
        raise BakeKeyError(bake_words(row))


def check_seen_bakes(
    entries: Iterable[MakeEntry], book: BakeBook, bakery: Bakery
) -> None:
    """Ask about what somebody has made since the page was opened. One query at most."""
    asked = {
        each.recipe_id: each.seen_bake_id
        for each in entries
        if each.seen_bake_id is not None and not each.confirmed
    }
    if not asked:
        return
    since = BakeLine.objects.order_by("-bake_id").filter(
        bake__undone_at=None,
        bake_id__gt=min(asked.values()),
        amount_base__gt=0,
        lot__item_id__in=asked,
    )
    for line in since.select_related("lot", "bake__by", "bake__recipe__item"):
        if line.bake_id > asked[line.lot.item_id]:
            who, when = who_and_when(line.bake, bakery)
            name = book.items[line.lot.item_id].name
            raise MadeMeanwhileError(name, who, when)


def check_not_counted_since(
    moved: Sequence[BenchMove], on: date, *, book: BakeBook, bakery: Bakery
) -> None:
    """Refuse an earlier day where a count of it or later may have it. One query."""
    counted_at = last_counted_at_by_shelf()
    for each in moved:
        at = counted_at.get((each.spot.lot.item_id, each.spot.place_id))
        if at is not None and at.astimezone(bakery.zone).date() >= on:
            raise DayCountedSinceError(book.items[each.spot.lot.item_id].name)
