"""A kitchen in which something is otherwise: the copy changes, the original stays."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.scenarios.what_if import (
    AddCake,
    CloseDay,
    DropCake,
    MoveCake,
    NewPrice,
    SetOnHand,
    SkipDelivery,
    as_if,
)
from planning.engine.shelves.projection import project
from tests.engine import shelves
from tests.engine.small_kitchen import SmallKitchen, day, window


@pytest.fixture
def kitchen():
    """A torte takes 400 g of butter; T-1 is for Wednesday; 500 g, 200 until Monday."""
    small = SmallKitchen().item("butter").cake("Torte", {"butter": 400})
    small.plan("T-1", "Torte", day(2)).stock("butter", 300).stock("butter", 200, day(0))
    return replace(
        small.build(),
        suppliers=(shelves.supplier("Dairy", days=(1, 4)),),
        packs=(shelves.pack(0, 1_000, 10),),
    )


def used(kitchen):
    """What is used of butter on each of the first four days."""
    demand = explode(kitchen, window()).demand
    return project(kitchen, window(), demand).used_base[0].tolist()[:4]


def received(kitchen):
    """What comes of butter on each of the first four days."""
    demand = explode(kitchen, window()).demand
    return project(kitchen, window(), demand).received_base[0].tolist()[:4]


def test_a_cake_added_dropped_or_moved(kitchen):
    added = AddCake("T-2", 1, "", day(1), 2.0)

    assert used(as_if(kitchen, [added])) == [0, 800, 400, 0]
    assert used(as_if(kitchen, [DropCake("T-1")])) == [0, 0, 0, 0]
    assert used(as_if(kitchen, [MoveCake("T-1", day(3))])) == [0, 0, 0, 400]


def test_changes_are_made_one_after_the_other(kitchen):
    changes = [AddCake("T-2", 1, "", day(1), 2.0), MoveCake("T-2", day(0))]

    assert used(as_if(kitchen, changes)) == [800, 0, 400, 0]


def test_a_smaller_count_takes_what_goes_out_of_date_first(kitchen):
    lots = as_if(kitchen, [SetOnHand(0, 250)]).lots

    assert lots.amount_base.tolist() == [250, 0]


def test_a_larger_count_adds_what_does_not_go_out_of_date(kitchen):
    lots = as_if(kitchen, [SetOnHand(0, 800)]).lots

    assert lots.amount_base.tolist() == [300, 200, 300]
    assert lots.use_by[-1] is None


def test_on_a_closed_day_nothing_is_baked_and_nothing_can_be_ordered(kitchen):
    closed = as_if(kitchen, [CloseDay(day(2)), CloseDay(day(1))])

    assert used(closed) == [400, 0, 0, 0]
    days = [row.deliver_on for row in possible_deliveries(closed, window(7))]
    assert days == [day(4)]


def with_two_open_orders(kitchen):
    """700 of the item due on the first day, 900 on the fourth."""
    orders = replace(
        kitchen.open_orders,
        references=["P-1", "P-2"],
        supplier=np.array([0, 0]),
        node=np.array([0, 0]),
        amount_base=np.array([700.0, 900.0]),
        due_on=[day(1), day(4)],
    )
    return replace(kitchen, open_orders=orders)


def test_an_open_order_due_on_a_closed_day_still_counts(kitchen):
    open_kitchen = with_two_open_orders(kitchen)
    closed = as_if(open_kitchen, [CloseDay(day(1))])

    assert closed.open_orders == open_kitchen.open_orders
    assert received(closed)[:2] == received(open_kitchen)[:2] == [0, 700]


def test_a_dropped_delivery_brings_nothing_that_is_on_order(kitchen):
    skipped = as_if(with_two_open_orders(kitchen), [SkipDelivery(0, day(1))])

    assert skipped.open_orders.amount_base.tolist() == [0, 900]
    days = [row.deliver_on for row in possible_deliveries(skipped, window(7))]
    assert days == [day(4)]


def test_a_price_is_that_of_one_pack(kitchen):
    changed = as_if(kitchen, [NewPrice(kitchen.packs[0].pack_id, Decimal(12))])

    assert changed.packs[0].price == 12
    assert as_if(kitchen, [NewPrice(-1, Decimal(12))]).packs == kitchen.packs


def test_the_kitchen_itself_stays_as_it_is(kitchen):
    as_if(kitchen, [DropCake("T-1"), SetOnHand(0, 0), CloseDay(day(2))])

    assert used(kitchen) == [0, 0, 400, 0]
    assert kitchen.lots.amount_base.tolist() == [300, 200]
