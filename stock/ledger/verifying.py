"""Proof that the ledger is whole: balances equal their sums, the triggers stand.

Sums cannot show whether a figure is true. What they hold can still show one mistake: a
figure for a shelf that was worked out without one that had been recorded before it, but
is stamped after it. Both are then in the sum, one on top of the other.
"""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connection, connections, transaction
from django.db.models import (
    Exists,
    F,
    IntegerField,
    Max,
    OuterRef,
    QuerySet,
    RowRange,
    Sum,
    Value,
    Window,
)
from django.utils.translation import gettext as _

from stock.database.one_moment import one_moment
from stock.errors import StockError
from stock.ledger import confirming, guard, ledger
from stock.ledger.levels import COUNTING_KINDS
from stock.models import (
    Balance,
    Confirmation,
    Count,
    CountResult,
    Item,
    Lot,
    Movement,
    Place,
)

BALANCES_AN_INSERT = 200


class StrayMovementsError(StockError):
    """Movements of something that is not there, of which no balance can be made."""

    def __init__(self, movements: int) -> None:
        super().__init__(
            _(
                "Movements of an item, a place or a lot that is not there: "
                "{movements}. Restore the database from a backup."
            ).format(movements=movements)
        )


@dataclass(frozen=True, slots=True)
class WrongBalance:
    """A balance that is not the sum of its movements, in words and in figures."""

    item: str
    place: str
    lot: str
    balance_base: Decimal
    movements_base: Decimal

    def __str__(self) -> str:
        return _(
            "{item} in {place}, {lot}: the balance says {balance_base}, the "
            "movements come to {movements_base}."
        ).format(
            item=self.item,
            place=self.place,
            lot=self.lot,
            balance_base=self.balance_base,
            movements_base=self.movements_base,
        )


