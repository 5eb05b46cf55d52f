"""Waste an item: one line in, one line out."""

from argparse import ArgumentParser
from typing import Any
from uuid import uuid4

from stock.conversion import converters
from stock.counts.units import counting_units
from stock.entry.entries import folded
from stock.management import count_arguments as arguments
from stock.management.plain_command import PlainCommand
from stock.models import Item, Place, Waste
from stock.wasting.errors import WasteError
from stock.wasting.quantities import (
    Source,
    place_on_hand_base,
    read_wasted,
    sources,
)
from stock.wasting.wasting import WasteEntry, waste
from stock.wasting.wording import left_words, waste_words
from stock.wording import names


class WasteArgumentError(WasteError):
    """An argument that names nothing here, or not one thing alone."""


class Command(PlainCommand):
    help = (
        "Takes what was wasted off the record, with its reason; the earliest use-by "
        "goes first. More than is on record is refused unless --beyond-record says so."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        reasons = [reason.value for reason in Waste.Reason]
        parser.add_argument("item", metavar="ITEM", help="its name")
        parser.add_argument("quantity", metavar="QUANTITY", help="0.7 kg, 1/5 case")
        parser.add_argument("--reason", required=True, help=", ".join(reasons))
        parser.add_argument("--place", metavar="NAME", help="default: the only one")
        parser.add_argument("--lot", metavar="CODE", help="default: earliest use-by")
        parser.add_argument(
            "--beyond-record",
            action="store_true",
            help="it was so much though the record has less",
        )
        parser.add_argument(
            "--key", metavar="KEY", help="the same key again wastes nothing more"
        )
        arguments.add_by(parser)

    def handle(self, **options: Any) -> None:
        item = _item(options["item"])
        by_id = arguments.person_id(options["by"])
        converter = converters.converters_for([item.pk])[item.pk]
        source = _source(item, options["place"], options["lot"])
        place_id = source.place.pk
        unit = counting_units({item.pk: item}, {item.pk: converter})[item.pk]
        entry = WasteEntry(
            item_id=item.pk,
            place_id=place_id,
            amount_base=read_wasted(
                options["quantity"], converter, (place_id, item.pk), unit=unit
            ),
            reason=folded(options["reason"]),
            lot_id=source.lot_id,
            beyond_record=options["beyond_record"],
        )
        row = waste(entry, key=options["key"] or str(uuid4()), by_id=by_id)
        left = left_words(place_on_hand_base(item.pk, place_id), converter)
        self.stdout.write(f"{waste_words(row, converter)}; {left}.")


def _item(name: str) -> Item:
    known = {folded(item.name): item for item in Item.objects.all()}
    if folded(name) not in known:
        unknown = names.unknown("item", name, [item.name for item in known.values()])
        raise WasteArgumentError(unknown)
    return known[folded(name)]


def _source(item: Item, place_name: str | None, code: str | None) -> Source:
    """Return what the arguments name; several places are never guessed among."""
    if place_name is not None:
        [place] = arguments.places_named([place_name], Place.objects.all())
        found = [each for each in sources(item) if each.place == place]
        found = found or [Source(place, place_on_hand_base(item.pk, place.pk), ())]
    else:
        found = _in_the_only_place(item)
    if code is None:
        return found[0]
    of_lot = [
        Source(each.place, lot.amount_base, (lot,), lot)
        for each in found[:1]
        for lot in each.lots
        if folded(lot.code) == folded(code)
    ]
    if not of_lot:
        known = [lot.code for lot in found[0].lots if lot.code]
        where = f"lot of {item.name} in {found[0].place.name}"
        raise WasteArgumentError(names.unknown(where, code, known))
    return of_lot[0]


def _in_the_only_place(item: Item) -> list[Source]:
    found = sources(item)
    stocked = [each for each in found if each.lots] or found
    place_names = list(dict.fromkeys(each.place.name for each in stocked))
    if len(place_names) != 1:
        where = ", ".join(place_names) or "no place yet"
        raise WasteArgumentError(
            f"{item.name} stands in {where}. Say which: --place NAME."
        )
    return stocked
