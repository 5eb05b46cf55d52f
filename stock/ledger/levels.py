"""What is on hand: by item, by place and by lot, now or as of any moment.

Without a moment the running balances are the answer. As of a moment it is the balances
less what moved later, so that a glance back costs only what has happened since.
Amounts are exact, in each item's own base unit; a movement at the very moment counts.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple, TypeVar

from django.db.models import (
    Exists,
    F,
    IntegerField,
    Max,
    OuterRef,
    QuerySet,
    Sum,
    Value,
)
from django.utils.timezone import is_naive

from stock.ledger.held import is_held
from stock.models import Balance, Confirmation, CountResult, Item, Movement, Place

ZERO = Decimal(0)
# By these somebody said what is there; a delivery only says what came.
COUNTING_KINDS = (
    Movement.Kind.IMPORTED,
    Movement.Kind.CORRECTED,
    Movement.Kind.COUNTED,
)
# Of these the movement itself says so; what a count found stands in its results, which
# are gone when the count is undone.
SETTING_KINDS = (Movement.Kind.IMPORTED, Movement.Kind.CORRECTED)

Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class LotOnHand:
    """What is on hand of one lot in one place; below zero if more left than came."""

    item_id: int
    place_id: int
    lot_id: int
    use_by: date | None  # last day of use; None: it does not go out of date
    code: str
    amount_base: Decimal
    on_hold: bool = False  # set aside: neither planned with nor used


class _Row(NamedTuple):
    """One balance, or what moved on one shelf after the moment."""

    item_id: int
    place_id: int
    lot_id: int
    use_by: date | None
    code: str
    amount_base: Decimal
    on_hold: bool
    sign: int  # a balance counts, what moved later is taken off again
    has_moved: bool  # by the moment


def on_hand_base_by_place(
    *, item: Item | int, at: datetime | None = None
) -> dict[int, Decimal]:
    """Return what is on hand of an item by place id. One query."""
    if at is None:
        balances = Balance.objects.order_by().filter(item=item)
        return dict(balances.values_list("place_id").annotate(Sum("amount_base")))
    return _totals((row.place_id, row) for row in _rows(at=at, item=item))


def on_hand_base_by_shelf(
    *, at: datetime | None = None
) -> dict[tuple[int, int], Decimal]:
    """Return what is on hand by item id and place id. One query."""
    if at is None:
        rows = Balance.objects.order_by().values("item_id", "place_id")
        return {
            (row["item_id"], row["place_id"]): row["total_base"]
            for row in rows.annotate(total_base=Sum("amount_base"))
        }
    return _totals(((row.item_id, row.place_id), row) for row in _rows(at=at))


def lots_on_hand(
    *,
    item: Item | int | None = None,
    place: Place | int | None = None,
    at: datetime | None = None,
) -> list[LotOnHand]:
    """Return the lots of which something is on hand, or is owed, soonest use-by first.

    Sorted by item id, use-by (none last), code and place id. One query.
    """
    rows: dict[tuple[int, int], _Row] = {}
    total_base: dict[tuple[int, int], Decimal] = defaultdict(Decimal)
    for row in _rows(at=at, **_only(item=item, place=place)):
        shelf = row.place_id, row.lot_id
        rows[shelf] = row
        total_base[shelf] += row.sign * row.amount_base
    on_hand = [
        LotOnHand(
            item_id=row.item_id,
            place_id=row.place_id,
            lot_id=row.lot_id,
            use_by=row.use_by,
            code=row.code,
            amount_base=total_base[shelf],
            on_hold=bool(row.on_hold),
        )
        for shelf, row in rows.items()
        if total_base[shelf]
    ]
    return sorted(on_hand, key=_soonest_first)


def last_counted_at_by_item(
    *, place: Place | int | None = None, at: datetime | None = None
) -> dict[int, datetime]:
    """Return when somebody last said what is there of each item, by item id.

    See `last_counted_at_by_shelf`. One query.
    """
    last_at: dict[int, datetime] = {}
    by_shelf = last_counted_at_by_shelf(place=place, at=at)
    for (item_id, _), counted_at in by_shelf.items():
        last_at[item_id] = max(counted_at, last_at.get(item_id, counted_at))
    return last_at


def last_counted_at_by_shelf(
    *,
    item: Item | int | None = None,
    place: Place | int | None = None,
    at: datetime | None = None,
) -> dict[tuple[int, int], datetime]:
    """Return when somebody last said what is there, by item id and place id.

    A count, a correction by hand and an import do, also where they found just what was
    on record and moved nothing; what was never corrected is absent. Of such findings by
    hand and import only a shelf's last is kept, whatever `at`. One query.
    """
    _check_aware(at)
    movements = Movement.objects.order_by().filter(
        kind__in=SETTING_KINDS, **_only(item=item, place=place, at__lte=at)
    )
    results = CountResult.objects.order_by().filter(
        **_only(item=item, place=place, count__counted_at__lte=at)
    )
    confirmed = Confirmation.objects.order_by().filter(
        **_only(item=item, place=place, at__lte=at)
    )
    rows = (
        movements.values("item_id", "place_id")
        .annotate(last_at=Max("at"))
        .values_list("item_id", "place_id", "last_at")
        .union(
            results.values("item_id", "place_id")
            .annotate(last_at=Max("count__counted_at"))
            .values_list("item_id", "place_id", "last_at"),
            confirmed.values_list("item_id", "place_id", "at"),
            all=True,
        )
    )
    last_at: dict[tuple[int, int], datetime] = {}
    for item_id, place_id, counted_at in rows:
        shelf = item_id, place_id
        last_at[shelf] = max(counted_at, last_at.get(shelf, counted_at))
    return last_at


def last_moved_at_by_shelf(
    *, item: Item | int | None = None
) -> dict[tuple[int, int], datetime]:
    """Return when anything last came or left, by item id and place id. One query."""
    movements = Movement.objects.order_by().filter(**_only(item=item))
    rows = movements.values_list("item_id", "place_id").annotate(last_at=Max("at"))
    return {(item_id, place_id): last_at for item_id, place_id, last_at in rows}


def items_on_record(item_ids: Iterable[int]) -> set[int]:
    """Return which items ever came, left or were counted, even if as none.

    One query.
    """
    wanted = list(item_ids)
    moved = Balance.objects.order_by().filter(item_id__in=wanted)
    counted = CountResult.objects.order_by().filter(item_id__in=wanted)
    return set(
        moved.values_list("item_id", flat=True).union(
            counted.values_list("item_id", flat=True)
        )
    )


def _check_aware(at: datetime | None) -> None:
    if at is not None and is_naive(at):
        raise ValueError(f"The moment must be aware, not {at}")


def _only(**wanted: Any) -> dict[str, Any]:
    return {name: value for name, value in wanted.items() if value is not None}


def _totals(rows: Iterator[tuple[Key, _Row]]) -> dict[Key, Decimal]:
    totals: dict[Key, Decimal] = defaultdict(Decimal)
    moved = set()
    for key, row in rows:
        totals[key] += row.sign * row.amount_base
        if row.has_moved:
            moved.add(key)
    return {key: total for key, total in totals.items() if key in moved}


def _rows(*, at: datetime | None, **only: Any) -> Iterator[_Row]:
    """Read balances, and what moved after the moment, in one query.

    In two queries a movement could come in between, and be in one alone.
    """
    _check_aware(at)
    balances = Balance.objects.order_by().filter(**only)
    if at is None:
        query = _columns(balances, F("amount_base"), sign=1, has_moved=Value(True))
    else:
        movements = Movement.objects.order_by().filter(**only)
        by_then = Movement.objects.order_by().filter(
            lot=OuterRef("lot"), place=OuterRef("place"), at__lte=at
        )
        query = _columns(
            balances, F("amount_base"), sign=1, has_moved=Exists(by_then)
        ).union(
            _columns(
                movements.filter(at__gt=at),
                Sum("amount_base"),
                sign=-1,
                has_moved=Value(False),
            ),
            all=True,
        )
    return (_Row(*row) for row in query)


def _columns(
    rows: QuerySet[Any], amount: Any, *, sign: int, has_moved: Any
) -> QuerySet[Any, tuple[Any, ...]]:
    return (
        rows.values("item_id", "place_id", "lot_id", "lot__use_by", "lot__code")
        .annotate(
            on_shelf_base=amount,
            on_hold=is_held(OuterRef("lot_id")),
            sign=Value(sign, IntegerField()),
            moved=has_moved,
        )
        .values_list(
            "item_id",
            "place_id",
            "lot_id",
            "lot__use_by",
            "lot__code",
            "on_shelf_base",
            "on_hold",
            "sign",
            "moved",
        )
    )


def _soonest_first(lot: LotOnHand) -> tuple[int, date, str, int]:
    return lot.item_id, lot.use_by or date.max, lot.code, lot.place_id
