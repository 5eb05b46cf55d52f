"""What is on its way: open orders, by the day they are due."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.db.models import F

from planning.models import Answer, Order
from planning.sentences.words import days_late_words
from planning.web.page_words import PageWords, SaidAmount
from planning.wording.answer_words import answer_words


@dataclass(frozen=True, slots=True)
class ArrivingLine:
    """So much of one item."""

    item_id: int
    item_name: str
    amount: SaidAmount


@dataclass(frozen=True, slots=True)
class Coming:
    """Who delivers on one day after today."""

    day: str
    suppliers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answered:
    """What a supplier said of one line of an open order."""

    order_id: int
    words: str


@dataclass(frozen=True, slots=True)
class Arrival:
    """What one order brings on one day."""

    supplier: str
    order_id: int | None
    reference: str
    due_words: str
    due_brief: str
    late_words: str  # blank unless it should have come
    is_due: bool  # today, or late
    lines: tuple[ArrivingLine, ...]


def arrivals(words: PageWords, places: Iterable[int]) -> list[Arrival]:
    """Return some lines of open orders, put together by order and day, in its order.

    One query, for the orders.
    """
    kitchen = words.planned.kitchen
    orders, nodes = kitchen.open_orders, kitchen.nodes
    found: dict[tuple[date, str, str], list[ArrivingLine]] = defaultdict(list)
    for place in places:
        node = int(orders.node[place])
        supplier = kitchen.suppliers[int(orders.supplier[place])].name
        found[orders.due_on[place], supplier, orders.references[place]].append(
            ArrivingLine(
                nodes.ids[node],
                nodes.names[node],
                words.amount(node, float(orders.amount_base[place])),
            )
        )
    ids = _order_ids({reference for _, _, reference in found})
    return [
        Arrival(
            supplier,
            ids.get((supplier, reference)),
            reference,
            words.day(due_on),
            words.brief_day(due_on),
            _late_words(words, due_on),
            due_on <= words.today,
            tuple(sorted(lines, key=lambda line: line.item_name.casefold())),
        )
        for (due_on, supplier, reference), lines in sorted(found.items())
    ]


def _order_ids(references: set[str]) -> dict[tuple[str, str], int]:
    """Return the orders of some references, by supplier and reference."""
    orders = Order.objects.order_by().filter(reference__in=references)
    return {
        (supplier, reference): pk
        for supplier, reference, pk in orders.values_list(
            "supplier__name", "reference", "pk"
        )
    }


def places_until(words: PageWords, until: date) -> list[int]:
    """Return which lines of open orders are due by a day, overdue ones too."""
    due_on = words.planned.kitchen.open_orders.due_on
    return [place for place, on in enumerate(due_on) if on <= until]


def coming_days(found: Iterable[Arrival]) -> list[Coming]:
    """Return who delivers on which later day, in the order given."""
    later = [arrival for arrival in found if not arrival.is_due]
    return [
        Coming(day, tuple(dict.fromkeys(arrival.supplier for arrival in group)))
        for day, group in groupby(later, key=lambda arrival: arrival.due_brief)
    ]


def places_of(words: PageWords, node: int) -> list[int]:
    """Return which lines of open orders bring a node."""
    nodes = words.planned.kitchen.open_orders.node.tolist()
    return [place for place, brought in enumerate(nodes) if brought == node]


def answered_words() -> list[Answered]:
    """Return what suppliers bring otherwise than ordered, still to come. One query."""
    rows = Answer.objects.filter(
        undone_at=None,
        line__closed=False,
        line__received_packs__lt=F("line__packs"),
        line__order__state__in=Order.OPEN_STATES,
    ).exclude(kind=Answer.Kind.CONFIRMED)
    rows = rows.select_related("line__order__supplier", "line__pack__item", "pack")
    return [
        Answered(row.line.order_id, answer_words(row, row.line.order.supplier.name))
        for row in rows.order_by("line__due_on", "pk")
    ]


def _late_words(words: PageWords, due_on: date) -> str:
    days = (words.today - due_on).days
    return days_late_words(days) if days > 0 else ""
