"""What moved on counted shelves while their count went on, and after its moment."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Q

from stock.counts.lines import Shelf
from stock.counts.sheets import Look
from stock.ledger.documents import count_of, takes_back
from stock.measures.amount_words import amount_words
from stock.models import Movement


@dataclass(frozen=True, slots=True)
class Moved:
    """What moved while the count was going on."""

    movement: Movement
    words: str  # 2 cases
    is_after: bool  # after the moment: it stays on top when the count is posted
    before_entry: bool  # and before the line was counted: is it in the figure?
    is_undone: bool = False  # another count posted it and was undone, both meanwhile


def moved_meanwhile(
    seen: Look, entered_at: Mapping[Shelf, datetime]
) -> dict[int, list[Moved]]:
    """Return what moved on counted shelves, by item id, the earliest first.

    `entered_at` says when each counted shelf was last entered. One query.
    """
    count = seen.walk.count
    movements = Movement.objects.filter(
        Q(recorded_at__gt=count.opened_at) | Q(at__gt=count.counted_at),
        item_id__in={shelf.item_id for shelf in entered_at},
        place__in=seen.walk.places,
    ).exclude(kind=Movement.Kind.COUNTED, at=count.counted_at)
    moved = defaultdict(list)
    rows = list(movements.select_related("move", "by").order_by("at", "pk"))
    undone = _undone_by_undoing(rows)
    taken_back = {posted.pk for posted in undone.values()}
    for movement in rows:
        counted_at = entered_at.get(Shelf(movement.place_id, movement.item_id))
        if counted_at is None or movement.pk in taken_back:
            continue
        converter = seen.converters.get(movement.item_id)
        size_base = abs(movement.amount_base)
        is_after = movement.at > count.counted_at
        moved[movement.item_id].append(
            Moved(
                movement=movement,
                words=amount_words(size_base, converter) if converter else "",
                is_after=is_after,
                before_entry=is_after and movement.at <= counted_at,
                is_undone=movement.pk in undone,
            )
        )
    return dict(moved)


def _undone_by_undoing(rows: Sequence[Movement]) -> dict[int, Movement]:
    """Return what other counts posted and took back, by the id of what took it back.

    The two are at one moment, that of their count.
    """
    posted: dict[tuple[object, ...], Movement] = {}
    undone: dict[int, Movement] = {}
    for row in sorted(rows, key=lambda row: row.pk):
        if (count_id := count_of(row)) is None:
            continue
        stock = count_id, row.place_id, row.lot_id
        if not takes_back(row):
            posted[*stock, row.amount_base] = row
        elif before := posted.pop((*stock, -row.amount_base), None):
            undone[row.pk] = before
    return undone
