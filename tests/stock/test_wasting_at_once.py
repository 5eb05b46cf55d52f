"""Two hands waste one item at the same moment: nothing is lost, nothing twice."""

from decimal import Decimal

import pytest

from stock.ledger.verifying import verify_ledger
from stock.models import Movement, Waste
from stock.wasting.errors import MoreThanOnRecordError
from stock.wasting.wasting import WasteEntry, undo_waste, waste
from tests import build
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.django_db(transaction=True)

HANDS = 6


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf, on_hand_base=1_000)


def entry(item, amount_base):
    return WasteEntry(item.pk, item.place_id, Decimal(amount_base), "spoiled")


def test_the_same_form_sent_by_many_connections_is_recorded_once(flour, at_once):
    at_once(*[lambda _: waste(entry(flour, 300), key="one")] * HANDS, times=3)

    assert on_hand_base_by_item() == {flour.pk: 700}
    assert Waste.objects.count() == 1
    assert verify_ledger().is_whole


def test_two_hands_never_waste_more_together_than_is_on_record(flour, at_once):
    refused = []

    def hand(name):
        def run(number):
            try:
                waste(entry(flour, 300), key=f"{name} {number}")
            except MoreThanOnRecordError as error:
                refused.append(error.left_base)

        return run

    at_once(*[hand(name) for name in range(HANDS)], times=1)

    assert on_hand_base_by_item() == {flour.pk: 100}  # three times 300
    assert refused == [100] * (HANDS - 3)
    assert verify_ledger().is_whole


def test_undone_by_many_it_is_put_back_once(flour, at_once):
    row = waste(entry(flour, 300), key="one")

    at_once(*[lambda _: undo_waste(row.pk)] * HANDS, times=2)

    assert on_hand_base_by_item() == {flour.pk: 1_000}
    assert Movement.objects.filter(waste=row).count() == 2
    assert verify_ledger().is_whole
