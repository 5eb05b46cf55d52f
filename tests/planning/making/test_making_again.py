"""What is made again, asked about first, or refused."""

from datetime import timedelta
from decimal import Decimal

import pytest

from planning.baking import making
from planning.baking.bench import TakenForLine
from planning.baking.entries import MakeEntry
from planning.baking.errors import (
    BakeKeyError,
    BatchesError,
    DayCountedSinceError,
    LineAmountError,
    MadeMeanwhileError,
    MadeOnError,
    ManyBatchesError,
    NoPlaceError,
    NoRecipeError,
)
from planning.baking.making import make_recipe
from planning.baking.telling import made_sentences
from planning.models import Bake
from stock.models import Bakery, Place
from stock.saving import upsert
from tests import build
from tests.build import MONDAY, NOON
from tests.planning.bakes import baker, make, on_hand, undo

pytestmark = pytest.mark.django_db

TUESDAY = MONDAY + timedelta(days=1)


def test_the_same_key_again_makes_nothing_more(curd):
    first = make(curd, key="tap")

    assert make(curd, key="tap") == first
    assert on_hand() == {"sugar": 800, "curd": 450}


def test_the_same_key_with_other_batches_is_refused(curd):
    make(curd, key="tap")

    with pytest.raises(BakeKeyError, match="1 batch of curd"):
        make(curd, 2, key="tap")


def test_a_repeat_is_answered_whatever_the_plan_or_the_recipe_says_now(curd, sugar):
    first = make(curd, 20, key="tap", planned_batches=20.0)
    sugar.retired = True
    sugar.save()

    assert make(curd, 20, key="tap", planned_batches=0.0) == first

    with pytest.raises(ManyBatchesError):
        make(curd, 20, planned_batches=0.0)


def test_a_third_of_a_batch_is_the_same_when_it_comes_again(curd):
    first = make(curd, 1 / 3, key="tap")

    assert make(curd, 1 / 3, key="tap") == first
    assert first.batches == Decimal("0.333333333")
    assert on_hand()["curd"] == 150


def test_a_repeat_of_what_was_undone_makes_nothing_and_says_so(curd):
    undo(make(curd, key="tap"))

    again = make(curd, key="tap")

    assert made_sentences(again, Bakery.current()) == [
        "1 batch of curd: made, then undone Mon May 4, noon."
    ]
    assert on_hand() == {"sugar": 1_000}


def test_whoever_makes_waits_for_a_turn_before_the_recipes_are_read(curd, monkeypatch):
    asked = []
    monkeypatch.setattr(upsert, "wait_for_turn", lambda: asked.append("turn"))
    open_book = making.open_bake_book
    monkeypatch.setattr(
        making, "open_bake_book", lambda: asked.append("book") or open_book()
    )

    make(curd)

    assert asked == ["turn", "book"]


def test_two_who_mark_one_batch_are_asked(curd):
    make(curd, seen_bake_id=0, by=build.user("ada"))

    with pytest.raises(MadeMeanwhileError, match="ada marked it made already"):
        make(curd, seen_bake_id=0)

    make(curd, seen_bake_id=0, confirmed=True)
    assert on_hand()["curd"] == 900


def test_another_batch_from_a_page_that_shows_the_first_is_not_asked_about(curd):
    first = make(curd, seen_bake_id=0)

    make(curd, seen_bake_id=first.pk)

    assert on_hand()["curd"] == 900


def test_what_only_took_of_it_since_is_not_asked_about(curd):
    first = make(curd)
    make(build.recipe("cream", yield_base=100, lines=[(curd, 100)]))

    make(curd, seen_bake_id=first.pk)

    assert on_hand()["curd"] == 800


def test_ten_times_what_is_planned_is_asked(curd):
    with pytest.raises(ManyBatchesError, match="the plan asks for 2 batches"):
        make(curd, 20, planned_batches=2.0)

    make(curd, 20, planned_batches=2.0, confirmed=True)
    make(curd, 19, planned_batches=2.0)
    assert Bake.objects.count() == 2


@pytest.mark.parametrize(
    "batches", ["0", "-1", "1e-12", "10001", "1e99", "NaN", "Infinity"]
)
def test_batches_that_nobody_makes_are_refused(curd, batches):
    with pytest.raises(BatchesError):
        make(curd, batches)

    assert not Bake.objects.exists()


def test_a_weight_of_something_the_recipe_does_not_take_is_refused(curd, rack):
    salt = build.item("salt", place=rack)

    with pytest.raises(LineAmountError, match="Salt: curd takes none of it"):
        make(curd, changes={salt.pk: TakenForLine(salt.pk, Decimal(1))})


def test_what_has_no_recipe_cannot_be_made(sugar):
    with pytest.raises(NoRecipeError):
        make_recipe(MakeEntry(sugar.pk, Decimal(1), "tap"), baker())


def test_without_any_place_nothing_can_be_made():
    curd = build.recipe("curd", lines=[(build.item("sugar"), 1)])

    with pytest.raises(NoPlaceError):
        make(curd)

    assert not Place.objects.exists()


def test_an_earlier_day_is_refused_once_somebody_counted(curd, sugar, clock):
    clock["now"] = NOON + timedelta(days=1)
    build.stock(sugar, 5, at=NOON + timedelta(hours=3))

    with pytest.raises(DayCountedSinceError, match="Sugar was counted since"):
        make(curd, on=MONDAY)

    assert not Bake.objects.exists()


def test_a_day_to_come_is_refused(curd):
    with pytest.raises(MadeOnError, match="still to come"):
        make(curd, on=TUESDAY)
