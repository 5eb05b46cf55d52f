"""Orders that are sent for a day on which What if lets no delivery come."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _

from planning.engine.kitchen import Kitchen
from planning.sentences.words import listed


def sent_for(kitchen: Kitchen, on: date, supplier: int | None = None) -> list[str]:
    """Return the orders that are to come on a day, usual for the supplier or not."""
    orders = kitchen.open_orders
    expected = zip(
        orders.references,
        orders.supplier,
        orders.due_on,
        orders.amount_base,
        strict=True,
    )
    found = [
        reference
        for reference, by, due_on, amount_base in expected
        if due_on == on and supplier in (None, by) and amount_base > 0
    ]
    return list(dict.fromkeys(found))


def skipped_words(sent: Sequence[str]) -> str:
    """Return what becomes of orders whose delivery is cancelled; blank for none."""
    return (
        _(" {sent} would not come.").format(sent=listed(sent, len(sent)))
        if sent
        else ""
    )


def closed_words(sent: Sequence[str]) -> str:
    """Return what becomes of orders that are due on a closed day; blank for none.

    A plan counts on what is sent, whatever its day: somebody has to move it.
    """
    if not sent:
        return ""
    is_one = len(sent) == 1
    return _(
        " {sent} {value} sent for that day, and {value2} counted: ask for another day."
    ).format(
        sent=listed(sent, len(sent)),
        value=_("is") if is_one else _("are"),
        value2=_("stays") if is_one else _("stay"),
    )
