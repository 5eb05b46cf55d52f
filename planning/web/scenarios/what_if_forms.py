"""The forms of What if, one for each kind of change."""

from dataclasses import dataclass

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.models import PlannedCake, Recipe
from planning.scenarios.what_if_kinds import KINDS, NEVER_TYPED
from stock.models import Item, Supplier
from stock.web.forms.entry_forms import EntryForm, NameList

BUTTONS = {
    "add-cake": gettext_lazy("Try with this cake"),
    "drop-cake": gettext_lazy("Try without it"),
    "move-cake": gettext_lazy("Try it on this day"),
    "on-hand": gettext_lazy("Try this quantity"),
    "close-day": gettext_lazy("Try with the day closed"),
    "skip-delivery": gettext_lazy("Try without this delivery"),
    "price": gettext_lazy("Try at this price"),
}
NO_LIST = ("add-cake",)  # its reference is a new one


@dataclass(frozen=True, slots=True)
class ChangeForm:
    """One kind of change, its form and its button."""

    kind: str
    heading: str
    form: EntryForm
    button: str
    is_open: bool


def change_forms(sent: QueryDict | None, asked: QueryDict) -> list[ChangeForm]:
    """Return a form for each kind; the one that was sent holds what was typed.

    Before it is, the one that a link asks for starts with what the link says, by
    column. Four queries, for the names that are offered.
    """
    kind = (asked if sent is None else sent).get("change", "")
    known, cakes = _known_names(), _cakes()
    found = []
    for name, sheet in KINDS.items():
        columns = [
            column.name for column in sheet.columns if column.name not in NEVER_TYPED
        ]
        offered = {
            column: NameList(f"{name}-{column}", names)
            for column, names in known.items()
            if column in columns and name not in NO_LIST
        }
        is_open = name == kind
        form = EntryForm(
            sheet,
            sent if is_open else None,
            values=_said(asked, columns) if is_open else {},
            columns=columns,
            prefix=name,
            names=offered,
        )
        if "cake" in form.fields:
            form.fields["cake"].widget = forms.Select(choices=cakes)
        found.append(ChangeForm(name, _(sheet.name), form, str(BUTTONS[name]), is_open))
    return found


def _said(asked: QueryDict, columns: list[str]) -> dict[str, str]:
    return {name: str(text) for name, text in asked.items() if name in columns}


def _cakes() -> list[tuple[str, str]]:
    cakes = Recipe.objects.filter(is_cake=True, item__retired=False)
    rows = cakes.order_by("item__name").values_list("item__name", flat=True)
    return [("", _("Choose a cake")), *((name, name) for name in rows)]


def _known_names() -> dict[str, list[str]]:
    live = PlannedCake.objects.filter(status__in=PlannedCake.LIVE_STATUSES)
    bought = [Item.Kind.INGREDIENT, Item.Kind.PACKAGING]
    items = Item.objects.filter(kind__in=bought, retired=False)
    # What a shop has is fetched: it has no delivery that could be dropped.
    suppliers = Supplier.objects.filter(retired=False, kind=Supplier.Kind.DELIVERS)
    return {
        "reference": list(
            live.order_by("due_on", "reference").values_list("reference", flat=True)
        ),
        "item": list(items.order_by("name").values_list("name", flat=True)),
        "supplier": list(suppliers.order_by("name").values_list("name", flat=True)),
    }
