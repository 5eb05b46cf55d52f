"""Sharing out what is taken: which lot gives how much."""

from datetime import timedelta
from decimal import Decimal

import pytest

from stock.ledger.sharing import lots_to_take, share_out
from tests import build
from tests.build import MONDAY


def test_lots_give_in_order_and_only_what_they_have():
    assert share_out(Decimal(400), {1: Decimal(300), 2: Decimal(500)}) == {
        1: 300,
        2: 100,
    }


def test_what_is_beyond_all_of_them_the_last_that_gave_owes():
    on_hand = {1: Decimal(300), 2: Decimal(50), 3: Decimal(-20)}

    assert share_out(Decimal(400), on_hand) == {1: 300, 2: 100}


def test_where_none_has_anything_the_last_owes_it_all():
    assert share_out(Decimal(5), {1: Decimal(-20), 2: Decimal(-1)}) == {2: 5}


def test_without_lots_nobody_gives():
    assert share_out(Decimal(5), {}) == {}


@pytest.mark.django_db
def test_the_earliest_use_by_of_the_place_comes_first(shelf):
    cream = build.item("cream", place=shelf)
    late = build.stock(cream, 500, use_by=MONDAY + timedelta(days=5), lot="B")
    early = build.stock(cream, 300, use_by=MONDAY, lot="A")
    build.stock(cream, 70, place=build.place("freezer"), lot="F")

    taken = lots_to_take(item_id=cream.pk, place_id=shelf.pk)
    named = lots_to_take(item_id=cream.pk, place_id=shelf.pk, lot_id=late)

    assert list(taken.items()) == [(early, 300), (late, 500)]
    assert named == {late: 500}
