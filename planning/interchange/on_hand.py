"""Keeping what is on hand, as a workbook or a page says it, row by row."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from planning.entry.sheets import STOCK
from stock.calendar.calendars import is_believable, too_far_away
from stock.conversion import converters
from stock.entry.batches import Batch
from stock.entry.entries import Change, Entry, Kept, Key, kept_of
from stock.errors import MeasureError
from stock.ledger import levels
from stock.ledger.correcting import (
    SET_SINCE_WAY_OUT,
    OnHandChange,
    OnHandRow,
    SetSinceError,
    set_on_hand_rows,
)
from stock.measures.reading.vocabulary import Notation
from stock.measures.resolution import to_ledger
from stock.models import Item, Lot, Movement, Place
from stock.saving import upsert
from stock.saving.upsert import Keeping, Row
from stock.wording.names import capitalized

# Where something stands if neither its row nor its item says so.
UNSAID_PLACE = "Kitchen"
LONGEST_LOT = Lot._meta.get_field("code").max_length or 0


def keep_on_hand(
    entries: Sequence[Entry],
    *,
    at: datetime | None = None,
    kind: str = Movement.Kind.IMPORTED,
    by_id: int | None = None,
    rows: Sequence[int] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Set what is on hand; return what was added, changed, left alone.

    Without `at` it is what is there now, else what was there then. A row is all of an
    item with one use-by in one place. A blank place is the item's usual one. Only
    differences are written. See `stock.saving.upsert` for rows and batch.
    """
    with upsert.together(batch) as own:
        kept: Keeping[Any] = Keeping(STOCK, entries, own, rows=rows)
        items = upsert.by_name(Item.objects.select_related("place"))
        places = upsert.by_name(Place.objects.all())
        matched = kept.match([], lambda _: {})
        for row in matched:
            item = kept.find(row, "item", items, space=upsert.NAMES, noun="item")
            _check_item(kept, row, item)
            kept.find(row, "place", places, space=upsert.PLACES, noun="place")
        _refuse_unbelievable_days(kept, matched)
        _compile(kept, matched)
        _stand_somewhere(matched, places)
        _refuse_same_shelf(kept, matched)
        sound = kept.sound_rows()
        on_hand = {_on_hand(row): row for row in sound}
        try:
            changes = set_on_hand_rows(list(on_hand), at=at, kind=kind, by_id=by_id)
        except SetSinceError as error:
            for each in error.rows:
                _refuse_set_since(kept, on_hand[each])
            sound, changes = kept.sound_rows(), []
    return _kept(kept, sound, changes)


def on_hand_entries() -> list[dict[str, Any]]:
    """Return what is on hand as entries, by item, place and use-by. Three queries.

    Shelves with nothing, or with less than nothing, are left out.
    """
    items = Item.objects.in_bulk()
    places = Place.objects.in_bulk()
    amounts: dict[tuple[int, int, date | None], Decimal] = defaultdict(Decimal)
    codes: dict[tuple[int, int, date | None], list[str]] = defaultdict(list)
    for lot in levels.lots_on_hand():
        shelf = lot.item_id, lot.place_id, lot.use_by
        amounts[shelf] += lot.amount_base
        if lot.code:
            codes[shelf].append(lot.code)
    entries = [
        {
            "item": items[item_id].name,
            "quantity": _quantity(items[item_id], amount_base),
            "place": places[place_id].name,
            "use_by": use_by,
            "lot": _lot_code(codes[item_id, place_id, use_by]),
        }
        for (item_id, place_id, use_by), amount_base in amounts.items()
        if amount_base > 0
    ]
    return sorted(
        entries,
        key=lambda entry: (
            str(entry["item"]).casefold(),
            str(entry["place"]).casefold(),
            str(entry["use_by"] or "9999"),
        ),
    )


def _quantity(item: Item, amount_base: Decimal) -> str:
    return f"{amount_base.normalize():f} {item.base_unit}"


def _lot_code(codes: Iterable[str]) -> str:
    code = "; ".join(dict.fromkeys(codes))
    return code if len(code) <= LONGEST_LOT else ""


def _check_item(kept: Keeping[Any], row: Row[Any], item: Item | None) -> None:
    if item is not None and item.kind == Item.Kind.CAKE:
        kept.fault(
            row,
            "item",
            _(
                "Cakes like {name} are made to order and never on a shelf. Enter "
                "what it is made of."
            ).format(name=item.name),
        )


