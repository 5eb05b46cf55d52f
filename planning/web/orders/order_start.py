"""Starting an order by hand, for what no plan asks for."""

from datetime import date, datetime

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.errors import PlanningError
from planning.models import Order
from planning.orders.orders import start_order
from stock.calendar.calendars import is_believable, too_far_away
from stock.models import Bakery, Supplier
from stock.suppliers.delivery_days import next_truck
from stock.web.forms.entry_fields import DateInput
from stock.web.forms.entry_forms import posted
from stock.web.request.bakery_time import current_bakery


class StartOrderForm(forms.Form):
    """To whom, and for which day."""

    use_required_attribute = False
    supplier = forms.ModelChoiceField(
        Supplier.objects.filter(retired=False, kind=Supplier.Kind.DELIVERS),
        label=gettext_lazy("Supplier"),
        empty_label=gettext_lazy("Choose one"),
        error_messages={
            "required": gettext_lazy("Choose whom to order from."),
            "invalid_choice": gettext_lazy("Choose one from the list."),
        },
    )
    deliver_on = forms.DateField(
        label=gettext_lazy("Deliver on"),
        required=False,
        widget=DateInput,
        help_text=gettext_lazy("Blank: the next delivery that can still be ordered."),
        error_messages={"invalid": gettext_lazy("Write a date, like 2026-05-09.")},
    )

    def start(self, bakery: Bakery, *, at: datetime, by_id: int | None) -> Order | None:
        """Start the order; None if it was refused, with the sentence on the form."""
        if not self.is_valid():
            return None
        supplier = self.cleaned_data["supplier"]
        deliver_on = self._day(supplier, bakery, at)
        if deliver_on is None:
            return None
        try:
            return start_order(
                supplier=supplier,
                deliver_on=deliver_on,
                bakery=bakery,
                at=at,
                by_id=by_id,
            )
        except PlanningError as error:
            self.add_error("deliver_on", str(error))
        return None

    def _day(self, supplier: Supplier, bakery: Bakery, at: datetime) -> date | None:
        typed = self.cleaned_data["deliver_on"]
        if typed is not None and not is_believable(typed):
            self.add_error("deliver_on", too_far_away(typed))
            return None
        if typed is not None:
            if typed >= at.astimezone(bakery.zone).date():
                return typed
            self.add_error("deliver_on", _("That day is past."))
            return None
        truck = next_truck(supplier, bakery, at=at)
        if truck is None:
            sentence = _("{name} does not come within a year: name a day.").format(
                name=supplier.name
            )
            self.add_error("deliver_on", sentence)
            return None
        return truck.deliver_on


def start(request: HttpRequest) -> HttpResponse:
    """Start an order that no plan asked for."""
    form = StartOrderForm(posted(request))
    if form.is_bound:
        bakery, now = current_bakery(request), timezone.now()
        row = form.start(bakery, at=now, by_id=request.user.pk)
        if row is not None:
            messages.success(
                request,
                _("{reference} is started: say what it asks.").format(
                    reference=row.reference
                ),
            )
            return redirect("planning:order", row.pk)
    context = {
        "form": form,
        "heading": _("Start an order by hand"),
        "lead": _("For what no plan asks for. The lines come next."),
        "save": _("Start this order"),
        "back": reverse("planning:orders"),
    }
    return render(request, "stock/entry.html", context)
