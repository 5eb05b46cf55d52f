"""What a plan warns of, in sentences: pages, commands and files say the same."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import singledispatchmethod
from typing import Protocol

from django.utils.translation import gettext as _

from planning.engine.kitchen import Kitchen, NodeKind
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
from planning.sentences.words import (
    capitalized,
    day_words,
    days_late_words,
    days_words,
    moment_words,
)


class Content(Protocol):
    """What says an amount of a node without packs."""

    def content(self, node: int, amount_base: float) -> str:
        """Return the amount in the words that people hold the thing in."""


def warnings_words(
    kitchen: Kitchen, amounts: Content, warnings: Iterable[PlanWarning]
) -> tuple[str, ...]:
    """Return warnings of a kitchen's plan, a sentence each, in their order."""
    words = _WarningWords(kitchen, amounts)
    return tuple(words.say(warning) for warning in warnings)


@dataclass(frozen=True)
class _WarningWords:
    """Says each kind of warning about one kitchen."""

    kitchen: Kitchen
    amounts: Content

    @singledispatchmethod
    def say(self, warning: PlanWarning) -> str:
        raise TypeError(f"no words for {type(warning).__name__}")

    @say.register
    def _overdue_cake(self, warning: OverdueCake) -> str:
        return _(
            "{reference} ({cake}) was due on {day}, before this plan begins, and "
            "counts for nothing in it. Mark it as baked or cancelled, or give it a new "
            "day."
        ).format(
            reference=warning.reference,
            cake=self.kitchen.nodes.names[warning.node],
            day=day_words(warning.due_on),
        )

    @say.register
    def _made_late(self, warning: MadeLate) -> str:
        return _(
            "{item} should have been made {days} before this plan begins; now planned "
            "for {day}, and so late. Make it first, or give its cakes a later day."
        ).format(
            item=self._name(warning.node),
            days=days_words(warning.days_late),
            day=day_words(warning.planned_on),
        )

    @say.register
    def _made_too_early(self, warning: MadeTooEarly) -> str:
        return _(
            "{item}: made on {made} to keep {days}, but needed on {needed}. Check its "
            "lead time and how long it keeps."
        ).format(
            item=self._name(warning.node),
            made=day_words(warning.made_on),
            days=days_words(warning.keeps_days),
            needed=day_words(warning.needed_on),
        )

    @say.register
    def _no_use_by(self, warning: NoUseBy) -> str:
        return _(
            "{item}: a lot in stock has no use-by date, so the plan takes it to keep "
            "for ever. Enter its use-by date."
        ).format(item=self._name(warning.node))

    @say.register
    def _left_over(self, warning: PartLeftOver) -> str:
        return _("{item}: use or freeze {quantity} left over on {day}.").format(
            item=self._name(warning.node),
            quantity=self.amounts.content(warning.node, warning.amount_base),
            day=day_words(warning.on),
        )

    @say.register
    def _retired_needed(self, warning: RetiredNeeded) -> str:
        return _retired_sentence(warning.kind).format(
            item=self._name(warning.node), day=day_words(warning.first_on)
        )

    @say.register
    def _overdue_order(self, warning: OverdueOrder) -> str:
        return _(
            "{item}: order {reference} from {supplier} was due on {day}, {late}. It "
            "isn't counted until it is received or gets a new day."
        ).format(
            item=self._name(warning.node),
            reference=warning.reference,
            supplier=self.kitchen.suppliers[warning.supplier].name,
            day=day_words(warning.due_on),
            late=days_late_words(warning.days_late),
        )

    @say.register
    def _not_counted(self, warning: NotCounted) -> str:
        cut_off = moment_words(warning.cut_off) if warning.cut_off else ""
        return _not_counted_sentence(warning).format(
            order=decided_order_words(
                warning.reference, is_approved=warning.is_approved
            ),
            supplier=self.kitchen.suppliers[warning.supplier].name,
            day=day_words(warning.deliver_on),
            cut_off=cut_off,
        )

    @say.register
    def _stock_unknown(self, warning: StockUnknownBefore) -> str:
        return _(
            "Stock is known only from {moment} on; the plan takes it as having stood "
            "there before."
        ).format(moment=f"{warning.first_at:%Y-%m-%d %H:%M}")

    def _name(self, node: int) -> str:
        return capitalized(self.kitchen.nodes.names[node])


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
