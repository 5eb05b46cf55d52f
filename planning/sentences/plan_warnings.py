"""What a plan warns of, in sentences: pages, commands and files say the same."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from planning.engine.kitchen import NodeKind
from planning.engine.plan_warnings import (
    MadeLate,
    MadeTooEarly,
    NotCounted,
    NoUseBy,
    OverdueCake,
    OverdueOrder,
    PartLeftOver,
    PlanWarning,
    RetiredNeeded,
    StockUnknownBefore,
    WhyNot,
)
from planning.sentences.teller import Teller, sentence
from planning.sentences.words import (
    day_words,
    days_late_words,
    days_words,
    moment_words,
)


def warnings_words(warnings: Iterable[PlanWarning], to: Teller) -> tuple[str, ...]:
    """Return warnings of a plan, a sentence each, in their order."""
    return tuple(sentence(warning, to) for warning in warnings)


@sentence.register
def overdue_cake_words(warning: OverdueCake, to: Teller) -> str:
    """Return which planned cake was due before the plan begins."""
    return _(
        "{reference} ({cake}) was due on {day}, before this plan begins, and is "
        "left out. Mark it as baked or cancelled, or give it a new day."
    ).format(
        reference=warning.reference,
        cake=to.item(warning.node),
        day=day_words(warning.due_on),
    )


@sentence.register
def made_late_words(warning: MadeLate, to: Teller) -> str:
    """Return what should have been made by now."""
    return _(
        "{item} should have been made {days} before this plan begins; now planned "
        "for {day}, and so late. Make it first, or give its cakes a later day."
    ).format(
        item=to.heading(warning.node),
        days=days_words(warning.days_late),
        day=day_words(warning.planned_on),
    )


@sentence.register
def made_too_early_words(warning: MadeTooEarly, to: Teller) -> str:
    """Return what is made for a need later than it keeps."""
    return _(
        "{item}: made on {made} to keep {days}, but needed on {needed}. Check its "
        "lead time and how long it keeps."
    ).format(
        item=to.heading(warning.node),
        made=day_words(warning.made_on),
        days=days_words(warning.keeps_days),
        needed=day_words(warning.needed_on),
    )


@sentence.register
def no_use_by_words(warning: NoUseBy, to: Teller) -> str:
    """Return what stands in stock without a use-by date."""
    return _(
        "{item}: a lot in stock has no use-by date, so the plan takes it to keep "
        "for ever. Enter its use-by date."
    ).format(item=to.heading(warning.node))


@sentence.register
def left_over_words(warning: PartLeftOver, to: Teller) -> str:
    """Return how much of a part is left over."""
    return _("{item}: use or freeze {quantity} left over on {day}.").format(
        item=to.heading(warning.node),
        quantity=to.content(warning.node, warning.amount_base),
        day=day_words(warning.on),
    )


@sentence.register
def retired_needed_words(warning: RetiredNeeded, to: Teller) -> str:
    """Return what is retired and still needed."""
    return _retired_sentence(warning.kind).format(
        item=to.heading(warning.node), day=day_words(warning.first_on)
    )


@sentence.register
def overdue_order_words(warning: OverdueOrder, to: Teller) -> str:
    """Return which open order should have come."""
    return _(
        "{item}: order {reference} from {supplier} was due on {day}, {late}. It "
        "isn't counted until it is received or gets a new day."
    ).format(
        item=to.heading(warning.node),
        reference=warning.reference,
        supplier=to.supplier(warning.supplier),
        day=day_words(warning.due_on),
        late=days_late_words(warning.days_late),
    )


@sentence.register
def not_counted_words(warning: NotCounted, to: Teller) -> str:
    """Return which decided order cannot come, and why."""
    cut_off = moment_words(warning.cut_off) if warning.cut_off else ""
    return _not_counted_sentence(warning).format(
        order=decided_order_words(warning.reference, is_approved=warning.is_approved),
        supplier=to.supplier(warning.supplier),
        day=day_words(warning.deliver_on),
        cut_off=cut_off,
    )


@sentence.register
def stock_unknown_words(warning: StockUnknownBefore, _to: Teller) -> str:
    """Return since when stock is known."""
    return _(
        "Stock is known only from {moment} on; the plan takes it as having stood "
        "there before."
    ).format(moment=f"{warning.first_at:%Y-%m-%d %H:%M}")


def _retired_sentence(kind: NodeKind) -> str:
    if kind is NodeKind.BOUGHT:
        return _(
            "{item}: retired, but needed from {day} on, and neither watched nor "
            "ordered. Remove it from its recipes, or bring it back on its page."
        )
    if kind is NodeKind.CAKE:
        return _(
            "{item}: retired, but needed from {day} on. Bring it back on its page, or "
            "cancel what is planned of it."
        )
    return _(
        "{item}: retired, but needed from {day} on. Remove it from the recipes, or "
        "bring it back on its page."
    )


def _not_counted_sentence(warning: NotCounted) -> str:
    if warning.why is WhyNot.PAST_CUT_OFF:
        return _past_cut_off_sentence(is_approved=warning.is_approved)
    return {
        WhyNot.SHOPPING_LIST: _(
            "{order}, from {supplier} for {day}, is a shopping list: the plan does not "
            "count on it."
        ),
        WhyNot.NEVER_SENT: _(
            "{order}, from {supplier} for {day}, was never sent. The plan does not "
            "count on it."
        ),
        WhyNot.NO_DELIVERY: _(
            "{order}, from {supplier} for {day}, cannot come: no delivery is possible "
            "that day. The plan does not count on it."
        ),
        WhyNot.NOT_SOLD: _(
            "{order}, from {supplier} for {day}, asks for a pack that is sold no more. "
            "The plan does not count on that line."
        ),
    }[warning.why]


def _past_cut_off_sentence(*, is_approved: bool) -> str:
    if is_approved:
        return _(
            "{order}, from {supplier} for {day}, was not sent by its cut-off, "
            "{cut_off}. The plan does not count on it. If it was sent, mark it as "
            "sent; else cancel it."
        )
    return _(
        "{order}, from {supplier} for {day}, was not sent by its cut-off, {cut_off}. "
        "The plan does not count on it. If it was sent, approve it and mark it as "
        "sent; else cancel it."
    )


def decided_order_words(reference: str, *, is_approved: bool) -> str:
    """Return an order that somebody decided on, as a sentence begins with it."""
    if is_approved:
        return _("Approved order {reference}").format(reference=reference)
    return _("Draft {reference} (changed by hand)").format(reference=reference)
