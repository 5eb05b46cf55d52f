"""A label scanned on Waste, Move or Holds leads to its item and its lot."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from stock.labels.finding import Found, found_by
from stock.labels.reading import Label, read_label
from stock.labels.tying import short
from stock.labels.wording import doubts_words
from stock.models import Balance
from stock.web.shelves.taking import source_value

# Where a label was scanned: that page, and the page of one item that follows it.
PAGES = {
    "waste": ("stock:waste", "stock:waste_item"),
    "move": ("stock:moves", "stock:move_item"),
    "hold": ("stock:holds", "stock:item"),
}


def find_label(request: HttpRequest) -> HttpResponse:
    """Lead on to what a label is on, or back with what is not known of it."""
    asked = request.GET.get("for", "")
    page, item_page = PAGES.get(asked, PAGES["hold"])
    text = request.GET.get("label", "")
    label = read_label(text, today=timezone.localdate())
    found = found_by(label)
    if label.doubts:
        messages.info(request, doubts_words(label))
    if found is None:
        if not label.is_empty or not label.doubts:
            messages.error(request, _unknown_words(label))
        return redirect(page)
    if found.lot is None and (label.lot or label.last_day):
        messages.info(request, _("The lot on this label was not found. Choose it."))
    if item_page == "stock:item":
        lot = found.lot
        return (
            redirect("stock:lot", lot.pk) if lot else redirect(item_page, found.item.pk)
        )
    return redirect(f"{reverse(item_page, args=[found.item.pk])}{_source(found)}")


def _source(found: Found) -> str:
    """Return the query that chooses where the lot stands; blank where it does not."""
    if found.lot is None:
        return ""
    rows = Balance.objects.filter(lot=found.lot, amount_base__gt=0)
    place_id = rows.order_by("place").values_list("place_id", flat=True).first()
    if place_id is None:
        return ""
    return "?" + urlencode({"source": source_value(place_id, found.lot.pk)})


def _unknown_words(label: Label) -> str:
    if label.gtin:
        return _("Bar code {gtin} is not known here. Choose the item.").format(
            gtin=short(label.gtin)
        )
    if label.is_empty:
        return _("Scan a label first.")
    return _("No such lot is on record. Choose the item.")
