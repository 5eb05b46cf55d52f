"""Substitutes: what can take the place of an item, and what can it stand in for?"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from stock.items.allergens import AllergenChange, allergen_change
from stock.items.substitutes import (
    keep_substitutes,
    remove_substitute,
    substitute_entries,
)
from stock.models import Item, Substitute
from stock.saving.sheets import SUBSTITUTES
from stock.web.forms.entry_conflicts import opened_texts, step
from stock.web.forms.entry_forms import EntryForm, NameList, keep_from_form, posted

SHOWN_COLUMNS = ("substitute", "ratio", "source", "note")
LEAD = gettext_lazy(
    "A note for the day on which something is missing: nothing is ever replaced by "
    "the program."
)


@dataclass(frozen=True, slots=True)
class SubstituteRow:
    """One substitute, with what it changes of the labels."""

    stored: Substitute
    change: AllergenChange


def substitutes_of(item: Item) -> dict[str, Any]:
    """Return what the item can be replaced by, and replaces. One query."""
    stored = list(
        Substitute.objects.filter(Q(item=item) | Q(substitute=item))
        .select_related("item", "substitute")
        .order_by("substitute__name", "item__name")
    )
    return {
        "substitutes": list(_rows(each for each in stored if each.item_id == item.pk)),
        "stands_in_for": [each for each in stored if each.item_id != item.pk],
    }


def add_substitute(request: HttpRequest, item_id: int) -> HttpResponse:
    """Note what can take an item's place."""
    item = get_object_or_404(Item, pk=item_id, kind__in=Item.BOUGHT_KINDS)
    others = Item.objects.filter(kind=item.kind, retired=False).exclude(pk=item_id)
    names = NameList("items", list(others.values_list("name", flat=True)))
    asked = {name: request.GET[name] for name in SHOWN_COLUMNS if name in request.GET}
    form = _form(request, item, names={"substitute": names}, values=asked)
    if form.is_bound and keep_from_form(form, keep_substitutes, ids=[None]):
        name = form.text_of("substitute")
        messages.success(
            request,
            _("Noted: {name} in the place of {name2}.").format(
                name=name, name2=item.name
            ),
        )
        return redirect("stock:item", item_id)
    return _page(
        request,
        form,
        _("Substitute for {capfirst}").format(capfirst=capfirst(item.name)),
        item,
    )


def change_substitute(request: HttpRequest, substitute_id: int) -> HttpResponse:
    """Change how much of a substitute stands for how much, and its note."""
    if request.method == "POST" and not _is_stored(substitute_id):
        return _removed_meanwhile(request)
    stored = _stored(substitute_id)
    item, substitute = stored.item, stored.substitute
    [values] = substitute_entries([substitute_id])
    form = _form(
        request, item, values=values, substitute=substitute, version=stored.version
    )
    seen = [form.seen(substitute_id)]
    if form.is_bound and keep_from_form(form, keep_substitutes, ids=seen):
        messages.success(
            request,
            _("Saved: {name} for {name2}.").format(
                name=substitute.name, name2=item.name
            ),
        )
        return redirect("stock:item", item.pk)
    return _page(
        request,
        form,
        _("{capfirst} for {capfirst2}").format(
            capfirst=capfirst(substitute.name), capfirst2=capfirst(item.name)
        ),
        item,
    )


@require_POST
def take_away_substitute(request: HttpRequest, substitute_id: int) -> HttpResponse:
    """Let something stand in for an item no more."""
    if not Substitute.objects.filter(pk=substitute_id).exists():
        messages.info(request, _("That substitute is gone already."))
        return redirect("stock:shelves")
    stored = _stored(substitute_id)
    names = _("{name} in the place of {name2}").format(
        name=stored.substitute.name, name2=stored.item.name
    )
    done = _("No longer noted: {names}.").format(names=names)
    step(request, remove_substitute, substitute_id, done=done)
    return redirect("stock:item", stored.item_id)


def _rows(stored: Iterable[Substitute]) -> Iterable[SubstituteRow]:
    for each in stored:
        change = allergen_change(each.item.allergens, each.substitute.allergens)
        yield SubstituteRow(each, change)


def _removed_meanwhile(request: HttpRequest) -> HttpResponse:
    """Keep the entry for a substitute that somebody removed while it was changed."""
    opened = opened_texts(request.POST)
    item = get_object_or_404(Item, name=opened.get("item", ""))
    messages.warning(
        request,
        _(
            "Somebody removed this substitute after you opened it. Yours isn't saved: "
            "it stands ready here. Save it to add it again."
        ),
    )
    texts = {name: request.POST.get(name, "") for name in SHOWN_COLUMNS}
    query = urlencode({**texts, "substitute": opened.get("substitute", "")})
    return redirect(f"{reverse('stock:add_substitute', args=[item.pk])}?{query}")


def _is_stored(substitute_id: int) -> bool:
    return Substitute.objects.filter(pk=substitute_id).exists()


def _stored(substitute_id: int) -> Substitute:
    stored = Substitute.objects.select_related("item", "substitute")
    return get_object_or_404(stored, pk=substitute_id)


def _form(
    request: HttpRequest,
    item: Item,
    *,
    substitute: Item | None = None,
    **options: Any,
) -> EntryForm:
    fixed = {"item": item.name}
    if substitute is not None:
        fixed["substitute"] = substitute.name
    form = EntryForm(SUBSTITUTES, posted(request), fixed=fixed, **options)
    what = _("it") if substitute is None else substitute.name
    form.fields["ratio"].label = _("So much of {what} for so much of {name}").format(
        what=what, name=item.name
    )
    return form


def _page(
    request: HttpRequest, form: EntryForm, heading: str, back_to: Item
) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "lead": LEAD,
        "save": _("Save this substitute"),
        "back": reverse("stock:item", args=[back_to.pk]),
    }
    return render(request, "stock/entry.html", context)
