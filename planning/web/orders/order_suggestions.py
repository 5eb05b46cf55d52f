"""The orders that the plan suggests, each with what there is of it already."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from itertools import accumulate, groupby

from django.forms import BoundField
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.engine.kitchen import SupplierDay
from planning.engine.plan import SuggestedOrder
from planning.exports.order_sheet import OrderSheet
from planning.models import Order
from planning.orders.drafting import (
    is_a_persons,
    is_as_suggested,
    truck_of,
    waiting_by_truck,
)
from planning.orders.order_sheets import suggested_sheet
from planning.plan.planner import Planned
from planning.sentences.words import capitalized, listed
from planning.web.orders.order_tables import OrderLinesTable, suggested_rows
from planning.web.orders.order_words import (
    deliver_words,
    order_by_words,
    packs_words,
)
from planning.web.orders.search_form import SearchForm
from planning.web.orders.search_words import WHAT_COUNTS
from planning.web.page_words import order_anchor
from planning.wording.better_words import better_words
from stock.templatetags.words import day_words, money

# Orders of so many lines are shown in full: what fits a phone in two screens. The next
# one always is; what is ordered later is folded away, by day.
LINES_SHOWN = 6
MOST_LINES_NAMED = 4


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One truck that the plan would order."""

    supplier_id: int
    deliver_on: date
    anchor: str  # the name of its place on the page
    day_words: str
    deliver_words: str
    order_by_words: str
    order_by: datetime
    order_on: date
    is_last_day: bool  # to order it
    sheet: OrderSheet
    table: OrderLinesTable
    draft: Order | None  # the order that waits for this truck
    is_drafted: bool  # and says the same, or is a person's own
    lacking: Sequence[str] = ()  # packs beyond those of an order that a person decided
    wish: BoundField | None = None  # whether to prefer or to forbid it
    wished: str = ""  # which of the two it is already

    @property
    def is_shown_as_draft(self) -> bool:
        """Whether the draft that waits says just this."""
        return (
            self.is_drafted and self.draft is not None and not is_a_persons(self.draft)
        )

    @property
    def is_approved(self) -> bool:
        """Whether somebody approved all of it, so that it is only to be sent."""
        is_approved = self.draft and self.draft.state == Order.State.APPROVED
        return bool(is_approved) and not self.lacking

    @property
    def draft_words(self) -> str:
        """How the waiting order stands to what is suggested now."""
        if self.draft is None:
            return ""
        reference = self.draft.reference
        if not self.is_drafted:
            return _(
                "{reference} is from an earlier plan; drafting brings it up to date."
            ).format(reference=reference)
        if self.is_shown_as_draft:
            return _("{reference} is drafted just so.").format(reference=reference)
        done = self.draft.get_state_display().lower()
        if self.draft.state == Order.State.DRAFT:
            done = (
                _("changed by hand") if self.draft.changed_at else _("started by hand")
            )
        if self.lacking:
            more = listed(self.lacking, MOST_LINES_NAMED)
            return _(
                "{reference} was {done}, so it stays as it is. The plan asks for "
                "{more} more."
            ).format(reference=reference, done=done, more=more)
        to_do = _("Send") if self.draft.state == Order.State.APPROVED else _("Approve")
        return _("{reference} was {done} and brings all of this. {to_do} it.").format(
            reference=reference, done=done, to_do=to_do
        )


@dataclass(frozen=True, slots=True)
class OrderDay:
    """The trucks that are to be ordered by one day."""

    on: date
    words: str  # the day, how many orders, and what they come to
    trucks: list[Suggestion]


@dataclass(frozen=True, slots=True)
class OrderDays:
    """Trucks by the day to order them by: the next ones, and those folded away."""

    soon: list[Suggestion]
    later: list[OrderDay]


def by_order_day(trucks: Sequence[Suggestion], today: date) -> OrderDays:
    """Return trucks by the last day to order them, the soonest first."""
    in_order = sorted(trucks, key=lambda truck: truck.order_by)
    lines = accumulate(len(truck.sheet.lines) for truck in in_order)
    shown = max(1, sum(count <= LINES_SHOWN for count in lines))
    days = groupby(in_order[shown:], key=lambda truck: truck.order_on)
    return OrderDays(
        soon=in_order[:shown],
        later=[
            OrderDay(on, _day_sum_words(on, trucks, today), trucks)
            for on, group in days
            for trucks in [list(group)]
        ],
    )


def _day_sum_words(on: date, trucks: Sequence[Suggestion], today: date) -> str:
    count = ngettext("{count} order", "{count} orders", len(trucks)).format(
        count=len(trucks)
    )
    total = sum((truck.sheet.total_cost for truck in trucks), Decimal(0))
    amount = money(total, trucks[0].sheet.currency)
    return _("To order by {day}: {count}, {amount}").format(
        day=day_words(on, today), count=count, amount=amount
    )


