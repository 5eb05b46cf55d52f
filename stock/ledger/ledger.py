"""The one writer of stock movements.

Whoever moves stock hands its movements to `record`, which writes them and brings the
running balances along in the same transaction. Amounts are exact, in the item's own
base unit, rounded half up to 4 places on the way in. A job that reads what is on hand
in order to write takes its moment from `moment_after_lock`.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple, TypeVar

from django.db import IntegrityError, connection, transaction
from django.db.models import Exists, OuterRef, Q, Sum
from django.utils import timezone
from django.utils.timezone import is_naive
from django.utils.translation import gettext as _

from stock.errors import StockError
from stock.measures.resolution import to_ledger
from stock.models import Balance, CountResult, Item, Lot, Movement
from stock.models.fields import AmountField
from stock.models.ledger import LARGEST_AMOUNT_BASE
from stock.wording.names import capitalized

# What a job can undo: without it the shelf is as if nobody had ever spoken of it.
UNDOABLE_KINDS = (
    Movement.Kind.COUNTED,
    Movement.Kind.RECEIVED,
    Movement.Kind.MOVED,
    Movement.Kind.MADE,
    Movement.Kind.USED,
)
# SQLite takes 999 values a statement where it is old, and 32,766 since 3.32.
IDS_A_QUERY = 10_000
BALANCES_A_QUERY = 5_000
ADD_TO_BALANCES = """
    INSERT INTO stock_balance (place_id, lot_id, item_id, amount_base)
    VALUES (marks)
    ON CONFLICT (place_id, lot_id)
    DO UPDATE SET amount_base = stock_balance.amount_base + excluded.amount_base
"""

Part = TypeVar("Part")


@dataclass(frozen=True, slots=True)
class NewMovement:
    """A movement to be written: so much of a lot came to a place, or left it."""

    item_id: int
    place_id: int
    lot_id: int
    kind: str  # of Movement.Kind
    amount_base: Decimal  # above zero it came, below zero it left
    at: datetime  # aware; earlier than others already written is fine
    note: str = ""
    key: str | None = None  # of whoever may send it twice
    by_id: int | None = None
    waste_id: int | None = None  # of the waste that it is part of
    move_id: int | None = None  # of the move that it is part of


class LotKey(NamedTuple):
    """What makes two lots of an item the same lot."""

    item_id: int
    use_by: date | None = None
    code: str = ""


class AmountOutOfRangeError(StockError):
    """More than any bakery can hold: a slip of the number or of its unit."""

    def __init__(self, item_names: Iterable[str]) -> None:
        self.item_names = tuple(item_names)
        super().__init__(
            capitalized(
                _(
                    "{item_names}: that is more than any bakery can hold. Check the "
                    "number and its unit."
                ).format(item_names=", ".join(self.item_names))
            )
        )


class KeyTakenError(StockError):
    """The same key came with another movement: nobody knows which is meant."""

    def __init__(self, key: str, item_name: str) -> None:
        self.key = key
        self.item_name = item_name
        super().__init__(
            capitalized(
                _(
                    "{item_name}: another movement was recorded as {key} already. Look "
                    "at what is on hand now, and enter what is still missing anew."
                ).format(item_name=item_name, key=key)
            )
        )


@transaction.atomic
def record(movements: Sequence[NewMovement]) -> int:
    """Write movements and their balances; return how many of these the ledger holds.

    All or nothing. A movement whose key was recorded before is not written again but
    counts, so that a repeat gives the first answer; the same key with another amount,
    lot or place is refused. Movements of nothing are passed over. Four queries, five
    where there are keys; very long lists take one insert for each few thousand.
    """
    check_amounts((row.item_id, row.amount_base) for row in movements)
    rows = [row for row in map(_rounded, movements) if row.amount_base]
    if not rows:
        return 0
    names = lock_items(row.item_id for row in rows)
    _check_lots(rows)
    fresh = _not_yet_recorded(rows, names)
    Movement.objects.bulk_create(
        Movement(
            item_id=row.item_id,
            place_id=row.place_id,
            lot_id=row.lot_id,
            kind=row.kind,
            amount_base=row.amount_base,
            at=row.at,
            note=row.note,
            key=row.key or None,
            by_id=row.by_id,
            waste_id=row.waste_id,
            move_id=row.move_id,
        )
        for row in fresh
    )
    _add_to_balances(fresh, names)
    return len(rows)


def note_empty(shelves: Iterable[tuple[int, LotKey]]) -> None:
    """Keep that lots were found gone from places, where nothing ever was on record.

    A movement of nothing is none, but counted as none is counted. Given by place id;
    what is on record there stays as it is. One query, five where something is kept.
    """
    empty = list(shelves)
    if not empty:
        return
    known = set(
        Balance.objects.filter(item_id__in={lot.item_id for _, lot in empty})
        .order_by()
        .values_list("place_id", "item_id")
    )
    fresh = [(place, lot) for place, lot in empty if (place, lot.item_id) not in known]
    lot_ids = lots_for(lot for _, lot in fresh) if fresh else {}
    Balance.objects.bulk_create(
        (
            Balance(
                item_id=lot.item_id,
                place_id=place_id,
                lot_id=lot_ids[lot],
                found_empty=True,
            )
            for place_id, lot in fresh
        ),
        ignore_conflicts=True,
    )


def forget_undone(item_ids: Collection[int] | None = None) -> int:
    """Take away balances of nothing that come alone of what was undone.

    That is of counts, deliveries, moves and bakes which stand no more: an item that
    came or left otherwise, was found empty by hand or by a posted count stays on
    record. Of some items or of all; return how many there were. One query.
    """
    # Undone, what each kind wrote comes to nothing by itself, and so does each move.
    # What came and was then moved on, or used up, comes to nothing together alone.
    unfounded = Balance.objects.filter(amount_base=0, found_empty=False).exclude(
        Exists(
            Movement.objects.order_by()
            .exclude(kind__in=UNDOABLE_KINDS)
            .filter(lot=OuterRef("lot"), place=OuterRef("place"))
        )
        | Exists(
            Movement.objects.order_by()
            .filter(lot=OuterRef("lot"), place=OuterRef("place"))
            .values("kind", "move_id")
            .annotate(total_base=Sum("amount_base"))
            .exclude(total_base=0)
        )
        | Exists(
            CountResult.objects.order_by().filter(
                item=OuterRef("item"), place=OuterRef("place")
            )
        )
    )
    if item_ids is not None:
        unfounded = unfounded.filter(item_id__in=item_ids)
    return unfounded.delete()[0]


def check_amounts(amounts: Iterable[tuple[int, Decimal]]) -> None:
    """Refuse amounts, given with their item's id, that no bakery can hold."""
    beyond = {
        item_id for item_id, amount in amounts if abs(amount) > LARGEST_AMOUNT_BASE
    }
    if beyond:
        items = Item.objects.filter(pk__in=beyond).order_by("name")
        raise AmountOutOfRangeError(items.values_list("name", flat=True))


