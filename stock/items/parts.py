"""Keeping parts of a whole: white and yolk of an egg, juice and zest of a lemon."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _

from stock.conversion import converters
from stock.conversion.yields import read_yields
from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept, Key, folded
from stock.errors import MeasureError
from stock.items.items import refuse_new_measure_of_moved
from stock.models import Item
from stock.saving import upsert
from stock.saving.recompiling import part_yields_base
from stock.saving.sheets import SPLITS
from stock.saving.upsert import Keeping, Row
from stock.wording.names import capitalized

FIELDS = (
    "name",
    "kind",
    "measure",
    "whole",
    "part_yields",
    "part_yields_base",
    "keeps_days",
)


def keep_splits(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store parts of wholes; return what was added, changed and left alone.

    A part is an item of its own, measured in what it yields; `ids` are ids of parts.
    See `stock.saving.upsert` for rows, ids and batch. A fixed number of queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[Item] = Keeping(SPLITS, entries, own, rows=rows, ids=ids)
        items = list(Item.objects.select_related("whole"))
        parts = [item for item in items if item.kind == Item.Kind.PART]
        matched = kept.match(parts, _values)
        _check_names(kept, matched, upsert.by_name(items))
        for row in matched:
            _check_yields(kept, row)
        refuse_new_measure_of_moved(kept, matched, column="yields")
        _compile(kept, matched)
        sound = kept.sound_rows(upsert.NAMES)
        kept.write(sound, _assign, Item, FIELDS)
        for row in sound:
            if row.stored is not None and row.changes("whole", "yields"):
                own.remeasure(row.stored.pk, kept.origin(row, "yields"))
    return kept.kept()


def split_entries(ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return parts as entries, by whole and name. One query."""
    parts = (
        Item.objects.filter(kind=Item.Kind.PART)
        .select_related("whole")
        .order_by("whole__name", "name")
    )
    if ids is not None:
        parts = parts.filter(pk__in=ids)
    return [_values(part) for part in parts]


def _values(part: Item) -> dict[str, Any]:
    return {
        "whole": part.whole.name if part.whole else "",
        "part": part.name,
        "yields": part.part_yields,
        "keeps_days": part.keeps_days,
    }


def _assign(part: Item, row: Row[Item]) -> None:
    part.name = row.after["part"]
    part.kind = Item.Kind.PART
    part.measure = row.links["measure"]
    part.whole = row.links["whole"]
    part.part_yields = row.after["yields"]
    part.part_yields_base = row.links["yields_base"]
    part.keeps_days = row.after["keeps_days"]


def _check_names(
    kept: Keeping[Item], rows: Iterable[Row[Item]], items: Mapping[Key, Item]
) -> None:
    first_row: dict[str, int] = {}
    for row in rows:
        whole = kept.find(row, "whole", items, space=upsert.NAMES, noun="item")
        if whole is not None and whole.kind not in Item.BOUGHT_KINDS:
            kept.fault(
                row,
                "whole",
                capitalized(
                    _(
                        "{name}: not bought. A part is taken from something that is."
                    ).format(name=whole.name)
                ),
            )
        name = folded(row.given["part"])
        holder = items.get((name,))
        if holder is not None and (row.stored is None or holder.pk != row.stored.pk):
            kept.fault(row, "part", _taken(holder))
        if name in first_row:
            kept.fault(
                row,
                "part",
                capitalized(
                    _(
                        "{given} is in row {first_row} already; a part belongs to one "
                        "whole."
                    ).format(given=row.given["part"], first_row=first_row[name])
                ),
            )
        first_row.setdefault(name, row.number)


def _taken(holder: Item) -> str:
    if holder.whole is not None:
        return capitalized(
            _("{name}: a part of {name2} already; a part belongs to one whole.").format(
                name=holder.name, name2=holder.whole.name
            )
        )
    return capitalized(
        _(
            "{name}: exists already and isn't a part. Items, parts and recipes "
            "share one set of names, so choose another."
        ).format(name=holder.name)
    )


def _check_yields(kept: Keeping[Item], row: Row[Item]) -> None:
    """Read what a whole yields, which says how the part is measured."""
    if not row.says("yields") or not row.after.get("yields"):
        return
    try:
        measure, _ = read_yields(row.after["part"], row.after["yields"])
    except MeasureError as error:
        kept.fault(row, "yields", str(error))
        return
    row.links["measure"] = measure.value


def _compile(kept: Keeping[Item], rows: Iterable[Row[Item]]) -> None:
    """Work out what a whole yields; the whole must be countable in each."""
    wholes = {}
    for row in rows:
        whole = row.links.get("whole")
        if whole is None or "measure" not in row.links or not row.says("whole"):
            continue
        try:
            if whole.pk not in wholes:
                wholes[whole.pk] = _each_base(whole)
        except MeasureError as error:
            kept.fault(
                row,
                "whole",
                capitalized(
                    _("{name} must be countable in each. {error}").format(
                        name=whole.name, error=error
                    )
                ),
            )
            continue
        row.links["yields_base"] = part_yields_base(
            row.links["measure"], row.after["yields"], wholes[whole.pk]
        )


def _each_base(whole: Item) -> Fraction:
    texts = converters.ItemTexts.of(whole)
    return converters.compile_item(texts).unit_base("each")
