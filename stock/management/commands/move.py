"""Move an item to another place: one line in, one line out."""

from argparse import ArgumentParser
from typing import Any
from uuid import uuid4

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.conversion import converters
from stock.counts.units import counting_units
from stock.management import count_arguments as arguments
from stock.management.plain_command import PlainCommand
from stock.management.stock_arguments import item_named, source_named
from stock.models import Place
from stock.moving.moving import MoveEntry, move_stock
from stock.moving.wording import move_words
from stock.wasting.quantities import place_on_hand_base, read_taken
from stock.wasting.wording import held_words, left_words


class Command(PlainCommand):
    help = gettext_noop(
        "Moves so much of an item to another place; lots and use-by stay what they "
        "are, and the earliest use-by goes first. More than is there is refused."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("item", metavar="ITEM", help=_("its name"))
        parser.add_argument("quantity", metavar="QUANTITY", help=_("0.7 kg, 1/5 case"))
        parser.add_argument(
            "--from",
            dest="from_place",
            metavar="PLACE",
            help=_("default: the only other"),
        )
        parser.add_argument("--to", dest="to_place", required=True, metavar="PLACE")
        parser.add_argument("--lot", metavar="CODE", help=_("default: earliest use-by"))
        parser.add_argument(
            "--key", metavar="KEY", help=_("the same key again moves nothing more")
        )
        arguments.add_by(parser)

    def handle(self, **options: Any) -> None:
        item = item_named(options["item"])
        by_id = arguments.person_id(options["by"])
        [to_place] = arguments.places_named([options["to_place"]], Place.objects.all())
        converter = converters.converters_for([item.pk])[item.pk]
        source = source_named(
            item,
            options["from_place"],
            options["lot"],
            option="--from",
            moved_to=to_place,
        )
        place_id = source.place.pk
        unit = counting_units({item.pk: item}, {item.pk: converter})[item.pk]
        entry = MoveEntry(
            item_id=item.pk,
            from_place_id=place_id,
            to_place_id=to_place.pk,
            amount_base=read_taken(
                options["quantity"], converter, (place_id, item.pk), unit=unit
            ),
            lot_id=source.lot_id,
        )
        row = move_stock(entry, key=options["key"] or str(uuid4()), by_id=by_id)
        left = left_words(place_on_hand_base(item.pk, place_id), converter)
        said = f"{move_words(row, converter)}; {left}.{held_words(row.lot_id)}"
        self.stdout.write(said)
