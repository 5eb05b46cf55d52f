"""Keeping the suppliers: who comes when, on what terms."""

from collections.abc import Sequence
from datetime import time
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from stock.calendar.calendars import WEEKDAYS, parse_weekdays
from stock.calendar.cut_offs import parse_cutoff_days
from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept
from stock.models import Supplier
from stock.saving import upsert
from stock.saving.sheets import NEXT_DAY, SAME_DAY, SUPPLIERS
from stock.saving.upsert import Keeping, Row
from stock.saving.versions import set_seen

SAME_NAMED_FIELDS = (
    "kind",
    "contact",
    "account",
    "email",
    "phone",
    "delivery_days",
    "cutoff_days",
    "cutoff_time",
    "minimum_order",
    "delivery_fee",
    "free_delivery_from",
    "closed_on",
    "retired",
)
# What stays blank in a shop's row; whoever delivers has to say it.
CUTOFF_OF_SHOPS = {"cutoff_days": "0", "cutoff_time": time(23, 59)}


def keep_suppliers(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store suppliers; return what was added, changed and left alone.

    See `stock.saving.upsert` for rows, ids and batch. A fixed number of queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[Supplier] = Keeping(SUPPLIERS, entries, own, rows=rows, ids=ids)
        for row in kept.match(Supplier.objects.all(), _values):
            _settle_blanks(kept, row)
            _check_cutoff_days(kept, row)
        kept.write(
            kept.sound_rows(upsert.SUPPLIERS),
            _assign,
            Supplier,
            ["name", "usable_next_day", *SAME_NAMED_FIELDS],
        )
    return kept.kept()


@transaction.atomic
def retire_supplier(supplier_id: int, *, seen: int | None = None) -> None:
    """Hide a supplier: nothing is bought there any more; its orders stay.

    Refused if it is no longer the version that was seen.
    """
    set_seen(upsert.hold(Supplier, supplier_id), seen, retired=True)


@transaction.atomic
def unretire_supplier(supplier_id: int, *, seen: int | None = None) -> None:
    """Buy from a supplier again; see `retire_supplier`."""
    set_seen(upsert.hold(Supplier, supplier_id), seen, retired=False)


def supplier_entries(ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return what is stored as entries, by name. One query."""
    suppliers = Supplier.objects.order_by("name")
    if ids is not None:
        suppliers = suppliers.filter(pk__in=ids)
    return [_values(supplier) for supplier in suppliers]


def _values(supplier: Supplier) -> dict[str, Any]:
    return {
        "supplier": supplier.name,
        "usable": NEXT_DAY if supplier.usable_next_day else SAME_DAY,
        **{name: getattr(supplier, name) for name in SAME_NAMED_FIELDS},
    }


def _settle_blanks(kept: Keeping[Supplier], row: Row[Supplier]) -> None:
    """Say what blanks mean, which depends on whether the supplier delivers."""
    if not row.says("kind"):
        return
    is_shop = row.after["kind"] == Supplier.Kind.SHOP
    row.after["usable"] = row.after["usable"] or (SAME_DAY if is_shop else NEXT_DAY)
    for column, of_shops in CUTOFF_OF_SHOPS.items():
        if row.after[column] not in (None, ""):
            continue
        if is_shop:
            row.after[column] = of_shops
        else:
            kept.fault(row, column, SUPPLIERS.column(column).blank_words)


def _check_cutoff_days(kept: Keeping[Supplier], row: Row[Supplier]) -> None:
    """Refuse a cut-off by weekday that leaves a delivery day out, or names another."""
    columns = "delivery_days", "cutoff_days"
    if not row.says(*columns) or "delivery_days" not in row.after:
        return
    if not row.changes(*columns):
        return
    named = {
        weekday
        for weekday, _other in parse_cutoff_days(row.after["cutoff_days"]).by_weekday
    }
    delivering = parse_weekdays(row.after["delivery_days"])
    if named and named != set(delivering):
        kept.fault(
            row,
            "cutoff_days",
            _(
                "Write one number for all, or one for each delivery day: {value}."
            ).format(value="; ".join(f"{WEEKDAYS[day]} 2" for day in delivering)),
        )


def _assign(supplier: Supplier, row: Row[Supplier]) -> None:
    supplier.name = row.after["supplier"]
    supplier.usable_next_day = row.after["usable"] == NEXT_DAY
    for name in SAME_NAMED_FIELDS:
        setattr(supplier, name, row.after[name])