@dataclass(frozen=True, slots=True)
class Suggestions:
    """All trucks that the plan would order, and what it warns of."""

    today: date
    trucks: list[Suggestion]
    stale: list[str]  # drafts that nothing asks for any more
    usual_words: str  # how all of them stand to the usual rule
    is_found: bool  # by a search for better orders
    warnings: list[str]

    @property
    def all_trucks(self) -> set[SupplierDay]:
        """Which deliveries they are for."""
        return {SupplierDay(each.supplier_id, each.deliver_on) for each in self.trucks}

    @property
    def to_buy(self) -> list[Suggestion]:
        """The trucks that nobody has approved as they are."""
        return [truck for truck in self.trucks if not truck.is_approved]

    @property
    def to_buy_words(self) -> str:
        """How many orders are to be bought, and what they come to with delivery."""
        trucks = self.to_buy
        if not trucks:
            return ""
        count = ngettext("{count} order", "{count} orders", len(trucks)).format(
            count=len(trucks)
        )
        total = sum((truck.sheet.total_cost for truck in trucks), Decimal(0))
        amount = money(total, trucks[0].sheet.currency)
        return _("{count} for {amount} in all, delivery included.").format(
            count=count, amount=amount
        )

    @property
    def approved_words(self) -> str:
        """Which orders of the plan are approved and only to be sent; or blank."""
        approved = [
            truck.draft.reference
            for truck in self.trucks
            if truck.draft and truck.is_approved
        ]
        if not approved:
            return ""
        is_one = len(approved) == 1
        return _("{approved} {value} approved: send {value2}.").format(
            approved=listed(approved, MOST_LINES_NAMED),
            value=_("is") if is_one else _("are"),
            value2=_("it") if is_one else _("them"),
        )

    @property
    def shown(self) -> list[Suggestion]:
        """The trucks to buy that no draft of the plan's own shows already."""
        return [truck for truck in self.to_buy if not truck.is_shown_as_draft]

    @property
    def days(self) -> OrderDays:
        """All trucks by the day to order them by."""
        return by_order_day(self.trucks, self.today)

    @property
    def shown_days(self) -> OrderDays:
        """Those that no draft shows already, by the day to order them by."""
        return by_order_day(self.shown, self.today)

    @property
    def drafts_at_risk(self) -> list[str]:
        """The drafts that drafting again would change or drop."""
        changed = [
            truck.draft.reference
            for truck in self.trucks
            if truck.draft and not truck.is_drafted
        ]
        return sorted({*changed, *self.stale})

    @property
    def drafted_words(self) -> str:
        """How many trucks the drafts show as the plan suggests them."""
        count = len(self.to_buy) - len(self.shown)
        if not count:
            return ""
        if count == len(self.to_buy):
            return _("All of it is drafted: review it below.")
        which = _("{count} of them {value}").format(
            count=count, value=_("is") if count == 1 else _("are")
        )
        return _("{which} drafted already: see below.").format(which=which)

    @property
    def has_news(self) -> bool:
        """Whether drafting would change anything."""
        return bool(self.stale) or any(not truck.is_drafted for truck in self.trucks)

    @property
    def draft_label(self) -> str:
        """What the button that drafts them says."""
        has_drafts = self.stale or any(truck.draft for truck in self.trucks)
        return _("Draft these orders again") if has_drafts else _("Draft these orders")


def suggestions(
    planned: Planned, *, now: datetime, form: SearchForm | None = None
) -> Suggestions:
    """Return what the plan would order, beside what waits already. Two queries.

    With a form of wishes each line can be fixed, each delivery preferred or forbidden.
    """
    waiting = waiting_by_truck()
    purchasing = planned.plan.purchasing
    trucks = [
        _suggestion(
            planned, order, waiting.pop(truck_of(planned, order), None), now, form
        )
        for order in purchasing.orders
    ]
    return Suggestions(
        today=timezone.localdate(now),
        trucks=trucks,
        stale=_stale(waiting.items()),
        usual_words=_usual_words(planned),
        is_found=planned.usual is not None,
        warnings=[*planned.uncounted, *planned.order_warnings],
    )


def _suggestion(
    planned: Planned,
    order: SuggestedOrder,
    draft: Order | None,
    now: datetime,
    form: SearchForm | None,
) -> Suggestion:
    today, truck = timezone.localdate(now), truck_of(planned, order)
    wished = form.truck_words(*truck) if form else ""
    sheet = suggested_sheet(planned.kitchen, order, planned.bakery)
    day = deliver_words(order.deliver_on, today)
    return Suggestion(
        supplier_id=truck.supplier_id,
        deliver_on=truck.deliver_on,
        anchor=order_anchor(truck.supplier_id, truck.deliver_on),
        day_words=day_words(order.deliver_on, today),
        deliver_words=day,
        order_by_words=order_by_words(order.order_by, now=now, today=today),
        order_by=order.order_by,
        order_on=timezone.localdate(order.order_by),
        is_last_day=timezone.localdate(order.order_by) == today,
        sheet=sheet,
        table=OrderLinesTable(
            suggested_rows(planned, order, form),
            caption=_(
                "What {supplier} would bring {day}, prices in {currency}."
            ).format(supplier=sheet.supplier, day=day, currency=sheet.currency),
            currency=sheet.currency,
        ),
        draft=draft,
        is_drafted=draft is not None
        and (is_a_persons(draft) or is_as_suggested(draft, order)),
        lacking=_lacking(planned, order, draft),
        wish=form.truck_field(*truck) if form and not wished else None,
        wished=wished,
    )


def _lacking(planned: Planned, order: SuggestedOrder, draft: Order | None) -> list[str]:
    """Return what is suggested beyond what a waiting order asks for."""
    if draft is None:
        return []
    has = {line.pack_id: line.packs for line in draft.lines.all()}
    names = planned.kitchen.nodes.names
    return [
        _("{packs} of {names}").format(
            packs=packs_words(more, line.pack.label), names=names[line.pack.node]
        )
        for line in order.lines
        if (more := line.packs - has.get(line.pack.pack_id, 0)) > 0
    ]


def _stale(waiting: Iterable[tuple[SupplierDay, Order]]) -> list[str]:
    return [order.reference for _, order in waiting if not is_a_persons(order)]


def _usual_words(planned: Planned) -> str:
    """Return how that stands to the usual way of buying."""
    if planned.usual is None:
        return _("By the usual rule.")
    return f"{capitalized(better_words(planned))} {WHAT_COUNTS}."
