"""Puts an engine's kitchen into the database, row by row as the app would keep it."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import numpy as np

from planning.engine.kitchen import NO_LIMIT_DAYS, NodeKind, Scale
from planning.models import Order, OrderLine, PlannedCake, Recipe, RecipeLine
from stock.calendar.calendars import write_dates, write_weekdays
from stock.ledger import ledger
from stock.models import Bakery, Item, Movement, Pack, Place, Supplier
from tests.benchmarks.kitchens import FROM_ON, window_of

KINDS = {
    NodeKind.BOUGHT: Item.Kind.INGREDIENT,
    NodeKind.PART: Item.Kind.PART,
    NodeKind.MADE: Item.Kind.MADE,
    NodeKind.CAKE: Item.Kind.CAKE,
}
MEASURES = {"g": "mass", "mL": "volume", "each": "count"}
LAYER_HEIGHT = "1.5 in"


def without_repeats(kitchen):
    """Return the kitchen with one line for each component of a recipe."""
    lines = kitchen.lines
    pairs = np.stack([lines.recipe, lines.component])
    _, first = np.unique(pairs, axis=1, return_index=True)
    kept = np.sort(first)
    columns = {
        name: getattr(lines, name)[kept]
        for name in (
            "recipe",
            "component",
            "quantity_base",
            "yield_fraction",
            "scale",
        )
    }
    return replace(kitchen, lines=replace(lines, **columns))


def store(kitchen, size):
    """Store a kitchen without repeats in an empty database; return its bakery."""
    terms = kitchen.bakery
    bakery = Bakery.objects.create(
        time_zone=terms.zone_key,
        currency=terms.currency,
        par_days=write_weekdays(terms.par_weekdays),
        closed_days=write_weekdays(terms.closed_weekdays),
        closed_on=write_dates(terms.closed_on),
        layer_height=LAYER_HEIGHT,
    )
    _store_items(kitchen.nodes)
    _store_recipes(kitchen)
    _store_cakes(kitchen)
    _store_packs(kitchen)
    _store_stock(kitchen, window_of(size).as_of - timedelta(hours=6))
    _store_orders(kitchen)
    return bakery


def _store_items(nodes):
    rows = []
    for node, kind in enumerate(nodes.kind.tolist()):
        is_part = kind == NodeKind.PART
        keeps_days = int(nodes.keeps_days[node])
        rows.append(
            Item(
                pk=nodes.ids[node],
                name=nodes.names[node],
                kind=KINDS[kind],
                measure=MEASURES[nodes.units[node]],
                safety_base=nodes.safety_base[node],
                par_base=nodes.par_base[node],
                keeps_days=None if keeps_days == NO_LIMIT_DAYS else keeps_days,
                whole_id=nodes.ids[nodes.whole[node]] if is_part else None,
                part_yields_base=nodes.part_yields_base[node] if is_part else None,
                part_yields="typed" if is_part else "",
            )
        )
    Item.objects.bulk_create(rows, batch_size=500)


def _store_recipes(kitchen):
    nodes, lines = kitchen.nodes, kitchen.lines
    made = np.flatnonzero(np.isin(nodes.kind, [NodeKind.MADE, NodeKind.CAKE]))
    Recipe.objects.bulk_create(
        [
            Recipe(
                item_id=nodes.ids[node],
                yields="typed",
                yield_base=nodes.yield_base[node],
                batch_step=Decimal(str(nodes.batch_step[node])),
                loss_percent=Decimal(str(round(nodes.loss_fraction[node] * 100, 3))),
                lead_days=int(nodes.lead_days[node]),
                is_cake=bool(nodes.kind[node] == NodeKind.CAKE),
                base_size=nodes.base_size[node],
                largest_batch=Decimal(str(nodes.largest_batch[node])) or None,
            )
            for node in made.tolist()
        ],
        batch_size=500,
    )
    RecipeLine.objects.bulk_create(
        [
            RecipeLine(
                recipe_id=nodes.ids[recipe],
                component_id=nodes.ids[component],
                quantity="typed",
                quantity_base=quantity_base,
                yield_percent=Decimal(str(yield_fraction)) * 100,
                scales_with="" if scale == Scale.CAKE else Scale(scale).name.lower(),
            )
            for recipe, component, quantity_base, yield_fraction, scale in zip(
                lines.recipe.tolist(),
                lines.component.tolist(),
                lines.quantity_base.tolist(),
                lines.yield_fraction.tolist(),
                lines.scale.tolist(),
                strict=True,
            )
        ],
        batch_size=2_000,
    )


def _store_cakes(kitchen):
    cakes, ids = kitchen.cakes, kitchen.nodes.ids
    PlannedCake.objects.bulk_create(
        [
            PlannedCake(
                reference=reference,
                due_on=cakes.due_on[row],
                cake_id=ids[cakes.cake[row]],
                size=cakes.sizes[row],
                quantity=int(cakes.quantity[row]),
                status="tentative" if cakes.tentative[row] else "confirmed",
            )
            for row, reference in enumerate(cakes.references)
        ],
        batch_size=1_000,
    )


def _store_packs(kitchen):
    Supplier.objects.bulk_create(
        Supplier(
            pk=terms.supplier_id,
            name=terms.name,
            delivery_days=write_weekdays(terms.delivery_weekdays),
            cutoff_days=terms.cutoff_days,
            cutoff_time=terms.cutoff_time,
            usable_next_day=terms.usable_next_day,
            minimum_order=terms.minimum_order,
            delivery_fee=terms.delivery_fee,
        )
        for terms in kitchen.suppliers
    )
    Pack.objects.bulk_create(
        [
            Pack(
                pk=pack.pack_id,
                supplier_id=kitchen.suppliers[pack.supplier].supplier_id,
                item_id=kitchen.nodes.ids[pack.node],
                label=pack.label,
                called=pack.called,
                code=pack.code,
                holds=f"{pack.size_base} g",
                size_base=pack.size_base,
                price=pack.price,
                preferred=pack.preferred,
            )
            for pack in kitchen.packs
        ],
        batch_size=500,
    )


def _store_stock(kitchen, at):
    lots, ids = kitchen.lots, kitchen.nodes.ids
    shelf = Place.objects.create(name="shelf")
    keys = [
        ledger.LotKey(ids[node], use_by)
        for node, use_by in zip(lots.node.tolist(), lots.use_by, strict=True)
    ]
    lot_ids = ledger.lots_for(keys)
    ledger.record(
        [
            ledger.NewMovement(
                item_id=key.item_id,
                place_id=shelf.pk,
                lot_id=lot_ids[key],
                kind=Movement.Kind.IMPORTED,
                amount_base=Decimal(str(amount_base)),
                at=at,
            )
            for key, amount_base in zip(keys, lots.amount_base.tolist(), strict=True)
        ]
    )


def _store_orders(kitchen):
    lines = kitchen.open_orders
    for row, reference in enumerate(lines.references):
        supplier = kitchen.suppliers[lines.supplier[row]]
        pack = next(
            pack
            for pack in kitchen.packs
            if pack.node == lines.node[row]
            and pack.supplier == lines.supplier[row]
            and 3 * pack.size_base == lines.amount_base[row]
        )
        order = Order.objects.create(
            reference=reference,
            supplier_id=supplier.supplier_id,
            deliver_on=lines.due_on[row] or FROM_ON,
            state=Order.State.SENT,
        )
        OrderLine.objects.create(
            order=order, pack_id=pack.pack_id, packs=3, due_on=order.deliver_on
        )
