"""Two hands make or bake the same thing at the same moment: once, and no stock lost."""

from decimal import Decimal

import pytest

from planning.baking.entries import CakeEntry, MakeEntry
from planning.baking.errors import MadeMeanwhileError
from planning.baking.making import bake_cake, make_recipe
from planning.baking.undoing import undo_bake
from planning.models import Bake
from stock.ledger.verifying import verify_ledger
from tests import build
from tests.planning.bakes import baker, on_hand

pytestmark = pytest.mark.django_db(transaction=True)

HANDS = 4


@pytest.fixture
def curd():
    build.bakery(time_zone="UTC")
    sugar = build.item("sugar", place=build.place("rack"), on_hand_base=5_000)
    return build.recipe("curd", yield_base=500, lines=[(sugar, 200)])


def entry(curd, key, **said):
    return MakeEntry(curd.pk, Decimal(1), key, **said)


def test_one_tap_sent_by_many_connections_is_recorded_once(curd, at_once):
    at_once(*[lambda _: make_recipe(entry(curd, "tap"), baker())] * HANDS, times=2)

    assert on_hand() == {"sugar": 4_800, "curd": 500}
    assert verify_ledger().is_whole


def test_of_many_who_mark_one_batch_one_does_and_the_others_are_asked(curd, at_once):
    asked = []

    def hand(name):
        def run(_):
            try:
                make_recipe(entry(curd, name, seen_bake_id=0), baker())
            except MadeMeanwhileError as error:
                asked.append(error.name)

        return run

    at_once(*[hand(f"tap {name}") for name in range(HANDS)], times=1)

    assert asked == ["curd"] * (HANDS - 1)
    assert on_hand() == {"sugar": 4_800, "curd": 500}


def test_a_cake_that_many_bake_is_baked_once(curd, at_once):
    planned = build.planned_cake(build.cake(lines=[(curd, 100)]))

    at_once(
        *[
            lambda _, key=f"tap {name}": bake_cake(CakeEntry(planned.pk, key), baker())
            for name in range(HANDS)
        ],
        times=1,
    )

    assert Bake.objects.count() == 1
    assert on_hand()["sugar"] == 4_960
    assert verify_ledger().is_whole


def test_undone_by_many_it_is_put_back_once(curd, at_once):
    row = make_recipe(entry(curd, "tap"), baker())

    at_once(*[lambda _: undo_bake(row.pk)] * HANDS, times=2)

    assert on_hand() == {"sugar": 5_000}
    assert verify_ledger().is_whole
