"""What to use first or take off the shelf, one row an item, the soonest first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby

from django.utils.translation import gettext as _

from planning.sentences.words import capitalized, listed
from planning.web.today.could_go_into import could_go_into
from planning.web.today.use_first import UseFirstRow, lot_rows, soon_or_past
from stock.web.amounts import Amount

ZERO = Decimal(0)
MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class UseFirstItem:
    """An item of which something is expired or expires soon."""

    item_id: int
    item_name: str
    quantity: str  # of what is named by `use_by` and `where`
    use_by: str  # the soonest day, in words
    where: str  # places and lots
    is_out: bool
    on_hold: bool
    more: str  # in a sentence, what else of it is past or near; blank if nothing
    could: str  # what it could go into; blank if nothing of it is in date and free


def items_to_use_first(today: date) -> list[UseFirstItem]:
    """Return items with lots past or near their last day. At most six queries."""
    rows = lot_rows(soon_or_past(today), today)
    by_item: dict[int, list[UseFirstRow]] = {}
    for row in rows:
        by_item.setdefault(row.item_id, []).append(row)
    usable: dict[int, date] = {}  # the soonest last day of each item
    for row in rows:
        if row.last_day and not (row.is_out or row.on_hold):
            usable[row.item_id] = min(row.last_day, usable.get(row.item_id, date.max))
    could = could_go_into(usable, today)
    return [_item(lots, could.get(item_id, "")) for item_id, lots in by_item.items()]


def _item(lots: Sequence[UseFirstRow], could: str) -> UseFirstItem:
    alike = [list(group) for _key, group in groupby(sorted(lots, key=_kind), key=_kind)]
    first, *rest = sorted(alike, key=lambda group: lots.index(group[0]))
    return UseFirstItem(
        item_id=first[0].item_id,
        item_name=first[0].item_name,
        quantity=_sum_words(first),
        use_by=first[0].use_by,
        where=_where(first),
        is_out=first[0].is_out,
        on_hold=first[0].on_hold,
        more=_more(rest),
        could=could,
    )


def _kind(row: UseFirstRow) -> tuple[date | None, bool]:
    """Return what lots have in common that are said together."""
    return row.last_day, row.on_hold


def _sum_words(lots: Sequence[UseFirstRow]) -> str:
    held = [lot.held for lot in lots]
    total_base = sum((each.base or ZERO for each in held), ZERO)
    return Amount(total_base, held[0].converter).words


def _where(lots: Sequence[UseFirstRow]) -> str:
    places = listed(list(dict.fromkeys(lot.place for lot in lots)), MOST_NAMED)
    codes = list(dict.fromkeys(lot.code for lot in lots if lot.code))
    if not codes:
        return capitalized(places)
    words = (
        _("{places}, lot {codes}") if len(codes) == 1 else _("{places}, lots {codes}")
    )
    return capitalized(words.format(places=places, codes=listed(codes, MOST_NAMED)))


def _more(rest: Sequence[Sequence[UseFirstRow]]) -> str:
    parts = []
    for lots in rest:
        words = _("{quantity} by {day}")
        if lots[0].on_hold:
            words = _("{quantity} on hold")
        elif lots[0].is_out:
            words = _("{quantity} expired {day}")
        quantity = _sum_words(lots)
        parts.append(words.format(quantity=quantity, day=lots[0].use_by))
    return _("Also {parts}.").format(parts=listed(parts, len(parts))) if parts else ""
