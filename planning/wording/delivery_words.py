"""What a delivery brought, and what it left open, in a sentence."""

from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _

from planning.models import Delivery, DeliveryLine, OrderLine
from planning.plan.order_terms import terms_of_pack
from planning.sentences.packs import counted_packs
from planning.sentences.words import capitalized, listed

MOST_NAMED = 3


def packs_of_line(line: OrderLine, packs: int) -> str:
    """Return so many packs of a line as they are counted: 2 cases."""
    return counted_packs(terms_of_pack(line.pack), packs)


def received_words(delivery: Delivery) -> str:
    """Return what came of an order, what is still to come and what is closed.

    One query, for the lines of the delivery.
    """
    rows = list(delivery.lines.select_related("line__pack__item"))
    came = [row for row in rows if row.packs]
    closed = [row.line for row in rows if row.closes]
    to_come = [
        line
        for line in delivery.order.lines.select_related("pack__item")
        if line.packs_to_come
    ]
    said = [
        ("{} received", [_came_words(row) for row in came]),
        ("closed: {}", [_rest_words(line) for line in closed]),
        (_("still to come: {}"), [_rest_words(line) for line in to_come]),
    ]
    sentences = [
        f"{capitalized(words.format(_listed(names)))}."
        for words, names in said
        if names
    ]
    return f"{delivery.order.reference}: {' '.join(sentences)}"


def delivery_words(lines: Iterable[DeliveryLine]) -> str:
    """Return all that one delivery brought or closed. No query."""
    rows = list(lines)
    came = [_came_words(row) for row in rows if row.packs]
    closed = [row.line.pack.item.name for row in rows if row.closes]
    parts = [", ".join(came), f"closed: {', '.join(closed)}" if closed else ""]
    return "; ".join(filter(None, parts))


def came_words(lines: Sequence[DeliveryLine]) -> str:
    """Return what deliveries brought, summed by order line: 4 cases of butter."""
    packs: dict[int, int] = {}
    line_by_id = {row.line_id: row.line for row in lines}
    for row in lines:
        packs[row.line_id] = packs.get(row.line_id, 0) + row.packs
    return ", ".join(
        _("{packs_of_line} of {name}").format(
            packs_of_line=packs_of_line(line, packs[line_id]), name=line.pack.item.name
        )
        for line_id, line in line_by_id.items()
    )


def _came_words(row: DeliveryLine) -> str:
    return _("{packs_of_line} of {name}").format(
        packs_of_line=packs_of_line(row.line, row.packs), name=row.line.pack.item.name
    )


def _rest_words(line: OrderLine) -> str:
    rest = max(line.packs - line.received_packs, 0)
    return _("{packs_of_line} of {name}").format(
        packs_of_line=packs_of_line(line, rest), name=line.pack.item.name
    )


def _listed(names: Iterable[str]) -> str:
    found = list(names)
    if len(found) > MOST_NAMED:
        return _("{count} lines").format(count=len(found))
    return listed(found, MOST_NAMED)
