"""Keeping packs: the ways to buy an item, and what each of them holds."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from stock.conversion import converters, dependents
from stock.conversion.converters import ItemTexts
from stock.entry.batches import Batch, Origin
from stock.entry.entries import Entry, Kept, Key
from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.definitions import check_word
from stock.measures.packs import PackWord
from stock.measures.reading.vocabulary import Notation
from stock.models import Item, Pack, Supplier
from stock.saving import upsert
from stock.saving.sheets import PACKS
from stock.saving.upsert import Keeping, Row
from stock.saving.versions import set_seen
from stock.wording.names import capitalized

# Every one of them changes what the item's words come to.
WORD_COLUMNS = ("called", "holds", "preferred", "retired")
SAME_NAMED_FIELDS = (
    "called",
    "code",
    "holds",
    "price",
    "minimum_packs",
    "multiple",
    "price_breaks",
    "preferred",
    "gtin",
    "next_price",
    "next_price_from",
    "retired",
)


def keep_packs(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store packs; return what was added, changed and left alone.

    What is typed in a pack's word is worked out again when the word comes to hold
    something else. Refused while an order speaks of the pack that must not change. See
    `stock.saving.upsert` for rows, ids and batch. A fixed number of queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[Pack] = Keeping(PACKS, entries, own, rows=rows, ids=ids)
        suppliers = upsert.by_name(Supplier.objects.all())
        items = upsert.by_name(Item.objects.all())
        stored = list(Pack.objects.select_related("supplier", "item"))
        matched = kept.match(stored, pack_entry)
        for row in matched:
            _check_names(kept, row, suppliers, items)
            _check_next_price(kept, row)
        _compile(kept, matched, stored)
        _refuse_change_of_ordered(kept, matched)
        sound = kept.sound_rows(upsert.PACKS)
        _note_words(kept, sound, stored)
        kept.write(
            sound,
            _assign,
            Pack,
            ["supplier", "item", "label", "size_base", *SAME_NAMED_FIELDS],
        )
    return kept.kept()


def retire_pack(pack_id: int, *, seen: int | None = None) -> None:
    """Buy a pack no more; its orders stay, and its word still counts what is left.

    Refused where another retired pack of its word holds something else, and if it is no
    longer the version that was seen.
    """
    _set_retired(pack_id, seen, retired=True)


def unretire_pack(pack_id: int, *, seen: int | None = None) -> None:
    """Buy a pack again; its word comes before that of retired ones."""
    _set_retired(pack_id, seen, retired=False)


def _set_retired(pack_id: int, seen: int | None, *, retired: bool) -> None:
    with upsert.together(None) as batch:
        pack = set_seen(upsert.hold(Pack, pack_id), seen, retired=retired)
        if pack.called:
            batch.remeasure(pack.item_id, Origin(PACKS.name, 1, "called"))


def pack_entries(ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return packs as entries, by supplier and item. One query."""
    packs = Pack.objects.select_related("supplier", "item").order_by(
        "supplier__name", "item__name", "label"
    )
    if ids is not None:
        packs = packs.filter(pk__in=ids)
    return [pack_entry(pack) for pack in packs]


def pack_entry(pack: Pack) -> dict[str, Any]:
    """Return one pack as an entry."""
    return {
        "supplier": pack.supplier.name,
        "item": pack.item.name,
        "pack": pack.label,
        **{name: getattr(pack, name) for name in SAME_NAMED_FIELDS},
    }


def _assign(pack: Pack, row: Row[Pack]) -> None:
    pack.supplier = row.links["supplier"]
    pack.item = row.links["item"]
    pack.label = row.after["pack"]
    pack.size_base = row.links["size_base"]
    for name in SAME_NAMED_FIELDS:
        setattr(pack, name, row.after[name])


def _check_names(
    kept: Keeping[Pack],
    row: Row[Pack],
    suppliers: Mapping[Key, Supplier],
    items: Mapping[Key, Item],
) -> None:
    kept.find(row, "supplier", suppliers, space=upsert.SUPPLIERS, noun="supplier")
    item = kept.find(row, "item", items, space=upsert.NAMES, noun="item")
    if item is not None and item.kind == Item.Kind.PART:
        kept.fault(
            row,
            "item",
            capitalized(
                _("{name}: a part. Buy what it is taken from.").format(name=item.name)
            ),
        )
    elif item is not None and item.kind not in Item.BOUGHT_KINDS:
        kept.fault(
            row,
            "item",
            capitalized(
                _("{name}: made here, so there are no packs.").format(name=item.name)
            ),
        )
    if row.says("called") and row.after["called"]:
        try:
            check_word(row.after["called"])
        except MeasureError as error:
            kept.fault(row, "called", str(error))


