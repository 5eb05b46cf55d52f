"""Count of a place: what stands on this shelf?

With its scripts the sheet sends each entry by itself and works with no network;
without them it is an ordinary form that sends every line of the page.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import ensure_csrf_cookie

from stock.counts.entries import compiled_or_broken, take_entries
from stock.counts.sheets import CountSheet, sheets
from stock.counts.states import state_words
from stock.counts.units import counting_units
from stock.models import Count, CountPlace, Item, Place
from stock.web.counts.form import SentForm
from stock.web.counts.lines import left_words
from stock.web.counts.offline import kept_offline
from stock.web.counts.phone import phone_items, phone_line, phone_rules
from stock.wording.names import person_name


def lines_url(count: Count, place: Place) -> str:
    """Return where a place is counted; at its lines, for who goes on counting."""
    return reverse("stock:count_sheet", args=[count.pk, place.pk]) + "#lines"


@dataclass(frozen=True, slots=True)
class PlaceLink:
    """A place of the count, and what is left in it."""

    name: str
    url: str
    left_words: str
    is_here: bool


@dataclass(frozen=True, slots=True)
class PlaceSheet:
    """The sheet of one place among the sheets of its count."""

    sheet: CountSheet
    every_sheet: list[CountSheet]
    read_at: datetime  # before it was read: whatever came later may be lacking

    @property
    def count(self) -> Count:
        """The count that the sheet belongs to."""
        return self.sheet.count

    @property
    def place(self) -> Place:
        """The place in view."""
        return self.sheet.place

    @property
    def left_words(self) -> str:
        """How many lines of this place nobody has counted yet."""
        return left_words(self.sheet)

    @property
    def places(self) -> list[PlaceLink]:
        """The places of the count, in walking order."""
        return [
            PlaceLink(
                name=each.place.name,
                url=lines_url(self.count, each.place),
                left_words=left_words(each),
                is_here=each.place == self.place,
            )
            for each in self.every_sheet
        ]

    @property
    def next_place(self) -> PlaceLink | None:
        """The place that is walked after this one."""
        links = self.places
        here = next(number for number, link in enumerate(links) if link.is_here)
        return links[here + 1] if here + 1 < len(links) else None


@kept_offline
@ensure_csrf_cookie
def count_sheet(request: HttpRequest, count_id: int, place_id: int) -> HttpResponse:
    """Show the lines of one place, and keep what a page without scripts sends."""
    get_object_or_404(CountPlace, count=count_id, place=place_id)
    page = _read(request, count_id, place_id)
    sent = SentForm(request, page.sheet)
    if request.method == "POST":
        at = timezone.now()
        sent.hear(take_entries(sent.entries(), at=at, sent_by_id=request.user.pk))
        page = _read(request, count_id, place_id)
    if page.count.is_live and (request.method == "GET" or sent.needs_a_look):
        context = _context(request, page, sent)
        return render(request, "stock/count_sheet.html", context)
    return _onward(request, page, sent)


def _read(request: HttpRequest, count_id: int, place_id: int) -> PlaceSheet:
    read_at = timezone.now()
    every_sheet = sheets(count_id, by_id=request.user.pk)
    here = next(each for each in every_sheet if each.place.pk == place_id)
    return PlaceSheet(here, every_sheet, read_at)


def _onward(request: HttpRequest, page: PlaceSheet, sent: SentForm) -> HttpResponse:
    """Say what became of the page, and show it anew; a closed count has a review."""
    count = page.count
    if count.is_live:
        left = page.left_words
        messages.success(request, f"{sent.outcome} {left[0].upper()}{left[1:]}.")
        return redirect(request.path)
    for sentence in sent.kept_sentences:
        messages.warning(request, sentence)
    messages.info(request, _("This count is {state}.").format(state=state_words(count)))
    return redirect("stock:count_review", count.pk)


def _context(request: HttpRequest, page: PlaceSheet, sent: SentForm) -> dict[str, Any]:
    lines = page.sheet.lines
    items = Item.objects.filter(retired=False).in_bulk()
    names = {pk: item.name for pk, item in items.items()}
    unlisted = compiled_or_broken(set(names) - {each.line.item.pk for each in lines})[0]
    return {
        "sheet": page,
        "lines": [sent.shown(line) for line in lines],
        "faulty_count": sent.faulty_count,
        "extra": sent.found,
        "item_names": sorted(names.values(), key=str.casefold),
        "items_data": phone_items(unlisted, counting_units(items, unlisted)),
        "sheet_data": {
            **phone_rules(),
            "count": page.count.pk,
            "place": page.place.pk,
            "by": request.user.pk,
            "by_name": person_name(request.user),
            "place_name": page.place.name,
            "places": {each.place.name: each.place.pk for each in page.every_sheet},
            "served_at": page.read_at.isoformat(),
            "entries_url": reverse("stock:count_entries"),
            "devices_url": reverse("stock:count_devices"),
            "locked_url": reverse("stock:count_locked"),
            "worker_url": reverse("stock:count_worker"),
            "lines": [phone_line(line) for line in lines],
        },
    }
