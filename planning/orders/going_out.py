"""What is asked, and what is refused, before an order is approved or sent.

Nothing of it is guessed: whoever goes on says so, question by question. What a page
did not ask yet, as the cut-off passed while somebody read it, is not answered by it.
"""

from collections.abc import Collection, Sequence
from datetime import datetime
from enum import StrEnum

from django.utils.translation import gettext_lazy

from planning.engine.costing import lacking_to_minimum
from planning.errors import OrderDayOverError, OrderQuestionsError
from planning.models import Order, OrderLine
from planning.orders.order_sheets import stored_sheet
from planning.plan.order_terms import terms_of_supplier
from stock.calendar.calendar_words import date_words
from stock.models import Bakery


class Question(StrEnum):
    """What somebody has to say yes to, as the pages send it."""

    DAY_OVER = "day over"  # only of an order that may have been sent in time
    CUT_OFF = "cut-off"
    MINIMUM = "minimum"


QUESTION_WORDS = {
    Question.DAY_OVER: gettext_lazy("Was it sent to {supplier} in time?"),
    Question.CUT_OFF: gettext_lazy("Will {supplier} still bring it? Phone first."),
    Question.MINIMUM: gettext_lazy(
        "Under the minimum it can't come, unless {supplier} agrees."
    ),
}


def question_words(question: Question, order: Order) -> str:
    """Return what is asked of an order that comes with its supplier."""
    return QUESTION_WORDS[question].format(supplier=order.supplier.name)


def is_cut_off_over(order_by: datetime | None, *, at: datetime) -> bool:
    """Whether the last moment to order is over; what nobody knows is not."""
    return order_by is not None and order_by < at


def is_day_over(order: Order, *, at: datetime, bakery: Bakery) -> bool:
    """Whether the day of its delivery is over, on the bakery's clock."""
    return order.deliver_on < at.astimezone(bakery.zone).date()


def is_too_late_for(to: str, order: Order, *, at: datetime, bakery: Bakery) -> bool:
    """Whether a step is not taken at all: no approving once its day is over."""
    return to == Order.State.APPROVED and is_day_over(order, at=at, bakery=bakery)


def questions_before(
    to: str,
    order: Order,
    lines: Sequence[OrderLine],
    *,
    at: datetime,
    bakery: Bakery,
) -> tuple[Question, ...]:
    """Return what is asked before an order is approved or sent. No query.

    Its lines come with their packs, the order with its supplier. The minimum is asked
    about once: what is approved does not change any more.
    """
    found = []
    if is_day_over(order, at=at, bakery=bakery):
        found.append(Question.DAY_OVER)
    elif is_cut_off_over(order.order_by, at=at):
        found.append(Question.CUT_OFF)
    goods_cost = stored_sheet(order, lines, bakery).goods_cost
    lacking = lacking_to_minimum(terms_of_supplier(order.supplier), goods_cost)
    if to == Order.State.APPROVED and lacking:
        found.append(Question.MINIMUM)
    return tuple(found)


def check_going_out(
    to: str,
    order: Order,
    lines: Sequence[OrderLine],
    *,
    at: datetime,
    answered: Collection[str],
    bakery: Bakery,
) -> None:
    """Refuse a step whose questions are not all answered; see `questions_before`.

    What nobody approved by its delivery day is not approved at all.
    """
    if is_too_late_for(to, order, at=at, bakery=bakery):
        raise OrderDayOverError(order.reference, date_words(order.deliver_on))
    asked = questions_before(to, order, lines, at=at, bakery=bakery)
    if unanswered := [question for question in asked if question not in answered]:
        sentences = [question_words(question, order) for question in unanswered]
        raise OrderQuestionsError(order.reference, unanswered, sentences)
