"""What a trace may begin with, by what people type: a lot's code, a cake, an order.

An item's name finds the lots of it, the newest first.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from planning.errors import PlanningError
from planning.models import Delivery, Order, PlannedCake
from planning.tracing.trace import Start, StartKind
from stock.entry.entries import folded
from stock.models import Item, Lot
from stock.wording.names import unknown

MOST_LOTS = 12  # of an item
MOST_NEAR = 2_000  # of each kind, the newest, among which the nearest name is sought

StartRow = Lot | Delivery | Order | PlannedCake


class UnknownStartError(PlanningError):
    """Nothing that can be traced has this name; the nearest that does is named."""


@dataclass(frozen=True, slots=True)
class FoundStart:
    """Something that a trace may begin with, and its row with what it names."""

    start: Start
    row: StartRow


def start_row(start: Start) -> StartRow | None:
    """Return the row that a trace begins with, with what it names. One query."""
    return _rows(start.kind).filter(pk=start.row_id).first()


def find_starts(text: str, *, item_name: str = "") -> list[FoundStart]:
    """Return everything that has this code, reference, number or item name.

    Several where a code is of two items, or of a cake as well. Case and a leading #
    don't matter. `item_name` keeps the lots of one item. An UnknownStartError where
    there is nothing. Up to five queries, four more for the nearest name.
    """
    name = text.strip()
    found = list(_named(name)) if name else []
    if not found and name:
        found = list(_lots_of_item(name))
    if item_name:
        found = [each for each in found if _is_of(each, item_name)]
    if not found:
        raise UnknownStartError(unknown(_("lot, cake or order"), name, _known_names()))
    return found


def _named(name: str) -> Iterator[FoundStart]:
    names = dict.fromkeys([name, name.removeprefix("#").strip()])
    for kind, column in (
        (StartKind.LOT, "code"),
        (StartKind.CAKE, "reference"),
        (StartKind.ORDER, "reference"),
    ):
        named = Q()
        for each in filter(None, names):
            named |= Q(**{f"{column}__iexact": each})
        for row in _rows(kind).filter(named):
            yield FoundStart(Start(kind, row.pk), row)


def _lots_of_item(name: str) -> Iterator[FoundStart]:
    lots = _rows(StartKind.LOT).filter(item__name__iexact=name)
    for row in lots.order_by("-pk")[:MOST_LOTS]:
        yield FoundStart(Start(StartKind.LOT, row.pk), row)


def _is_of(found: FoundStart, item_name: str) -> bool:
    row = found.row
    return isinstance(row, Lot) and folded(row.item.name) == folded(item_name)


def _rows(kind: StartKind) -> QuerySet[Any]:
    if kind is StartKind.LOT:
        return Lot.objects.select_related("item")
    if kind is StartKind.DELIVERY:
        return Delivery.objects.select_related("order__supplier")
    if kind is StartKind.ORDER:
        return Order.objects.select_related("supplier")
    return PlannedCake.objects.select_related("cake__item")


def _known_names() -> Sequence[str]:
    columns = [
        (Lot.objects.all(), "code"),
        (PlannedCake.objects.all(), "reference"),
        (Order.objects.all(), "reference"),
        (Item.objects.all(), "name"),
    ]
    names: dict[str, None] = {}
    for rows, column in columns:
        newest = rows.exclude(**{column: ""}).order_by("-pk")
        names |= dict.fromkeys(newest.values_list(column, flat=True)[:MOST_NEAR])
    return list(names)
