"""Tares: what does an empty bin weigh?"""

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from stock.counts import tares as tare_jobs
from stock.counts.tares import TareKnownError, keep_tare
from stock.errors import OwnWordError, StockError
from stock.models import Place, Tare
from stock.web.forms.entry_conflicts import VERSION, seen_version, step
from stock.web.forms.entry_forms import posted


class TareForm(forms.Form):
    """An empty bin or tub, as the scale shows it."""

    use_required_attribute = False
    name = forms.CharField(
        label=gettext_lazy("What it is called"),
        max_length=40,
        help_text=gettext_lazy("The word for the sheet: bin, as in 18.64 lb - bin."),
        error_messages={"required": gettext_lazy("Write a word for it, such as bin.")},
    )
    weight = forms.CharField(
        label=gettext_lazy("What it weighs empty"),
        max_length=200,
        help_text=gettext_lazy("As the scale shows it: 2.15 lb."),
        error_messages={
            "required": gettext_lazy("Write what the scale shows, such as 2.15 lb.")
        },
    )
    place = forms.ModelChoiceField(
        Place.objects.all(),
        required=False,
        label=gettext_lazy("Place"),
        empty_label=gettext_lazy("anywhere"),
        help_text=gettext_lazy("Where it is used; the nearer one counts."),
    )

    def has_seen(self, error: TareKnownError) -> None:
        """Show the weight that is stored; saved again, the form has seen it."""
        self.fields[VERSION] = forms.CharField(widget=forms.HiddenInput)
        data: QueryDict = self.data.copy()  # type: ignore[attr-defined]  # as posted
        data[VERSION] = str(error.version)
        self.data = data
        self.add_error("weight", str(error))


def tares(request: HttpRequest) -> HttpResponse:
    """Show the stored tares, and store another one."""
    form = TareForm(posted(request))
    if form.is_bound and form.is_valid() and _kept(request, form):
        return redirect("stock:tares")
    stored = Tare.objects.select_related("place", "item").order_by("name", "pk")
    return render(request, "stock/tares.html", {"form": form, "tares": stored})


@require_POST
def remove_tare(request: HttpRequest, tare_id: int) -> HttpResponse:
    """Remove a tare; past counts stay as they are."""
    done = _("The tare is removed. What was weighed with it stays.")
    step(request, tare_jobs.remove_tare, tare_id, done=done)
    return redirect("stock:tares")


def _kept(request: HttpRequest, form: TareForm) -> bool:
    place = form.cleaned_data["place"]
    try:
        tare = keep_tare(
            name=form.cleaned_data["name"],
            weight=form.cleaned_data["weight"],
            place_id=place.pk if place else None,
            seen=seen_version(request.POST),
        )
    except TareKnownError as error:
        form.has_seen(error)
        return False
    except StockError as error:
        field = "name" if isinstance(error, OwnWordError) else "weight"
        form.add_error(field, str(error))
        return False
    messages.success(
        request,
        _("An empty {name} weighs {weight}.").format(
            name=tare.name, weight=tare.weight
        ),
    )
    return True
