"""A delivery is undone on its day, unless something stands on it."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from planning.errors import (
    DeliveryDayError,
    DeliveryDependedOnError,
    NoSuchDeliveryError,
    OrderMovedOnError,
)
from planning.models import Delivery, OrderLine
from planning.orders.new_day import set_new_day
from planning.orders.order_book import booked_order
from planning.orders.receiving import Rest, receive_delivery
from stock.counts.undoing import undo_post
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.ledger.levels import items_on_record
from stock.ledger.verifying import rebuild, verify_ledger
from stock.models import Bakery, Balance, Movement
from stock.moving.moving import MoveEntry, move_stock, undo_move
from tests import build
from tests.build import MONDAY, NOON
from tests.on_hand import on_hand_base_by_item
from tests.planning.deliveries import hand, lots, receive, state, undo
from tests.stock import counts

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

Kind = Movement.Kind


@pytest.fixture
def rack():
    return build.place("rack")


@pytest.fixture
def order(mill, flour, rack):
    """Three bags of flour and two of sugar, for today."""
    flour.item.place = rack
    flour.item.save()
    sugar = build.pack(build.item("sugar", place=rack), mill, label="bag")
    return build.order(mill, reference="2026-004", lines=[(flour, 3), (sugar, 2)])


def test_undone_a_delivery_never_came(order, flour):
    delivery = receive(order, 3, 1, closes=False)

    undo(delivery)

    assert lots() == []
    assert items_on_record([flour.item_id]) == set()
    assert state(order) == "sent"
    assert list(order.lines.values_list("received_packs", "closed")) == [
        (0, False),
        (0, False),
    ]


def test_balances_worked_out_anew_are_the_same_after_undoing(order):
    undo(receive(order, 3, 2))

    rebuild()

    assert not Balance.objects.exists()


def test_the_movements_stay_and_are_countered_at_their_own_moment(order):
    undo(receive(order, 3, 0))

    rows = Movement.objects.order_by("pk").values_list("amount_base", "at", "note")
    assert list(rows) == [
        (Decimal(3_000), NOON, "Order 2026-004"),
        (Decimal(-3_000), NOON, "Order 2026-004 undone"),
    ]


def test_undoing_again_changes_nothing(order):
    delivery = receive(order, 3, 2)
    undo(delivery)

    undo(delivery, version=1)

    assert lots() == []
    assert Movement.objects.count() == 4


def test_undone_a_closed_line_is_still_to_come(order):
    receive(order, 1, 2)
    line = order.lines.first()
    closing = receive_delivery(
        hand(order),
        key="close",
        bakery=Bakery.objects.get(),
        rest=Rest.CLOSED,
    )
    assert state(order) == "closed"

    undo(closing)

    line.refresh_from_db()
    assert (line.received_packs, line.closed) == (1, False)
    assert state(order) == "part received"


def test_an_earlier_delivery_is_undone_beside_a_later_one(order):
    first = receive(order, 1, 2)
    receive(order, 2)

    undo(first)

    assert [lot[3] for lot in lots()] == [2_000]
    assert state(order) == "part received"


def test_after_undoing_it_is_received_anew(order):
    undo(receive(order, 3, 2))

    receive(order, 3, 2)

    assert [lot[3] for lot in lots()] == [3_000, 2_000]
    assert state(order) == "received"


def test_the_order_says_the_step_that_holds_again(order):
    undo(receive(order, 3, 2))
    order.refresh_from_db()

    assert booked_order(order, bakery=Bakery.objects.get()).last_step is None


def test_what_was_used_since_stands_in_the_way(order, flour, rack):
    delivery = receive(order, 3, 2)
    build.stock(flour.item, -100, place=rack, kind=Kind.USED)

    with pytest.raises(DeliveryDependedOnError) as caught:
        undo(delivery)

    assert str(caught.value) == (
        "This delivery of 2026-004 can't be undone: flour in rack was used since. "
        "Set what is on hand on its page instead."
    )
    assert on_hand_base_by_item()[flour.item_id] == 2_900


def test_what_was_moved_since_stands_in_the_way_until_it_is_moved_back(order, flour):
    delivery = receive(order, 3, 2)
    freezer = build.place("freezer")
    entry = MoveEntry(flour.item_id, flour.item.place_id, freezer.pk, Decimal(100))
    move = move_stock(entry, key="k")

    with pytest.raises(DeliveryDependedOnError, match="flour in rack was moved since"):
        undo(delivery)
    undo_move(move.pk)
    undo(delivery)

    assert lots() == []


@pytest.mark.parametrize("anew", [False, True])
def test_all_of_it_moved_on_stands_in_the_way_whatever_was_undone_since(
    order, flour, rack, client, anew
):
    delivery = receive(order, 3, 2)
    freezer = build.place("freezer")
    move_stock(MoveEntry(flour.item_id, rack.pk, freezer.pk, Decimal(3_000)), key="all")
    if anew:
        rebuild()
    else:
        little = MoveEntry(flour.item_id, freezer.pk, rack.pk, Decimal(10))
        undo_move(move_stock(little, key="little").pk)
    client.force_login(build.user())

    page = client.get(reverse("planning:order", args=[order.pk]))

    assert "flour in rack was moved since" in page.content.decode().lower()
    with pytest.raises(DeliveryDependedOnError, match="flour in rack was moved since"):
        undo(delivery)
    assert on_hand_base_by_item(place=rack)[flour.item_id] == 0


def test_without_a_balance_nothing_of_it_is_left_to_undo(order, flour, rack):
    """An older program forgot balances whose movements still stand."""
    delivery = receive(order, 3, 2)
    build.stock(flour.item, -3_000, place=rack, kind=Kind.USED)
    Balance.objects.filter(item=flour.item).delete()

    with pytest.raises(DeliveryDependedOnError, match="flour in rack was used since"):
        undo(delivery)


def test_use_of_what_stood_there_before_stands_in_no_way(order, flour, rack):
    build.stock(flour.item, 500, place=rack)
    delivery = receive(order, 3, 2)
    build.stock(flour.item, -500, place=rack, kind=Kind.USED)

    undo(delivery)

    assert on_hand_base_by_item()[flour.item_id] == 0


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (Kind.CORRECTED, "set by hand since"),
        (Kind.IMPORTED, "set from a workbook since"),
    ],
)
def test_what_was_set_since_stands_in_the_way(order, flour, rack, kind, words):
    delivery = receive(order, 3, 2)
    build.stock(flour.item, -10, place=rack, kind=kind, at=NOON + timedelta(minutes=5))

    with pytest.raises(DeliveryDependedOnError) as refused:
        undo(delivery)

    assert refused.value.reasons == (f"flour in rack was {words}",)


def test_what_was_counted_since_stands_in_the_way_until_the_count_is_undone(
    order, flour, rack
):
    delivery = receive(order, 3, 2)
    count = counts.opened(rack, counted_at=NOON + timedelta(minutes=5))
    counts.enter(count, flour.item, "2900 g")
    counts.posted(count)

    with pytest.raises(
        DeliveryDependedOnError, match="flour in rack was counted since"
    ):
        undo(delivery)
    undo_post(count.pk, at=NOON + timedelta(hours=1))
    undo(delivery)

    assert lots() == []


def test_what_was_found_as_on_record_since_stands_in_the_way(order, flour, rack):
    delivery = receive(order, 3, 2)
    said = OnHandRow(flour.item_id, rack.pk, Decimal(3_000))
    assert set_on_hand(said) is None

    with pytest.raises(
        DeliveryDependedOnError, match="flour in rack was set by hand since"
    ):
        undo(delivery)


def test_what_was_found_as_on_record_before_stands_in_no_way(order, flour, rack):
    build.stock(flour.item, 500, place=rack)
    set_on_hand(OnHandRow(flour.item_id, rack.pk, Decimal(500)))

    undo(receive(order, 3, 2))

    assert on_hand_base_by_item()[flour.item_id] == 500


def test_another_item_that_was_used_stands_in_no_way(order, rack):
    delivery = receive(order, 3, 2)
    build.stock(build.item("salt"), -10, place=rack, kind=Kind.USED)

    undo(delivery)

    assert state(order) == "sent"


def test_a_delivery_of_yesterday_is_not_undone(order, clock):
    delivery = receive(order, 3, 2)
    clock["now"] = datetime(2026, 5, 5, 0, 1, tzinfo=NOON.tzinfo)

    with pytest.raises(DeliveryDependedOnError, match="recorded on an earlier day"):
        undo(delivery)


def test_the_second_to_act_sees_that_it_was_undone(order, clock):
    delivery = receive(order, 1, 2, version=1)
    clock["now"] = NOON + timedelta(minutes=1)
    undo(delivery, by=build.user(first_name="Rosa"), version=2)

    with pytest.raises(OrderMovedOnError, match="Rosa has changed 2026-004 already"):
        receive(order, 2, 0, version=2)


def test_only_its_own_deliveries_are_undone(order, mill, flour):
    other = build.order(mill, lines=[(flour, 1)])
    delivery = receive(other, 1)
    delivery.order = order

    with pytest.raises(NoSuchDeliveryError):
        undo(delivery)


def test_a_late_order_gets_a_new_day(order):
    receive(order, 3, 1)
    friday = date(2026, 5, 8)

    set_new_day(hand(order), friday, bakery=Bakery.objects.get())

    assert list(order.lines.values_list("due_on", flat=True)) == [MONDAY, friday]
    order.refresh_from_db()
    assert order.deliver_on == MONDAY


def test_a_day_that_has_passed_is_no_new_day(order):
    with pytest.raises(DeliveryDayError, match="Enter Mon May 4 or later"):
        set_new_day(hand(order), date(2026, 5, 3), bakery=Bakery.objects.get())


def test_a_new_day_counts_as_of_the_moment_it_was_given(order, clock):
    clock["now"] = NOON + timedelta(days=7)

    set_new_day(hand(order), date(2026, 5, 8), bakery=Bakery.objects.get())

    order.refresh_from_db()
    assert order.changed_at == NOON


# Packs of odd sizes: a rounding a visit would add up.
SIZES = st.sampled_from(["1 lb", "1 oz", "1/3 lb", "250 g", "0.0001 g"])
LINES = st.lists(st.tuples(SIZES, st.integers(1, 6)), min_size=1, max_size=3)


class TestVisits(TestCase):
    """However an order is split into visits, the shelves end the same."""

    @settings(max_examples=30)
    @given(lines=LINES, data=st.data())
    def test_any_split_ends_as_all_at_once(self, lines, data):
        build.bakery(time_zone="UTC")
        at_once, split = _twins(lines)
        bakery = Bakery.objects.get()
        receive_delivery(
            hand(at_once), key="at once", bakery=bakery, rest=Rest.AS_ORDERED
        )

        visits = 0
        while any(to_come := _to_come(split)):
            visits += 1
            counts = [
                data.draw(st.integers(0, packs), label=f"visit {visits}")
                for packs in to_come
            ]
            if visits > 4 or not any(counts):
                counts = to_come
            receive(split, *counts)

        assert _amounts(split) == _amounts(at_once)
        assert state(split) == state(at_once) == "received"
        assert verify_ledger().is_whole
        assert Delivery.objects.filter(order=split).count() == visits


def _to_come(order):
    return [line.packs_to_come for line in order.lines.order_by("pk")]


def _twins(lines):
    """Two orders of the same packs, each of items of its own."""
    supplier, place = build.supplier(), build.place()
    orders = []
    for _ in range(2):
        packs = [
            (
                build.pack(build.item(place=place), supplier, holds=holds, size_base=1),
                count,
            )
            for holds, count in lines
        ]
        orders.append(build.order(supplier, lines=packs))
    return orders


def _amounts(order):
    on_hand = on_hand_base_by_item()
    rows = OrderLine.objects.filter(order=order).order_by("pk")
    return [on_hand.get(item) for item in rows.values_list("pack__item_id", flat=True)]
