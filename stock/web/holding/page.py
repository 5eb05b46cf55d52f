"""Holds: which lots are set aside, and why?"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from stock.conversion import converters
from stock.holding.wording import lot_words
from stock.measures.conversion import Converter
from stock.models import Balance, Hold
from stock.templatetags.words import moment_words
from stock.web.amounts import Amount
from stock.wording.names import person_name


@dataclass(frozen=True, slots=True)
class Held:
    """A lot on hold, in words."""

    hold: Hold
    words: str
    amount: Amount
    places: str
    when: str
    who: str


def holds(request: HttpRequest) -> HttpResponse:
    """Show the lots that are on hold, the latest first. Four queries."""
    rows = Hold.objects.filter(released_at=None)
    found = list(rows.select_related("lot__item", "held_by"))
    return render(request, "stock/holds.html", {"held": _held(found)})


def _held(rows: list[Hold]) -> list[Held]:
    today = timezone.localdate()
    known = converters.converters_for({row.lot.item_id for row in rows})
    lies: dict[int, list[Balance]] = defaultdict(list)
    balances = Balance.objects.filter(lot__in=[row.lot_id for row in rows])
    for each in balances.exclude(amount_base=0).select_related("place"):
        lies[each.lot_id].append(each)
    return [_one(row, lies[row.lot_id], known[row.lot.item_id], today) for row in rows]


def _one(row: Hold, lies: list[Balance], converter: Converter, today: date) -> Held:
    total_base = sum((each.amount_base for each in lies), Decimal(0))
    return Held(
        hold=row,
        words=lot_words(row.lot),
        amount=Amount(total_base, converter),
        places=", ".join(each.place.name for each in lies),
        when=moment_words(row.held_at, today),
        who=person_name(row.held_by),
    )
