"""What a change of the bake plan sets free, in sentences.

Made stock that nobody takes any more, goods of orders that were sent, with their
use-by dates, and orders not sent yet that ask for too much.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.bakeplan.too_large import packs_by_truck, too_large
from planning.engine.plan import SuggestedOrder
from planning.engine.scenarios.freed import (
    LEAST_FREED_BASE,
    Freed,
    SeenPlan,
    find_freed,
)
from planning.orders.drafting import waiting_by_truck
from planning.plan.outlook import Outlook
from planning.plan.planner import plan_kitchen
from planning.plan.telling import Telling
from planning.sentences.packs import counted_packs
from planning.sentences.words import capitalized, listed
from stock.models import Bakery

MOST_NAMED = 5  # of one kind
NOTHING = gettext_lazy("It frees nothing that is made, drafted or ordered.")

MADE = gettext_lazy("{name}: {amount} made already is free{use_by}.")
SENT = gettext_lazy(
    "{name}: {amount} of {orders}, sent already, will be left over{share}{use_by}."
)
SHARE = gettext_lazy(", {amount} of it because of this change")
ON_HAND = gettext_lazy("{name}: {amount} on hand will expire unused{use_by}.")
TOO_LARGE = gettext_lazy(
    "{order}, {state}, asks for too much: {name}, {packs}; {enough}."
)
MORE = gettext_lazy("{count} more of this kind.")


@dataclass(frozen=True)
class BeforeAndAfter:
    """The bake plan as it is and as it would be, seen by the same clock."""

    bakery: Bakery
    before: Outlook
    after: Outlook


def freed_sentences(change: BeforeAndAfter, tell: Telling) -> list[str]:
    """Return what a change sets free, what must be used first on top.

    Two queries, for the orders that were not sent yet; they are planned for twice only
    where there are any.
    """
    before, after = _seen(change.before), _seen(change.after)
    if before is None or after is None:
        return []
    found = find_freed(before, after)
    return [
        *_said(change.after, found.on_order, str(SENT), tell),
        *_short(_too_large_sentences(change, tell)),
        *_said(change.after, found.made, str(MADE), tell),
        *_said(change.after, found.on_hand, str(ON_HAND), tell),
    ]


def _seen(outlook: Outlook) -> SeenPlan | None:
    if outlook.projection is None:
        return None
    return SeenPlan(
        outlook.kitchen, outlook.window, outlook.explosion, outlook.projection
    )


def _said(
    outlook: Outlook, freed: Iterable[Freed], pattern: str, tell: Telling
) -> list[str]:
    names = outlook.kitchen.nodes.names
    sentences = (
        pattern.format(
            name=capitalized(names[each.node]),
            amount=outlook.words.content(
                each.node, each.amount_base + each.left_anyway_base
            ),
            share=_share(outlook, each),
            orders=listed(each.references, len(each.references)),
            use_by=_(", use by {day}").format(day=tell.day(each.use_by))
            if each.use_by
            else "",
        )
        for each in freed
    )
    return _short(sentences)


def _share(outlook: Outlook, freed: Freed) -> str:
    """Return how much the change itself sets free; blank where it is all of it."""
    if freed.left_anyway_base < LEAST_FREED_BASE:
        return ""
    return SHARE.format(amount=outlook.words.content(freed.node, freed.amount_base))


def _short(sentences: Iterable[str]) -> list[str]:
    found = list(sentences)
    if len(found) <= MOST_NAMED:
        return found
    more = MORE.format(count=len(found) - MOST_NAMED)
    return [*found[:MOST_NAMED], more]


def _too_large_sentences(change: BeforeAndAfter, tell: Telling) -> Iterator[str]:
    """Yield which orders, not sent yet, ask for more than is needed after it."""
    waiting = waiting_by_truck()
    if not waiting:
        return
    was, now = (
        packs_by_truck(_suggested(change.bakery, outlook), outlook.kitchen)
        for outlook in (change.before, change.after)
    )
    kitchen = change.after.kitchen
    for each in too_large(waiting, was, now, kitchen):
        yield TOO_LARGE.format(
            order=f"{each.order.reference} {tell.on_day(each.order.deliver_on)}",
            state=f"{each.order.get_state_display().lower()}",
            name=kitchen.nodes.names[each.pack.node],
            packs=counted_packs(each.pack, each.packs),
            enough=_("{enough:,} is enough").format(enough=each.enough)
            if each.enough
            else _("none is needed"),
        )


def _suggested(bakery: Bakery, outlook: Outlook) -> tuple[SuggestedOrder, ...]:
    """Return what is needed, whatever was approved or changed by hand already."""
    kitchen = replace(outlook.kitchen, decided=())
    planned = plan_kitchen(bakery, kitchen, outlook.window, outlook.words)
    return planned.plan.purchasing.orders