def lock_items(item_ids: Iterable[int]) -> dict[int, str]:
    """Hold the stock of these items until the transaction ends; return their names.

    A job that reads what is on hand in order to write calls this first. Items are
    locked in one order, so that no two jobs wait for each other. On SQLite the
    transaction itself holds the whole database. One query.
    """
    wanted = sorted(set(item_ids))
    names: dict[int, str] = {}
    for ids in _portions(wanted, IDS_A_QUERY):
        rows = Item.objects.select_for_update(no_key=True).filter(pk__in=ids)
        names.update(rows.order_by("pk").values_list("pk", "name"))
    if missing := set(wanted) - names.keys():
        raise ValueError(f"No items have these ids: {sorted(missing)}")
    return names


def moment_after_lock(item_ids: Iterable[int]) -> datetime:
    """Hold the stock of these items, then return the moment it is; see `lock_items`.

    A moment that was taken before the lock may lie before what another job wrote
    while this one waited, which would then be overlooked. It is never before the
    newest movement of these items: the clocks of two servers may differ, and a
    movement may be stamped ahead. One query more than the lock's.
    """
    wanted = sorted(set(item_ids))
    lock_items(wanted)
    now = timezone.now()
    newest = (
        Movement.objects.filter(item_id__in=ids, at__gt=now).order_by("-at")
        for ids in _portions(wanted, IDS_A_QUERY)
    )
    ahead = [moment for rows in newest for moment in rows.values_list("at")[:1]]
    return max([now, *(moment for (moment,) in ahead)])


def lots_for(keys: Iterable[LotKey]) -> dict[LotKey, int]:
    """Return the lot's id for each key; lots that are not there yet are created.

    One query, three where something has to be created.
    """
    lot_by_key = {key: key._replace(code=key.code.strip()) for key in keys}
    wanted = set(lot_by_key.values())
    found = _lot_ids(wanted)
    if missing := sorted(wanted - found.keys(), key=_lot_order):
        # Whoever creates the same lot at the same moment wins; both find it after.
        Lot.objects.bulk_create(
            (Lot(**lot._asdict()) for lot in missing), ignore_conflicts=True
        )
        found = _lot_ids(wanted)
    return {key: found[lot] for key, lot in lot_by_key.items()}