@dataclass(frozen=True, slots=True)
class AddedUp:
    """A shelf that two people set, where the later figure overlooked the earlier."""

    item: str
    place: str

    def __str__(self) -> str:
        return _("{item} in {place} was set twice, and the two may add up.").format(
            item=self.item, place=self.place
        )


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was found; a ledger is whole when nothing is wrong or missing."""

    movements: int
    balances: int
    wrong: tuple[WrongBalance, ...] = ()
    movements_of_another_item: int = 0  # their lot belongs to a different item
    stray_movements: int = 0  # of an item, a place or a lot that is not there
    missing_triggers: tuple[str, ...] = ()
    added_up: tuple[AddedUp, ...] = ()  # does not make the sums wrong

    @property
    def is_whole(self) -> bool:
        """Whether the ledger can be relied upon."""
        return not (
            self.wrong
            or self.movements_of_another_item
            or self.stray_movements
            or self.missing_triggers
        )


def verify_ledger(*, using: str = DEFAULT_DB_ALIAS) -> Verdict:
    """Return whether every balance is the sum of its movements, and changes nothing.

    Reads every movement once. Balances and sums come in one query, so that a movement
    written meanwhile is in both or in neither. `using` names another open database.
    """
    with one_moment(using=using):
        return _verdict(using)


def _verdict(using: str) -> Verdict:
    balance_base: dict[tuple[int, ...], Decimal] = defaultdict(Decimal)
    movements_base: dict[tuple[int, ...], Decimal] = defaultdict(Decimal)
    for is_balance, *shelf, amount_base in _balances_and_sums(using):
        amounts = balance_base if is_balance else movements_base
        amounts[tuple(shelf)] += amount_base
    wrong = [
        shelf
        for shelf in balance_base.keys() | movements_base.keys()
        if balance_base[shelf] != movements_base[shelf]
    ]
    return Verdict(
        movements=Movement.objects.using(using).count(),
        balances=Balance.objects.using(using).count(),
        wrong=tuple(
            _named(using, shelf, balance_base[shelf], movements_base[shelf])
            for shelf in sorted(wrong)
        ),
        movements_of_another_item=(
            Movement.objects.using(using).exclude(item=F("lot__item")).count()
        ),
        stray_movements=_stray_movements(using),
        missing_triggers=tuple(guard.missing_triggers(connections[using])),
        added_up=tuple(_added_up(using)),
    )


@transaction.atomic
def rebuild() -> int:
    """Work every balance out anew from the movements; return how many there are.

    The movements stay as they are, and so does what somebody found empty where nothing
    ever moved. Triggers that are missing are put back.
    """
    if strays := _stray_movements():
        raise StrayMovementsError(strays)
    ledger.lock_items(Item.objects.values_list("pk", flat=True))
    found_empty = Balance.objects.filter(found_empty=True)
    Balance.objects.filter(found_empty=False).delete()
    found_empty.update(amount_base=0)
    sums = (
        Movement.objects.order_by("place_id", "lot_id")
        .values("item_id", "place_id", "lot_id")
        .annotate(total_base=Sum("amount_base"))
    )
    Balance.objects.bulk_create(
        (
            Balance(
                item_id=row["item_id"],
                place_id=row["place_id"],
                lot_id=row["lot_id"],
                amount_base=row["total_base"],
            )
            for row in sums.iterator(chunk_size=BALANCES_AN_INSERT)
        ),
        update_conflicts=True,
        unique_fields=["place", "lot"],
        update_fields=["item", "amount_base"],
    )
    ledger.forget_undone()
    guard.install(connection)
    return Balance.objects.count()


def _added_up(using: str) -> list[AddedUp]:
    """Return figures that overlooked another, until somebody says anew what is there.

    One query, and six at most for each one found.
    """
    return [
        AddedUp(
            _name(Item.objects.using(using), movement.item_id, _("an item")),
            _name(Place.objects.using(using), movement.place_id, _("a place")),
        )
        for movement in _overlooking(using)
        if not _is_said_anew(using, movement)
    ]


def _overlooking(using: str) -> QuerySet[Any]:
    """Return movements that set a shelf as of before what was set there already.

    Keys grow in the order of writing: whoever sets an item waits for its lock.
    """
    before = Window(
        Max("at"),
        partition_by=[F("item_id"), F("place_id"), F("lot__use_by")],
        order_by="pk",
        frame=RowRange(start=None, end=-1),
    )
    said = Movement.objects.using(using).filter(kind__in=COUNTING_KINDS)
    return (
        said.annotate(newest_before=before)
        .filter(newest_before__gt=F("at"))
        .select_related("lot")
        # Of an older program's database too, which may lack what came since.
        .only("item_id", "place_id", "at", "recorded_at", "lot__use_by")
        .order_by("pk")
    )


def _is_said_anew(using: str, movement: Any) -> bool:
    shelf = {"item_id": movement.item_id, "place_id": movement.place_id}
    later = Movement.objects.using(using).filter(
        **shelf,
        pk__gt=movement.pk,
        kind__in=COUNTING_KINDS,
        lot__use_by=movement.lot.use_by,
        at__gte=movement.newest_before,
    )
    counted = CountResult.objects.using(using).filter(
        **shelf,
        count__state=Count.State.POSTED,
        count__counted_at__gte=movement.newest_before,
        count__closed_at__gte=movement.recorded_at,
    )
    confirmed = Confirmation.objects.using(using).filter(
        **shelf, newest_movement__gte=movement.pk, at__gte=movement.newest_before
    )
    return (
        later.exists()
        or counted.exists()
        or (confirming.is_kept(using) and confirmed.exists())
    )


def _stray_movements(using: str = DEFAULT_DB_ALIAS) -> int:
    """Return how many movements name something that is not there. One query."""
    there = (
        Exists(Item.objects.filter(pk=OuterRef("item_id"))),
        Exists(Place.objects.filter(pk=OuterRef("place_id"))),
        Exists(Lot.objects.filter(pk=OuterRef("lot_id"))),
    )
    return Movement.objects.using(using).exclude(*there).count()


def _balances_and_sums(using: str) -> QuerySet[Any, tuple[Any, ...]]:
    shelf = ("item_id", "place_id", "lot_id")
    columns = ("is_balance", *shelf, "total_base")
    balances = (
        Balance.objects.using(using)
        .order_by()
        .values(*shelf)
        .annotate(is_balance=Value(1, IntegerField()), total_base=Sum("amount_base"))
        .values_list(*columns)
    )
    sums = (
        Movement.objects.using(using)
        .order_by()
        .values(*shelf)
        .annotate(is_balance=Value(0, IntegerField()), total_base=Sum("amount_base"))
        .values_list(*columns)
    )
    return balances.union(sums, all=True)


def _named(
    using: str, shelf: tuple[int, ...], balance_base: Decimal, movements_base: Decimal
) -> WrongBalance:
    item_id, place_id, lot_id = shelf
    return WrongBalance(
        item=_name(Item.objects.using(using), item_id, _("an item")),
        place=_name(Place.objects.using(using), place_id, _("a place")),
        lot=_name(Lot.objects.using(using).select_related("item"), lot_id, _("a lot")),
        balance_base=balance_base,
        movements_base=movements_base,
    )


def _name(rows: QuerySet[Any], pk: int, what: str) -> str:
    """Return what a row is called, or that the movements speak of one not there."""
    row = rows.filter(pk=pk).first()
    return (
        str(row)
        if row is not None
        else _("{what} that is not there ({pk})").format(what=what, pk=pk)
    )
