"""The first saves in a new database, whose settings nobody has entered yet."""

import pytest

from stock.bakery import keep_settings
from stock.items.items import keep_items
from stock.models import Bakery, Item

pytestmark = pytest.mark.django_db(transaction=True)


def test_ten_hands_that_enter_one_item_at_once_in_a_new_kitchen_enter_one(at_once):
    assert not Bakery.objects.exists()

    def enter(_):
        keep_items([{"item": "bread flour", "measure": "mass"}])

    at_once(*[enter] * 10, times=3)

    assert Item.objects.count() == 1


def test_ten_hands_that_enter_the_settings_of_a_new_kitchen_enter_one_row(at_once):
    def enter(number):
        keep_settings([{"setting": "bakery", "value": f"Crumb {number}"}])

    at_once(*[enter] * 10, times=3)

    assert Bakery.objects.count() == 1
