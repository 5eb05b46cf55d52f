from datetime import time
from decimal import Decimal
from functools import partial

import pytest

from stock.entry.entries import Change, EntryFaultsError
from stock.models import Supplier
from stock.suppliers.suppliers import (
    keep_suppliers,
    retire_supplier,
    supplier_entries,
    unretire_supplier,
)
from tests import faults

pytestmark = pytest.mark.django_db

faults_of = partial(faults.of, keep_suppliers)

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


SHOP = {"supplier": "Corner market", "kind": "shop", "delivery_days": "Mon Tue Sat"}


def test_a_shop_needs_no_cut_off_and_what_comes_from_it_is_usable_at_once():
    keep_suppliers([SHOP])

    market = Supplier.objects.get()
    assert market.is_shop
    assert (market.cutoff_days, market.cutoff_time) == ("0", time(23, 59))
    assert not market.usable_next_day
    assert keep_suppliers([SHOP]).unchanged == 1


def test_whoever_starts_to_deliver_has_to_say_a_cut_off():
    keep_suppliers([SHOP])

    found = faults_of(
        [{"supplier": "Corner market", "kind": "delivers", "cutoff_days": ""}]
    )

    assert list(found) == [(1, "cutoff_days")]


def test_cut_offs_may_differ_by_delivery_day():
    keep_suppliers([MILL | {"cutoff_days": "fri 2; Tue 4"}])

    assert Supplier.objects.get().cutoff_days == "Tue 4; Fri 2"
    assert keep_suppliers([MILL | {"cutoff_days": "Tue 4; Fri 2"}]).unchanged == 1


@pytest.mark.parametrize(
    ("cutoff_days", "words"),
    [
        ("Tue 4", "one for each delivery day: Tue 2; Fri 2."),
        ("Tue 4; Fri 2; Sat 1", "one for each delivery day: Tue 2; Fri 2."),
        ("Tue 4; Tue 2", "Tue is there twice."),
        ("Tue Fri 2", "'Tue Fri 2' isn't a delivery day and its days."),
        ("Tue; Fri", "'Tue' isn't a delivery day and its days."),
        ("Someday 2", "isn't a weekday"),
        ("two", "'two' isn't a delivery day and its days."),
        ("-1", "'-1' isn't a delivery day and its days."),
        ("1.5", "'1.5' isn't a delivery day and its days."),
        ("367", "at most 366"),
        (";", "Write days before the delivery: 2, or Mon 4; Thu 2."),
    ],
)
def test_a_cut_off_that_cannot_be_says_what_to_write(cutoff_days, words):
    found = faults_of([MILL | {"cutoff_days": cutoff_days}])

    assert list(found) == [(1, "cutoff_days")]
    assert words in found[1, "cutoff_days"]


def test_a_delivery_day_cannot_go_without_its_cut_off():
    keep_suppliers([MILL | {"cutoff_days": "Tue 4; Fri 2"}])

    found = faults_of([{"supplier": "Mill", "delivery_days": "Tue Wed Fri"}])

    assert "Tue 2; Wed 2; Fri 2" in found[1, "cutoff_days"]


def test_whom_to_ask_for_comes_back_as_it_was_typed():
    row = MILL | {
        "contact": "Rosalind, mornings",
        "account": "K-0042",
        "phone": "555 0142",
        "retired": "yes",
    }

    keep_suppliers([row])

    [entry] = supplier_entries()
    assert {name: entry[name] for name in ("contact", "account", "phone")} == {
        "contact": "Rosalind, mornings",
        "account": "K-0042",
        "phone": "555 0142",
    }
    assert entry["retired"]
