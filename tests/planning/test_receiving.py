"""An order is received at the door: what moves, what is asked, what is refused."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest

from planning.errors import (
    DeliveryDayError,
    DeliveryFaultsError,
    DeliveryKeyError,
    NothingCameError,
    OrderMovedOnError,
    OrderStateError,
)
from planning.models import Delivery, Order
from planning.orders.orders import cancel_order
from planning.orders.receiving import Rest, receive_delivery
from planning.plan.planner import make_plan
from stock.holding.holding import hold_lot, release_hold
from stock.ledger.verifying import verify_ledger
from stock.models import Bakery, Movement
from tests import build
from tests.build import MONDAY, NOON
from tests.on_hand import on_hand_base_by_item
from tests.planning.deliveries import hand, lots, receive, state

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

MAY_8 = date(2026, 5, 8)  # Monday, May 4 + 5 days - 1
YESTERDAY = MONDAY - timedelta(days=1)


@pytest.fixture
def milk(mill):
    """Jugs of 4 L; milk keeps 5 days and needs 3 of them on delivery."""
    item = build.item(
        "milk",
        measure="volume",
        keeps_days=5,
        minimum_days_left=3,
        place=build.place("walk-in"),
    )
    return build.pack(item, mill, size_base=4_000, label="jug", called="jug")


@pytest.fixture
def order(mill, flour, milk):
    """Three bags of flour and two jugs of milk, for today."""
    flour.item.place = build.place("rack")
    flour.item.save()
    return build.order(mill, reference="2026-004", lines=[(flour, 3), (milk, 2)])


def faults_of(order, *packs, **said):
    with pytest.raises(DeliveryFaultsError) as caught:
        receive(order, *packs, **said)
    assert not Movement.objects.exists()
    assert not Delivery.objects.exists()
    return [(fault.field, fault.is_question) for fault in caught.value.faults]


def test_what_came_is_on_hand_as_lots_in_the_place_of_each_item(order):
    receive(order, 3, 2)

    assert lots() == [
        ("flour", None, "", Decimal(3_000)),
        ("milk", MAY_8, "", Decimal(8_000)),
    ]
    assert set(Movement.objects.values_list("kind", "place__name", "note")) == {
        ("received", "rack", "Order 2026-004"),
        ("received", "walk-in", "Order 2026-004"),
    }
    assert state(order) == "received"


def test_the_rest_is_still_to_come(order):
    receive(order, 2, 2)

    assert state(order) == "part received"
    assert list(order.lines.values_list("received_packs", "closed")) == [
        (2, False),
        (2, False),
    ]


def test_what_will_not_come_is_closed(order):
    receive(order, 2, 2, closes=True)

    assert state(order) == "closed"
    assert list(order.lines.values_list("received_packs", "closed")) == [
        (2, True),
        (2, False),
    ]


def test_an_order_of_which_nothing_came_is_closed(order):
    receive_delivery(
        hand(order), key="a", bakery=Bakery.objects.get(), rest=Rest.CLOSED
    )

    assert state(order) == "closed"
    assert lots() == []


def test_more_than_was_ordered_comes_too(order):
    receive(order, 4, 2)

    assert state(order) == "received"
    assert lots()[0][3] == 4_000


def test_the_plan_counts_what_came_and_what_is_still_to_come(order, flour):
    receive(order, 1, 2)

    assert open_amounts() == [2_000]

    receive(order, 0, closes=True)

    assert open_amounts() == []
    assert on_hand_base_by_item()[flour.item_id] == 1_000


def open_amounts():
    plan = make_plan(bakery=Bakery.objects.get(), as_of=NOON)
    return plan.kitchen.open_orders.amount_base.tolist()


def test_a_printed_use_by_counts_where_it_is_earlier(mill, milk):
    order = build.order(mill, lines=[(milk, 2)])

    receive(order, 1, use_by=date(2026, 5, 7), lot_code=" L 7 ")

    assert lots() == [("milk", date(2026, 5, 7), "L 7", Decimal(4_000))]


def test_a_later_printed_use_by_never_outlasts_the_shelf_life(mill, milk):
    order = build.order(mill, lines=[(milk, 1)])

    receive(order, 1, use_by=date(2026, 6, 30))

    assert lots() == [("milk", MAY_8, "", Decimal(4_000))]


def test_the_same_key_again_changes_nothing(order):
    first = receive(order, 2, 2, key="page", version=1)

    again = receive(order, 2, 2, key="page", version=1)

    assert again == first
    assert Movement.objects.count() == 2
    assert order.lines.first().received_packs == 2


def test_the_same_tap_on_all_as_ordered_again_changes_nothing(order):
    acting, bakery = hand(order), Bakery.objects.get()

    first, again = (
        receive_delivery(acting, key="page", bakery=bakery, rest=Rest.AS_ORDERED)
        for _ in range(2)
    )

    assert again == first
    assert Movement.objects.count() == 2


def test_the_same_key_with_other_packs_is_refused(order):
    receive(order, 2, 2, key="page")

    with pytest.raises(DeliveryKeyError, match="recorded another delivery already"):
        receive(order, 3, 2, key="page")

    assert Movement.objects.count() == 2


def test_the_second_of_two_people_sees_what_the_first_took(order):
    receive(order, 2, 2, by=build.user(first_name="Rosa"), version=1)

    with pytest.raises(OrderMovedOnError) as caught:
        receive(order, 3, 2, version=1)

    assert str(caught.value).startswith("Rosa has received part of 2026-004 already")
    assert Movement.objects.count() == 2


@pytest.mark.parametrize(
    ("stands", "way_out"),
    [
        ("draft", "is a draft, so it cannot be received. Approve it"),
        ("approved", "is approved, so it cannot be received. Send it first."),
        ("received", "is received, so"),
        ("closed", "is closed, so"),
        ("cancelled", "is cancelled, so"),
    ],
)
def test_only_what_was_sent_is_received(order, stands, way_out):
    Order.objects.update(state=stands)

    with pytest.raises(OrderStateError, match=way_out):
        receive(order, 3, 2)

    assert not Movement.objects.exists()


def test_a_part_received_order_cannot_be_cancelled(order):
    receive(order, 1, 2)

    with pytest.raises(OrderStateError, match="Close what is still to come"):
        cancel_order(hand(order))


def test_nothing_at_all_is_no_delivery(order):
    with pytest.raises(NothingCameError, match="Enter what came, or close"):
        receive(order, 0, 0)


def test_ten_times_what_was_ordered_is_asked_about(order):
    assert faults_of(order, 30, 2) == [("packs", True)]

    receive(order, 30, 2, confirmed=True)

    assert lots()[0][3] == 30_000


def test_less_than_nothing_is_refused_and_cannot_be_confirmed(order):
    assert faults_of(order, -1, 2, confirmed=True) == [("packs", False)]


def test_a_line_that_came_in_full_is_not_received_again(order):
    receive(order, 3, 0)

    with pytest.raises(DeliveryFaultsError, match="Flour is received in full already"):
        receive(order, 1, 2)


def test_a_use_by_in_the_past_is_refused(mill, milk):
    order = build.order(mill, lines=[(milk, 1)])

    assert faults_of(order, 1, use_by=YESTERDAY, confirmed=True) == [("use_by", False)]


def test_fewer_days_left_than_the_item_needs_is_asked_about(mill, milk):
    order = build.order(mill, lines=[(milk, 1)])
    tomorrow = MONDAY + timedelta(days=1)

    # Monday and Tuesday are 2 days; milk needs 3.
    assert faults_of(order, 1, use_by=tomorrow) == [("use_by", True)]

    receive(order, 1, use_by=tomorrow, confirmed=True)

    assert lots()[0][1] == tomorrow


def test_a_lot_of_another_item_is_asked_about(order, flour):
    butter = build.item("butter", place=flour.item.place)
    build.stock(butter, 500, lot="L7", kind=Movement.Kind.CORRECTED)

    with pytest.raises(DeliveryFaultsError, match="lot L7 is one of butter"):
        receive(order, 3, 2, lot_code="L7")

    receive(order, 3, 2, lot_code="L7", confirmed=True)


def test_a_lot_with_unseen_characters_is_refused(order):
    assert faults_of(order, 3, 2, lot_code="L\x007") == [("lot_code", False)]


def test_an_item_without_a_place_is_refused_with_the_way_out(mill, flour):
    order = build.order(mill, lines=[(flour, 1)])

    with pytest.raises(DeliveryFaultsError, match="Flour has no place yet"):
        receive(order, 1)


def test_a_delivery_of_an_earlier_day_stands_on_that_day(order):
    receive(order, 3, 2, on=YESTERDAY)

    assert set(Movement.objects.values_list("at", flat=True)) == {
        NOON - timedelta(days=1)
    }
    assert lots()[1][1] == date(2026, 5, 7)


def test_a_delivery_of_an_earlier_day_never_spoils_a_count_since(order, flour):
    build.stock(
        flour.item,
        5_000,
        kind=Movement.Kind.CORRECTED,
        at=datetime(2026, 5, 3, 20, tzinfo=NOON.tzinfo),
    )

    with pytest.raises(DeliveryFaultsError) as caught:
        receive(order, 3, 2, on=YESTERDAY)

    assert "Flour was counted in rack on Sun May 3, 8:00 pm" in str(caught.value)
    assert on_hand_base_by_item() == {flour.item_id: Decimal(5_000)}


def test_no_delivery_comes_tomorrow(order):
    with pytest.raises(DeliveryDayError, match="Mon May 4 or earlier"):
        receive(order, 3, 2, on=MONDAY + timedelta(days=1))


def test_the_moment_is_taken_after_the_lock(order, flour):
    ahead = NOON + timedelta(minutes=1)
    build.stock(flour.item, 100, at=ahead)

    receive(order, 3, 2)

    received = Movement.objects.filter(kind="received")
    assert set(received.values_list("at", flat=True)) == {ahead}


def test_packs_are_received_exactly_as_they_are_written(mill):
    item = build.item("butter", place=build.place())
    pack = build.pack(item, mill, size_base=453.59237, holds="1 lb")
    order = build.order(mill, lines=[(pack, 3)])

    for _ in range(3):
        receive(order, 1)

    # 3 x 453.59237 g = 1,360.77711 g, rounded once.
    assert on_hand_base_by_item() == {item.pk: Decimal("1360.7771")}


def test_sixty_lines_take_thirty_queries_at_most(mill, django_assert_max_num_queries):
    place, bakery = build.place(), Bakery.objects.get()
    packs = [build.pack(build.item(place=place, keeps_days=9), mill) for _ in range(60)]
    order = build.order(mill, lines=[(pack, 2) for pack in packs])
    acting = hand(order)

    with django_assert_max_num_queries(30):
        receive_delivery(acting, key="sixty", bakery=bakery, rest=Rest.AS_ORDERED)

    assert Movement.objects.count() == 60
    assert verify_ledger().is_whole


def test_what_comes_without_lot_or_date_is_not_on_hold_with_what_is_there(order):
    flour = order.lines.get(pack__item__name="flour").pack.item
    held = hold_lot(
        build.stock(flour, 500, at=NOON - timedelta(days=1)), reason="weevils"
    )

    delivery = receive(order, 2, key="the same", version=1)
    again = receive(order, 2, key="the same", version=1)
    release_hold(held.pk)
    late = receive(order, 2, key="the same", version=1)
    receive(order, 1)

    assert delivery == again == late
    assert lots() == [
        ("flour", None, "", Decimal(1_500)),
        ("flour", None, "after hold", Decimal(2_000)),
    ]
