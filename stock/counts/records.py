"""What is known of a line before it is counted, for the slip catcher and the review.

The spread of an item comes from its results in past counts, wherever it stood; what
usually stands on a shelf from that shelf's own.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from statistics import median

from stock.counts.lines import LineKey, Shelf, Standing, counted_lines
from stock.counts.lots import expected_base_beside
from stock.counts.walk import Walk
from stock.measures.slips import Record, Spread, spread_from
from stock.models import CountResult, Item, Pack
from stock.wording.money_words import CENT

# A season of weekly counts; older ones say little of how the item is kept today.
PAST_COUNTS = 12


class Past:
    """What past counts say of items and shelves. One query."""

    def __init__(self, item_ids: Collection[int]) -> None:
        pairs: dict[int, list[tuple[float, float]]] = defaultdict(list)
        stood: dict[Shelf, list[float]] = defaultdict(list)
        for item_id, place_id, counted, expected in (
            CountResult.objects.filter(item_id__in=list(item_ids))
            .order_by("-count__counted_at", "-count_id")
            .values_list("item_id", "place_id", "counted_base", "expected_base")
        ):
            if len(stood[Shelf(place_id, item_id)]) < PAST_COUNTS:
                pairs[item_id].append((float(counted), float(expected)))
                stood[Shelf(place_id, item_id)].append(float(counted))
        self._spread_by_item = {item: spread_from(of) for item, of in pairs.items()}
        self._usual_by_shelf = {shelf: median(of) for shelf, of in stood.items()}

    def spread(self, item_id: int) -> Spread:
        """Return how far counts of the item ordinarily are from its record."""
        return self._spread_by_item.get(item_id, Spread())

    def usual_base(self, shelf: Shelf, item: Item, expected_base: float) -> float:
        """Return what usually stands there; before any count, par or the record."""
        usual_base = self._usual_by_shelf.get(shelf)
        return max(item.par_base, expected_base) if usual_base is None else usual_base


def records(
    walk: Walk, past: Past, standing_by_line: Mapping[LineKey, Standing]
) -> dict[LineKey, Record]:
    """Return what is known of each line of a walk. No query."""
    keys = [line.key for line in walk.lines]
    expected = expected_base_beside(keys, standing_by_line, walk.on_hand)
    ever_there = {Shelf(lot.place_id, lot.item_id) for lot in walk.on_hand}
    counted = {
        Shelf(key.place_id, key.item_id) for key in counted_lines(standing_by_line)
    }
    shelves_by_item = walk.shelves_by_item()
    place_names = {place.pk: place.name for place in walk.places}
    known = {}
    for line in walk.lines:
        shelf = Shelf(line.place.pk, line.item.pk)
        expected_base = float(expected[line.key])
        known[line.key] = Record(
            expected_base=expected_base if shelf in ever_there else None,
            usual_base=past.usual_base(shelf, line.item, expected_base),
            spread=past.spread(line.item.pk),
            not_counted_yet=tuple(
                place_names[other.place_id]
                for other in shelves_by_item[line.item.pk]
                if other != shelf and other not in counted
            ),
        )
    return known


def price_per_base_by_item(item_ids: Iterable[int]) -> dict[int, Fraction]:
    """Return what one base unit of each item costs, by item id. One query.

    In the preferred pack, else in the one that is cheapest per base unit; price
    breaks do not count. An item without a pack is absent.
    """
    best: dict[int, tuple[bool, Fraction]] = {}
    packs = Pack.objects.filter(item_id__in=list(item_ids), retired=False)
    for item_id, price, size_base, preferred in packs.order_by("pk").values_list(
        "item_id", "price", "size_base", "preferred"
    ):
        offer = (not preferred, Fraction(price) / Fraction(size_base))
        if item_id not in best or offer < best[item_id]:
            best[item_id] = offer
    return {item_id: price for item_id, (_, price) in best.items()}


def cost_of(amount_base: Decimal, price_per_base: Fraction | None) -> Decimal | None:
    """Return what an amount costs, to the cent; None where nobody knows the price."""
    if price_per_base is None:
        return None
    exact = Fraction(amount_base) * price_per_base
    cost = Decimal(exact.numerator) / Decimal(exact.denominator)
    return cost.quantize(CENT, rounding=ROUND_HALF_UP)
