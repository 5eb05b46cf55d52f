"""Waste an item: one line in, one line out."""

from argparse import ArgumentParser
from typing import Any
from uuid import uuid4

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.conversion import converters
from stock.counts.units import counting_units
from stock.entry.entries import folded
from stock.management import count_arguments as arguments
from stock.management.plain_command import PlainCommand
from stock.management.stock_arguments import item_named, source_named
from stock.models import Waste
from stock.wasting.quantities import place_on_hand_base, read_taken
from stock.wasting.wasting import WasteEntry, waste
from stock.wasting.wording import held_words, left_words, waste_words


class Command(PlainCommand):
    help = gettext_noop(
        "Takes what was wasted off the record, with its reason; the earliest use-by "
        "goes first. More than is on record is refused unless --beyond-record says so."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        reasons = [reason.value for reason in Waste.Reason]
        parser.add_argument("item", metavar="ITEM", help=_("its name"))
        parser.add_argument("quantity", metavar="QUANTITY", help=_("0.7 kg, 1/5 case"))
        parser.add_argument(
            "--reason",
            required=True,
            help=_("one of: {reasons}").format(reasons=", ".join(reasons)),
        )
        parser.add_argument("--place", metavar="NAME", help=_("default: the only one"))
        parser.add_argument("--lot", metavar="CODE", help=_("default: earliest use-by"))
        parser.add_argument(
            "--beyond-record",
            action="store_true",
            help=_("it was so much though the record has less"),
        )
        parser.add_argument(
            "--key", metavar="KEY", help=_("the same key again wastes nothing more")
        )
        arguments.add_by(parser)

    def handle(self, **options: Any) -> None:
        item = item_named(options["item"])
        by_id = arguments.person_id(options["by"])
        converter = converters.converters_for([item.pk])[item.pk]
        source = source_named(item, options["place"], options["lot"])
        place_id = source.place.pk
        unit = counting_units({item.pk: item}, {item.pk: converter})[item.pk]
        entry = WasteEntry(
            item_id=item.pk,
            place_id=place_id,
            amount_base=read_taken(
                options["quantity"], converter, (place_id, item.pk), unit=unit
            ),
            reason=folded(options["reason"]),
            lot_id=source.lot_id,
            beyond_record=options["beyond_record"],
        )
        row = waste(entry, key=options["key"] or str(uuid4()), by_id=by_id)
        left = left_words(place_on_hand_base(item.pk, place_id), converter)
        said = f"{waste_words(row, converter)}; {left}.{held_words(row.lot_id)}"
        self.stdout.write(said)
