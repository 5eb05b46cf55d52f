"""What to mind before an order goes out: its cut-off, its minimum, its packs."""

from datetime import date, datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from planning.engine.costing import lacking_to_minimum
from planning.models import Order, OrderLine
from planning.orders.going_out import (
    Question,
    is_cut_off_over,
    is_day_over,
    is_too_late_for,
    question_words,
    questions_before,
)
from planning.orders.order_book import BookedOrder
from planning.plan.order_terms import terms_of_pack, terms_of_supplier, truck_comes
from planning.web.orders.order_words import deliver_words, sold_words
from stock.models import Bakery
from stock.templatetags.words import moment_words, money, price
from stock.wording.names import capitalized

State = Order.State


def order_cautions(booked: BookedOrder, bakery: Bakery, *, now: datetime) -> list[str]:
    """Return what speaks against sending an order as it stands. No query."""
    today = _day(bakery, now)
    return [
        *_truck_cautions(booked, bakery, now, today),
        *_minimum_cautions(booked),
        *(
            sentence
            for line in booked.lines
            for sentence in line_cautions(line, bakery.currency)
        ),
    ]


def order_questions(
    booked: BookedOrder, bakery: Bakery, *, now: datetime
) -> list[tuple[Question, str]]:
    """Return what the next step of an unsent order asks, in words. No query."""
    order = booked.order
    next_steps = {State.DRAFT: State.APPROVED, State.APPROVED: State.SENT}
    to = next_steps.get(State(order.state))
    if to is None or is_too_late_for(to, order, at=now, bakery=bakery):
        return []
    asked = questions_before(to, order, booked.lines, at=now, bakery=bakery)
    return [(question, question_words(question, order)) for question in asked]


def line_cautions(line: OrderLine, currency: str) -> list[str]:
    """Return which of its pack's rules a line breaks. No query."""
    pack, terms = line.pack, terms_of_pack(line.pack).on(line.due_on)
    name = _("{label} of {name}").format(label=pack.label, name=pack.item.name)
    found = []
    if pack.retired:
        found.append(
            capitalized(_("{name} is no longer sold: remove it.").format(name=name))
        )
    if rule := sold_words(terms, line.packs, name):
        found.append(rule)
    price_now = terms.price_at(line.packs)
    if line.price != price_now:
        found.append(
            capitalized(
                _(
                    "{name} costs {price} now, but the order says {price2}: save the "
                    "lines to take the new price."
                ).format(
                    name=name,
                    price=price(price_now, currency),
                    price2=price(line.price, currency),
                )
            )
        )
    return found


def break_words(line: OrderLine, currency: str) -> str:
    """Return from how many packs on a line gets cheaper; nothing if it does not."""
    for step in terms_of_pack(line.pack).on(line.due_on).breaks:
        if step.from_packs > line.packs and step.price < line.price:
            each, now = price(step.price, currency), price(line.price, currency)
            return _("From {from_packs} on each costs {each} instead of {now}.").format(
                from_packs=step.from_packs, each=each, now=now
            )
    return ""


def minimum_words(booked: BookedOrder) -> str:
    """Return by how much the goods stay under the minimum; nothing if they do not."""
    terms, currency = terms_of_supplier(booked.order.supplier), booked.sheet.currency
    goods_cost = booked.sheet.goods_cost
    lacking = lacking_to_minimum(terms, goods_cost)
    if lacking <= Decimal(0):
        return ""
    return _(
        "The goods come to {money}; {name} asks for {money2} at least: {money3} more."
    ).format(
        money=money(goods_cost, currency),
        name=terms.name,
        money2=money(terms.minimum_order, currency),
        money3=money(lacking, currency),
    )


def _day(bakery: Bakery, now: datetime) -> date:
    return now.astimezone(bakery.zone).date()


def _minimum_cautions(booked: BookedOrder) -> list[str]:
    words = minimum_words(booked)
    return [words] if words else []


def _truck_cautions(
    booked: BookedOrder, bakery: Bakery, now: datetime, today: date
) -> list[str]:
    order, supplier = booked.order, booked.order.supplier
    day = deliver_words(order.deliver_on, today)
    if is_day_over(order, at=now, bakery=bakery):
        return [_("It was to be delivered {day}; that day is over.").format(day=day)]
    found = []
    if not truck_comes(supplier, bakery, order.deliver_on):
        found.append(
            capitalized(
                _("{name} does not deliver {day}.").format(name=supplier.name, day=day)
            )
        )
    if order.order_by is not None and is_cut_off_over(order.order_by, at=now):
        found.append(
            _(
                "The cut-off was {moment}: ask {name} whether it can still come {day}."
            ).format(
                moment=moment_words(order.order_by, today), name=supplier.name, day=day
            )
        )
    return found
