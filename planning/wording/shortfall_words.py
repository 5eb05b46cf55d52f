"""What runs short and what still saves it, in words: the same everywhere.

An item's name may be one or many (flour, hazelnuts), so no verb ever follows it.
"""

from collections.abc import Mapping
from typing import Protocol

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.kitchen import DecidedLine, Kitchen
from planning.engine.plan import Remedy, Shortfall, ShortfallKind
from planning.engine.scenarios.ways_out import Way, WaysOut
from planning.engine.shortfalls.after_orders import StillLacking
from planning.plan.amount_words import AmountWords
from planning.plan.telling import Telling
from planning.sentences.words import capitalized

# As a sentence of its own, under the item's name.
UNDER_ITS_NAME = {
    ShortfallKind.OUT: gettext_lazy("runs out {day}, {amount} short"),
    ShortfallKind.BELOW_SAFETY: gettext_lazy(
        "falls below safety {day}, by up to {amount}"
    ),
    ShortfallKind.BELOW_PAR: gettext_lazy(
        "falls below par {day}, up to {amount} to reach it"
    ),
}
# Behind the item's name, in one line with it.
BEHIND_ITS_NAME = {
    ShortfallKind.OUT: gettext_lazy("out {day}, {amount} short"),
    ShortfallKind.BELOW_SAFETY: gettext_lazy("below safety {day}, by up to {amount}"),
    ShortfallKind.BELOW_PAR: gettext_lazy(
        "below par {day}, up to {amount} to reach it"
    ),
}
NEVER_USABLE = gettext_lazy(
    "expires before a delivery of it can be used: buy it by hand, or correct its "
    "shelf life"
)
NOT_SOLD = gettext_lazy("no supplier sells it: give it a pack, or buy it by hand")
TOO_LATE = gettext_lazy(
    "too late for any delivery: buy it by hand, or change the bake plan"
)
LATE = gettext_lazy(
    "{supplier} is too late, {day}: buy {amount} elsewhere and order that much less"
)
ORDERED_TOO = gettext_lazy(
    "{name}: also ordered from {supplier} for {day}. Order that much less."
)
BESIDE_ORDERS = gettext_lazy(
    "no delivery brings all of it: buy {amount} elsewhere beside what is ordered"
)
# The same as the heading of several.
ALL_LATE = gettext_lazy(
    "too late, though ordered: buy it elsewhere and order that much less"
)
ALL_BESIDE_ORDERS = gettext_lazy(
    "too late for some of it: buy that elsewhere beside what is ordered"
)
PART_LOST = gettext_lazy("; for some of it every delivery is too late")
NOT_KEPT_UNTIL = gettext_lazy("no delivery comes before then: {order}")
NO_DELIVERY = gettext_lazy(
    "no delivery that can still be ordered comes before the plan ends"
)

WITHOUT_DELIVERY = {
    Way.NOT_SOLD: NOT_SOLD,
    Way.NEVER_USABLE: NEVER_USABLE,
    Way.TOO_LATE: TOO_LATE,
    Way.NO_DELIVERY: NO_DELIVERY,
}


class LookAhead(Protocol):
    """What was worked out from a kitchen: a whole plan, or less than one."""

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen that the shortfalls speak of."""

    @property
    def words(self) -> AmountWords:
        """The words its amounts are said in."""

    @property
    def ways_out(self) -> WaysOut:
        """What can still be done about its shortfalls."""

    @property
    def still_lacking(self) -> Mapping[int, StillLacking]:
        """What lacks although the orders come, by node; empty where none are known."""


def shortfall_words(ahead: LookAhead, row: Shortfall, tell: Telling) -> str:
    """Return what happens to an item, in words with its figures."""
    return UNDER_ITS_NAME[row.kind].format(
        day=tell.day(row.first_on),
        amount=ahead.words.content(row.node, row.short_base),
    )


def named_shortfall_words(ahead: LookAhead, row: Shortfall, tell: Telling) -> str:
    """Return the same with the item's name before it: `Hazelnuts: out on Friday`."""
    what = BEHIND_ITS_NAME[row.kind].format(
        day=tell.on_day(row.first_on),
        amount=ahead.words.content(row.node, row.short_base),
    )
    return f"{capitalized(ahead.kitchen.nodes.names[row.node])}: {what}"


