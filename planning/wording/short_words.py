"""A shortfall at a glance: its gap and what is left to do, each in a few words.

In full it is said by `shortfall_words`; both read the same way out.
"""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.plan import Shortfall, ShortfallKind
from planning.engine.scenarios.ways_out import Way
from planning.plan.telling import Telling
from planning.sentences.words import capitalized
from planning.wording.shortfall_words import LookAhead, left_by_orders

GAPS = {
    ShortfallKind.OUT: gettext_lazy("{amount} short"),
    ShortfallKind.BELOW_SAFETY: gettext_lazy("{amount} below safety"),
    ShortfallKind.BELOW_PAR: gettext_lazy("{amount} to reach par"),
}
WITHOUT_DELIVERY = {
    Way.NOT_SOLD: gettext_lazy("No supplier sells it: buy by hand."),
    Way.NEVER_USABLE: gettext_lazy("Expires before use: buy by hand."),
    Way.TOO_LATE: gettext_lazy("Too late to order: buy by hand."),
    Way.NO_DELIVERY: gettext_lazy("No delivery before the plan ends."),
}
BUY_ALL = gettext_lazy("Too late for all of it: buy elsewhere.")
BUY_PART = gettext_lazy("Too late for {amount} of it: buy elsewhere.")
NEXT_DELIVERY = gettext_lazy("No delivery before then: {order}.")
PART_LOST = gettext_lazy("; buy the rest elsewhere")


def gap_words(ahead: LookAhead, row: Shortfall) -> str:
    """Return how much is missing, with the name of the gap: `3 lb short`."""
    return GAPS[row.kind].format(amount=ahead.words.content(row.node, row.short_base))


def brief_remedy_words(ahead: LookAhead, row: Shortfall, tell: Telling) -> str:
    """Return what is left to do, as one short sentence."""
    out = ahead.ways_out.of(row)
    if out.delivery is None:
        still = left_by_orders(ahead, row, out.way)
        if still is None:
            return str(WITHOUT_DELIVERY[out.way])
        amount = ahead.words.content(row.node, still.short_base)
        if amount == ahead.words.content(row.node, row.short_base):
            return str(BUY_ALL)
        return BUY_PART.format(amount=amount)
    moment = tell.moment(out.delivery.order_by)
    if out.waiting is None:
        order = _("order by {moment}").format(moment=moment)
    else:
        verb = _("send") if out.waiting.is_approved else _("approve")
        order = _("{verb} {reference} by {moment}").format(
            verb=verb, reference=out.waiting.reference, moment=moment
        )
    if out.way is Way.NEXT_DELIVERY:
        return NEXT_DELIVERY.format(order=order)
    return f"{capitalized(order)}{PART_LOST if out.is_part_lost else ''}."
