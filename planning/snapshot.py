"""Reads a whole kitchen from the database into plain values, in five queries.

The number of queries does not grow with the kitchen. Rows come as tuples, without
model instances, and turn into columns at once.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

import numpy as np
from django.db.models import (
    BigIntegerField,
    CharField,
    F,
    FloatField,
    IntegerField,
    QuerySet,
    Subquery,
    Value,
)
from django.db.models.functions import Cast

from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    NO_NODE,
    BakeryTerms,
    IntColumn,
    Kitchen,
    Lines,
    NodeKind,
    Nodes,
    OpenOrderLines,
    PackTerms,
    PlannedCakes,
    Scale,
    StockLots,
    SupplierTerms,
)
from planning.models import Order, OrderLine, PlannedCake, RecipeLine
from planning.order_terms import terms_of_pack
from stock import calendars
from stock.cut_offs import read_cut_off
from stock.measures.lengths import parse_length_cm
from stock.measures.units import Measure
from stock.models import Bakery, Balance, Item, Movement, Pack, Supplier
from stock.models.fields import AMOUNT_PLACES

NODE_KINDS = {
    Item.Kind.INGREDIENT.value: NodeKind.BOUGHT,
    Item.Kind.PACKAGING.value: NodeKind.BOUGHT,
    Item.Kind.PART.value: NodeKind.PART,
    Item.Kind.MADE.value: NodeKind.MADE,
    Item.Kind.CAKE.value: NodeKind.CAKE,
}
SCALES = {
    RecipeLine.ScalesWith.CAKE.value: Scale.CAKE,
    RecipeLine.ScalesWith.VOLUME.value: Scale.VOLUME,
    RecipeLine.ScalesWith.FILLING.value: Scale.FILLING,
    RecipeLine.ScalesWith.SURFACE.value: Scale.SURFACE,
    RecipeLine.ScalesWith.TIER.value: Scale.TIER,
    "cake": Scale.CAKE,
}
BASE_UNITS = {measure.value: measure.base_unit for measure in Measure}
STORED_PER_BASE = 10**AMOUNT_PLACES

STOCK_ROW, ORDER_ROW = 0, 1


def load_kitchen(*, bakery: Bakery, as_of: datetime) -> Kitchen:
    """Return the kitchen as it stood at a moment. Five queries, whatever its size."""
    nodes = _nodes()
    ids = np.asarray(nodes.ids, dtype=np.int64)
    suppliers, packs, shop_packs = _suppliers_and_packs(ids)
    lots, open_orders = _lots_and_open_orders(ids, suppliers, as_of)
    return Kitchen(
        bakery=bakery_terms(bakery),
        nodes=nodes,
        lines=_lines(ids),
        cakes=_cakes(ids),
        lots=lots,
        open_orders=open_orders,
        suppliers=suppliers,
        packs=packs,
        shop_packs=shop_packs,
    )


def bakery_terms(bakery: Bakery) -> BakeryTerms:
    """Return the bakery's calendar and settings as the engine takes them."""
    return BakeryTerms(
        zone_key=bakery.zone.key,
        currency=bakery.currency,
        closed_weekdays=frozenset(calendars.parse_weekdays(bakery.closed_days)),
        closed_on=frozenset(calendars.parse_dates(bakery.closed_on)),
        layer_height_cm=parse_length_cm(bakery.layer_height),
        leftover_worth=float(bakery.leftover_worth),
        par_weekdays=frozenset(bakery.par_weekdays),
    )


def _columns(rows: Iterable[tuple[Any, ...]], width: int) -> list[tuple[Any, ...]]:
    return list(zip(*rows, strict=True)) or [()] * width


def _index(ids: IntColumn, wanted: Sequence[int]) -> IntColumn:
    return np.searchsorted(ids, np.asarray(wanted, dtype=np.int64)).astype(np.int64)


def _floats(values: Sequence[float | None], blank: float = 0.0) -> Any:
    return np.array(
        [blank if value is None else value for value in values], dtype=np.float64
    )


