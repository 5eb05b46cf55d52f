"""Suppliers: who comes when, with what, on what terms?

A supplier's terms and its next truck, in sentences.
"""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

import django_tables2 as tables
from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, gettext_noop
from django.views.decorators.http import require_POST
from django_tables2 import A

from stock.calendar.calendars import parse_dates
from stock.calendar.cut_offs import read_cut_off
from stock.conversion.converters import converters_for
from stock.models import Bakery, Supplier
from stock.saving.sheets import SUPPLIERS
from stock.suppliers.delivery_days import next_truck
from stock.suppliers.suppliers import (
    keep_suppliers,
    retire_supplier,
    supplier_entries,
    unretire_supplier,
)
from stock.templatetags.words import day_words, moment_words, money
from stock.web.forms.entry_conflicts import step
from stock.web.forms.entry_forms import EntryForm, keep_from_form, posted
from stock.web.request.bakery_time import current_bakery
from stock.web.suppliers.pack_tables import SupplierPacksTable


def next_truck_words(
    supplier: Supplier, bakery: Bakery, *, at: datetime, today: date
) -> tuple[str, str]:
    """Return when the next truck comes, and by when it must be ordered.

    Nothing comes from a shop.
    """
    if supplier.is_shop:
        return _("a shop"), ""
    truck = next_truck(supplier, bakery, at=at)
    if truck is None:
        return _("none within a year"), ""
    return day_words(truck.deliver_on, today), moment_words(truck.order_by, today)


def calendar_words(supplier: Supplier) -> str:
    """Return on which days it delivers and until when it must be ordered."""
    days = supplier.delivery_days.replace(" ", ", ")
    if supplier.is_shop:
        return _(
            "Open {days}. Somebody goes there; it takes no part in orders yet."
        ).format(days=days)
    until = read_cut_off(supplier.cutoff_days, supplier.cutoff_time).words
    usable = _("the next day") if supplier.usable_next_day else _("the same day")
    return _(
        "Delivers {days}, if ordered by {until}. What comes can be used {usable}."
    ).format(days=days, until=until, usable=usable)


def closed_words(supplier: Supplier, today: date) -> str:
    """Return on which days to come it brings nothing; blank if it always comes."""
    days = [day for day in parse_dates(supplier.closed_on) if day >= today]
    said = [day_words(day, today) for day in sorted(days)]
    return _("No delivery on {said}.").format(said=", ".join(said)) if said else ""


def contact_words(supplier: Supplier) -> str:
    """Return whom to ask for, the phone and the bakery's number there."""
    said = [supplier.contact, supplier.phone]
    if supplier.account:
        said.append(_("account {account}").format(account=supplier.account))
    return ", ".join(words for words in said if words)


def terms_words(supplier: Supplier, currency: str) -> str:
    """Return its minimum order and what a delivery costs."""
    if supplier.is_shop:
        trip = money(supplier.delivery_fee, currency)
        return (
            _("A trip costs {trip}.").format(trip=trip)
            if supplier.delivery_fee
            else _("A trip is free.")
        )
    minimum = supplier.minimum_order
    least = (
        _("Orders from {money} on").format(money=money(minimum, currency))
        if minimum
        else _("No minimum order")
    )
    if not supplier.delivery_fee:
        return _("{least}; delivery is free.").format(least=least)
    fee = _("a delivery costs {money}").format(
        money=money(supplier.delivery_fee, currency)
    )
    if supplier.free_delivery_from is None:
        return f"{least}; {fee}."
    free = _("free from {money} on").format(
        money=money(supplier.free_delivery_from, currency)
    )
    return f"{least}; {fee}, {free}."


# When it comes and on what terms, before whom to call.
SHOWN_COLUMNS = (
    *("supplier", "kind", "delivery_days", "cutoff_days", "cutoff_time", "usable"),
    *("minimum_order", "delivery_fee", "free_delivery_from"),
)
FOLDED_COLUMNS = {
    gettext_noop("Contact and account"): ("contact", "phone", "email", "account"),
    gettext_noop("Days closed"): ("closed_on",),
}
SAID_BY_WHO_DELIVERS = ("cutoff_days", "cutoff_time")


class SuppliersTable(tables.Table):
    """Who comes next, and until when it can be ordered."""

    name = tables.Column(
        gettext_lazy("Supplier"), linkify=("stock:supplier", [A("pk")])
    )
    next_truck = tables.Column(gettext_lazy("Comes next"), empty_values=())
    order_by = tables.Column(gettext_lazy("Order by"), empty_values=())
    terms = tables.Column(
        gettext_lazy("Terms"), empty_values=(), attrs={"td": {"class": "words"}}
    )
    pack_count = tables.Column(
        gettext_lazy("Packs"), attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )

    class Meta:
        orderable = False

    def __init__(
        self, rows: Sequence[Supplier], *, bakery: Bakery, at: datetime
    ) -> None:
        super().__init__(rows)
        self.currency = bakery.currency
        today = timezone.localdate(at)
        self.truck_words = {
            row.pk: next_truck_words(row, bakery, at=at, today=today) for row in rows
        }
        as_of = moment_words(at, today)
        self.caption = _("Suppliers and their next delivery, as of {as_of}.").format(
            as_of=as_of
        )

    def render_name(self, record: Supplier) -> str:
        """Return the name, with what is unusual about it."""
        return f"{record.name}{', retired' if record.retired else ''}"

    def render_next_truck(self, record: Supplier) -> str:
        """Return the day of the next truck in words."""
        return self.truck_words[record.pk][0]

    def render_order_by(self, record: Supplier) -> str:
        """Return the last moment to order for it."""
        return self.truck_words[record.pk][1]

    def render_terms(self, record: Supplier) -> str:
        """Return minimum and fee."""
        return terms_words(record, self.currency)


