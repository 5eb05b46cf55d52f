"""Keeping items: what is bought, kept on shelves and counted."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from stock.conversion import converters
from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept, Key, folded
from stock.errors import EquivalentError, MeasureError
from stock.measures.definitions import parse_equivalents, parse_own_words
from stock.measures.reading.vocabulary import Notation
from stock.measures.units import Measure
from stock.models import Item, Movement, Place
from stock.saving import upsert
from stock.saving.sheets import ITEMS
from stock.saving.upsert import Keeping, Row
from stock.saving.versions import set_seen
from stock.wording.names import capitalized

# Every one of them changes what the item's units come to.
MEASURING_COLUMNS = ("measure", "equivalents", "own_units")
LEVEL_COLUMNS = ("safety", "par")
SAME_NAMED_FIELDS = (
    "kind",
    "measure",
    "equivalents",
    "own_units",
    "safety",
    "par",
    "keeps_days",
    "walk_order",
    "allergens",
    "minimum_days_left",
    "cold",
    "opened_keeps_days",
    "frozen_keeps_days",
    "thawed_keeps_days",
    "retired",
    "weights_from",
)


def item_called(name: str) -> Item | None:
    """Return the item of a name, in whatever case it is typed; None without one.

    Compared here, because SQLite takes É and é for two letters. One query.
    """
    return upsert.by_name(Item.objects.all()).get((folded(name),))


def keep_items(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store bought items; return what was added, changed and left alone.

    See `stock.saving.upsert` for rows, ids and batch. Whatever is typed in an item's
    units is worked out again when its measure, equivalents or own units change, or the
    change is refused. A fixed number of queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[Item] = Keeping(ITEMS, entries, own, rows=rows, ids=ids)
        places = upsert.by_name(Place.objects.all())
        matched = kept.match(Item.objects.select_related("place"), _values)
        for row in matched:
            _check_kind(kept, row)
            _check_measures(kept, row)
            _check_place(kept, row, places)
        refuse_new_measure_of_moved(kept, matched)
        sound = kept.sound_rows(upsert.NAMES)
        kept.write(sound, _assign, Item, ["name", "place", *SAME_NAMED_FIELDS])
        _note_measures(kept, sound)
    return kept.kept()


@transaction.atomic
def retire_item(item_id: int, *, seen: int | None = None) -> None:
    """Hide an item, a part or a recipe from lists; its history stays.

    Refused if it is no longer the version that was seen.
    """
    set_seen(upsert.hold(Item, item_id), seen, retired=True)


@transaction.atomic
def unretire_item(item_id: int, *, seen: int | None = None) -> None:
    """Bring back an item, a part or a recipe; see `retire_item`."""
    set_seen(upsert.hold(Item, item_id), seen, retired=False)


def item_entries(ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return bought items as entries, by name. One query."""
    items = (
        Item.objects.filter(kind__in=Item.BOUGHT_KINDS)
        .select_related("place")
        .order_by("name")
    )
    if ids is not None:
        items = items.filter(pk__in=ids)
    return [_values(item) for item in items]


def refuse_new_measure_of_moved(
    kept: Keeping[Any], rows: Iterable[Row[Any]], *, column: str = "measure"
) -> None:
    """Refuse to change how something is kept once it has been on a shelf.

    Its movements are in the old base unit. The new measure is the row's link of that
    name, or its column. One query if any measure changes.
    """
    changed = [
        (row, row.stored.pk)
        for row in rows
        if row.stored is not None and _new_measure(row) != _item(row).measure
    ]
    if not changed:
        return
    moved = set(
        Movement.objects.filter(item_id__in=[pk for _other, pk in changed])
        .values_list("item_id", flat=True)
        .distinct()
    )
    for row, pk in changed:
        if pk in moved:
            kept_by = Measure(_item(row).measure).kept_by
            kept.fault(
                row,
                column,
                capitalized(
                    _(
                        "{name}: on the shelf by {kept_by} already, so that cannot "
                        "change any more. Retire it and add it under another name."
                    ).format(name=_item(row).name, kept_by=kept_by)
                ),
            )


def _item(row: Row[Any]) -> Item:
    """Return the stored item of a row, or of its recipe."""
    return row.stored if isinstance(row.stored, Item) else row.stored.item  # type: ignore[union-attr]


def _new_measure(row: Row[Any]) -> str:
    unread = _item(row).measure
    return str(row.links.get("measure") or row.after.get("measure") or unread)


def _values(item: Item) -> dict[str, Any]:
    return {
        "item": item.name,
        "place": item.place.name if item.place else "",
        **{name: getattr(item, name) for name in SAME_NAMED_FIELDS},
    }


def _assign(item: Item, row: Row[Item]) -> None:
    item.name = row.after["item"]
    item.place = row.links.get("place")
    for name in SAME_NAMED_FIELDS:
        setattr(item, name, row.after[name])


def _check_kind(kept: Keeping[Item], row: Row[Item]) -> None:
    if row.stored is None or row.stored.kind in Item.BOUGHT_KINDS:
        return
    what = (
        _("a part of something") if row.stored.kind == Item.Kind.PART else _("a recipe")
    )
    kept.fault(
        row,
        "item",
        capitalized(
            _(
                "{name}: {what} here. Items, parts and recipes share one set of "
                "names, so choose another."
            ).format(name=row.stored.name, what=what)
        ),
    )


def _check_place(
    kept: Keeping[Item], row: Row[Item], places: Mapping[Key, Place]
) -> None:
    kept.find(row, "place", places, space=upsert.PLACES, noun="place")


def _check_measures(kept: Keeping[Item], row: Row[Item]) -> None:
    """Refuse equivalents and own units that cannot be read or do not fit."""
    if not row.says(*MEASURING_COLUMNS) or not row.changes(*MEASURING_COLUMNS):
        return
    values = row.after
    readers = {"equivalents": parse_equivalents, "own_units": parse_own_words}
    for column, read in readers.items():
        notation = Notation.ITEM if row.changes(column) else Notation.STOCK
        try:
            read(values[column], notation)
        except MeasureError as error:
            kept.fault(row, column, str(error))
    if not row.says(*MEASURING_COLUMNS) or "measure" not in values:
        return
    # Exactly as it will be stored, so that it need not be compiled again.
    texts = converters.ItemTexts(
        values["item"],
        values["measure"],
        values["equivalents"],
        values["own_units"],
        par=values.get("par", ""),
        safety=values.get("safety", ""),
    )
    try:
        kept.batch.compiled[texts] = converters.compile_item(texts)
    except EquivalentError as error:
        kept.fault(row, "equivalents", str(error))
    except MeasureError as error:
        kept.fault(row, "own_units", str(error))


def _note_measures(kept: Keeping[Item], rows: Iterable[Row[Item]]) -> None:
    """Tell the batch whose units and levels are to be worked out when it closes."""
    for row in rows:
        item = row.instance
        if item is None:
            continue
        # The name measures too: 24 eggs.
        for column in ("item", *MEASURING_COLUMNS):
            if row.stored is not None and row.changes(column):
                kept.batch.remeasure(item.pk, kept.origin(row, column))
        for column in LEVEL_COLUMNS:
            if row.changes(column) and (row.after[column] or row.before):
                kept.batch.levels[item.pk, column] = kept.origin(row, column)
