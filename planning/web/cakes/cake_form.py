"""The form of a planned cake, and what its size was understood as."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django import forms
from django.db.models import Count
from django.http import HttpRequest, QueryDict
from django.urls import reverse
from django.utils.translation import gettext as _

from planning.engine.kitchen import NodeKind, Nodes
from planning.engine.scenarios.what_if import EditCake
from planning.entry.sheets import BAKE_PLAN
from planning.models import PlannedCake, Recipe
from planning.web.cakes.cake_words import understood_or_why
from stock.entry.cells import CellError
from stock.entry.entries import folded
from stock.measures.lengths import parse_length_cm
from stock.models import Bakery
from stock.web.forms.entry_forms import EntryForm, NameList, posted

COLUMNS = ("cake", "due", "due_time", "quantity", "size", "reference", "status", "note")
MOST_SIZES_OFFERED = 20
LIVE_CHOICES = [(status.value, status.label) for status in PlannedCake.LIVE_STATUSES]


class CakeForm(EntryForm):
    """One line of the bake plan as a form. Reads two queries."""

    def __init__(
        self,
        data: QueryDict | None,
        *,
        values: Mapping[str, Any],
        layer_height_cm: float,
        columns: Iterable[str] = COLUMNS,
        version: int | None = None,
    ) -> None:
        names = {"size": NameList("sizes", _sizes_in_use())}
        super().__init__(
            BAKE_PLAN,
            data,
            values=values,
            columns=columns,
            names=names,
            version=version,
        )
        self.layer_height_cm = layer_height_cm
        self.base_sizes = _base_sizes(str(values.get("cake") or ""))
        chosen = str(self["cake"].value() or "")
        self.fields["cake"].widget = forms.Select(
            choices=_choices(self.base_sizes, chosen)
        )
        if "status" in self.fields:
            self.fields["status"].widget = forms.Select(choices=LIVE_CHOICES)
        self.fields["size"].widget.attrs |= {
            "hx-get": reverse("planning:size_echo"),
            "hx-trigger": "input changed delay:300ms, change from:#id_cake",
            "hx-include": "#id_cake",
            "hx-target": "#size-echo",
        }

    def echo(self) -> tuple[str, bool]:
        """Return the size as it was understood, or why not; and whether it was."""
        size = str(self["size"].value() or "")
        base_size = self.base_sizes.get(folded(str(self["cake"].value() or "")), "")
        return understood_or_why(size, base_size, self.layer_height_cm)

    def due_on(self) -> date | None:
        """Return the day that was typed, if it is one."""
        try:
            return BAKE_PLAN.column("due").read(self["due"].value())
        except CellError:
            return None

    def edit_of(self, reference: str, nodes: Nodes) -> EditCake | None:
        """Return the entry as a change of a planned line; None if it is faulty."""
        reading = self.sheet.read({**dict.fromkeys(self.cells(), ""), **self.entry()})
        wanted = folded(str(reading.values.get("cake") or ""))
        cakes = (
            node
            for node, name in enumerate(nodes.names)
            if nodes.kind[node] == NodeKind.CAKE and folded(name) == wanted
        )
        cake = next(cakes, None)
        if reading.faults or cake is None:
            return None
        return EditCake(
            reference,
            cake,
            reading.values["size"],
            reading.values["due"],
            float(reading.values["quantity"]),
        )


class _NamedSizes(dict[str, str]):
    """Base sizes by folded name, and the names as they are written."""

    def __init__(self, rows: Iterable[tuple[str, str]]) -> None:
        rows = list(rows)
        super().__init__((folded(name), size) for name, size in rows)
        self.names = [name for name, _ in rows]


def cake_form(
    request: HttpRequest,
    *,
    bakery: Bakery,
    values: Mapping[str, Any],
    version: int | None = None,
) -> CakeForm:
    """Return the form that a request shows or sends."""
    height_cm = parse_length_cm(bakery.layer_height)
    return CakeForm(
        posted(request), values=values, layer_height_cm=height_cm, version=version
    )


def _base_sizes(stored_name: str) -> _NamedSizes:
    """Return the cakes that may be chosen: those in use, and the stored one."""
    rows = Recipe.objects.filter(is_cake=True).order_by("item__name")
    return _NamedSizes(
        (name, base_size)
        for name, base_size, retired in rows.values_list(
            "item__name", "base_size", "item__retired"
        )
        if not retired or folded(name) == folded(stored_name)
    )


def _choices(sizes: _NamedSizes, chosen: str) -> list[tuple[str, str]]:
    """Return the cakes to choose from; what was sent stays, known or not."""
    names = list(sizes.names)
    if chosen and chosen not in names:
        names.append(chosen)
    return [("", _("Choose a cake")), *((name, name) for name in names)]


def _sizes_in_use() -> list[str]:
    """Return the sizes planned most often."""
    sizes = (
        PlannedCake.objects.exclude(size="")
        .order_by()
        .values_list("size")
        .annotate(times=Count("pk"))
        .order_by("-times", "size")
    )
    return [size for size, _ in sizes[:MOST_SIZES_OFFERED]]