def suppliers(request: HttpRequest) -> HttpResponse:
    """Show who comes next."""
    with_retired = request.GET.get("retired") == "yes"
    of_packs = Count("packs", filter=Q(packs__retired=False))
    every_row = list(Supplier.objects.annotate(pack_count=of_packs))
    shown = [row for row in every_row if with_retired or not row.retired]
    table = SuppliersTable(shown, bakery=current_bakery(request), at=timezone.now())
    context = {
        "table": table,
        "has_suppliers": bool(every_row),
        "with_retired": with_retired,
        "retired_count": sum(row.retired for row in every_row),
    }
    return render(request, "stock/suppliers.html", context)


def supplier(request: HttpRequest, supplier_id: int) -> HttpResponse:
    """Show a supplier's terms and what it sells."""
    row = get_object_or_404(Supplier, pk=supplier_id)
    bakery, now = current_bakery(request), timezone.now()
    today = timezone.localdate(now)
    comes, order_by = next_truck_words(row, bakery, at=now, today=today)
    context = {
        "supplier": row,
        "comes": comes,
        "order_by": order_by,
        "calendar": calendar_words(row),
        "terms": terms_words(row, bakery.currency),
        "contact": contact_words(row),
        "closed_words": closed_words(row, today),
        **_packs(
            row,
            with_retired=request.GET.get("retired") == "yes",
            caption=_(
                "What {name} sells, prices in {currency}, as of {moment}."
            ).format(
                name=row.name, currency=bakery.currency, moment=moment_words(now, today)
            ),
            currency=bakery.currency,
        ),
    }
    return render(request, "stock/supplier.html", context)


def _packs(
    row: Supplier, *, with_retired: bool, caption: str, currency: str
) -> dict[str, Any]:
    packs = list(row.packs.select_related("item").order_by("item__name", "size_base"))
    shown = [pack for pack in packs if with_retired or not pack.retired]
    converters = converters_for({pack.item_id for pack in shown})
    return {
        "packs": SupplierPacksTable(
            shown, converters=converters, caption=caption, currency=currency
        ),
        "retired_count": sum(pack.retired for pack in packs),
        "with_retired": with_retired,
    }


def add_supplier(request: HttpRequest) -> HttpResponse:
    """Add whoever things are bought from."""
    form = _form(request)
    if form.is_bound and (kept := keep_from_form(form, keep_suppliers, ids=[None])):
        row = Supplier.objects.get(name=kept.added[0])
        messages.success(request, _("{name} is a supplier now.").format(name=row.name))
        return redirect("stock:supplier", row.pk)
    back = reverse("stock:suppliers")
    return _entry_page(request, form, heading=_("Add a supplier"), back=back)


def change_supplier(request: HttpRequest, supplier_id: int) -> HttpResponse:
    """Change a supplier's name, days and terms."""
    row = get_object_or_404(Supplier, pk=supplier_id)
    [values] = supplier_entries([supplier_id])
    form = _form(request, values=values, version=row.version)
    seen = [form.seen(supplier_id)]
    if form.is_bound and keep_from_form(form, keep_suppliers, ids=seen):
        messages.success(
            request, _("{entry} is saved.").format(entry=form.text_of("supplier"))
        )
        return redirect("stock:supplier", supplier_id)
    back = reverse("stock:supplier", args=[supplier_id])
    return _entry_page(
        request, form, heading=_("Edit {name}").format(name=row.name), back=back
    )


@require_POST
def retire(request: HttpRequest, supplier_id: int) -> HttpResponse:
    """Buy there no more."""
    row = get_object_or_404(Supplier, pk=supplier_id)
    done = _("{name} is retired. Its orders stay.").format(name=row.name)
    step(request, retire_supplier, supplier_id, done=done)
    return redirect("stock:supplier", supplier_id)


@require_POST
def unretire(request: HttpRequest, supplier_id: int) -> HttpResponse:
    """Buy there again."""
    row = get_object_or_404(Supplier, pk=supplier_id)
    step(
        request,
        unretire_supplier,
        supplier_id,
        done=_("{name} is back.").format(name=row.name),
    )
    return redirect("stock:supplier", supplier_id)


def _form(request: HttpRequest, **options: Any) -> EntryForm:
    form = EntryForm(
        SUPPLIERS,
        posted(request),
        columns=SHOWN_COLUMNS,
        folded=FOLDED_COLUMNS,
        **options,
    )
    for name in SAID_BY_WHO_DELIVERS:  # a shop leaves them blank
        form.fields[name].required = True
    return form


def _entry_page(
    request: HttpRequest, form: EntryForm, *, heading: str, back: str
) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "save": _("Save this supplier"),
        "back": back,
    }
    return render(request, "stock/entry.html", context)
