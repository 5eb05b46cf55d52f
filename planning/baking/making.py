"""Making batches of recipes, and baking planned cakes: the jobs.

Each takes what recipes say off the shelves, puts what was made on them, and writes it
all at once. However many are made together, the number of queries is the same.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from django.db import transaction
from django.db.models import Min
from django.utils.translation import gettext as _

from planning.bakeplan.planned_cakes import CakeBakedError
from planning.baking.bench import Bench, BenchMove
from planning.baking.book import BakeBook, BookItem, open_bake_book
from planning.baking.checks import (
    check_cake_repeat,
    check_entry,
    check_not_counted_since,
    check_repeats,
    check_seen_bakes,
    rounded,
)
from planning.baking.entries import Baker, CakeEntry, MakeEntry
from planning.baking.errors import (
    CakeCancelledError,
    MadeOnError,
    NoRecipeError,
)
from planning.engine.demand import geometry
from planning.engine.kitchen import FloatColumn, Scale
from planning.errors import UnscalableCakeError
from planning.models import Bake, BakeLine, PlannedCake
from stock.calendar.calendar_words import date_words
from stock.ledger import ledger, levels
from stock.ledger.sharing import held_undated_lots
from stock.measures.lengths import parse_length_cm
from stock.models import Bakery, Movement, Place
from stock.saving import upsert
from stock.saving.versions import check_seen

NOON = time(12)
Status = PlannedCake.Status


class _Step(NamedTuple):
    """A bake to be written, and what it does on the bench."""

    row: Bake
    run: Callable[[Bench], None]


@dataclass(frozen=True, slots=True)
class _Sitting:
    """All that is made at one moment, on one day."""

    book: BakeBook
    baker: Baker
    at: datetime
    today: date

    @property
    def on(self) -> date:
        """The day on which it was made."""
        return self.baker.made_on or self.today

    @property
    def moved_at(self) -> datetime:
        """The moment of the movements; of an earlier day nobody knows the hour."""
        if self.on == self.today:
            return self.at
        return datetime.combine(self.on, NOON, tzinfo=self.baker.bakery.zone)


def make_recipe(entry: MakeEntry, baker: Baker) -> Bake:
    """Take what batches of a recipe take, and put what they yield on the shelf.

    See `make_recipes`.
    """
    return make_recipes([entry], baker)[0]


@transaction.atomic
def make_recipes(entries: Sequence[MakeEntry], baker: Baker) -> list[Bake]:
    """Record what was made, in the order in which it was; return a bake for each.

    What is not on record is taken below zero; a component with a recipe of its own
    that does not lie ready is made on the way. A repeat of a key returns what it
    recorded, also what was undone since; with other contents it is refused. About
    20 queries, however many.
    """
    upsert.wait_for_turn()
    entries = [rounded(entry) for entry in entries]
    known = _known(entry.key for entry in entries)
    check_repeats(entries, known)
    # What is recorded already is answered, whatever the plan or the recipe says now.
    if fresh := [entry for entry in entries if entry.key not in known]:
        known |= _make_fresh(fresh, baker)
    return [known[entry.key] for entry in entries]


def _make_fresh(entries: Sequence[MakeEntry], baker: Baker) -> dict[str, Bake]:
    book = open_bake_book()
    for entry in entries:
        check_entry(entry, _recipe(book, entry.recipe_id), book)
    used = [change.item_id for each in entries for change in each.changes.values()]
    sitting = _begin(book, [*(each.recipe_id for each in entries), *used], baker)
    check_seen_bakes(entries, book, baker.bakery)
    return _write(sitting, [_make_step(sitting, entry) for entry in entries])


@transaction.atomic
def bake_cake(entry: CakeEntry, baker: Baker) -> Bake:
    """Mark a planned cake as baked, and take all that it takes; return its bake.

    A cake that is baked already stays so, and its bake is returned; so is the bake of
    a key that came before, also where it was undone since. About 25 queries.
    """
    upsert.wait_for_turn()
    cakes = PlannedCake.objects.select_related("cake__item")
    planned = cakes.select_for_update(of=("self",)).get(pk=entry.planned_id)
    if planned.status == Status.BAKED:
        known = planned.bakes.filter(undone_at=None).first()
        if known is None:
            raise CakeBakedError(planned.reference)
        return known
    check_seen(planned, entry.seen_version)
    if entry.key in (by_key := _known([entry.key])):
        check_cake_repeat(planned, by_key[entry.key])
        return by_key[entry.key]
    if planned.status == Status.CANCELLED:
        raise CakeCancelledError(planned.reference)
    book = open_bake_book()
    sitting = _begin(book, [planned.cake_id], baker)
    made = _write(sitting, [_cake_step(sitting, planned, entry.key)])
    planned.status = Status.BAKED
    planned.version += 1
    planned.save(update_fields=["status", "version"])
    return made[entry.key]


def movement_key(line: BakeLine) -> str:
    """Return the ledger's key of what one line of a bake moved."""
    return f"bake {line.bake_id}, line {line.pk}"


def _recipe(book: BakeBook, recipe_id: int) -> BookItem:
    item = book.items.get(recipe_id)
    if item is None or not item.is_made:
        raise NoRecipeError
    return item


def _begin(book: BakeBook, item_ids: Iterable[int], baker: Baker) -> _Sitting:
    at = ledger.moment_after_lock(book.reached(item_ids))
    today = at.astimezone(baker.bakery.zone).date()
    if baker.made_on is not None and baker.made_on > today:
        raise MadeOnError(
            _(
                "{date} is still to come. Enter the day on which it was made: "
                "{date2} or earlier."
            ).format(date=date_words(baker.made_on), date2=date_words(today))
        )
    return _Sitting(book, baker, at, today)


