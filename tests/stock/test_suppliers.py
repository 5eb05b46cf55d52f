from datetime import time
from decimal import Decimal

import pytest

from stock.entries import Change, EntryFaultsError
from stock.models import Supplier
from stock.suppliers import (
    keep_suppliers,
    retire_supplier,
    supplier_entries,
    unretire_supplier,
)

pytestmark = pytest.mark.django_db

MILL = {
    "supplier": "Mill",
    "delivery_days": "Fri Tue",
    "cutoff_days": "1",
    "cutoff_time": "14:00",
}


def test_a_supplier_is_stored_with_the_defaults_of_what_it_does_not_say():
    keep_suppliers([MILL])

    mill = Supplier.objects.get()
    assert (mill.delivery_days, mill.cutoff_time) == ("Tue Fri", time(14))
    assert mill.usable_next_day
    assert (mill.minimum_order, mill.free_delivery_from) == (Decimal(0), None)


def test_a_blank_free_delivery_is_never_and_zero_is_always():
    keep_suppliers([MILL | {"free_delivery_from": "0", "usable": "same day"}])

    mill = Supplier.objects.get()
    assert mill.free_delivery_from == Decimal(0)
    assert not mill.usable_next_day


def test_a_new_supplier_needs_its_days_and_its_cutoff():
    with pytest.raises(EntryFaultsError) as caught:
        keep_suppliers([{"supplier": "Mill"}])

    assert [fault.column for fault in caught.value.faults] == [
        "delivery_days",
        "cutoff_days",
        "cutoff_time",
    ]
    assert caught.value.faults[0].message == (
        "Mill is new here. “Delivery days” must not stay blank."
    )


def test_money_that_is_the_same_amount_is_no_change():
    keep_suppliers([MILL | {"minimum_order": "250"}])

    kept = keep_suppliers([{"supplier": "mill", "minimum_order": "250.00"}])

    assert kept.unchanged == 1


def test_a_supplier_is_renamed_retired_and_brought_back():
    keep_suppliers([MILL])
    pk = Supplier.objects.get().pk

    kept = keep_suppliers([{"supplier": "Old Mill"}], ids=[pk])
    retire_supplier(pk)
    assert kept.changed == (Change("Old Mill", "supplier", "Mill", "Old Mill"),)
    assert Supplier.objects.get().retired

    unretire_supplier(pk)
    assert not Supplier.objects.get().retired


def test_what_is_stored_comes_back_as_entries_that_change_nothing():
    keep_suppliers([MILL | {"email": "orders@mill.example", "delivery_fee": "12.5"}])

    entries = supplier_entries()

    assert entries[0]["delivery_fee"] == Decimal("12.5")
    assert keep_suppliers(entries).unchanged == 1
