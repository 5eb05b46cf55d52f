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
    Case,
    CharField,
    F,
    FloatField,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Cast, Coalesce

from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    NO_NODE,
    BakeryTerms,
    DecidedLine,
    IntColumn,
    Kitchen,
    Lines,
    NodeKind,
    Nodes,
    OpenOrderLines,
    PlannedCakes,
    Scale,
    StockLots,
    SupplierTerms,
)
from planning.models import Order, OrderLine, PlannedCake, RecipeLine
from planning.models.orders import STILL_TO_COME
from planning.plan.order_terms import suppliers_and_packs
from stock.calendar import calendars
from stock.ledger.held import is_held
from stock.measures.lengths import parse_length_cm
from stock.measures.units import Measure
from stock.models import Bakery, Balance, Item, Movement
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
NODE_COLUMNS = (
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
STORED_PER_BASE = 10**AMOUNT_PLACES

STOCK_ROW, ORDER_ROW, DRAFT_ROW, APPROVED_ROW = range(4)
# What no plan replaces: approved orders, and drafts that a person changed.
DECIDED = Q(order__state=Order.State.APPROVED) | Q(
    order__state=Order.State.DRAFT, order__changed_by_hand=True
)


def load_kitchen(*, bakery: Bakery, as_of: datetime) -> Kitchen:
    """Return the kitchen as it stood at a moment. Five queries, whatever its size."""
    nodes = _nodes()
    ids = np.asarray(nodes.ids, dtype=np.int64)
    suppliers, packs, shop_packs = suppliers_and_packs(ids)
    lots, open_orders, decided = _lots_and_orders(ids, suppliers, as_of)
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
        decided=decided,
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
    rows = Item.objects.order_by("pk").values_list(*NODE_COLUMNS)
    columns = _columns(rows.iterator(chunk_size=10_000), len(NODE_COLUMNS))
    ids = np.array(columns[0], dtype=np.int64)
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
        whole=_wholes(ids, columns[8]),
        part_yields_base=_floats(columns[9]),
        yield_base=_floats(columns[10]),
        batch_step=_floats(columns[11]),
        loss_fraction=_floats(columns[12]) / 100,
        lead_days=np.array([days or 0 for days in columns[13]], dtype=np.int64),
        base_size=[size or "" for size in columns[14]],
        largest_batch=_floats(columns[15]),
        caps_use_by=np.array([bool(caps) for caps in columns[16]], dtype=np.bool_),
    )


def _wholes(ids: IntColumn, whole_ids: Sequence[int | None]) -> IntColumn:
    """Return of which whole each node is a part; most are of none."""
    wholes = np.full(len(ids), NO_NODE, dtype=np.int64)
    has_whole = np.array([whole is not None for whole in whole_ids], dtype=bool)
    if has_whole.any():
        wholes[has_whole] = _index(ids, [w for w in whole_ids if w is not None])
    return wholes


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
        .exclude(is_held(OuterRef("lot_id")))  # set aside: nothing is planned with it
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
        OrderLine.objects.filter(STILL_TO_COME, order__state__in=Order.OPEN_STATES)
        .order_by()
        .annotate(
            source=Value(ORDER_ROW, IntegerField()),
            node=F("pack__item_id"),
            stored=Cast(
                Coalesce(F("expected_packs"), F("packs")) - F("received_packs"),
                BigIntegerField(),
            ),
            day=F("due_on"),
            reference=F("order__reference"),
            supplier=F("order__supplier_id"),
            size=F("pack__size_base"),
        )
        .values_list("source", "node", "stored", "day", "reference", "supplier", "size")
    )


def _decided_rows() -> QuerySet[OrderLine, tuple[Any, ...]]:
    """Return the lines that somebody has decided on, by pack."""
    is_approved = Q(order__state=Order.State.APPROVED)
    return (
        OrderLine.objects.filter(DECIDED)
        .order_by()
        .annotate(
            source=Case(
                When(is_approved, then=Value(APPROVED_ROW)),
                default=Value(DRAFT_ROW),
                output_field=IntegerField(),
            ),
            node=F("pack_id"),
            stored=Cast(F("packs"), BigIntegerField()),
            day=F("order__deliver_on"),
            reference=F("order__reference"),
            supplier=F("order__supplier_id"),
            size=Value(0.0, FloatField()),
        )
        .values_list("source", "node", "stored", "day", "reference", "supplier", "size")
    )


def _lots_and_orders(
    ids: IntColumn, suppliers: Sequence[SupplierTerms], as_of: datetime
) -> tuple[StockLots, OpenOrderLines, tuple[DecidedLine, ...]]:
    """Read what is on hand at the moment, on its way and decided on, in one query."""
    rows = _stock_rows(Balance.objects.all(), 1).union(
        _stock_rows(_later_movements(as_of), -1),
        _order_rows(),
        _decided_rows(),
        all=True,
    )
    stored_by_lot: dict[tuple[int, date | None], int] = defaultdict(int)
    orders, decided = [], []
    for source, node, stored, day, reference, supplier, size in rows.iterator(
        chunk_size=10_000
    ):
        if source == STOCK_ROW:
            stored_by_lot[node, day] += stored
        elif source != ORDER_ROW:
            is_approved = source == APPROVED_ROW
            decided.append((day, reference, is_approved, node, stored, supplier))
        elif stored > 0:
            orders.append((reference, supplier, node, stored * size, day))
    return (
        _lots(ids, stored_by_lot),
        _open_orders(ids, suppliers, sorted(orders)),
        _decided_lines(suppliers, sorted(decided)),
    )


def _decided_lines(
    suppliers: Sequence[SupplierTerms],
    rows: list[tuple[date, str, bool, int, int, int]],
) -> tuple[DecidedLine, ...]:
    place_of = {terms.supplier_id: place for place, terms in enumerate(suppliers)}
    return tuple(
        DecidedLine(reference, is_approved, pack_id, packs, place_of[key], day)
        for day, reference, is_approved, pack_id, packs, key in rows
    )


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