def recorded(key: str) -> Bake | None:
    """Return what came with a key before, also if it was undone since. One query."""
    return _known([key]).get(key)


def _known(keys: Iterable[str]) -> dict[str, Bake]:
    rows = Bake.objects.select_related("recipe__item", "planned_cake")
    return {row.key: row for row in rows.filter(key__in=list(keys))}


def _make_step(sitting: _Sitting, entry: MakeEntry) -> _Step:
    item = sitting.book.items[entry.recipe_id]
    batches = Fraction(entry.batches)
    return _Step(
        _row(sitting, entry.recipe_id, entry.batches, entry.key),
        lambda bench: bench.make(item, batches, entry.changes),
    )


def _cake_step(sitting: _Sitting, planned: PlannedCake, key: str) -> _Step:
    cake = sitting.book.items[planned.cake_id]
    factors = _factors(cake, planned, sitting.baker.bakery)
    size = planned.size.strip() or cake.base_size
    serves = geometry.are_one_size(size, cake.base_size)
    until = max(planned.due_on, sitting.on) if serves else None
    row = _row(sitting, planned.cake_id, Decimal(planned.quantity), key)
    row.planned_cake, row.was_status = planned, planned.status
    return _Step(row, lambda bench: bench.bake(cake, planned.quantity, factors, until))


def _factors(cake: BookItem, planned: PlannedCake, bakery: Bakery) -> FloatColumn:
    """Return what the cake's lines are multiplied by; refuse what can't scale."""
    height_cm = parse_length_cm(bakery.layer_height)
    factors = geometry.scale_factors(planned.size, cake.base_size, height_cm)
    for line in cake.lines:
        if factors[line.scale] != factors[line.scale]:  # NaN: nothing to go by
            name = Scale(line.scale).name.lower()
            raise UnscalableCakeError(cake.name, cake.base_size, name)
    return factors


def _row(sitting: _Sitting, recipe_id: int, batches: Decimal, key: str) -> Bake:
    return Bake(
        recipe_id=recipe_id,
        batches=batches,
        key=key,
        made_on=sitting.on,
        at=sitting.at,
        by_id=sitting.baker.by_id,
    )


def _write(sitting: _Sitting, steps: Sequence[_Step]) -> dict[str, Bake]:
    """Carry out the steps on the bench, then write them; return bakes by key."""
    if not steps:
        return {}
    bench = Bench(
        sitting.book,
        [lot for lot in levels.lots_on_hand() if not lot.on_hold],
        sitting.on,
        first_place_id=Place.objects.values_list("pk", flat=True).first(),
        used_until=_used_until(sitting),
        held=held_undated_lots(),
    )
    # Lots are named after the bakes, so these are written before it is worked out.
    rows = Bake.objects.bulk_create(step.row for step in steps)
    moved: list[tuple[Bake, BenchMove]] = []
    for step, row in zip(steps, rows, strict=True):
        bench.code = row.lot_code
        step.run(bench)
        moved += [(row, each) for each in bench.moved()]
    if sitting.on < sitting.today:
        check_not_counted_since(
            [each for _, each in moved],
            sitting.on,
            book=sitting.book,
            bakery=sitting.baker.bakery,
        )
    _record(sitting, moved)
    return {row.key: row for row in rows}


def _used_until(sitting: _Sitting) -> dict[int, date]:
    """Return the earliest use-by that the day has taken of each item so far."""
    if not any(item.caps_use_by for item in sitting.book.items.values()):
        return {}
    taken = BakeLine.objects.order_by().filter(
        bake__made_on=sitting.on,
        bake__undone_at=None,
        amount_base__lt=0,
        lot__use_by__isnull=False,
    )
    return dict(taken.values_list("lot__item_id").annotate(Min("lot__use_by")))


def _record(sitting: _Sitting, moved: Sequence[tuple[Bake, BenchMove]]) -> None:
    lot_ids = ledger.lots_for(each.spot.lot for _, each in moved)
    lines = BakeLine.objects.bulk_create(
        BakeLine(
            bake=row,
            place_id=each.spot.place_id,
            lot_id=lot_ids[each.spot.lot],
            amount_base=each.amount_base,
            stands_for_id=each.stands_for_id,
        )
        for row, each in moved
    )
    item_ids = [each.spot.lot.item_id for _, each in moved]
    ledger.record(
        [
            _movement(sitting, line, item_id)
            for line, item_id in zip(lines, item_ids, strict=True)
        ]
    )


def _movement(sitting: _Sitting, line: BakeLine, item_id: int) -> ledger.NewMovement:
    is_made = line.amount_base > 0
    return ledger.NewMovement(
        item_id=item_id,
        place_id=line.place_id,
        lot_id=line.lot_id,
        kind=Movement.Kind.MADE if is_made else Movement.Kind.USED,
        amount_base=line.amount_base,
        at=sitting.moved_at,
        note=movement_note(line.bake, sitting.book),
        key=movement_key(line),
        by_id=sitting.baker.by_id,
    )


def movement_note(bake: Bake, book: BakeBook) -> str:
    """Return what the ledger says of where a movement comes from."""
    if bake.planned_cake is not None:
        return _("Cake {reference}").format(reference=bake.planned_cake.reference)
    return _("Made {name}").format(name=book.items[bake.recipe_id].name)
