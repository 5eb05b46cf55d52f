"""Set what is on hand to what somebody says is there, by correcting movements.

A row says how much of an item with one use-by date is in one place, all its lots
together. Only the difference to the record is written, so the same row again changes
nothing. What is said holds for now, the moment at which its stock is locked. An
import may say what was there at an earlier moment: deliveries and use since then still
add to it, and what somebody has set since then is never corrected twice.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import NamedTuple

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.errors import StockError
from stock.ledger import ledger, levels, sharing
from stock.ledger.confirming import confirm
from stock.ledger.levels import ZERO, LotOnHand
from stock.measures.resolution import to_ledger
from stock.models import Item, Movement
from stock.wording.names import capitalized, person_name

SET_SINCE_WAY_OUT = gettext_lazy(
    "Leave it out, so that what was set stands, or say what is there now."
)


@dataclass(frozen=True, slots=True)
class OnHandRow:
    """What is there of an item with one use-by date, in one place."""

    item_id: int
    place_id: int
    amount_base: Decimal
    use_by: date | None = None  # None: it does not go out of date
    lot_code: str = ""  # where a difference goes; "" if nobody says


@dataclass(frozen=True, slots=True)
class OnHandChange:
    """A row that is not what the record says."""

    row: OnHandRow
    before_base: Decimal
    change_base_by_lot_code: dict[str, Decimal]


class RecordedShelf(NamedTuple):
    """What rows and lots have in common when they speak of the same stock."""

    item_id: int
    place_id: int
    use_by: date | None


class NegativeOnHandError(StockError):
    """Less than nothing cannot be on a shelf."""

    def __init__(self, item_name: str) -> None:
        super().__init__(
            capitalized(
                _(
                    "{item_name}: less than nothing cannot be on hand. Enter what is "
                    "there, or 0."
                ).format(item_name=item_name)
            )
        )
        self.item_name = item_name


class SetSinceError(StockError):
    """Somebody has said what is there after the moment that these rows speak of."""

    def __init__(self, rows: Sequence[OnHandRow], item_names: Iterable[str]) -> None:
        self.rows = tuple(rows)
        self.item_names = tuple(item_names)
        super().__init__(
            capitalized(
                _("{item_names}: set since that moment. {set_since_way_out}").format(
                    item_names=", ".join(self.item_names),
                    set_since_way_out=SET_SINCE_WAY_OUT,
                )
            )
        )


class RecordMovedError(StockError):
    """What is on record of a shelf is not what the page showed that sets it."""

    def __init__(self, movement: Movement) -> None:
        sentence = _(
            "{item_name} in {place} has changed on record since this page was opened "
            "({kind}, {who}). Compare, then enter what is there now."
        )
        super().__init__(
            capitalized(
                sentence.format(
                    item_name=movement.item.name,
                    place=movement.place.name,
                    kind=movement.get_kind_display().lower(),
                    who=person_name(movement.by, unknown=_("nobody signed in")),
                )
            )
        )


class OnHandTwiceError(StockError):
    """Two rows speak of the same stock, and only one can be right."""

    def __init__(self, item_name: str, use_by: date | None) -> None:
        sentence = (
            _(
                "{item_name} with use-by {use_by} is listed twice for the same place. "
                "Add the two up in one row."
            )
            if use_by
            else _(
                "{item_name} is listed twice for the same place. Add the two up in "
                "one row."
            )
        )
        super().__init__(
            capitalized(sentence.format(item_name=item_name, use_by=use_by))
        )
        self.item_name = item_name


@transaction.atomic
def set_on_hand(
    row: OnHandRow,
    *,
    at: datetime | None = None,
    kind: str = Movement.Kind.CORRECTED,
    by_id: int | None = None,
    note: str = "",
    seen: int | None = None,
) -> OnHandChange | None:
    """Set one row; return what changed, None if it was so already.

    `seen` is the item's newest movement on the page that says it (`newest_movement`):
    where its place has moved since, a change is refused by a RecordMovedError. Two
    queries more, four if it has.
    """
    if seen is not None:
        _refuse_moved_since(row, seen)
    changes = set_on_hand_rows([row], at=at, kind=kind, by_id=by_id, note=note)
    return changes[0] if changes else None


@transaction.atomic
def set_on_hand_rows(
    rows: Sequence[OnHandRow],
    *,
    at: datetime | None = None,
    kind: str = Movement.Kind.CORRECTED,
    by_id: int | None = None,
    note: str = "",
) -> list[OnHandChange]:
    """Set what is on hand, row by row; return the rows that changed.

    Without `at` the rows say what is there now; with it, what was there then, and rows
    of what somebody has set since are refused by a SetSinceError. All or nothing; what
    no row speaks of stays as it is, and what a row finds as on record is kept as said.
    Eight queries where nothing changes, fifteen at most for some hundred rows.
    """
    now = ledger.moment_after_lock(row.item_id for row in rows)
    moment = now if at is None else at
    changes = on_hand_changes(rows, at=moment)
    if at is not None:
        _refuse_set_since(changes, at)
    _record(changes, at=moment, kind=kind, by_id=by_id, note=note)
    ledger.note_empty(
        (row.place_id, _lot_key(row, row.lot_code))
        for row in rows
        if not row.amount_base
    )
    changed = {_shelf(change.row) for change in changes}
    as_on_record = [row for row in rows if _shelf(row) not in changed]
    confirm(
        ((row.item_id, row.place_id) for row in as_on_record),
        at=moment,
        kind=kind,
        by_id=by_id,
    )
    return changes


def _record(
    changes: Iterable[OnHandChange],
    *,
    at: datetime,
    kind: str,
    by_id: int | None,
    note: str,
) -> None:
    """Record what each lot of the rows that change gains or loses."""
    of_lots = [
        (change.row, _lot_key(change.row, code), change_base)
        for change in changes
        for code, change_base in change.change_base_by_lot_code.items()
    ]
    lot_ids = ledger.lots_for(key for _, key, _ in of_lots)
    ledger.record(
        [
            ledger.NewMovement(
                item_id=row.item_id,
                place_id=row.place_id,
                lot_id=lot_ids[key],
                kind=kind,
                amount_base=change_base,
                at=at,
                note=note,
                by_id=by_id,
            )
            for row, key, change_base in of_lots
        ]
    )


def on_hand_changes(rows: Sequence[OnHandRow], *, at: datetime) -> list[OnHandChange]:
    """Return the rows that are not what the record says, and write nothing.

    Two queries, however many rows.
    """
    _check(rows)
    if not rows:
        return []
    held = sharing.held_undated_lots()
    lots_by_shelf: dict[RecordedShelf, list[LotOnHand]] = defaultdict(list)
    for lot in levels.lots_on_hand(at=at):
        lots_by_shelf[RecordedShelf(lot.item_id, lot.place_id, lot.use_by)].append(lot)
    changes = []
    for row in rows:
        lots = lots_by_shelf[_shelf(row)]
        if change_base_by_lot_code := _changes_by_lot_code(row, lots, held):
            before_base = sum((lot.amount_base for lot in lots), ZERO)
            changes.append(OnHandChange(row, before_base, change_base_by_lot_code))
    return changes


def newest_movement(item_id: int) -> int:
    """Return the id of an item's newest movement, 0 if it has none. One query."""
    newest = Movement.objects.filter(item_id=item_id).order_by("-pk")
    return newest.values_list("pk", flat=True).first() or 0


