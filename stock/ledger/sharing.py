"""Which lots give what is taken from a place: the one definition for every job."""

from collections.abc import Hashable, Mapping
from decimal import Decimal
from typing import TypeVar

from stock.ledger import levels
from stock.ledger.levels import ZERO

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
