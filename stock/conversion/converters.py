"""Converters of stored items: from the texts in the database to exact factors.

A converter knows an item's units, its equivalents, its own words and the words of its
packs. The words of retired packs stay, behind those of packs that are bought.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from stock.errors import UnknownUnitError
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.conversion import Converter
from stock.measures.packs import PackWord
from stock.measures.reading.quantity import Term, TypedQuantity
from stock.measures.reading.sayings import system_in
from stock.measures.units import Measure
from stock.models import Item, Pack

# Few ids are asked for by name; for many it is quicker to read all.
MOST_IDS_ASKED_FOR = 500


class ItemTexts(NamedTuple):
    """What an item says about its measures, as typed."""

    name: str
    measure: str
    equivalents: str = ""
    own_units: str = ""
    part_yields: str = ""  # of a part: from 1 each of its whole
    speaks: str = ""  # of what is made: customary or metric, as its recipe says
    par: str = ""
    safety: str = ""

    @classmethod
    def of(cls, item: Item) -> "ItemTexts":
        """Return the texts of a stored item. No query."""
        return cls(*(getattr(item, column) for column in cls._fields))


def converters_for(item_ids: Collection[int] | None = None) -> dict[int, Converter]:
    """Return converters by item id, of some items or of all. Two queries."""
    texts = item_texts(item_ids)
    packs = pack_words(item_ids)
    return {
        item_id: compile_item(item, packs.get(item_id, ()))
        for item_id, item in texts.items()
    }


def item_texts(item_ids: Collection[int] | None = None) -> dict[int, ItemTexts]:
    """Return what items say about their measures, by item id. One query."""
    rows = Item.objects.order_by().values_list("pk", *ItemTexts._fields)
    if item_ids is not None and len(item_ids) <= MOST_IDS_ASKED_FOR:
        rows = rows.filter(pk__in=item_ids)
    wanted = None if item_ids is None else set(item_ids)
    return {
        row[0]: ItemTexts(*row[1:])
        for row in rows
        if wanted is None or row[0] in wanted
    }


def pack_words(
    item_ids: Collection[int] | None = None,
) -> dict[int, list[PackWord]]:
    """Return what packs are called, and hold, by item id. One query."""
    rows = (
        Pack.objects.exclude(called="")
        .order_by("pk")
        .values_list("item_id", "called", "holds", "preferred", "retired")
    )
    if item_ids is not None and len(item_ids) <= MOST_IDS_ASKED_FOR:
        rows = rows.filter(item_id__in=item_ids)
    words = defaultdict(list)
    for item_id, called, holds, preferred, retired in rows:
        words[item_id].append(PackWord(called, holds, preferred, retired))
    return dict(words)


def compile_item(item: ItemTexts, packs: Iterable[PackWord] = ()) -> Converter:
    """Return the converter of one item, or raise what is wrong with its texts.

    `each` of a part is what one whole yields. A pack may be given in other packs, as
    a pallet of 40 cases is.
    """
    own = _compile(item, ())
    packs = tuple(packs)
    return _compile(item, _in_units(item, own, packs)) if packs else own


def _compile(item: ItemTexts, packs: Iterable[PackWord]) -> Converter:
    equivalents = item.equivalents
    if item.part_yields and item.measure != Measure.COUNT:
        equivalents = f"1 each = {item.part_yields}"
    converter = compile_converter(
        read_item_measures(
            item.name,
            item.measure,
            equivalents=equivalents,
            own_units=item.own_units,
            packs=packs,
        )
    )
    # What a quantity is written in takes reading it, so blanks are not read.
    held_in = _system_in(item.par) or _system_in(item.safety)
    speaks = item.speaks or _system_in(item.part_yields)
    if not held_in and not speaks:
        return converter
    return replace(converter, held_in=held_in, speaks=speaks)


def _system_in(text: str) -> str:
    return (system_in(text) or "") if text else ""


def _in_units(
    item: ItemTexts, own: Converter, packs: Sequence[PackWord]
) -> list[PackWord]:
    """Write packs that are given in other packs in the item's base unit."""
    ready: list[PackWord] = []
    waiting, converter = list(packs), own
    while waiting:
        settled = [pack for pack in waiting if _is_known(pack, converter)]
        if not settled:
            return ready + waiting  # the item's converter says what is unknown
        waiting = [pack for pack in waiting if pack not in settled]
        if converter is own:
            ready += settled
        else:
            ready += [_in_base(pack, converter) for pack in settled]
        if waiting:
            converter = _compile(item, ready)
    return ready


def _is_known(pack: PackWord, converter: Converter) -> bool:
    try:
        converter.to_base(pack.holds)
    except UnknownUnitError:
        return False
    return True


def _in_base(pack: PackWord, converter: Converter) -> PackWord:
    holds_base = converter.to_base(pack.holds)
    holds = TypedQuantity((Term(holds_base, converter.base_unit),))
    return replace(pack, holds=holds)
