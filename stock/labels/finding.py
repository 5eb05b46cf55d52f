"""What a label is on: the item, and its lot where that is on record."""

from dataclasses import dataclass

from stock.labels.reading import Label
from stock.labels.tying import packs_of_bar_code
from stock.models import Item, Lot


@dataclass(frozen=True, slots=True)
class Found:
    """An item, and the lot of it that a label names; None if that is not known."""

    item: Item
    lot: Lot | None


def found_by(label: Label) -> Found | None:
    """Return what a label is on; None where nothing known is named, or several are.

    Three queries at most.
    """
    lots = Lot.objects.select_related("item")
    if label.own_lot_id is not None:
        lot = lots.filter(pk=label.own_lot_id).first()
        return Found(lot.item, lot) if lot else None
    if label.gtin:
        packs = packs_of_bar_code(label.gtin)
        items = {pack.item_id: pack.item for pack in packs if not pack.retired}
        items = items or {pack.item_id: pack.item for pack in packs}
        if len(items) != 1:
            return None
        (item,) = items.values()
        return Found(item, _only(list(lots.filter(item=item)), label))
    same = list(lots.filter(code=label.lot)) if label.lot else []
    lot = _only(same, label)
    return Found(lot.item, lot) if lot else None


def _only(lots: list[Lot], label: Label) -> Lot | None:
    """Return the one lot of a label's code and date; None if none or several fit.

    A lot may be on record with an earlier date than its label's: by shelf life.
    """
    if not (label.lot or label.last_day):
        return None
    same = [lot for lot in lots if label.lot in ("", lot.code)]
    day = label.last_day
    dated = [lot for lot in same if lot.use_by == day] if day else []
    fitting = dated or (same if label.lot else [])
    return fitting[0] if len(fitting) == 1 else None
