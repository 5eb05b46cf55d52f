"""What a posted count makes of the ledger."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from stock.counts import counting
from stock.ledger import levels
from stock.ledger.verifying import verify_ledger
from stock.models import Item, Movement
from tests import build
from tests.build import NOON
from tests.stock import counts
from tests.stock.counts import on_hand

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)


def test_a_count_corrects_the_ledger_to_what_was_counted(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    sugar = build.item("sugar", on_hand_base=4_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "8500 g")

    corrected = counts.posted(count)

    assert corrected == 1
    assert on_hand() == {flour.pk: Decimal(8_500), sugar.pk: Decimal(4_000)}
    movement = Movement.objects.get(kind=Movement.Kind.COUNTED)
    assert (movement.at, movement.amount_base) == (NOON, Decimal(-500))
    assert verify_ledger().is_whole


def test_not_counted_is_left_alone_and_none_is_zero(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    sugar = build.item("sugar", on_hand_base=4_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "none")
    counts.enter(count, sugar, "3 kg")
    counts.enter(count, sugar, "  ")

    counts.posted(count)

    assert on_hand() == {flour.pk: Decimal(0), sugar.pk: Decimal(4_000)}


def test_posting_again_changes_nothing_and_gives_the_first_answer(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    sugar = build.item("sugar", on_hand_base=4_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "8500 g")
    counts.enter(count, sugar, "4 kg")
    first = counts.posted(count)

    again = counting.post_count(count.pk, at=LATER)

    assert (first, again) == (1, 1)
    assert Movement.objects.filter(kind=Movement.Kind.COUNTED).count() == 1


def test_what_moved_after_the_moment_stays_on_top(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    count = counts.opened(shelf)
    build.stock(flour, 2_000, at=NOON + timedelta(minutes=20), kind="received")
    counts.enter(count, flour, "8500 g")
    build.stock(flour, -300, at=NOON + timedelta(minutes=40), kind="used")

    counts.posted(count)

    assert on_hand()[flour.pk] == 8_500 + 2_000 - 300


def test_what_is_booked_late_for_before_the_moment_is_in_the_count(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "11 kg")
    build.stock(flour, 2_000, at=NOON - timedelta(hours=1), kind="received")

    corrected = counts.posted(count)

    assert corrected == 0
    assert on_hand()[flour.pk] == 11_000


def test_an_item_in_two_places_is_the_sum(shelf):
    freezer = build.place("freezer")
    butter = build.item("butter", on_hand_base=5_000, place=shelf)
    build.stock(butter, 3_000, place=freezer)
    count = counts.opened()
    counts.enter(count, butter, "4 kg")
    counts.enter(count, butter, "3.5 kg", place=freezer)

    counts.posted(count)

    assert on_hand() == {butter.pk: Decimal(7_500)}
    assert on_hand(place=freezer) == {butter.pk: Decimal(3_500)}


def test_something_found_where_it_is_not_listed_is_added_on_the_spot(shelf):
    rack = build.place("rack")
    salt = build.item("salt", place=rack)
    count = counts.opened(shelf)

    counts.enter(count, salt, "2 kg", place=shelf)

    assert [
        line.line.item.name for line in counting.sheet(count.pk, shelf.pk).lines
    ] == ["salt"]
    counts.posted(count)
    assert on_hand(place=shelf) == {salt.pk: Decimal(2_000)}


def test_less_without_a_date_comes_off_the_earliest_use_by(shelf):
    cream = build.item("cream", measure="volume", place=shelf)
    build.stock(cream, 2_000, use_by=date(2026, 5, 6))
    build.stock(cream, 3_000, use_by=date(2026, 5, 9))
    count = counts.opened(shelf)
    counts.enter(count, cream, "2500 mL")

    counts.posted(count)

    left = {lot.use_by: lot.amount_base for lot in levels.lots_on_hand(item=cream)}
    assert left == {date(2026, 5, 9): Decimal(2_500)}


def test_less_without_a_date_comes_off_what_has_one_before_what_has_none(shelf):
    salt = build.item("salt", place=shelf)
    build.stock(salt, 300, use_by=date(2027, 1, 1))
    build.stock(salt, 500)
    count = counts.opened(shelf)
    counts.enter(count, salt, "600 g")

    counts.posted(count)

    assert {lot.use_by: lot.amount_base for lot in levels.lots_on_hand(item=salt)} == {
        date(2027, 1, 1): Decimal(100),
        None: Decimal(500),
    }


def test_more_without_a_date_goes_to_the_lot_without_one_else_the_latest(shelf):
    cream = build.item("cream", measure="volume", place=shelf)
    build.stock(cream, 2_000, use_by=date(2026, 5, 6))
    build.stock(cream, 3_000, use_by=date(2026, 5, 9))
    salt = build.item("salt", place=shelf)
    build.stock(salt, 100)
    build.stock(salt, 100, use_by=date(2027, 1, 1))
    count = counts.opened(shelf)
    counts.enter(count, cream, "6 L")
    counts.enter(count, salt, "500 g")

    counts.posted(count)

    assert {lot.use_by: lot.amount_base for lot in levels.lots_on_hand(item=cream)} == {
        date(2026, 5, 6): Decimal(2_000),
        date(2026, 5, 9): Decimal(4_000),
    }
    assert {lot.use_by: lot.amount_base for lot in levels.lots_on_hand(item=salt)} == {
        None: Decimal(400),
        date(2027, 1, 1): Decimal(100),
    }


def test_what_is_made_ahead_is_counted_by_its_use_by(shelf):
    curd = build.item("lemon curd", kind=Item.Kind.MADE, place=shelf)
    build.stock(curd, 800, use_by=date(2026, 5, 6))
    build.stock(curd, 500, use_by=date(2026, 5, 8))
    count = counts.opened(shelf)
    lines = [line.line.key for line in counting.sheet(count.pk, shelf.pk).lines]
    assert [key.use_by for key in lines] == [date(2026, 5, 6), date(2026, 5, 8)]

    counts.enter(count, curd, "700 g", use_by=date(2026, 5, 6))
    counts.enter(count, curd, "300 g", use_by=date(2026, 5, 10))
    counts.posted(count)

    assert {lot.use_by: lot.amount_base for lot in levels.lots_on_hand(item=curd)} == {
        date(2026, 5, 6): Decimal(700),
        date(2026, 5, 8): Decimal(500),  # not counted: left alone
        date(2026, 5, 10): Decimal(300),
    }


def test_a_lot_below_nothing_is_set_right_on_the_way(shelf):
    flour = build.item("flour", place=shelf)
    build.stock(flour, 1_000, lot="A")
    build.stock(flour, -200, lot="B")
    count = counts.opened(shelf)
    counts.enter(count, flour, "1 kg")

    counts.posted(count)

    assert {lot.code: lot.amount_base for lot in levels.lots_on_hand(item=flour)} == {
        "A": Decimal(1_000)
    }


def test_a_line_that_agrees_with_the_record_counts_as_counted(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf, at=NOON)
    moment = NOON + timedelta(days=3)
    count = counts.opened(shelf, counted_at=moment)
    counts.enter(count, flour, "9 kg")

    counts.posted(count, at=moment + timedelta(hours=1))

    assert not Movement.objects.filter(kind=Movement.Kind.COUNTED).exists()
    assert levels.last_counted_at_by_item() == {flour.pk: moment}
    assert levels.last_counted_at_by_item(place=shelf) == {flour.pk: moment}
    assert levels.last_counted_at_by_item(at=NOON) == {flour.pk: NOON}


@pytest.mark.parametrize("lots_are_new", [False, True])
def test_four_hundred_lines_are_posted_within_thirty_one_queries(
    shelf, django_assert_max_num_queries, lots_are_new
):
    items = [build.item(f"item {number}", place=shelf) for number in range(400)]
    if not lots_are_new:
        for item in items:
            build.stock(item, 10)
    count = counts.opened()
    counts.take(*(counts.entry(count, item, "12 g") for item in items))
    counting.send_to_review(count.pk)

    with django_assert_max_num_queries(31):
        corrected = counting.post_count(count.pk, at=LATER)

    assert corrected == 400
