"""A lot: where does it lie, is it on hold, what did it go into?"""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

from django.contrib import messages
from django.db.models import F, Max, Sum, Value
from django.db.models.functions import Coalesce, NullIf, StrIndex, Substr
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from stock.conversion import converters
from stock.errors import StockError
from stock.holding.holding import hold_lot, release_hold
from stock.holding.reached import reached_words
from stock.holding.wording import beside_words, later_words, lot_words
from stock.measures.conversion import Converter
from stock.models import Hold, Lot, Movement
from stock.models.holds import LONGEST_REASON
from stock.web.amounts import Amount
from stock.web.shelves.history import (
    HistoryRow,
    MovementsTable,
    history_rows,
    latest_rows,
    with_document,
)

LATEST_USES = 50


@dataclass(frozen=True, slots=True)
class WentInto:
    """So much of the lot went into something."""

    row: HistoryRow  # the latest of it, that speaks for all
    used: Amount


class _Use(NamedTuple):
    """All that was used for one document, and the latest movement of it."""

    latest_id: int
    used_base: Decimal


def lot(request: HttpRequest, lot_id: int) -> HttpResponse:
    """Show a lot."""
    row = get_object_or_404(Lot.objects.select_related("item"), pk=lot_id)
    show_all = request.GET.get("history") == "all"
    return render(request, "stock/lot.html", _context(row, show_all=show_all))


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
    messages.success(
        request,
        _("{words} is on hold: out of the plan and of use.").format(words=words),
    )
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
        messages.error(
            request,
            _("{words} was put on hold again since: {reason}.").format(
                words=words, reason=again.reason
            ),
        )
    elif was_released:
        messages.info(request, _("{words} was released already.").format(words=words))
    else:
        released = _("{words} is released: back in the plan.").format(words=words)
        messages.success(request, f"{released} {beside_words(row.lot)}".strip())
    return redirect("stock:lot", row.lot_id)


def _context(lot: Lot, *, show_all: bool = False) -> dict[str, Any]:
    converter = converters.converters_for([lot.item_id])[lot.item_id]
    today = timezone.localdate()
    movements, has_more = latest_rows(
        lot.movements.order_by("-at", "-pk"), show_all=show_all
    )
    rows = history_rows(movements, {lot.item_id: converter}, today=today)
    lies = lot.balances.exclude(amount_base=0).select_related("place")
    holds = list(lot.holds.select_related("held_by", "released_by"))
    uses = _uses(lot)
    shown = uses if show_all else uses[:LATEST_USES]
    return {
        "lot": lot,
        "item": lot.item,
        "words": lot_words(lot),
        "later": later_words(lot),
        "lies": [(each.place, Amount(each.amount_base, converter)) for each in lies],
        "hold": next((each for each in holds if each.released_at is None), None),
        "past_holds": [each for each in holds if each.released_at is not None],
        "went_into": _went_into(shown, converter),
        "reached": reached_words(lot.pk) if uses else "",
        "all_uses": len(uses) if len(uses) > len(shown) else 0,
        "longest_reason": LONGEST_REASON,
        "movements": MovementsTable(
            rows, caption=_("What came and left: {lot}.").format(lot=lot_words(lot))
        ),
        "has_more": has_more,
    }


def _uses(lot: Lot) -> list[_Use]:
    """Return what used the lot, the latest first, without what was undone.

    All of its movements are summed, by the document that their key names, or else by
    what was written beside them. One query.
    """
    document = Substr("key", 1, StrIndex("key", Value(", line")))
    rows = (
        lot.movements.filter(kind=Movement.Kind.USED)
        .order_by()
        .annotate(document=Coalesce(NullIf(document, Value("")), F("note")))
        .values("document")
        .annotate(total_base=Sum("amount_base"), last_at=Max("at"), last=Max("pk"))
        .filter(total_base__lt=0)
        .order_by("-last_at", "-last")
    )
    return [_Use(row["last"], -row["total_base"]) for row in rows]


def _went_into(uses: list[_Use], converter: Converter) -> list[WentInto]:
    """Return what used the lot, in words; documents that are called alike are one."""
    found = with_document(Movement.objects.all()).in_bulk(
        [use.latest_id for use in uses]
    )
    movements = [found[use.latest_id] for use in uses]
    known = {row.item_id: converter for row in movements}
    rows = history_rows(movements, known, today=timezone.localdate())
    total_base: dict[tuple[str, str | None], Decimal] = defaultdict(Decimal)
    first: dict[tuple[str, str | None], HistoryRow] = {}
    for row, use in zip(rows, uses, strict=True):
        called = (row.belongs_to, row.document_url)
        total_base[called] += use.used_base
        first.setdefault(called, row)
    return [
        WentInto(row, Amount(total_base[called], converter))
        for called, row in first.items()
    ]
