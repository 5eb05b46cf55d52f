"""Tares: what empty bins and tubs weigh, by the word that counters use for them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from stock.conversion.converters import ItemTexts, compile_item
from stock.entry.entries import folded
from stock.errors import StockError, TareError
from stock.measure_faults import FaultKind, MeasureFault
from stock.measures.definitions import check_word
from stock.measures.reading.quantity import TypedQuantity, parse_quantity
from stock.measures.reading.vocabulary import Notation
from stock.measures.resolution import to_ledger
from stock.measures.units import Measure
from stock.models import Tare
from stock.saving.versions import check_seen


class UnknownTareError(StockError):
    """A tare that is not there any more."""

    def __init__(self) -> None:
        super().__init__(_("This tare is gone already."))


class TareKnownError(StockError):
    """A tare of this name is stored there, and its new weight would replace another."""

    def __init__(self, tare: Tare, weight: str) -> None:
        self.version = tare.version
        super().__init__(
            _(
                "An empty {name} weighs {weight} here already. Store it again to "
                "make it {weight2}."
            ).format(name=tare.name, weight=tare.weight, weight2=weight)
        )


@transaction.atomic
def keep_tare(
    *,
    name: str,
    weight: str,
    place_id: int | None = None,
    item_id: int | None = None,
    seen: int | None = None,
) -> Tare:
    """Store what an empty bin weighs, for a place, an item, both or the whole bakery.

    The same name there again is given the new weight, if its writer has seen the old
    one; None: nobody had to see it.
    """
    word = check_word(name, example="bin")
    key = folded(word)
    scale = compile_item(ItemTexts(word, Measure.MASS))
    weight_g = to_ledger(scale.typed_base(weight, Notation.ITEM))
    if not weight_g:
        raise TareError(weight, MeasureFault(FaultKind.EMPTY_TARE))
    tare = Tare(place_id=place_id, item_id=item_id)
    # Compared here: SQLite takes É and é for two letters.
    owner = place_id, item_id
    for known in Tare.objects.select_for_update():
        if (known.place_id, known.item_id) == owner and folded(known.name) == key:
            tare = known
    if tare.pk is not None and tare.weight_g != weight_g:
        if seen is not None and tare.version != seen:
            raise TareKnownError(tare, weight.strip())
        tare.version += 1
    tare.name, tare.weight, tare.weight_g = word, weight.strip(), weight_g
    try:
        with transaction.atomic():
            tare.save()
    except IntegrityError:  # somebody stored the same name at the same moment
        owned = {"place_id": place_id, "item_id": item_id}
        return keep_tare(name=name, weight=weight, seen=seen, **owned)
    return tare


@transaction.atomic
def remove_tare(tare_id: int, *, seen: int | None = None) -> None:
    """Remove a tare; what was weighed with it stays as it was counted.

    Refused if it is no longer the version that was seen.
    """
    tare = Tare.objects.select_for_update().filter(pk=tare_id).first()
    if tare is None:
        raise UnknownTareError
    check_seen(tare, seen)
    tare.delete()


def tares_by_shelf(
    shelves: Iterable[tuple[int, int]],
) -> Mapping[tuple[int, int], dict[str, TypedQuantity]]:
    """Return the tares that hold for each place id and item id, by name. One query.

    The nearer one wins: the item's in that place, the item's, the place's, any.
    """
    by_owner: dict[tuple[int | None, int | None], dict[str, TypedQuantity]]
    by_owner = defaultdict(dict)
    for name, weight, place_id, item_id in Tare.objects.values_list(
        "name", "weight", "place_id", "item_id"
    ):
        by_owner[place_id, item_id][folded(name)] = parse_quantity(weight)
    return {
        (place_id, item_id): by_owner[None, None]
        | by_owner[place_id, None]
        | by_owner[None, item_id]
        | by_owner[place_id, item_id]
        for place_id, item_id in shelves
    }
