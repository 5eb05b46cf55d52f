"""Working out again what is typed in an item's units, when those have changed.

Safety and par, what packs hold, what parts of a whole yield, how much of a substitute
stands for how much, and whatever other apps have registered. What cannot be worked
out any more is a fault of the cell that brought the change.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from operator import attrgetter
from typing import Any

from django.db import connection
from django.db.models import Model
from django.utils.translation import gettext as _

from stock.conversion import converters, dependents
from stock.conversion.dependents import Broken
from stock.entry.batches import Batch, Origin
from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.reading.vocabulary import Notation
from stock.models import Item, Pack, Substitute
from stock.saving.sheets import PACKS

LEVELS = ("safety", "par")


def recompile(batch: Batch) -> None:
    """Store what changed units come to, and note the faults.

    No query where nothing changed; else a fixed number.
    """
    item_ids = set(batch.remeasured) | {item_id for item_id, _ in batch.levels}
    if not item_ids:
        return
    known = _converters(batch, item_ids)
    _recompile_levels(batch, known)
    remeasured = {
        item_id: converter
        for item_id, converter in known.items()
        if item_id in batch.remeasured
    }
    if not remeasured:
        return
    broken = [
        *_recompile_packs(batch, remeasured),
        *_recompile_parts(remeasured),
        *_recompile_substitutes(remeasured),
        *dependents.recompile_all(remeasured),
    ]
    _note_broken(batch, broken, known)


def _converters(batch: Batch, item_ids: set[int]) -> dict[int, Converter]:
    """Compile what can be compiled; what cannot is a fault already, or becomes one."""
    texts = converters.item_texts(item_ids)
    packs = converters.pack_words(item_ids)
    compiled = {}
    for item_id, item in texts.items():
        if item_id not in packs and (known := batch.compiled.get(item)):
            compiled[item_id] = known
            continue
        try:
            compiled[item_id] = converters.compile_item(item, packs.get(item_id, ()))
        except MeasureError as error:
            if origin := batch.remeasured.get(item_id):
                batch.fault(origin, str(error))
    return compiled


def _recompile_levels(batch: Batch, known: Mapping[int, Converter]) -> None:
    changed = []
    columns = [*LEVELS, *(f"{level}_base" for level in LEVELS)]
    for item in Item.objects.only("name", *columns).in_bulk(list(known)).values():
        before = item.safety_base, item.par_base
        for level in LEVELS:
            level_base = _level_base(batch, item, level, known[item.pk])
            setattr(item, f"{level}_base", level_base)
        if before != (item.safety_base, item.par_base):
            changed.append(item)
    _store(Item, changed, ["safety_base", "par_base"])


def _level_base(batch: Batch, item: Item, level: str, converter: Converter) -> float:
    text = getattr(item, level)
    if not text:
        return 0.0
    typed = batch.levels.get((item.pk, level))
    try:
        return float(converter.typed_base(text, _notation(typed)))
    except MeasureError as error:
        if typed:
            batch.fault(typed, str(error))
        elif changed := batch.remeasured.get(item.pk):
            batch.fault(
                changed,
                _("The {level} of {name} is {text}. {error}").format(
                    level=level, name=item.name, text=text, error=error
                ),
            )
        return 0.0


def _notation(typed: Origin | None) -> Notation:
    """Return how a quantity is read: strictly where somebody has just typed it."""
    return Notation.STORED if typed is None else Notation.ITEM


def _recompile_packs(batch: Batch, known: Mapping[int, Converter]) -> list[Broken]:
    packs = list(Pack.objects.filter(item_id__in=list(known)))
    before = {pack.pk: pack.size_base for pack in packs}
    broken = recompile_rows(
        packs,
        known,
        item_id=lambda pack: pack.item_id,
        text=_("holds"),
        base="size_base",
        noun="pack",
        where=lambda pack: pack.label,
    )
    _note_held(batch, [pack for pack in packs if pack.size_base != before[pack.pk]])
    return broken


def _note_held(batch: Batch, changed: Sequence[Pack]) -> None:
    """Refuse that a pack's word makes other packs hold what no order said.

    A pallet of 40 cases is another one with other cases. What a corrected unit of the
    item does to its packs changes no order: they are the same packs.
    """
    by_word = {
        pack.pk: pack
        for pack in changed
        if batch.remeasured[pack.item_id].sheet == PACKS.name
    }
    for pack_id, why in (dependents.held_packs(by_word) if by_word else {}).items():
        pack = by_word[pack_id]
        words = _("{label} would change with it: it is {holds}, and {why}").format(
            label=pack.label, holds=pack.holds, why=why
        )
        batch.fault(batch.remeasured[pack.item_id], words)


def _recompile_parts(known: Mapping[int, Converter]) -> list[Broken]:
    """Work out again what 1 base unit of a whole yields of its parts."""
    broken, changed = [], []
    for part in Item.objects.filter(whole_id__in=list(known)):
        try:
            whole_base = known[part.whole_id].unit_base("each")  # type: ignore[index]
        except MeasureError as error:
            broken.append(
                Broken(part.whole_id, "part", part.name, "1 each", str(error))  # type: ignore[arg-type]
            )
            continue
        yields_base = part_yields_base(part.measure, part.part_yields, whole_base)
        if part.part_yields_base != yields_base:
            part.part_yields_base = yields_base
            changed.append(part)
    _store(Item, changed, ["part_yields_base"])
    return broken


def _recompile_substitutes(known: Mapping[int, Converter]) -> list[Broken]:
    """Work out again how much stands for how much, on either side."""
    broken: list[Broken] = []
    for owner, text in (("substitute", "quantity"), ("item", "for_quantity")):
        rows = Substitute.objects.select_related("item", "substitute").exclude(
            quantity=""
        )
        broken += recompile_rows(
            rows.filter(**{f"{owner}_id__in": list(known)}),
            known,
            item_id=attrgetter(f"{owner}_id"),
            text=text,
            base=f"{text}_base",
            noun="substitute",
            where=str,
        )
    return broken


def part_yields_base(measure: str, yields: str, whole_base: Fraction) -> float:
    """Return what 1 base unit of a whole yields of a part, in the part's base unit.

    `whole_base` is what 1 each of the whole comes to in its own base unit, 1 where it
    is kept by count.
    """
    converter = converters.compile_item(converters.ItemTexts("part", measure))
    return float(converter.to_base(yields) / whole_base)


def recompile_rows(
    rows: Iterable[Any],
    known: Mapping[int, Converter],
    *,
    item_id: Callable[[Any], int],
    text: str,
    base: str,
    noun: str,
    where: Callable[[Any], str],
) -> list[Broken]:
    """Work out again a typed column of some rows; return what cannot be."""
    broken: list[Broken] = []
    changed: list[Any] = []
    for row in rows:
        owner, typed = item_id(row), getattr(row, text)
        try:
            amount_base = float(known[owner].to_base(typed))
        except MeasureError as error:
            broken.append(Broken(owner, noun, where(row), typed, str(error)))
            continue
        if getattr(row, base) != amount_base:
            setattr(row, base, amount_base)
            changed.append(row)
    if changed:
        _store(type(changed[0]), changed, [base])
    return broken


def _store(model: type[Model], rows: Sequence[Any], columns: Sequence[str]) -> None:
    """Store what amounts of rows came to, in one statement that is prepared once.

    Django's own way writes a case for each row: of a large kitchen's file that took
    longer than all the rest.
    """
    quote = connection.ops.quote_name
    amounts = ", ".join(f"{quote(column)} = %s" for column in columns)
    table = quote(model._meta.db_table)
    with connection.cursor() as cursor:
        cursor.executemany(
            f"UPDATE {table} SET {amounts} WHERE id = %s",  # noqa: S608 (our own names)
            [(*(getattr(row, column) for column in columns), row.pk) for row in rows],
        )


def _note_broken(
    batch: Batch, broken: Sequence[Broken], known: Mapping[int, Converter]
) -> None:
    by_item: dict[int, list[Broken]] = defaultdict(list)
    for each in broken:
        by_item[each.item_id].append(each)
    for item_id, of_item in by_item.items():
        sentence = dependents.sentence(known[item_id].item_name, of_item)
        batch.fault(batch.remeasured[item_id], sentence)
