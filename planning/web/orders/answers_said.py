"""What suppliers have answered, as pages say it."""

from collections.abc import Iterable
from datetime import date, datetime

from django.utils.translation import gettext as _

from planning.models import Answer, Order
from planning.orders.order_book import BookedOrder
from planning.wording.answer_words import answer_words
from stock.templatetags.words import moment_words
from stock.wording.names import person_name


def all_answers(order: Order) -> list[Answer]:
    """Return all answers to an order, undone ones too, with their packs. One query."""
    rows = Answer.objects.filter(line__order=order).order_by("pk")
    return list(rows.select_related("line__pack__item", "pack__item", "by"))


def held_answers(order: Order) -> list[Answer]:
    """Return the answers that hold, as they were given. One query."""
    return [answer for answer in all_answers(order) if answer.undone_at is None]


def held_words(booked: BookedOrder, answers: Iterable[Answer]) -> list[str]:
    """Return the answers that hold, a sentence each. No query."""
    supplier = booked.order.supplier.name
    return [answer_words(each, supplier) for each in answers if each.undone_at is None]


def answer_moments(
    booked: BookedOrder, answers: Iterable[Answer], today: date
) -> list[tuple[datetime, str]]:
    """Return when which answer was noted or undone, for an order's history."""
    supplier = booked.order.supplier.name
    found = []
    for each in answers:
        words, by = answer_words(each, supplier), person_name(each.by, unknown="")
        noted = _("{answer} Noted {moment}.")
        if by:
            noted = _("{answer} Noted {moment} by {person}.")
        at = moment_words(each.at, today)
        found.append((each.at, noted.format(answer=words, moment=at, person=by)))
        if each.undone_at is not None:
            undone = _("No longer holds since {moment}: {answer}")
            since = moment_words(each.undone_at, today)
            found.append((each.undone_at, undone.format(moment=since, answer=words)))
    return found
