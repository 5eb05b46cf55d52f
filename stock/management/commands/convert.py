"""Says what a quantity of an item is in another unit, and by which factor."""

from argparse import ArgumentParser
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.conversion.converters import converters_for
from stock.entry.entries import folded
from stock.errors import StockError
from stock.management.plain_command import PlainCommand
from stock.measures.reading.quantity import finite_decimal
from stock.measures.reading.vocabulary import Notation
from stock.measures.resolution import round_half_up
from stock.models import Item
from stock.wording import names

SHOWN_PLACES = 4


class UnknownItemError(StockError):
    """A name that no item has."""


class Command(PlainCommand):
    help = gettext_noop(
        'Converts a quantity of an item: convert "2 1/3 cup" --item "bread flour" '
        "--to g"
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("quantity", help=_('what people write, like "2 1/3 cup"'))
        parser.add_argument("--item", required=True, help=_("whose quantity it is"))
        parser.add_argument("--to", required=True, help=_("the unit to say it in"))

    def handle(self, **options: Any) -> None:
        """Print the result, and how each term was converted."""
        item_id = _item_id(options["item"])
        converter = converters_for([item_id])[item_id]
        quantity = converter.read(options["quantity"], Notation.ITEM)
        unit = options["to"]
        amount = converter.from_base(converter.to_base(quantity), unit)
        shown = round_half_up(amount, SHOWN_PLACES)
        sign = "=" if shown == amount else "≈"
        self.stdout.write(f"{quantity} {sign} {finite_decimal(shown)} {unit}")
        units = [*(term.unit for term in quantity.terms), unit]
        for factor in dict.fromkeys(converter.through(each) for each in units):
            if factor is not None:
                self.stdout.write(f"{converter.item_name}: {factor}")


def _item_id(name: str) -> int:
    """Return the id of the item of this name, or raise with the nearest known."""
    known = dict(Item.objects.values_list("name", "pk"))
    ids = {folded(each): pk for each, pk in known.items()}
    if folded(name) not in ids:
        raise UnknownItemError(names.unknown("item", name, known))
    return ids[folded(name)]
