"""Two hands move one item at the same moment: nothing is lost, nothing twice."""

from decimal import Decimal

import pytest

from stock.ledger import levels
from stock.ledger.verifying import verify_ledger
from stock.models import Move, Movement
from stock.moving.errors import MoreThanThereError
from stock.moving.moving import MoveEntry, move_stock, undo_move
from stock.wasting.errors import MoreThanOnRecordError
from stock.wasting.wasting import WasteEntry, waste
from tests import build
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.django_db(transaction=True)

HANDS = 6


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf, on_hand_base=1_000)


@pytest.fixture
def freezer():
    return build.place("freezer")


def entry(item, freezer, amount_base=300):
    return MoveEntry(item.pk, item.place_id, freezer.pk, Decimal(amount_base))


def test_the_same_form_sent_by_many_connections_is_recorded_once(
    flour, freezer, at_once
):
    hands = [lambda _: move_stock(entry(flour, freezer), key="one")] * HANDS

    at_once(*hands, times=3)

    assert levels.on_hand_base_by_place(item=flour) == {
        flour.place_id: 700,
        freezer.pk: 300,
    }
    assert Move.objects.count() == 1
    assert verify_ledger().is_whole


def test_moving_and_wasting_never_take_more_together_than_is_there(
    flour, freezer, at_once
):
    refused = []

    def moving(name):
        def run(number):
            try:
                move_stock(entry(flour, freezer), key=f"{name} {number}")
            except MoreThanThereError as error:
                refused.append(error.left_base)

        return run

    def wasting(name):
        def run(number):
            said = WasteEntry(flour.pk, flour.place_id, Decimal(300), "spoiled")
            try:
                waste(said, key=f"{name} {number}")
            except MoreThanOnRecordError as error:
                refused.append(error.left_base)

        return run

    at_once(moving("a"), wasting("b"), moving("c"), wasting("d"), times=1)

    assert on_hand_base_by_item(place=flour.place) == {flour.pk: 100}
    assert refused == [100]
    assert verify_ledger().is_whole


def test_undone_by_many_it_is_brought_back_once(flour, freezer, at_once):
    row = move_stock(entry(flour, freezer), key="one")

    at_once(*[lambda _: undo_move(row.pk)] * HANDS, times=2)

    assert on_hand_base_by_item() == {flour.pk: 1_000}
    assert Movement.objects.filter(move=row).count() == 4
    assert verify_ledger().is_whole
