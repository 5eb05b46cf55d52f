"""Packs: how is an item bought, what does a pack hold, what does it cost?"""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_POST

from stock.models import Item, Pack, Supplier
from stock.saving.sheets import PACKS
from stock.suppliers.packs import keep_packs, pack_entries, retire_pack, unretire_pack
from stock.web.forms.entry_conflicts import step
from stock.web.forms.entry_forms import EntryForm, NameList, keep_from_form, posted

# What a pack is, before what is special about it.
SHOWN_COLUMNS = (
    "supplier",
    "item",
    "pack",
    "called",
    "holds",
    "price",
    "preferred",
    "code",
)
FOLDED_COLUMNS = {
    gettext_noop("Price breaks and minimum"): (
        "price_breaks",
        "minimum_packs",
        "multiple",
    ),
    gettext_noop("Next price"): ("next_price", "next_price_from"),
    gettext_noop("Bar code"): ("gtin",),
}


def add_supplier_pack(request: HttpRequest, supplier_id: int) -> HttpResponse:
    """Add a pack to what a supplier sells."""
    supplier = get_object_or_404(Supplier, pk=supplier_id)
    items = Item.objects.filter(kind__in=Item.BOUGHT_KINDS, retired=False)
    names = NameList("items", list(items.values_list("name", flat=True)))
    form = _form(request, fixed={"supplier": supplier.name}, names={"item": names})
    back = reverse("stock:supplier", args=[supplier_id])
    if form.is_bound and keep_from_form(form, keep_packs, ids=[None]):
        messages.success(
            request,
            _("{name} sells {entry} now.").format(
                name=supplier.name, entry=form.text_of("pack")
            ),
        )
        return redirect(back)
    return _page(
        request,
        form,
        heading=_("What {name} sells").format(name=supplier.name),
        back=back,
    )


def add_item_pack(request: HttpRequest, item_id: int) -> HttpResponse:
    """Add a way to buy an item."""
    item = get_object_or_404(Item, pk=item_id, kind__in=Item.BOUGHT_KINDS)
    suppliers = Supplier.objects.filter(retired=False)
    names = NameList("suppliers", list(suppliers.values_list("name", flat=True)))
    form = _form(request, fixed={"item": item.name}, names={"supplier": names})
    back = reverse("stock:item", args=[item_id])
    if form.is_bound and keep_from_form(form, keep_packs, ids=[None]):
        messages.success(
            request,
            _("Added: {entry} of {name}.").format(
                entry=form.text_of("pack"), name=item.name
            ),
        )
        return redirect(back)
    return _page(
        request,
        form,
        heading=_("A pack of {capfirst}").format(capfirst=capfirst(item.name)),
        back=back,
    )


def change_pack(request: HttpRequest, pack_id: int) -> HttpResponse:
    """Change a pack's price, what it holds, and its rules."""
    pack = get_object_or_404(
        Pack.objects.select_related("item", "supplier"), pk=pack_id
    )
    [values] = pack_entries([pack_id])
    fixed = {"supplier": values["supplier"], "item": values["item"]}
    form = _form(request, values=values, fixed=fixed, version=pack.version)
    back = _back(request, pack)
    if form.is_bound and keep_from_form(form, keep_packs, ids=[form.seen(pack_id)]):
        messages.success(request, _("Saved: {what}.").format(what=form.text_of("pack")))
        return redirect(back)
    heading = _("{capfirst} from {name}").format(
        capfirst=capfirst(pack.item.name), name=pack.supplier.name
    )
    return _page(request, form, heading=heading, back=back, pack=pack)


@require_POST
def retire(request: HttpRequest, pack_id: int) -> HttpResponse:
    """Buy a pack no more."""
    pack = get_object_or_404(Pack.objects.select_related("supplier"), pk=pack_id)
    done = _("{label} is retired. Its orders stay.").format(label=pack.label)
    if not step(request, retire_pack, pack_id, done=done):
        return redirect("stock:change_pack", pack_id)
    return redirect("stock:supplier", pack.supplier_id)


@require_POST
def unretire(request: HttpRequest, pack_id: int) -> HttpResponse:
    """Buy a pack again."""
    pack = get_object_or_404(Pack.objects.select_related("supplier"), pk=pack_id)
    done = _("{label} is sold again.").format(label=pack.label)
    if not step(request, unretire_pack, pack_id, done=done):
        return redirect("stock:change_pack", pack_id)
    return redirect("stock:supplier", pack.supplier_id)


def _form(request: HttpRequest, **options: Any) -> EntryForm:
    return EntryForm(
        PACKS,
        posted(request),
        columns=SHOWN_COLUMNS,
        folded=FOLDED_COLUMNS,
        **options,
    )


def _back(request: HttpRequest, pack: Pack) -> str:
    """Return the page that the pack was looked at on."""
    if request.GET.get("from") == "item":
        return reverse("stock:item", args=[pack.item_id])
    return reverse("stock:supplier", args=[pack.supplier_id])


def _page(
    request: HttpRequest,
    form: EntryForm,
    *,
    heading: str,
    back: str,
    pack: Pack | None = None,
) -> HttpResponse:
    context = {"form": form, "heading": heading, "back": back, "pack": pack}
    return render(request, "stock/pack_form.html", context)
