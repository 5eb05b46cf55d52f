"""Parts of a whole: what does one egg yield of white and of yolk?"""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from stock.items.parts import keep_splits, split_entries
from stock.models import Item
from stock.saving.sheets import SPLITS
from stock.web.forms.entry_forms import EntryForm, keep_from_form, posted


def add_part(request: HttpRequest, item_id: int) -> HttpResponse:
    """Add a part that is taken from an item."""
    whole = get_object_or_404(Item, pk=item_id, kind__in=Item.BOUGHT_KINDS)
    form = EntryForm(SPLITS, posted(request), fixed={"whole": whole.name})
    if form.is_bound and keep_from_form(form, keep_splits, ids=[None]):
        part = form.text_of("part")
        messages.success(
            request,
            _("{part} is a part of {name} now.").format(part=part, name=whole.name),
        )
        return redirect("stock:item", item_id)
    return _page(
        request,
        form,
        heading=_("Add a part of {capfirst}").format(capfirst=capfirst(whole.name)),
        back_to=whole,
    )


def change_part(request: HttpRequest, item_id: int) -> HttpResponse:
    """Change what a part is called and what one of its whole yields."""
    part = get_object_or_404(
        Item.objects.select_related("whole"), pk=item_id, kind=Item.Kind.PART
    )
    [values] = split_entries([item_id])
    fixed = {"whole": values["whole"]}
    form = EntryForm(
        SPLITS, posted(request), values=values, fixed=fixed, version=part.version
    )
    if form.is_bound and keep_from_form(form, keep_splits, ids=[form.seen(item_id)]):
        messages.success(request, _("Saved: {what}.").format(what=form.text_of("part")))
        return redirect("stock:item", item_id)
    return _page(
        request,
        form,
        heading=_("Edit {capfirst}").format(capfirst=capfirst(part.name)),
        back_to=part,
    )


def _page(
    request: HttpRequest, form: EntryForm, *, heading: str, back_to: Item
) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "lead": _("A part is used in recipes; what is bought is its whole."),
        "save": _("Save this part"),
        "back": reverse("stock:item", args=[back_to.pk]),
    }
    return render(request, "stock/entry.html", context)
