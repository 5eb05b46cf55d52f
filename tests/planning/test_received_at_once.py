"""Two receive the same order at the same moment: one does, the other is told."""

import pytest

from planning.errors import OrderMovedOnError
from planning.models import Delivery, Order
from planning.orders.orders import Hand
from planning.orders.receiving import Rest, receive_delivery
from stock.ledger.verifying import verify_ledger
from stock.models import Bakery
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.django_db(transaction=True)

ROUNDS = 5


@pytest.fixture
def pack():
    build.bakery(time_zone="UTC")
    return build.pack(build.item("flour", place=build.place()))


def receivers(order, refused, keys):
    """Jobs that receive all of an order as it was first seen, by keys of their own."""

    def job(key):
        def run(_):
            hand, bakery = Hand(order.pk, 1, NOON), Bakery.objects.get()
            try:
                receive_delivery(hand, key=key, bakery=bakery, rest=Rest.AS_ORDERED)
            except OrderMovedOnError as error:
                refused.append(error)

        return run

    return map(job, keys)


def test_of_two_at_once_one_receives_and_the_other_is_told(at_once, pack):
    for number in range(1, ROUNDS + 1):
        order = build.order(pack.supplier, lines=[(pack, 2)])
        refused = []

        at_once(*receivers(order, refused, [f"{number} a", f"{number} b"]), times=1)

        assert len(refused) == 1
        assert on_hand_base_by_item() == {pack.item_id: 2_000 * number}
    assert verify_ledger().is_whole


def test_one_tap_sent_twice_at_once_counts_once(at_once, pack):
    for number in range(1, ROUNDS + 1):
        order = build.order(pack.supplier, lines=[(pack, 2)])
        refused = []

        at_once(*receivers(order, refused, [f"{number}", f"{number}"]), times=1)

        assert refused == []
        assert Delivery.objects.filter(order=order).count() == 1
    assert on_hand_base_by_item() == {pack.item_id: 2_000 * ROUNDS}
    assert set(Order.objects.values_list("state", flat=True)) == {"received"}
