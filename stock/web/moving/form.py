"""Moving one item: how much, from where, and where to?"""

from dataclasses import dataclass, field

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from stock.errors import StockError
from stock.models import Item, Move, Place
from stock.moving.errors import MoreThanThereError, MoveError
from stock.moving.moving import MoveEntry, move_stock
from stock.web.request.row_ids import sent_id
from stock.web.shelves.taking import (
    TakingForm,
    all_of_it,
    read_amount_base,
    read_source,
    sent_key,
    taking_values,
    tell_undone,
)


class UnknownPlaceError(MoveError):
    """No place to move to, or none that is there."""

    def __init__(self) -> None:
        super().__init__(_("Choose where it goes: that place is not here."))


@dataclass(slots=True)
class MoveForm(TakingForm):
    """What the page shows of an item, and what was sent."""

    to_place: str = ""
    all_places: list[Place] = field(default_factory=list)

    @property
    def places(self) -> list[Place]:
        """Where it can go: not the only place that it can come from."""
        from_ids = {source.place.pk for source in self.sources}
        return [
            place
            for place in self.all_places
            if len(from_ids) > 1 or place.pk not in from_ids
        ]


def move_item(request: HttpRequest, item_id: int) -> HttpResponse:
    """Show the form of an item; record what was sent."""
    item = get_object_or_404(Item.objects.select_related("place"), pk=item_id)
    form = _read_form(item, request.POST if request.method == "POST" else request.GET)
    if request.method == "POST":
        row = _send(request, form)
        if row is not None:
            tell_undone(request, row.undone_at)
            return redirect(f"{reverse('stock:moves')}?done={row.pk}")
    return render(request, "stock/move_item.html", {"form": form, "item": item})


def _read_form(item: Item, sent: QueryDict) -> MoveForm:
    form = MoveForm(
        **taking_values(item, sent),
        to_place=sent.get("to") or sent.get("asked_to", ""),
        all_places=list(Place.objects.all()),
    )
    # Only what stands there can be moved.
    form.sources = [each for each in form.sources if each.amount_base > 0]
    return form


def _send(request: HttpRequest, form: MoveForm) -> Move | None:
    """Record what was sent; None after saying on the form why not."""
    try:
        entry = _entry(request.POST, form)
        key = sent_key(request.POST, form)
        return move_stock(entry, key=key, by_id=request.user.pk)
    except MoreThanThereError as error:
        form.problem = str(error)
        form.more = all_of_it(error.left_base, form.converter)
    except StockError as error:
        form.problem = str(error)
    return None


def _entry(sent: QueryDict, form: MoveForm) -> MoveEntry:
    to_place_id = sent_id(form.to_place)
    if to_place_id not in {place.pk for place in form.all_places}:
        raise UnknownPlaceError
    source = read_source(form)
    return MoveEntry(
        item_id=form.item.pk,
        from_place_id=source.place_id,
        to_place_id=to_place_id,
        amount_base=read_amount_base(sent, form, source),
        lot_id=source.lot_id,
    )
