"""Keeping the suppliers: who comes when, on what terms."""

from collections.abc import Sequence
from typing import Any

from stock import keeping
from stock.batches import Batch
from stock.entries import Entry, Kept
from stock.keeping import Keeping, Row
from stock.models import Supplier
from stock.sheets import NEXT_DAY, SAME_DAY, SUPPLIERS

SAME_NAMED_FIELDS = (
    "email",
    "delivery_days",
    "cutoff_days",
    "cutoff_time",
    "minimum_order",
    "delivery_fee",
    "free_delivery_from",
    "closed_on",
)


def keep_suppliers(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[int | None] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store suppliers; return what was added, changed and left alone.

    See `stock.keeping` for rows, ids and batch. A fixed number of queries.
    """
    with keeping.together(batch) as own:
        kept: Keeping[Supplier] = Keeping(SUPPLIERS, entries, own, rows=rows, ids=ids)
        kept.match(Supplier.objects.all(), _values)
        kept.write(
            kept.sound_rows(keeping.SUPPLIERS),
            _assign,
            Supplier,
            ["name", "usable_next_day", *SAME_NAMED_FIELDS],
        )
    return kept.kept()


def retire_supplier(supplier_id: int) -> None:
    """Hide a supplier: nothing is bought there any more; its orders stay."""
    Supplier.objects.filter(pk=supplier_id).update(retired=True)


def unretire_supplier(supplier_id: int) -> None:
    """Buy from a supplier again."""
    Supplier.objects.filter(pk=supplier_id).update(retired=False)


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


def _assign(supplier: Supplier, row: Row[Supplier]) -> None:
    supplier.name = row.after["supplier"]
    supplier.usable_next_day = row.after["usable"] == NEXT_DAY
    for name in SAME_NAMED_FIELDS:
        setattr(supplier, name, row.after[name])