def _nodes() -> Nodes:
    rows = Item.objects.order_by("pk").values_list(
        "pk",
        "name",
        "measure",
        "kind",
        "retired",
        "safety_base",
        "par_base",
        "keeps_days",
        "whole_id",
        "part_yields_base",
        "recipe__yield_base",
        Cast("recipe__batch_step", FloatField()),
        Cast("recipe__loss_percent", FloatField()),
        "recipe__lead_days",
        "recipe__base_size",
        Cast("recipe__largest_batch", FloatField()),
        "recipe__caps_use_by",
    )
    columns = _columns(rows.iterator(chunk_size=10_000), 17)
    ids = np.array(columns[0], dtype=np.int64)
    wholes = np.full(len(ids), NO_NODE, dtype=np.int64)
    has_whole = np.array([whole is not None for whole in columns[8]], dtype=bool)
    if has_whole.any():
        wholes[has_whole] = _index(ids, [w for w in columns[8] if w is not None])
    return Nodes(
        ids=columns[0],
        names=columns[1],
        units=[BASE_UNITS[measure] for measure in columns[2]],
        kind=np.array([NODE_KINDS[kind] for kind in columns[3]], dtype=np.int64),
        retired=np.array(columns[4], dtype=np.bool_),
        safety_base=_floats(columns[5]),
        par_base=_floats(columns[6]),
        keeps_days=np.array(
            [NO_LIMIT_DAYS if days is None else days for days in columns[7]],
            dtype=np.int64,
        ),
        whole=wholes,
        part_yields_base=_floats(columns[9]),
        yield_base=_floats(columns[10]),
        batch_step=_floats(columns[11]),
        loss_fraction=_floats(columns[12]) / 100,
        lead_days=np.array([days or 0 for days in columns[13]], dtype=np.int64),
        base_size=[size or "" for size in columns[14]],
        largest_batch=_floats(columns[15]),
        caps_use_by=np.array([bool(caps) for caps in columns[16]], dtype=np.bool_),
    )


def _lines(ids: IntColumn) -> Lines:
    rows = RecipeLine.objects.order_by().values_list(
        "recipe_id",
        "component_id",
        "quantity_base",
        Cast("yield_percent", FloatField()),
        "scales_with",
    )
    columns = _columns(rows.iterator(chunk_size=10_000), 5)
    return Lines(
        recipe=_index(ids, columns[0]),
        component=_index(ids, columns[1]),
        quantity_base=np.array(columns[2], dtype=np.float64),
        yield_fraction=np.array(columns[3], dtype=np.float64) / 100,
        scale=np.array([SCALES[scale] for scale in columns[4]], dtype=np.int64),
    )


def _cakes(ids: IntColumn) -> PlannedCakes:
    rows = (
        PlannedCake.objects.filter(status__in=PlannedCake.LIVE_STATUSES)
        .order_by("due_on", "reference")
        .values_list("reference", "due_on", "cake_id", "size", "quantity", "status")
    )
    columns = _columns(rows.iterator(chunk_size=10_000), 6)
    return PlannedCakes(
        references=columns[0],
        due_on=columns[1],
        cake=_index(ids, columns[2]),
        sizes=columns[3],
        quantity=np.array(columns[4], dtype=np.float64),
        tentative=np.array(
            [status == PlannedCake.Status.TENTATIVE for status in columns[5]],
            dtype=np.bool_,
        ),
    )


def _stock_rows(movements: QuerySet[Any], sign: int) -> QuerySet[Any, tuple[Any, ...]]:
    return (
        movements.order_by()
        .annotate(
            source=Value(STOCK_ROW, IntegerField()),
            node=F("item_id"),
            stored=Cast(F("amount_base"), BigIntegerField())
            * Value(sign, BigIntegerField()),
            day=F("lot__use_by"),
            reference=Value("", CharField()),
            supplier=Value(0, BigIntegerField()),
            size=Value(0.0, FloatField()),
        )
        .values_list("source", "node", "stored", "day", "reference", "supplier", "size")
    )


def _order_rows() -> QuerySet[OrderLine, tuple[Any, ...]]:
    return (
        OrderLine.objects.filter(order__state__in=Order.OPEN_STATES)
        .order_by()
        .annotate(
            source=Value(ORDER_ROW, IntegerField()),
            node=F("pack__item_id"),
            stored=Cast(F("packs") - F("received_packs"), BigIntegerField()),
            day=F("due_on"),
            reference=F("order__reference"),
            supplier=F("order__supplier_id"),
            size=F("pack__size_base"),
        )
        .values_list("source", "node", "stored", "day", "reference", "supplier", "size")
    )


def _lots_and_open_orders(
    ids: IntColumn, suppliers: Sequence[SupplierTerms], as_of: datetime
) -> tuple[StockLots, OpenOrderLines]:
    """Read what is on hand at the moment and what is on its way, in one query."""
    rows = _stock_rows(Balance.objects.all(), 1).union(
        _stock_rows(_later_movements(as_of), -1), _order_rows(), all=True
    )
    stored_by_lot: dict[tuple[int, date | None], int] = defaultdict(int)
    orders = []
    for source, node, stored, day, reference, supplier, size in rows.iterator(
        chunk_size=10_000
    ):
        if source == STOCK_ROW:
            stored_by_lot[node, day] += stored
        elif stored > 0:
            orders.append((reference, supplier, node, stored * size, day))
    return _lots(ids, stored_by_lot), _open_orders(ids, suppliers, sorted(orders))


