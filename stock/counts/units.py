"""Counting units: the unit beside each field of a count's sheet, by item."""

from collections.abc import Mapping

from django.db import transaction
from django.db.models import Max

from stock.counts.entries import compiled_or_broken
from stock.counts.errors import UnitChosenSinceError, UnknownCountingUnitError
from stock.measures.conversion import Converter
from stock.measures.counting_units import counting_unit, unit_choices
from stock.models import Count, CountEntry, Item


def counting_units(
    items: Mapping[int, Item], converters: Mapping[int, Converter]
) -> dict[int, str | None]:
    """Return the counting unit of each item that has a converter. One query.

    None: a bare number is asked about.
    """
    said = last_said(converters)
    return {
        item_id: counting_unit(
            converter,
            chosen=items[item_id].counted_in,
            counted_last=said.get(item_id),
        )
        for item_id, converter in converters.items()
        if item_id in items
    }


def last_said(item_ids: Mapping[int, object]) -> dict[int, str]:
    """Return what the last posted count said of each item, as typed. One query."""
    said = CountEntry.objects.filter(
        item_id__in=list(item_ids),
        kept=CountEntry.Kept.TAKEN,
        amount_base__gt=0,
        count__state=Count.State.POSTED,
    )
    newest = said.order_by().values("item_id").annotate(newest=Max("pk"))
    rows = CountEntry.objects.filter(pk__in=newest.values("newest"))
    return dict(rows.values_list("item_id", "text"))


@transaction.atomic
def choose_unit(item_id: int, unit: str, *, seen: str | None = None) -> str:
    """Keep what a bare number of an item means in counts; blank: as counted last.

    Refused for a word that the item does not have, and where somebody chose another
    since `seen`. The same again changes nothing.
    """
    item = Item.objects.select_for_update(no_key=True).get(pk=item_id)
    unit = unit.strip()
    converter = compiled_or_broken({item_id})[0].get(item_id)
    if unit and (converter is None or unit not in unit_choices(converter)):
        raise UnknownCountingUnitError(item.name, unit)
    if seen is not None and item.counted_in not in (seen, unit):
        raise UnitChosenSinceError(item.name, item.counted_in)
    item.counted_in = unit
    item.save(update_fields=["counted_in"])
    return unit
