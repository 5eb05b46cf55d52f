"""The review, what a count came to, and how accurate counts are over time."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from stock.counts import counting
from stock.counts import history as count_history
from stock.counts.lines import LineKey
from stock.models import CountEntry, CountResult, Item
from tests import build
from tests.build import NOON
from tests.stock import counts

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)


def priced(name, shelf, *, on_hand_base, price, size_base=1_000, **fields):
    item = build.item(name, place=shelf, on_hand_base=on_hand_base, **fields)
    build.pack(item, size_base=size_base, price=price)
    return item


def test_variances_are_in_units_and_money_worst_first(shelf):
    # $10 a kilo: 200 g less is $2. $100 a kilo: 50 g more is $5.
    flour = priced("flour", shelf, on_hand_base=9_000, price="10")
    vanilla = priced("vanilla", shelf, on_hand_base=500, price="100")
    salt = build.item("salt", place=shelf, on_hand_base=3_000)
    count = counts.opened(shelf)
    counts.enter(count, flour, "8.8 kg")
    counts.enter(count, vanilla, "550 g")
    counts.enter(count, salt, "1 kg")

    review = counting.review(count.pk)

    assert [
        (row.item.name, row.variance_base, row.variance_cost) for row in review.rows
    ] == [
        ("vanilla", Decimal(50), Decimal("5.00")),
        ("flour", Decimal(-200), Decimal("-2.00")),
        ("salt", Decimal(-2_000), None),
    ]
    assert review.net_cost == Decimal("3.00")


def test_the_preferred_pack_gives_the_price_else_the_cheapest(shelf):
    # $12 in the preferred kilo, $10 in the other: 100 g are $1.20. Then $1.00.
    flour = priced("flour", shelf, on_hand_base=1_000, price="10")
    preferred = build.pack(flour, price="12", preferred=True)
    count = counts.opened(shelf)
    counts.enter(count, flour, "1100 g")
    assert counting.review(count.pk).rows[0].variance_cost == Decimal("1.20")

    preferred.preferred = False
    preferred.save()

    assert counting.review(count.pk).rows[0].variance_cost == Decimal("1.00")


def test_what_is_to_be_decided_comes_first_with_both_figures(shelf):
    flour = priced("flour", shelf, on_hand_base=9_000, price="1000")
    salt = build.item("salt", place=shelf)
    counts_of = counts.opened(shelf)
    counts.enter(counts_of, flour, "1 kg")
    counts.enter(counts_of, salt, "1 kg", by=build.user("ada", first_name="Ada"))
    counts.enter(counts_of, salt, "2 kg", by=build.user("bo"), after_minutes=9)

    first, _ = counting.review(counts_of.pk).rows

    assert first.is_conflict
    assert (first.counted_base, first.variance_base) == (None, None)
    assert [said.person for said in first.lines[0].said] == ["Ada", "bo"]


def test_what_was_not_counted_is_listed_in_walking_order(shelf):
    rack = build.place("rack", walk_order=9)
    build.item("sugar", place=rack)
    flour = build.item("flour", place=shelf)
    butter = build.item("butter", place=shelf)
    build.stock(butter, 10, place=rack)
    count = counts.opened()
    counts.enter(count, flour, "1 kg")
    counts.enter(count, butter, "none")

    review = counting.review(count.pk)

    left = [(line.place.name, line.item.name) for line in review.not_counted]
    assert left == [("rack", "sugar"), ("rack", "butter")]
    by_name = {row.item.name: row for row in review.rows}
    assert by_name["butter"].not_counted_in == ("rack",)


def test_an_amount_without_a_date_counts_the_dated_lines_too(shelf):
    curd = build.item("curd", kind=Item.Kind.MADE, place=shelf)
    build.stock(curd, 500, use_by=date(2026, 5, 6))
    build.stock(curd, 300, use_by=date(2026, 5, 8))
    count = counts.opened(shelf)
    counts.enter(count, curd, "700 g")

    review = counting.review(count.pk)

    assert review.not_counted == ()
    assert review.rows[0].variance_base == -100


def test_what_moved_meanwhile_stands_beside_the_item(shelf):
    flour = build.item("flour", place=shelf, on_hand_base=9_000)
    other = build.item("salt", place=shelf)
    count = counts.opened(shelf)
    build.stock(flour, 2_000, at=NOON + timedelta(minutes=3), kind="received")
    counts.enter(count, flour, "9 kg", after_minutes=20)
    build.stock(flour, -500, at=NOON + timedelta(minutes=40), kind="used")
    build.stock(other, 500, at=NOON + timedelta(minutes=40), kind="received")

    (row,) = counting.review(count.pk).rows

    meanwhile = [
        (moved.movement.kind, moved.is_after, moved.before_entry)
        for moved in row.moved
        if moved.movement.kind != "imported"  # written down today, by the wall clock
    ]
    assert meanwhile == [("received", True, True), ("used", True, False)]


def test_what_moved_at_the_very_moment_of_the_count_or_of_an_entry_is_in_it(shelf):
    flour = build.item("flour", place=shelf, on_hand_base=9_000)
    count = counts.opened(shelf)
    build.stock(flour, 2_000, at=NOON, kind="received")
    build.stock(flour, 500, at=NOON + timedelta(minutes=20), kind="made")
    counts.enter(count, flour, "11 kg", after_minutes=20)

    (row,) = counting.review(count.pk).rows

    meanwhile = {
        moved.movement.kind: (moved.is_after, moved.before_entry) for moved in row.moved
    }
    assert (meanwhile["received"], meanwhile["made"]) == ((False, False), (True, True))


def test_what_was_booked_late_for_before_the_moment_is_told_apart(shelf):
    flour = build.item("flour", place=shelf, on_hand_base=9_000)
    count = counts.opened(shelf)
    counts.enter(count, flour, "11 kg")
    build.stock(flour, 2_000, at=NOON - timedelta(hours=3), kind="received")

    (row,) = counting.review(count.pk).rows

    late = [moved for moved in row.moved if moved.movement.kind == "received"]
    assert [moved.is_after for moved in late] == [False]
    assert row.variance_base == 0


def test_a_note_stands_beside_its_line_and_survives_a_decision(shelf):
    flour = build.item("flour", place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "1 kg")
    line = LineKey(shelf.pk, flour.pk)
    counting.note(count.pk, line, " torn bag ", at=LATER)
    counting.decide(count.pk, line, "sum", at=LATER)

    (row,) = counting.review(count.pk).rows

    assert row.lines[0].note == "torn bag"
    assert row.counted_base == 1_000


def test_a_place_missed_is_asked_about_at_the_shelf(shelf):
    freezer = build.place("freezer", walk_order=3)
    butter = build.item("butter", place=shelf, on_hand_base=20_000)
    build.stock(butter, 100, place=freezer)
    count = counts.opened()

    answer = counts.enter(count, butter, "8 kg")

    assert answer.slip.kind == "place"
    assert "Is the rest in freezer" in answer.slip.sentence


def test_the_spread_is_learned_from_past_counts(shelf):
    flour = build.item("flour", place=shelf, on_hand_base=10_000)
    for week, (counted, expected) in enumerate(
        [(4, 10), (25, 10), (3, 10), (30, 10), (5, 10), (20, 10)]
    ):
        past = counts.opened(shelf, counted_at=NOON - timedelta(weeks=week + 1))
        counting.discard(past.pk, at=NOON)
        CountResult.objects.create(
            count=past,
            place=shelf,
            item=flour,
            counted_base=counted * 1_000,
            expected_base=expected * 1_000,
        )
    count = counts.opened(shelf)

    assert counts.enter(count, flour, "35 kg").slip is None
    CountResult.objects.all().delete()
    assert counts.enter(count, flour, "35 kg").slip is not None


def test_what_a_count_came_to(shelf):
    # 8,000 for 9,000 g is $10 short; 990 for 1,000 is within two in a hundred.
    flour = priced("flour", shelf, on_hand_base=9_000, price="10")
    salt = priced("salt", shelf, on_hand_base=1_000, price="10")
    sugar = build.item("sugar", place=shelf, on_hand_base=50)
    ada = build.user("ada")
    count = counts.opened(shelf)
    counts.enter(count, flour, "9 kg", by=ada, after_minutes=1, asked="pack")
    counts.enter(count, flour, "8 kg", by=ada, after_minutes=3)
    counts.enter(count, salt, "990 g", by=ada, after_minutes=7)
    counts.enter(count, sugar, "50 g", by=ada, after_minutes=40)
    counts.posted(count)

    outcome = count_history.outcome(count.pk)

    assert [row.item.name for row in outcome.changed] == ["flour", "salt"]
    assert (outcome.accuracy.lines, outcome.accuracy.accurate) == (3, 2)
    assert outcome.accuracy.net_cost == Decimal("-10.10")
    (time,) = outcome.times
    assert (time.person, time.entries) == ("ada", 4)
    assert time.counting == timedelta(minutes=6)  # not the half hour before the sugar
    assert outcome.questions == count_history.Questions(1, confirmed=0, corrected=1)
    (over_time,) = count_history.accuracy_over_time()
    assert over_time.accurate_fraction == pytest.approx(2 / 3)


def test_a_review_is_a_fixed_number_of_queries(shelf, django_assert_num_queries):
    items = [build.item(f"item {number}", place=shelf) for number in range(15)]
    count = counts.opened(shelf)
    counts.take(*(counts.entry(count, item, "1 kg") for item in items))

    with django_assert_num_queries(14):
        counting.review(count.pk)

    assert CountEntry.objects.count() == 15
