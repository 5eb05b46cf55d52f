"""Waste: what is out of date, what was wasted last, and which item is it now?"""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from stock.conversion import converters
from stock.errors import StockError
from stock.measures.amount_words import amount_words
from stock.models import Balance, Item, Waste
from stock.templatetags.words import moment_words
from stock.wasting.errors import SetSinceWasteError
from stock.wasting.quantities import out_of_date, place_on_hand_base, wasted_lately
from stock.wasting.wasting import in_the_way, undo_waste
from stock.wasting.wording import (
    amount_of_item,
    held_words,
    left_words,
    waste_words,
)
from stock.web.amounts import kept_together
from stock.web.request.row_ids import sent_id
from stock.web.shelves.date_words import use_by_words
from stock.web.shelves.taking import found_items
from stock.wording.names import person_name

MOST_LATELY = 6  # items that a tap chooses
MOST_SHOWN = 3  # of what is out of date or was wasted; the rest is one tap away
MOST_IN_FULL = 100


@dataclass(frozen=True, slots=True)
class OutOfDate:
    """A lot that is out of date in a place, and the button that wastes it."""

    row: Balance
    words: str
    use_words: str
    key: str  # so that the button wastes once, however often it is sent


@dataclass(frozen=True, slots=True)
class Wasted:
    """What was wasted, in a sentence, and why it cannot be undone, if so."""

    row: Waste
    words: str
    when: str
    who: str
    in_the_way: str


def waste_page(request: HttpRequest) -> HttpResponse:
    """Show what is out of date, and the items to choose from."""
    today = timezone.localdate()
    expired = _out_of_date(today)
    show_all = request.GET.get("lately") == "all"
    items = list(Item.objects.filter(retired=False).order_by("name"))
    context = {
        "expired": expired[:MOST_SHOWN],
        "expired_rest": expired[MOST_SHOWN:],
        "done": _done(sent_id(request.GET.get("done"))),
        "lately": wasted_lately(most=MOST_LATELY),
        **found_items(items, request.GET.get("words", "")),
        **_wasted(today, show_all=show_all),
    }
    return render(request, "stock/waste.html", context)


@require_POST
def undo_waste_page(request: HttpRequest, waste_id: int) -> HttpResponse:
    """Put back what was wasted, and go back to the page."""
    try:
        row = undo_waste(waste_id, by_id=request.user.pk)
    except Waste.DoesNotExist:
        messages.error(request, _("This waste is not here any more. Look again."))
    except StockError as error:
        messages.error(request, str(error))
    else:
        converter = converters.converters_for([row.item_id])[row.item_id]
        what = kept_together(amount_of_item(row.amount_base, converter))
        messages.success(
            request,
            _("Undone: {what} back in {name}.").format(what=what, name=row.place.name),
        )
    return redirect("stock:waste")


def _out_of_date(today: date) -> list[OutOfDate]:
    rows = out_of_date(today)
    known = converters.converters_for({row.item_id for row in rows}) if rows else {}
    return [
        OutOfDate(
            row=row,
            words=kept_together(amount_words(row.amount_base, known[row.item_id])),
            use_words=use_by_words(row.lot.use_by, today),
            key=str(uuid4()),
        )
        for row in rows
    ]


def _done(waste_id: int | None) -> dict[str, Any] | None:
    """Return what has just been recorded, as long as it stands."""
    rows = Waste.objects.select_related("item", "place")
    row = rows.filter(pk=waste_id, undone_at=None).first() if waste_id else None
    if row is None:
        return None
    converter = converters.converters_for([row.item_id])[row.item_id]
    left_base = place_on_hand_base(row.item_id, row.place_id)
    words = f"{waste_words(row, converter)}; {left_words(left_base, converter)}."
    words += held_words(row.lot_id)
    return {
        "waste": row,
        "words": kept_together(words),
        "is_below": left_base < 0,
        "in_the_way": _in_the_way_words([row])[0],
    }


def _in_the_way_words(rows: list[Waste]) -> list[str]:
    """Return why each waste stays, as undoing it would say; "" where it can be undone.

    Four queries, however many.
    """
    return [
        what and str(SetSinceWasteError(row.item.name, row.place.name, what))
        for row, what in zip(rows, in_the_way(rows), strict=True)
    ]


def _wasted(today: date, *, show_all: bool) -> dict[str, Any]:
    """Return what was wasted and not undone, the latest first."""
    most = MOST_IN_FULL if show_all else MOST_SHOWN
    standing = Waste.objects.filter(undone_at=None)
    rows = list(standing.select_related("item", "place", "by")[: most + 1])
    known = converters.converters_for({row.item_id for row in rows}) if rows else {}
    stays = _in_the_way_words(rows[:most])
    wasted = [
        Wasted(
            row=row,
            words=kept_together(waste_words(row, known[row.item_id])),
            when=moment_words(row.at, today),
            who=person_name(row.by),
            in_the_way=what,
        )
        for row, what in zip(rows[:most], stays, strict=True)
    ]
    return {"wasted": wasted, "has_more": len(rows) > most, "show_all": show_all}