def lot_for(*, item_id: int, use_by: date | None = None, code: str = "") -> int:
    """Return the id of one lot, created if need be; see `lots_for`."""
    key = LotKey(item_id, use_by, code)
    return lots_for([key])[key]


def _rounded(movement: NewMovement) -> NewMovement:
    if is_naive(movement.at):
        raise ValueError(f"A movement's moment must be aware, not {movement.at}")
    return replace(movement, amount_base=to_ledger(movement.amount_base))


def _check_lots(rows: Sequence[NewMovement]) -> None:
    item_by_lot: dict[int, int] = {}
    for ids in _portions(sorted({row.lot_id for row in rows}), IDS_A_QUERY):
        lots = Lot.objects.order_by().filter(pk__in=ids)
        item_by_lot.update(lots.values_list("pk", "item_id"))
    for row in rows:
        if item_by_lot.get(row.lot_id) != row.item_id:
            raise ValueError(f"Lot {row.lot_id} is none of item {row.item_id}")


def _not_yet_recorded(
    rows: Sequence[NewMovement], names: dict[int, str]
) -> list[NewMovement]:
    """Leave out what the ledger has under the same key, and repeats in the list."""
    known = _contents_by_key({row.key for row in rows if row.key})
    fresh = []
    for row in rows:
        content = (row.item_id, row.place_id, row.lot_id, row.kind, row.amount_base)
        if not row.key:
            fresh.append(row)
        elif row.key not in known:
            known[row.key] = content
            fresh.append(row)
        elif known[row.key] != content:
            raise KeyTakenError(row.key, names[row.item_id])
    return fresh


def _contents_by_key(keys: set[str]) -> dict[str, tuple[object, ...]]:
    contents: dict[str, tuple[object, ...]] = {}
    for portion in _portions(sorted(keys), IDS_A_QUERY):
        recorded = Movement.objects.order_by().filter(key__in=portion)
        for key, *content in recorded.values_list(
            "key", "item_id", "place_id", "lot_id", "kind", "amount_base"
        ):
            contents[str(key)] = tuple(content)
    return contents


def _add_to_balances(rows: Sequence[NewMovement], names: dict[int, str]) -> None:
    """Add movements to the running balances; what has none yet gets one.

    The database adds, not Python: two writers at once lose nothing.
    """
    totals: dict[tuple[int, int, int], Decimal] = {}
    for row in rows:
        shelf = (row.place_id, row.lot_id, row.item_id)
        totals[shelf] = totals.get(shelf, Decimal(0)) + row.amount_base
    values = [
        (*shelf, AmountField().get_prep_value(totals[shelf]))
        for shelf in sorted(totals)
    ]
    try:
        with connection.cursor() as cursor:
            for portion in _portions(values, BALANCES_A_QUERY):
                marks = ", ".join(["(%s, %s, %s, %s)"] * len(portion))
                cursor.execute(
                    ADD_TO_BALANCES.replace("(marks)", marks),
                    [value for row in portion for value in row],
                )
    except IntegrityError as error:
        # The range is the only rule that an addition can break.
        raise AmountOutOfRangeError(
            sorted({names[row.item_id] for row in rows})
        ) from error


def _lot_ids(wanted: set[LotKey]) -> dict[LotKey, int]:
    found: dict[LotKey, int] = {}
    days = {lot.use_by for lot in wanted if lot.use_by}
    for ids in _portions(sorted({lot.item_id for lot in wanted}), IDS_A_QUERY):
        lots = Lot.objects.order_by().filter(
            Q(use_by__isnull=True) | Q(use_by__in=days), item_id__in=ids
        )
        for pk, item_id, use_by, code in lots.values_list(
            "pk", "item_id", "use_by", "code"
        ):
            found[LotKey(item_id, use_by, code)] = pk
    return {lot: pk for lot, pk in found.items() if lot in wanted}


def _lot_order(lot: LotKey) -> tuple[int, date, str]:
    return lot.item_id, lot.use_by or date.max, lot.code


def _portions(values: Sequence[Part], size: int) -> Iterator[Sequence[Part]]:
    for start in range(0, len(values), size):
        yield values[start : start + size]
