"""Small kitchens of bought items only, for tests of the shelf and of buying."""

from datetime import UTC, date, datetime, time
from decimal import Decimal

import numpy as np

from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    BakeryTerms,
    Kitchen,
    Lines,
    NodeKind,
    Nodes,
    OpenOrderLines,
    PackTerms,
    PlannedCakes,
    StockLots,
    SupplierTerms,
    Window,
)
from planning.engine.plan import Demand

NO_INTS = np.zeros(0, dtype=np.int64)
NO_FLOATS = np.zeros(0)


def items(*rows):
    """Nodes from dicts: name, and where they differ unit, safety, par, keeps…"""
    count = len(rows)

    def column(key, blank, dtype):
        return np.array([row.get(key, blank) for row in rows], dtype=dtype)

    return Nodes(
        ids=tuple(range(100, 100 + count)),
        names=tuple(row["name"] for row in rows),
        units=tuple(row.get("unit", "g") for row in rows),
        kind=column("kind", NodeKind.BOUGHT, np.int64),
        retired=column("retired", False, np.bool_),
        safety_base=column("safety", 0.0, np.float64),
        par_base=column("par", 0.0, np.float64),
        keeps_days=column("keeps", NO_LIMIT_DAYS, np.int64),
        whole=np.full(count, -1, dtype=np.int64),
        part_yields_base=np.zeros(count),
        yield_base=np.zeros(count),
        batch_step=np.zeros(count),
        loss_fraction=np.zeros(count),
        lead_days=np.zeros(count, dtype=np.int64),
        base_size=("",) * count,
        largest_batch=np.zeros(count),
    )


def supplier(name="Mill", days=(0, 1, 2, 3, 4, 5, 6), **terms):
    terms.setdefault("cutoff_days", 1)
    terms.setdefault("cutoff_time", time(14))
    terms.setdefault("usable_next_day", False)
    for key in ("minimum_order", "delivery_fee", "free_delivery_from"):
        if terms.get(key) is not None:
            terms[key] = Decimal(str(terms[key]))
    supplier_id = terms.pop("supplier_id", 1)
    return SupplierTerms(supplier_id, name, tuple(days), **terms)


def pack(node, size, price, *, supplier=0, pack_id=None, label="", **terms):
    return PackTerms(
        pack_id=pack_id if pack_id is not None else 10 * node + supplier + 1,
        node=node,
        supplier=supplier,
        label=label or f"pack of {size:g}",
        called="",
        code="",
        size_base=float(size),
        price=Decimal(str(price)),
        **terms,
    )


def kitchen(
    nodes,
    *,
    lots=(),
    orders=(),
    suppliers=(),
    packs=(),
    shop_packs=(),
    cakes=(),
    **bakery,
):
    """A kitchen; lots are (node, amount, use-by), orders (node, amount, due, who).

    Planned cakes are (reference, due, node): one each, in no size of their own.
    """
    bakery.setdefault("zone_key", "America/New_York")
    bakery.setdefault("currency", "USD")
    return Kitchen(
        bakery=BakeryTerms(**bakery),
        nodes=nodes,
        lines=Lines(NO_INTS, NO_INTS, NO_FLOATS, NO_FLOATS, NO_INTS),
        cakes=PlannedCakes(
            tuple(reference for reference, _, _ in cakes),
            tuple(due_on for _, due_on, _ in cakes),
            np.array([node for _, _, node in cakes], dtype=np.int64),
            ("",) * len(cakes),
            np.ones(len(cakes)),
            np.zeros(len(cakes), dtype=bool),
        ),
        lots=StockLots(
            np.array([node for node, _, _ in lots], dtype=np.int64),
            np.array([amount for _, amount, _ in lots], dtype=np.float64),
            tuple(use_by for _, _, use_by in lots),
        ),
        open_orders=OpenOrderLines(
            tuple(f"O-{n}" for n in range(1, len(orders) + 1)),
            np.array([who for _, _, _, who in orders], dtype=np.int64),
            np.array([node for node, _, _, _ in orders], dtype=np.int64),
            np.array([amount for _, amount, _, _ in orders], dtype=np.float64),
            tuple(due_on for _, _, due_on, _ in orders),
        ),
        suppliers=tuple(suppliers),
        packs=tuple(packs),
        shop_packs=tuple(shop_packs),
    )


def window(first=date(2026, 5, 4), days=7, at=None):
    """A window from a Monday on, made at noon UTC on its first day."""
    as_of = at or datetime(first.year, first.month, first.day, 12, tzinfo=UTC)
    return Window(as_of=as_of, from_on=first, days=days)


def demand(nodes, used):
    """Demand from a dict of (node, date) to amount."""
    rows = sorted(used, key=lambda key: (key[1], nodes.names[key[0]].casefold()))
    return Demand(
        np.array([node for node, _ in rows], dtype=np.int64),
        np.array([day.toordinal() for _, day in rows], dtype=np.int64),
        np.array([used[key] for key in rows], dtype=np.float64),
        np.zeros(len(rows), dtype=bool),
    )
