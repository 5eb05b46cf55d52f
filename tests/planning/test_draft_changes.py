"""What a person changes on a draft: what is kept, and what is refused."""

from decimal import Decimal

import pytest

from planning.errors import OrderMovedOnError, OrderPackError
from planning.orders.order_book import booked_order
from planning.orders.orders import set_packs
from stock.models import Bakery
from tests import build
from tests.build import NOON
from tests.planning.order_steps import LATER, TUESDAY, State, drafted, hand, packs

pytestmark = pytest.mark.django_db


def test_a_person_changes_how_many_packs_and_the_price_follows(flour, mill):
    order, rosa = drafted(flour, mill), build.user(first_name="Rosa")

    set_packs(hand(order, by=rosa), {flour.pk: 4})

    order.refresh_from_db()
    [line] = order.lines.all()
    assert (line.packs, line.price) == (4, Decimal(9))
    assert line.because[-1] == "Rosa made it 4 instead of 3."
    assert (order.version, order.changed_by, order.changed_at) == (2, rosa, NOON)


def test_no_packs_take_a_line_off_and_another_pack_is_added(flour, mill):
    sugar = build.pack(build.item("sugar"), mill, label="2 kg bag", price="4.1439")
    order = drafted(flour, mill)

    set_packs(hand(order), {flour.pk: 0, sugar.pk: 7})

    assert packs(order) == {"2 kg bag": 7}
    sheet = booked_order(order, bakery=Bakery.objects.get()).sheet
    # 7 x 4.1439 = 29.0073
    assert sheet.goods_cost == Decimal("29.01")
    assert sheet.total_cost == Decimal("44.01")


def test_the_same_packs_again_are_no_change(flour, mill):
    order, seen = drafted(flour, mill), 1
    set_packs(hand(order, version=seen), {flour.pk: 4})

    set_packs(hand(order, version=seen), {flour.pk: 4})

    order.refresh_from_db()
    assert order.version == 2


def test_saving_takes_the_price_of_today(flour, mill):
    order = drafted(flour, mill)
    flour.price = Decimal(11)
    flour.save()

    set_packs(hand(order), {flour.pk: 3})

    [line] = order.lines.all()
    assert line.price == Decimal(11)


@pytest.mark.parametrize("count", [-1, 100_001])
def test_a_number_of_packs_nobody_buys_is_refused(flour, mill, count):
    order = drafted(flour, mill)

    with pytest.raises(OrderPackError, match="order from 1 to 100,000 packs"):
        set_packs(hand(order), {flour.pk: count})
    assert packs(order) == {"1 kg bag": 3}


def test_another_suppliers_pack_is_refused(flour, mill):
    foreign = build.pack(build.item("eggs"), build.supplier("Farm"), label="tray")
    order = drafted(flour, mill)

    with pytest.raises(OrderPackError, match="Mill does not sell tray of eggs"):
        set_packs(hand(order), {flour.pk: 9, foreign.pk: 1})
    assert packs(order) == {"1 kg bag": 3}


def test_a_retired_pack_can_be_taken_off_but_not_added(flour, mill):
    old = build.pack(build.item("rye"), mill, label="old bag", retired=True)
    order = build.order(
        mill, deliver_on=TUESDAY, state=State.DRAFT, lines=[(old, 2), (flour, 1)]
    )

    set_packs(hand(order), {old.pk: 0})

    with pytest.raises(OrderPackError, match="Old bag of rye is no longer sold"):
        set_packs(hand(order), {old.pk: 1})


def test_nobody_writes_over_what_somebody_else_changed(flour, mill):
    order, rosa = drafted(flour, mill), build.user(first_name="Rosa")
    set_packs(hand(order, by=rosa, version=1), {flour.pk: 4})

    with pytest.raises(OrderMovedOnError, match=r"Rosa has changed .* at noon"):
        set_packs(hand(order, version=1, at=LATER), {flour.pk: 5})
    assert packs(order) == {"1 kg bag": 4}