def _later_movements(as_of: datetime) -> QuerySet[Movement]:
    """What came or went after the moment.

    Before the first movement of all nothing is known; what that brought counts as
    having stood there before.
    """
    first_at = Movement.objects.order_by("at").values("at")[:1]
    return Movement.objects.filter(at__gt=as_of).filter(at__gt=Subquery(first_at))


def _lots(
    ids: IntColumn, stored_by_lot: dict[tuple[int, date | None], int]
) -> StockLots:
    kept = {key: stored for key, stored in stored_by_lot.items() if stored}
    return StockLots(
        node=_index(ids, [node for node, _ in kept]),
        amount_base=np.array(list(kept.values()), dtype=np.float64) / STORED_PER_BASE,
        use_by=[use_by for _, use_by in kept],
    )


def _open_orders(
    ids: IntColumn,
    suppliers: Sequence[SupplierTerms],
    rows: list[tuple[str, int, int, float, date]],
) -> OpenOrderLines:
    place_of = {terms.supplier_id: place for place, terms in enumerate(suppliers)}
    columns = _columns(rows, 5)
    return OpenOrderLines(
        references=columns[0],
        supplier=np.array([place_of[key] for key in columns[1]], dtype=np.int64),
        node=_index(ids, columns[2]),
        amount_base=np.array(columns[3], dtype=np.float64),
        due_on=columns[4],
    )


def _suppliers_and_packs(
    ids: IntColumn,
) -> tuple[tuple[SupplierTerms, ...], tuple[PackTerms, ...], tuple[PackTerms, ...]]:
    """Return suppliers, the packs of those that deliver, and those of shops."""
    rows = Pack.objects.order_by("supplier__name", "pk").values_list(
        "supplier_id",
        "supplier__name",
        "supplier__kind",
        "supplier__delivery_days",
        "supplier__cutoff_days",
        "supplier__cutoff_time",
        "supplier__usable_next_day",
        "supplier__minimum_order",
        "supplier__delivery_fee",
        "supplier__free_delivery_from",
        "supplier__closed_on",
        "supplier__retired",
        "pk",
        "item_id",
        "label",
        "called",
        "code",
        "size_base",
        "price",
        "minimum_packs",
        "multiple",
        "price_breaks",
        "preferred",
        "next_price",
        "next_price_from",
        "retired",
        named=True,
    )
    suppliers: dict[int, SupplierTerms] = {}
    place_of: dict[int, int] = {}
    packs: list[PackTerms] = []
    shop_packs: list[PackTerms] = []
    nodes = dict(zip(ids.tolist(), range(len(ids)), strict=True))
    for row in rows.iterator(chunk_size=10_000):
        if row.supplier_id not in suppliers:
            place_of[row.supplier_id] = len(suppliers)
            suppliers[row.supplier_id] = _supplier_terms(row)
        if row.supplier__retired or row.retired:
            continue  # nothing new is bought, open orders still arrive
        place = place_of[row.supplier_id]
        terms = terms_of_pack(row, node=nodes[row.item_id], supplier=place)
        is_shop = suppliers[row.supplier_id].is_shop
        (shop_packs if is_shop else packs).append(terms)
    return tuple(suppliers.values()), tuple(packs), tuple(shop_packs)


def _supplier_terms(row: Any) -> SupplierTerms:
    cut_off = read_cut_off(row.supplier__cutoff_days, row.supplier__cutoff_time)
    return SupplierTerms(
        supplier_id=row.supplier_id,
        name=row.supplier__name,
        delivery_weekdays=calendars.parse_weekdays(row.supplier__delivery_days),
        cutoff_days=cut_off.days,
        cutoff_time=row.supplier__cutoff_time,
        usable_next_day=row.supplier__usable_next_day,
        minimum_order=row.supplier__minimum_order,
        delivery_fee=row.supplier__delivery_fee,
        free_delivery_from=row.supplier__free_delivery_from,
        closed_on=frozenset(calendars.parse_dates(row.supplier__closed_on)),
        cutoff_days_by_weekday=cut_off.by_weekday,
        is_shop=row.supplier__kind == Supplier.Kind.SHOP,
    )
