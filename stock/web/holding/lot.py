"""A lot: where does it lie, is it on hold, what did it go into?"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from stock.conversion import converters
from stock.errors import StockError
from stock.holding.holding import hold_lot, release_hold
from stock.holding.wording import lot_words
from stock.measures.conversion import Converter
from stock.models import Hold, Lot, Movement
from stock.models.holds import LONGEST_REASON
from stock.web.amounts import Amount
from stock.web.shelves.history import HistoryRow, history_rows, with_document
from stock.web.shelves.history_table import MovementsTable

LATEST_MOVEMENTS = 200


@dataclass(frozen=True, slots=True)
class WentInto:
    """So much of the lot went into something."""

    row: HistoryRow  # the latest of it, that speaks for all
    used: Amount


def lot(request: HttpRequest, lot_id: int) -> HttpResponse:
    """Show a lot."""
    row = get_object_or_404(Lot.objects.select_related("item"), pk=lot_id)
    return render(request, "stock/lot.html", _context(row))


@require_POST
def hold(request: HttpRequest, lot_id: int) -> HttpResponse:
    """Put a lot on hold; what is refused stands beside the field."""
    row = get_object_or_404(Lot.objects.select_related("item"), pk=lot_id)
    reason = request.POST.get("reason", "")
    try:
        hold_lot(lot_id, reason=reason, by_id=request.user.pk)
    except StockError as error:
        context = {"problem": str(error), "reason": reason}
        return render(request, "stock/lot.html", _context(row) | context)
    words = lot_words(row)
    messages.success(request, f"{words} is on hold: out of the plan and of use.")
    return redirect("stock:lot", lot_id)


@require_POST
def release(request: HttpRequest, hold_id: int) -> HttpResponse:
    """Release a hold, and say how the lot stands now."""
    row = get_object_or_404(Hold.objects.select_related("lot__item"), pk=hold_id)
    was_released = row.released_at is not None
    release_hold(hold_id, by_id=request.user.pk)
    words = lot_words(row.lot)
    again = Hold.objects.filter(lot=row.lot, released_at=None).first()
    if again is not None:
        messages.error(request, f"{words} was put on hold again since: {again.reason}.")
    elif was_released:
        messages.info(request, f"{words} was released already.")
    else:
        messages.success(request, f"{words} is released: back in the plan.")
    return redirect("stock:lot", row.lot_id)


def _context(lot: Lot) -> dict[str, Any]:
    converter = converters.converters_for([lot.item_id])[lot.item_id]
    today = timezone.localdate()
    movements = with_document(lot.movements.order_by("-at", "-pk"))[:LATEST_MOVEMENTS]
    rows = history_rows(list(movements), {lot.item_id: converter}, today=today)
    lies = lot.balances.exclude(amount_base=0).select_related("place")
    holds = list(lot.holds.select_related("held_by", "released_by"))
    return {
        "lot": lot,
        "item": lot.item,
        "words": lot_words(lot),
        "lies": [(each.place, Amount(each.amount_base, converter)) for each in lies],
        "hold": next((each for each in holds if each.released_at is None), None),
        "past_holds": [each for each in holds if each.released_at is not None],
        "went_into": _went_into(rows, converter),
        "longest_reason": LONGEST_REASON,
        "movements": MovementsTable(
            rows, caption=f"What came and left: {lot_words(lot)}."
        ),
    }


def _went_into(rows: Sequence[HistoryRow], converter: Converter) -> list[WentInto]:
    """Return what used the lot, the latest first, without what was undone."""
    used: dict[tuple[str, str | None], list[HistoryRow]] = defaultdict(list)
    for row in rows:
        if row.movement.kind == Movement.Kind.USED:
            used[row.belongs_to, row.document_url].append(row)
    found = []
    for of_one in used.values():
        total_base = sum((row.movement.amount_base for row in of_one), Decimal(0))
        if total_base < 0:
            found.append(WentInto(of_one[0], Amount(-total_base, converter)))
    return found