def _refuse_moved_since(row: OnHandRow, seen: int) -> None:
    """Refuse to set what moved after a page was shown; the same again is harmless."""
    moment = ledger.moment_after_lock([row.item_id])
    moved = Movement.objects.filter(
        item_id=row.item_id, place_id=row.place_id, pk__gt=seen
    )
    newest = moved.select_related("item", "place", "by").order_by("-pk").first()
    if newest is not None and on_hand_changes([row], at=moment):
        raise RecordMovedError(newest)


def _refuse_set_since(changes: Sequence[OnHandChange], at: datetime) -> None:
    """Refuse changes of a shelf that was set later: both corrections would add up."""
    if not changes:
        return
    said_at = levels.last_counted_at_by_shelf()
    rows = [
        change.row
        for change in changes
        if said_at.get((change.row.item_id, change.row.place_id), at) > at
    ]
    if rows:
        items = Item.objects.filter(pk__in={row.item_id for row in rows})
        raise SetSinceError(rows, items.order_by("name").values_list("name", flat=True))


def _changes_by_lot_code(
    row: OnHandRow, lots: Sequence[LotOnHand], held: Collection[ledger.LotKey]
) -> dict[str, Decimal]:
    before_base = {lot.code: lot.amount_base for lot in lots}
    after_base = _apportioned(row, lots, held)
    changes = {
        code: amount - before_base.get(code, ZERO)
        for code, amount in after_base.items()
    }
    return {code: change for code, change in changes.items() if change}


def _apportioned(
    row: OnHandRow, lots: Sequence[LotOnHand], held: Collection[ledger.LotKey]
) -> dict[str, Decimal]:
    """Return what each lot comes to, by its code.

    More goes on the lot that the row names, else on the newest; less comes off that
    one first, then off the next newest, and no lot goes below nothing. Lots on hold
    take nothing and give last. A lot that was below nothing (used under the wrong one)
    is set right on the way. Stock that had no lot code takes the one that the row
    gives.
    """
    target_base = to_ledger(row.amount_base)
    newest_first = sorted(lots, key=lambda lot: (lot.on_hold, -lot.lot_id))
    if row.lot_code and [(lot.code, lot.on_hold) for lot in lots] == [("", False)]:
        return {"": ZERO, row.lot_code: target_base}
    if target_base == sum((lot.amount_base for lot in lots), ZERO):
        return {}
    first = row.lot_code or _code_of_more(row, newest_first, held)
    after_base = {first: ZERO} | {
        lot.code: max(lot.amount_base, ZERO) for lot in newest_first
    }
    missing_base = target_base - sum(after_base.values())
    after_base[first] += max(missing_base, ZERO)
    surplus_base = max(-missing_base, ZERO)
    for code in after_base:
        taken_base = min(after_base[code], surplus_base)
        after_base[code] -= taken_base
        surplus_base -= taken_base
    return after_base


def _code_of_more(
    row: OnHandRow, newest_first: Sequence[LotOnHand], held: Collection[ledger.LotKey]
) -> str:
    """Return the lot that takes what is more: the newest, unless all are on hold."""
    if newest_first and not newest_first[0].on_hold:
        return newest_first[0].code
    return sharing.arriving_lot(_lot_key(row, ""), held).code


def _check(rows: Sequence[OnHandRow]) -> None:
    ledger.check_amounts((row.item_id, row.amount_base) for row in rows)
    seen = set()
    for row in rows:
        if row.amount_base < 0:
            raise NegativeOnHandError(_item_name(row))
        if _shelf(row) in seen:
            raise OnHandTwiceError(_item_name(row), row.use_by)
        seen.add(_shelf(row))


def _shelf(row: OnHandRow) -> RecordedShelf:
    return RecordedShelf(row.item_id, row.place_id, row.use_by)


def _lot_key(row: OnHandRow, code: str) -> ledger.LotKey:
    return ledger.LotKey(row.item_id, row.use_by, code)


def _item_name(row: OnHandRow) -> str:
    return Item.objects.get(pk=row.item_id).name