def remedy_words(ahead: LookAhead, row: Shortfall, tell: Telling) -> str:
    """Return what can still be done about a shortfall."""
    out = ahead.ways_out.of(row)
    if out.delivery is None:
        return _without_delivery(ahead, row, out.way, tell)
    order = _order_words(ahead, out.delivery, tell)
    if out.waiting is not None:
        order = _send_words(ahead, out.waiting, out.delivery, tell)
    if out.way is Way.NEXT_DELIVERY:
        return NOT_KEPT_UNTIL.format(order=order)
    return f"{order}{PART_LOST if out.is_part_lost else ''}"


def without_delivery_heading(ahead: LookAhead, row: Shortfall, way: Way) -> str:
    """Return what is left to do where no delivery helps in time, of several items."""
    still = left_by_orders(ahead, row, way)
    if still is None:
        return str(WITHOUT_DELIVERY[way])
    return str(ALL_LATE if still.late is not None else ALL_BESIDE_ORDERS)


def ordered_too_words(ahead: LookAhead, node: int, tell: Telling) -> str:
    """Return that what is bought by hand is on an order too; blank where it is not."""
    still = ahead.still_lacking.get(node)
    if still is None or still.late is None:
        return ""
    return ORDERED_TOO.format(
        name=capitalized(ahead.kitchen.nodes.names[node]),
        supplier=ahead.kitchen.suppliers[still.late.supplier].name,
        day=_late_day(still, tell),
    )


def _late_day(still: StillLacking, tell: Telling) -> str:
    """Return when a late delivery comes, and from when it helps if that is later."""
    if still.late is None or still.there_on is None:
        return ""
    day = tell.day(still.late.deliver_on)
    if still.there_on == still.late.deliver_on:
        return day
    return _("{day}, usable {day2}").format(day=day, day2=tell.day(still.there_on))


def _without_delivery(ahead: LookAhead, row: Shortfall, way: Way, tell: Telling) -> str:
    still = left_by_orders(ahead, row, way)
    if still is None:
        return str(WITHOUT_DELIVERY[way])
    amount = ahead.words.content(row.node, still.short_base)
    if amount != ahead.words.content(row.node, row.short_base):
        amount = _("{amount} of it").format(amount=amount)
    if still.late is None:
        return BESIDE_ORDERS.format(amount=amount)
    return LATE.format(
        supplier=ahead.kitchen.suppliers[still.late.supplier].name,
        day=_late_day(still, tell),
        amount=amount,
    )


def left_by_orders(ahead: LookAhead, row: Shortfall, way: Way) -> StillLacking | None:
    """Return what orders leave of a shortfall, where they bring some of it.

    What is on the orders is not to be bought by hand once more.
    """
    still = ahead.still_lacking.get(row.node)
    is_ordered = still is not None and still.is_ordered
    return still if way is Way.TOO_LATE and is_ordered else None


def _order_words(ahead: LookAhead, delivery: Remedy, tell: Telling) -> str:
    supplier = ahead.kitchen.suppliers[delivery.supplier].name
    return _("order from {supplier} by {moment} for {day}").format(
        supplier=supplier,
        moment=tell.moment(delivery.order_by),
        day=tell.day(delivery.deliver_on),
    )


def _send_words(
    ahead: LookAhead, line: DecidedLine, delivery: Remedy, tell: Telling
) -> str:
    """Return which order brings it that waits to be sent, and by when to send it."""
    supplier = ahead.kitchen.suppliers[delivery.supplier].name
    to_do = _("send") if line.is_approved else _("approve and send")
    return _("{to_do} {reference} to {supplier} by {moment} for {day}").format(
        to_do=to_do,
        reference=line.reference,
        supplier=supplier,
        moment=tell.moment(delivery.order_by),
        day=tell.day(delivery.deliver_on),
    )
