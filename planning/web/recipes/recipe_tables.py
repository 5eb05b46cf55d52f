"""The tables of the recipe pages: the recipes, and the lines of one."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2 import A

from planning.models import Recipe, RecipeLine
from planning.sentences.words import capitalized
from planning.web.recipes.recipe_words import (
    SCALES_WITH,
    figure,
    keeps_words,
)
from stock.calendar.calendar_words import days_before_words
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.measures.resolution import to_ledger
from stock.models import Item
from stock.web.amounts import Amount, tap_for_base

ON_SCREEN = {"td": {"class": "screen-only"}, "th": {"class": "screen-only"}}
NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}
WHOLE = Decimal(100)


class RecipesTable(tables.Table):
    """Recipes of one kind, one a line; `line_count` is annotated."""

    caption = gettext_lazy(
        "What cakes and other recipes are made of, by the batch. Days are calendar "
        "days."
    )
    name = tables.Column(
        gettext_lazy("Recipe"),
        accessor="item__name",
        linkify=("planning:recipe", [A("pk")]),
    )
    yields = tables.Column(gettext_lazy("One batch yields"))
    made = tables.Column(gettext_lazy("Is made"), accessor="lead_days")
    keeps = tables.Column(
        gettext_lazy("Shelf life"), accessor="item__keeps_days", empty_values=()
    )
    line_count = tables.Column(gettext_lazy("Lines"), attrs=NUMBER)

    class Meta:
        orderable = False
        empty_text = gettext_lazy("No recipe is called so.")

    def render_name(self, value: str, record: Recipe) -> str:
        """Return the name, with what is unusual about it."""
        name = capitalized(value)
        return _("{name}, retired").format(name=name) if record.item.retired else name

    def render_made(self, value: int) -> str:
        """Return how long before it is needed it is made."""
        return days_before_words(value)

    def render_keeps(self, value: int | None) -> str:
        """Return how long it keeps."""
        return keeps_words(value)

    def render_line_count(self, value: int) -> str:
        """Return how many lines it has; a recipe without any makes no demand."""
        return str(value) if value else _("none yet")


class CakesTable(RecipesTable):
    """Cakes, which are made one by one in a size of their own."""

    caption = gettext_lazy(
        "Cakes, each written for its base size. Days are calendar days."
    )
    yields = tables.Column(
        gettext_lazy("Base size"),
        accessor="base_size",
        default=gettext_lazy("not said"),
    )


class RecipeLinesTable(tables.Table):
    """What one batch takes of each component."""

    component = tables.Column(gettext_lazy("Takes"))
    quantity = tables.Column(gettext_lazy("Quantity"))
    yield_percent = tables.Column(gettext_lazy("Edible yield"))
    change = tables.TemplateColumn(
        template_name="planning/line_link.html",
        verbose_name=gettext_lazy("Edit"),
        attrs=ON_SCREEN,
    )

    class Meta:
        orderable = False
        empty_text = gettext_lazy("It takes nothing yet.")

    def __init__(
        self,
        rows: Iterable[RecipeLine],
        *,
        converters: Mapping[int, Converter],
        caption: str,
    ) -> None:
        super().__init__(rows)
        self.converters = converters
        self.caption = caption

    def render_component(self, value: Item) -> SafeString:
        """Return the component with a way to its own page."""
        return format_html(
            '<a href="{}">{}</a>', component_url(value), capitalized(value.name)
        )

    def render_quantity(self, value: str, record: RecipeLine) -> SafeString:
        """Return the quantity as typed, its base figure one tap away."""
        converter = self.converters[record.component_id]
        amount = Amount(to_ledger(record.quantity_base), converter)
        return tap_for_base(with_noun(value, converter), amount)

    def render_yield_percent(self, value: Decimal) -> str:
        """Return how much of what is bought can be used."""
        return _("all") if value == WHOLE else f"{figure(value)} %"


class CakeLinesTable(RecipeLinesTable):
    """The lines of a cake, which grow with its size."""

    scales_with = tables.Column(gettext_lazy("Scales with"), empty_values=())

    class Meta(RecipeLinesTable.Meta):
        sequence = ("component", "quantity", "scales_with", "yield_percent", "change")

    def render_scales_with(self, record: RecipeLine) -> str:
        """Return what the line is multiplied by."""
        return str(SCALES_WITH[record.scales_with])


def component_url(item: Item) -> str:
    """Return the page of a component: its recipe, or its item."""
    is_made = item.kind in (Item.Kind.MADE, Item.Kind.CAKE)
    return reverse("planning:recipe" if is_made else "stock:item", args=[item.pk])
