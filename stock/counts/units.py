"""Counting units: the unit beside each field of a count's sheet, by item."""

from collections.abc import Collection, Mapping

from django.db import transaction
from django.db.models import Max

from stock.counts.entries import compiled_or_broken
from stock.counts.errors import UnitChosenSinceError, UnknownCountingUnitError
from stock.counts.lines import LineKey, line_of
from stock.measures.conversion import Converter
from stock.measures.counting_units import counting_unit, unit_choices
from stock.models import Count, CountDecision, CountEntry, Item


def counting_units(
    items: Mapping[int, Item], converters: Mapping[int, Converter]
) -> dict[int, str | None]:
    """Return the counting unit of each item that has a converter. Two queries.

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


def last_said(item_ids: Collection[int]) -> dict[int, str]:
    """Return what the last posted count said of each item. Two queries.

    As typed; where the review decided, as it was decided.
    """
    said = CountEntry.objects.filter(
        item_id__in=list(item_ids),
        kept=CountEntry.Kept.TAKEN,
        amount_base__gt=0,
        count__state=Count.State.POSTED,
    )
    newest = said.order_by().values("item_id").annotate(newest=Max("pk"))
    rows = list(CountEntry.objects.filter(pk__in=newest.values("newest")))
    decided = _decided_text_by_line(rows)
    return {
        row.item_id: decided.get((row.count_id, line_of(row))) or row.text
        for row in rows
    }


def _decided_text_by_line(
    entries: Collection[CountEntry],
) -> dict[tuple[int, LineKey], str]:
    """Return what the review decided of the lines of entries, where it stands."""
    decisions = CountDecision.objects.filter(
        count_id__in={entry.count_id for entry in entries},
        item_id__in={entry.item_id for entry in entries},
    ).exclude(choice=CountDecision.Choice.NONE)
    decision_by_line = {(row.count_id, line_of(row)): row for row in decisions}
    return {
        line: decision_by_line[line].text
        for entry in entries
        if (line := (entry.count_id, line_of(entry))) in decision_by_line
        and decision_by_line[line].through_entry >= entry.pk
    }


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
