"""Packs in tables: by item (who sells it) and by supplier (what it sells)."""

from collections.abc import Iterable, Mapping

import django_tables2 as tables
from django.urls import reverse
from django.utils import timezone
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2 import A

from stock.calendar.calendar_words import date_words
from stock.entry.money_cells import parse_price_breaks
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.models import Item, Pack
from stock.suppliers.unit_prices import unit_price
from stock.templatetags.words import price

FIGURES = {"td": {"class": "num"}, "th": {"class": "num"}}


class PacksTable(tables.Table):
    """What all tables of packs have in common."""

    label = tables.Column(
        gettext_lazy("Pack"), linkify=("stock:change_pack", [A("pk")])
    )
    holds = tables.Column(gettext_lazy("Holds"))
    price = tables.Column(gettext_lazy("Price"), attrs=FIGURES)
    unit_price = tables.Column(gettext_lazy("That is"), empty_values=(), attrs=FIGURES)
    rules = tables.Column(
        gettext_lazy("Rules"), empty_values=(), attrs={"td": {"class": "words"}}
    )
    code = tables.Column(gettext_lazy("Supplier code"))

    class Meta:
        orderable = False
        empty_text = gettext_lazy("No pack yet.")

    def __init__(
        self,
        packs: Iterable[Pack],
        *,
        converters: Mapping[int, Converter],
        caption: str,
        currency: str,
    ) -> None:
        super().__init__(packs)
        self.converters = converters
        self.caption = caption
        self.currency = currency
        self.today = timezone.localdate()

    def render_label(self, record: Pack) -> str:
        """Return the supplier's words, with what is special about the pack."""
        marks = [_(", preferred")] * record.preferred + [
            _(", retired")
        ] * record.retired
        return f"{record.label}{''.join(marks)}"

    def render_holds(self, record: Pack) -> str:
        """Return what it holds, and what it is called when counting."""
        called = (
            _(", called {called}").format(called=record.called) if record.called else ""
        )
        return f"{with_noun(record.holds, self.converters[record.item_id])}{called}"

    def render_price(self, record: Pack) -> str:
        """Return the price of one pack today."""
        return price(record.price_on(self.today), self.currency)

    def render_unit_price(self, record: Pack) -> str:
        """Return what one lb, quart or piece of it costs."""
        per_unit = unit_price(record, self.today)
        one = with_noun(f"1 {per_unit.unit}", self.converters[record.item_id])
        return f"{price(per_unit.price, self.currency)}/{one.removeprefix('1 ')}"

    def render_rules(self, record: Pack) -> str:
        """Return from how many packs it is sold, in what steps, at what prices."""
        rules = []
        if record.minimum_packs > 1:
            rules.append(
                _("at least {minimum_packs}").format(minimum_packs=record.minimum_packs)
            )
        if record.multiple > 1:
            rules.append(_("in steps of {multiple}").format(multiple=record.multiple))
        breaks = "" if record.has_next_price(self.today) else record.price_breaks
        for packs, break_price in parse_price_breaks(breaks):
            rules.append(
                _("from {packs}: {price} each").format(
                    packs=packs, price=price(break_price, self.currency)
                )
            )
        return "; ".join([*rules, *self._next_price(record)])

    def _next_price(self, record: Pack) -> list[str]:
        """Return what the pack is going to cost, unless it does already."""
        if record.next_price is None or record.next_price_from is None:
            return []
        if record.has_next_price(self.today):
            return []
        later = price(record.next_price, self.currency)
        return [
            _("{later} from {date}").format(
                later=later, date=date_words(record.next_price_from)
            )
        ]


class ItemPacksTable(PacksTable):
    """The packs of one item."""

    supplier = tables.Column(
        gettext_lazy("Supplier"), linkify=("stock:supplier", [A("supplier_id")])
    )
    label = tables.Column(
        gettext_lazy("Pack"),
        linkify=lambda record: (
            f"{reverse('stock:change_pack', args=[record.pk])}?from=item"
        ),
    )

    class Meta(PacksTable.Meta):
        sequence = ("supplier", "...")
        empty_text = gettext_lazy("Nobody sells it yet: add a pack.")


class SupplierPacksTable(PacksTable):
    """The packs of one supplier."""

    item = tables.Column(gettext_lazy("Item"), linkify=("stock:item", [A("item_id")]))

    class Meta(PacksTable.Meta):
        sequence = ("item", "...")
        empty_text = gettext_lazy("It sells nothing yet: add a pack.")

    def render_item(self, value: Item) -> str:
        """Return the item's name as it heads a row."""
        return capfirst(value.name)
