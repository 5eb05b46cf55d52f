"""Which lots give what is taken from a place: the one definition for every job."""

from collections.abc import Collection, Hashable, Mapping
from decimal import Decimal
from itertools import count
from typing import TypeVar

from stock.ledger import levels
from stock.ledger.ledger import LotKey
from stock.ledger.levels import ZERO
from stock.models import Hold

# The lot of what was taken and no lot had, where the one without a code is on hold.
OWED_CODE = "not on record"
# The lot of what comes without code and date while the one that has neither is on hold.
CAME_CODE = "after hold"

LotT = TypeVar("LotT", bound=Hashable)  # whatever a job knows a lot by


def lots_to_take(
    *, item_id: int, place_id: int, lot_id: int | None = None
) -> dict[int, Decimal]:
    """Return what is on hand in a place by lot id, the earliest use-by first.

    Lots on hold are left out; of one lot alone, on hold or not, where it is named. A
    lot that is owed is there below zero. One query.
    """
    lots = levels.lots_on_hand(item=item_id, place=place_id)
    return {
        lot.lot_id: lot.amount_base
        for lot in lots
        if (lot.lot_id == lot_id if lot_id else not lot.on_hold)
    }


def share_out(
    amount_base: Decimal, on_hand_base: Mapping[LotT, Decimal]
) -> dict[LotT, Decimal]:
    """Return what each lot gives, in the order given; only lots that give are named.

    What is beyond all of them the last one owes. Without lots nothing is given.
    """
    given: dict[LotT, Decimal] = {}
    missing_base = amount_base
    for lot_id, there_base in on_hand_base.items():
        gives_base = min(max(there_base, ZERO), missing_base)
        if gives_base:
            given[lot_id] = gives_base
            missing_base -= gives_base
    if missing_base and on_hand_base:
        last = list(given or on_hand_base)[-1]
        given[last] = given.get(last, ZERO) + missing_base
    return given


def held_undated_lots() -> set[LotKey]:
    """Return the lots on hold that have no use-by. One query."""
    holds = Hold.objects.order_by().filter(released_at=None, lot__use_by=None)
    rows = holds.values_list("lot__item_id", "lot__code")
    return {LotKey(item_id, None, code) for item_id, code in rows}


def owing_lot(item_id: int, held: Collection[LotKey]) -> LotKey:
    """Return the lot that owes what is taken where no lot gives.

    It has neither a use-by nor, unless that lot is on hold, a code: what is on hold
    gives nothing that nobody names.
    """
    return _free_lot(LotKey(item_id), OWED_CODE, held)


def arriving_lot(lot: LotKey, held: Collection[LotKey]) -> LotKey:
    """Return the lot that takes what comes in as this one.

    Another, while the one without use-by and code is on hold: what comes later is not
    what was set aside. Released, both stand beside each other.
    """
    return lot if lot.use_by or lot.code else _free_lot(lot, CAME_CODE, held)


def said_code(code: str) -> str:
    """Return the code that was said of what came: blank for a lot after a hold."""
    name, _, number = code.rpartition(" ")
    is_later = name == CAME_CODE and number.isdecimal()
    return "" if is_later or code == CAME_CODE else code


def _free_lot(lot: LotKey, code: str, held: Collection[LotKey]) -> LotKey:
    numbers = count(1)
    while lot in held:
        number = next(numbers)
        lot = lot._replace(code=f"{code} {number}" if number > 1 else code)
    return lot
