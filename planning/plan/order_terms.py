"""What a supplier and a pack ask for, as the engine's plain terms.

A supplier's for the few orders of a page; a plan reads those of a whole kitchen with
their packs, as rows.
"""

from datetime import date, datetime
from typing import Any

from planning.engine.deliveries import order_by_moment
from planning.engine.kitchen import IntColumn, PackTerms, PriceBreak, SupplierTerms
from stock.calendar import calendars
from stock.calendar.cut_offs import read_cut_off
from stock.entry.money_cells import parse_price_breaks
from stock.models import Bakery, Pack, Supplier
from stock.suppliers.delivery_days import DeliveryDays

ALONE = 0  # the index of a node or supplier that stands by itself
# Of a pack and of who sells it, in one row.
PACK_ROW_COLUMNS = (
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
)


def terms_of_pack(
    pack: Pack | Any, *, node: int = ALONE, supplier: int = ALONE
) -> PackTerms:
    """Return the terms of a pack, or of a row with a pack's columns. No query."""
    return PackTerms(
        pack_id=pack.pk,
        node=node,
        supplier=supplier,
        label=pack.label,
        called=pack.called,
        code=pack.code,
        size_base=pack.size_base,
        price=pack.price,
        minimum_packs=pack.minimum_packs,
        multiple=pack.multiple,
        breaks=tuple(
            PriceBreak(from_packs, price)
            for from_packs, price in parse_price_breaks(pack.price_breaks)
        ),
        preferred=pack.preferred,
        next_price=pack.next_price,
        next_price_from=pack.next_price_from,
    )


def terms_of_supplier(supplier: Supplier) -> SupplierTerms:
    """Return a supplier's terms. No query."""
    cut_off = read_cut_off(supplier.cutoff_days, supplier.cutoff_time)
    return SupplierTerms(
        supplier_id=supplier.pk,
        name=supplier.name,
        delivery_weekdays=calendars.parse_weekdays(supplier.delivery_days),
        cutoff_days=cut_off.days,
        cutoff_time=supplier.cutoff_time,
        usable_next_day=supplier.usable_next_day,
        minimum_order=supplier.minimum_order,
        delivery_fee=supplier.delivery_fee,
        free_delivery_from=supplier.free_delivery_from,
        closed_on=frozenset(calendars.parse_dates(supplier.closed_on)),
        cutoff_days_by_weekday=cut_off.by_weekday,
        is_shop=supplier.kind == Supplier.Kind.SHOP,
    )


def truck_comes(supplier: Supplier, bakery: Bakery, deliver_on: date) -> bool:
    """Whether a supplier delivers on a day, and the bakery takes it in."""
    return deliver_on in DeliveryDays.of(supplier, bakery)


def order_by(supplier: Supplier, bakery: Bakery, deliver_on: date) -> datetime:
    """Return the last moment to order for a delivery, on the bakery's clock."""
    return order_by_moment(terms_of_supplier(supplier), deliver_on, bakery.zone)


def suppliers_and_packs(
    ids: IntColumn,
) -> tuple[tuple[SupplierTerms, ...], tuple[PackTerms, ...], tuple[PackTerms, ...]]:
    """Return suppliers, the packs of those that deliver, and those of shops.

    Of the whole kitchen, whose items have these ids. One query.
    """
    rows = Pack.objects.order_by("supplier__name", "pk").values_list(
        *PACK_ROW_COLUMNS, named=True
    )
    suppliers: dict[int, SupplierTerms] = {}
    place_of: dict[int, int] = {}
    packs: list[PackTerms] = []
    shop_packs: list[PackTerms] = []
    nodes = dict(zip(ids.tolist(), range(len(ids)), strict=True))
    for row in rows.iterator(chunk_size=10_000):
        if row.supplier_id not in suppliers:
            place_of[row.supplier_id] = len(suppliers)
            suppliers[row.supplier_id] = _terms_of_row(row)
        if row.supplier__retired or row.retired:
            continue  # nothing new is bought, open orders still arrive
        place = place_of[row.supplier_id]
        terms = terms_of_pack(row, node=nodes[row.item_id], supplier=place)
        is_shop = suppliers[row.supplier_id].is_shop
        (shop_packs if is_shop else packs).append(terms)
    return tuple(suppliers.values()), tuple(packs), tuple(shop_packs)


def _terms_of_row(row: Any) -> SupplierTerms:
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
