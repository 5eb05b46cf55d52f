"""Keeping substitutes: what can stand in for an item, and so much for how much.

They are the bakery's own notes. Nothing is ever replaced because of them.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from stock.conversion import converters
from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept, Key
from stock.entry.measure_cells import split_ratio
from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.reading.vocabulary import Notation
from stock.models import Item, Substitute
from stock.saving import upsert
from stock.saving.sheets import SUBSTITUTES
from stock.saving.upsert import Keeping, Row
from stock.wording.names import capitalized

NAME_COLUMNS = ("item", "substitute")
# The sides of a ratio, and the item that each is a quantity of.
SIDES = {"quantity": "substitute", "for_quantity": "item"}
FIELDS = (
    *("item", "substitute", "source", "note"),
    *("quantity", "quantity_base", "for_quantity", "for_quantity_base"),
)
PLAIN_FIELDS = ("source", "note")


def keep_substitutes(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store substitutes; return what was added, changed and left alone.

    One may stand in for the other and the other for it; each way is an entry of its
    own. See `stock.saving.upsert` for rows, ids and batch. A fixed number of queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[Substitute] = Keeping(
            SUBSTITUTES, entries, own, rows=rows, ids=ids
        )
        items = upsert.by_name(Item.objects.select_related("whole"))
        matched = kept.match(_stored(), _values)
        for row in matched:
            _check_names(kept, row, items)
        _compile(kept, matched)
        kept.write(kept.sound_rows(), _assign, Substitute, FIELDS)
    return kept.kept()


def remove_substitute(substitute_id: int, *, seen: int | None = None) -> None:
    """Let something stand in for an item no more. Twice is the same.

    Refused if it is no longer the version that was seen.
    """
    upsert.remove(Substitute, substitute_id, seen=seen)


def substitute_entries(ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return substitutes as entries, by item and name. One query."""
    stored = _stored().order_by("item__name", "substitute__name")
    if ids is not None:
        stored = stored.filter(pk__in=ids)
    return [_values(each) for each in stored]


def _stored() -> Any:
    return Substitute.objects.select_related("item", "substitute")


def _values(stored: Substitute) -> dict[str, Any]:
    return {
        "item": stored.item.name,
        "substitute": stored.substitute.name,
        "ratio": stored.ratio,
        **{name: getattr(stored, name) for name in PLAIN_FIELDS},
    }


def _assign(stored: Substitute, row: Row[Substitute]) -> None:
    for name in NAME_COLUMNS:
        setattr(stored, name, row.links[name])
    for name in PLAIN_FIELDS:
        setattr(stored, name, row.after[name])
    typed = split_ratio(row.after["ratio"]) if row.after["ratio"] else ("", "")
    for name, text in zip(SIDES, typed, strict=True):
        setattr(stored, name, text)
        setattr(stored, f"{name}_base", row.links.get(f"{name}_base"))


def _check_names(
    kept: Keeping[Substitute], row: Row[Substitute], items: Mapping[Key, Item]
) -> None:
    found = [
        kept.find(row, column, items, space=upsert.NAMES, noun="item")
        for column in NAME_COLUMNS
    ]
    if not row.changes(*NAME_COLUMNS):
        return
    for column, item in zip(NAME_COLUMNS, found, strict=True):
        if item is not None and (why := _unfit(item)):
            kept.fault(row, column, why)
    item, substitute = found
    if item is None or substitute is None or not row.is_sound:
        return
    if item.pk == substitute.pk:
        kept.fault(
            row,
            "substitute",
            _("Nothing stands in for itself: name something other than {name}.").format(
                name=item.name
            ),
        )
    elif item.kind != substitute.kind:
        kept.fault(
            row,
            "substitute",
            _(
                "One is an ingredient and the other packaging: {name} cannot stand "
                "in for {name2}."
            ).format(name=substitute.name, name2=item.name),
        )


def _unfit(item: Item) -> str:
    """Return why an item neither has substitutes nor is one; empty where it may."""
    if item.kind == Item.Kind.PART:
        whole = item.whole.name if item.whole else "something"
        return capitalized(
            _("{name}: a part. Write what it is taken from: {whole}.").format(
                name=item.name, whole=whole
            )
        )
    if item.kind not in Item.BOUGHT_KINDS:
        return capitalized(
            _("{name}: made here. Substitutes are for what is bought.").format(
                name=item.name
            )
        )
    return ""


def _compile(kept: Keeping[Substitute], rows: Iterable[Row[Substitute]]) -> None:
    """Work out what both sides of ratios come to. Two queries."""
    ready = [row for row in rows if all(name in row.links for name in NAME_COLUMNS)]
    item_ids = {row.links[name].pk for row in ready for name in NAME_COLUMNS}
    known = converters.converters_for(item_ids) if item_ids else {}
    for row in ready:
        if row.says("ratio", *NAME_COLUMNS) and row.after["ratio"]:
            _read_ratio(kept, row, known)


def _read_ratio(
    kept: Keeping[Substitute], row: Row[Substitute], known: Mapping[int, Converter]
) -> None:
    typed = split_ratio(row.after["ratio"])
    for (side, owner), text in zip(SIDES.items(), typed, strict=True):
        try:
            converter = known[row.links[owner].pk]
            amount_base = converter.typed_base(text, Notation.RECIPE)
        except MeasureError as error:
            kept.fault(row, "ratio", str(error))
            return
        if amount_base <= 0:
            kept.fault(row, "ratio", _("Write more than nothing on both sides."))
        row.links[f"{side}_base"] = float(amount_base)