def _refuse_unbelievable_days(kept: Keeping[Any], rows: Iterable[Row[Any]]) -> None:
    """Refuse a use-by that nobody can mean, unless it is stored: an export comes back.

    One query where there is such a use-by, else none.
    """
    asked = [
        row
        for row in rows
        if row.says("use_by")
        and (use_by := row.after["use_by"])
        and not is_believable(use_by)
    ]
    days = {row.after["use_by"] for row in asked}
    lots = Lot.objects.filter(use_by__in=days) if days else Lot.objects.none()
    stored = set(lots.values_list("item_id", "use_by"))
    for row in asked:
        item, use_by = row.links.get("item"), row.after["use_by"]
        if item is None or (item.pk, use_by) not in stored:
            kept.fault(row, "use_by", too_far_away(use_by))


def _compile(kept: Keeping[Any], rows: Iterable[Row[Any]]) -> None:
    asked = [
        row
        for row in rows
        if "item" in row.links and row.says("item", "quantity") and row.is_sound
    ]
    known = converters.converters_for({row.links["item"].pk for row in asked})
    for row in asked:
        try:
            converter = known[row.links["item"].pk]
            amount = converter.typed_base(row.after["quantity"], Notation.STOCK)
        except MeasureError as error:
            kept.fault(row, "quantity", str(error))
        else:
            row.links["amount_base"] = to_ledger(amount)


def _stand_somewhere(rows: Iterable[Row[Any]], places: Mapping[Key, Place]) -> None:
    """Give a place to rows that name none: the item's usual one, or the kitchen."""
    for row in rows:
        if row.after["place"] or "item" not in row.links:
            continue
        place = row.links["item"].place
        if place is None and row.is_sound:
            place = places.get((UNSAID_PLACE.casefold(),))
            if place is None:
                place, _ = Place.objects.get_or_create(name=UNSAID_PLACE)
        row.links["place"] = place


def _refuse_same_shelf(kept: Keeping[Any], rows: Iterable[Row[Any]]) -> None:
    first: dict[tuple[int, int, date | None], int] = {}
    for row in rows:
        item, place = row.links.get("item"), row.links.get("place")
        if item is None or place is None or not row.says("use_by"):
            continue
        shelf = item.pk, place.pk, row.after["use_by"]
        if shelf in first:
            kept.fault(
                row,
                "item",
                capitalized(
                    _(
                        "{name} in {name2} with this use-by is in row {first} already. "
                        "Add the two up in one row."
                    ).format(name=item.name, name2=place.name, first=first[shelf])
                ),
            )
        first.setdefault(shelf, row.number)


def _refuse_set_since(kept: Keeping[Any], row: Row[Any]) -> None:
    item, place = row.links["item"], row.links["place"]
    sentence = capitalized(
        _("{name} in {name2}: set since that moment.").format(
            name=item.name, name2=place.name
        )
    )
    kept.fault(row, "quantity", f"{sentence} {SET_SINCE_WAY_OUT}")


def _on_hand(row: Row[Any]) -> OnHandRow:
    return OnHandRow(
        item_id=row.links["item"].pk,
        place_id=row.links["place"].pk,
        amount_base=row.links["amount_base"],
        use_by=row.after["use_by"],
        lot_code=row.after["lot"],
    )


def _kept(
    kept: Keeping[Any], rows: Sequence[Row[Any]], changes: Iterable[OnHandChange]
) -> Kept:
    """Say what was added, and what changed from how much to how much."""
    change_by_shelf = {
        (change.row.item_id, change.row.place_id, change.row.use_by): change
        for change in changes
    }
    added: dict[int, str] = {}
    changed: list[tuple[int, Change]] = []
    unchanged: list[int] = []
    for row in rows:
        item, place = row.links["item"], row.links["place"]
        change = change_by_shelf.get((item.pk, place.pk, row.after["use_by"]))
        if change is None:
            unchanged.append(row.number)
            continue
        row.after["place"] = place.name
        label = kept.label(row)
        if not change.before_base:
            added[row.number] = label
            continue
        before = _quantity(item, change.before_base)
        after = _quantity(item, row.links["amount_base"])
        changed.append((row.number, Change(label, "quantity", before, after)))
    return kept_of(added, changed, unchanged, faulty=kept.faulty)