def _check_next_price(kept: Keeping[Pack], row: Row[Pack]) -> None:
    """Refuse a next price without its day, and a day without a price."""
    if not row.says("next_price", "next_price_from"):
        return
    price, starts_on = row.after["next_price"], row.after["next_price_from"]
    if price is not None and starts_on is None:
        kept.fault(row, "next_price_from", _("Write the day from which it costs that."))
    elif price is None and starts_on is not None:
        kept.fault(row, "next_price", _("Write what one pack costs from that day on."))


def _compile(
    kept: Keeping[Pack], rows: Iterable[Row[Pack]], stored: Iterable[Pack]
) -> None:
    """Work out what packs hold, item by item, words of all its packs considered."""
    rows_by_item: dict[int, list[Row[Pack]]] = defaultdict(list)
    for row in rows:
        item = row.links.get("item")
        if (
            item is not None
            and row.says("item", *WORD_COLUMNS)
            and "holds" in row.after
        ):
            rows_by_item[item.pk].append(row)
    matched = {row.stored.pk for row in kept.rows if row.stored is not None}
    others_by_item: dict[int, list[PackWord]] = defaultdict(list)
    for pack in stored:
        if pack.pk not in matched and pack.called:
            others_by_item[pack.item_id].append(_word(pack))
    for item_id, of_item in rows_by_item.items():
        texts = ItemTexts.of(of_item[0].links["item"])
        _compile_item(kept, texts, of_item, others_by_item[item_id])


def _compile_item(
    kept: Keeping[Pack],
    texts: ItemTexts,
    rows: Sequence[Row[Pack]],
    others: Sequence[PackWord],
) -> None:
    words = [*others, *(_row_word(row) for row in rows if row.after["called"])]
    try:
        converter = converters.compile_item(texts, words)
    except MeasureError:
        _find_fault(kept, texts, rows, others)
        return
    for row in rows:
        _read_holds(kept, row, converter)


def _find_fault(
    kept: Keeping[Pack],
    texts: ItemTexts,
    rows: Sequence[Row[Pack]],
    others: Sequence[PackWord],
) -> None:
    """Name the rows whose words or holds do not go with those before them."""
    own = converters.compile_item(texts)
    words = list(others)
    for row in rows:
        if not _read_holds(kept, row, own) or not row.after["called"]:
            continue
        try:
            converters.compile_item(texts, [*words, _row_word(row)])
        except MeasureError as error:
            kept.fault(row, "called", str(error))
        else:
            words.append(_row_word(row))


def _read_holds(kept: Keeping[Pack], row: Row[Pack], converter: Converter) -> bool:
    try:
        holds_base = converter.typed_base(row.after["holds"], Notation.PACK)
    except MeasureError as error:
        kept.fault(row, "holds", str(error))
        return False
    if holds_base <= 0:
        kept.fault(row, "holds", _("A pack must hold more than nothing."))
        return False
    row.links["size_base"] = float(holds_base)
    return True


def _refuse_change_of_ordered(kept: Keeping[Pack], rows: Iterable[Row[Pack]]) -> None:
    """Refuse that a pack holds something else while an order speaks of it.

    No query where none does.
    """
    changed = {
        row.stored.pk: row
        for row in rows
        if row.stored is not None
        and (row.changes("item") or _size_base(row) != row.stored.size_base)
    }
    held = dependents.held_packs(changed) if changed else {}
    for pack_id, why in held.items():
        row = changed[pack_id]
        column = "item" if row.changes("item") else "holds"
        stands = kept.sheet.column(column).text(row.before[column])
        kept.fault(
            row, column, _("It is {stands}, and {why}").format(stands=stands, why=why)
        )


def _size_base(row: Row[Pack]) -> float:
    """Return what a row's pack is to hold; what is faulty is left as it was."""
    known = row.stored.size_base if row.stored is not None else 0.0
    return float(row.links.get("size_base", known))


def _note_words(
    kept: Keeping[Pack], rows: Iterable[Row[Pack]], stored: Iterable[Pack]
) -> None:
    """Tell the batch whose words may come to hold something else."""
    called = {(pack.item_id, pack.called.casefold()) for pack in stored if pack.called}
    for row in rows:
        item, word = row.links["item"], row.after["called"].casefold()
        is_known_word = row.stored is not None or (item.pk, word) in called
        if is_known_word and row.changes("item", *WORD_COLUMNS):
            origin = kept.origin(row, _("holds") if word else _("called"))
            kept.batch.remeasure(item.pk, origin)
            if row.stored is not None:
                kept.batch.remeasure(row.stored.item_id, origin)


def _word(pack: Pack) -> PackWord:
    return PackWord(pack.called, pack.holds, pack.preferred, pack.retired)


def _row_word(row: Row[Pack]) -> PackWord:
    return PackWord(
        row.after["called"],
        row.after["holds"],
        preferred=row.after["preferred"],
        retired=row.after["retired"],
    )
