"""Tares: what does an empty bin weigh?"""

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from stock.counts.tares import drop_tare, keep_tare
from stock.errors import StockError
from stock.models import Place, Tare
from stock.web.entry_forms import posted


class TareForm(forms.Form):
    """An empty bin or tub, as the scale shows it."""

    use_required_attribute = False
    name = forms.CharField(
        label="What it is called",
        max_length=40,
        help_text="The word for the sheet: bin, as in 18.64 lb - bin.",
        error_messages={"required": "Write a word for it, such as bin."},
    )
    weight = forms.CharField(
        label="What it weighs empty",
        max_length=200,
        help_text="As the scale shows it: 2.15 lb.",
        error_messages={"required": "Write what the scale shows, such as 2.15 lb."},
    )
    place = forms.ModelChoiceField(
        Place.objects.all(),
        required=False,
        empty_label="anywhere",
        help_text="Where it is used; the nearer one counts.",
    )


def tares(request: HttpRequest) -> HttpResponse:
    """Show the stored tares, and store another one."""
    form = TareForm(posted(request))
    if form.is_bound and form.is_valid() and _kept(request, form):
        return redirect("stock:tares")
    stored = Tare.objects.select_related("place", "item").order_by("name", "pk")
    return render(request, "stock/tares.html", {"form": form, "tares": stored})


@require_POST
def forget_tare(request: HttpRequest, tare_id: int) -> HttpResponse:
    """Forget a tare; past counts stay as they are."""
    try:
        drop_tare(tare_id)
    except StockError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "The tare is gone. What was weighed with it stays.")
    return redirect("stock:tares")


def _kept(request: HttpRequest, form: TareForm) -> bool:
    place = form.cleaned_data["place"]
    try:
        tare = keep_tare(
            name=form.cleaned_data["name"],
            weight=form.cleaned_data["weight"],
            place_id=place.pk if place else None,
        )
    except StockError as error:
        form.add_error("weight", str(error))
        return False
    messages.success(request, f"An empty {tare.name} weighs {tare.weight}.")
    return True
