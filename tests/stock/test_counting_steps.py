"""A count from its opening to its posting, what each step refuses, and its sheets."""

from datetime import timedelta
from decimal import Decimal

import pytest

from stock.counts import counting
from stock.counts.errors import (
    CorrectedSinceError,
    CountedSinceError,
    CountMovedOnError,
    CountStateError,
    MomentAheadError,
    NothingCountedError,
    NothingToWalkError,
    PlaceBeingCountedError,
    UnknownCountError,
)
from stock.ledger import correcting
from stock.ledger.correcting import OnHandRow
from stock.models import Count, CountEntry
from tests import build
from tests.build import NOON
from tests.stock import counts
from tests.stock.counts import on_hand

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)


def test_two_counts_of_one_place_are_refused(shelf):
    other = build.place("rack")
    count = counts.opened(shelf)

    with pytest.raises(PlaceBeingCountedError) as refused:
        counts.opened(other, shelf)

    assert str(refused.value) == (
        f"Walk-in: being counted already in count {count.pk}. "
        "Go on with that one, or post or discard it first."
    )
    assert counts.opened(other).pk
    assert Count.objects.count() == 2


def test_a_place_can_be_counted_again_after_posting_or_dropping(shelf):
    flour = build.item("flour", place=shelf)
    first = counts.opened(shelf)
    counting.discard(first.pk, at=LATER)
    second = counts.opened(shelf)
    counts.enter(second, flour, "1 kg")
    counts.posted(second)

    assert counts.opened(shelf).pk


def test_a_dropped_count_moves_nothing_and_keeps_its_entries(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "1 kg")

    counting.discard(count.pk, at=LATER)
    counting.discard(count.pk, at=LATER)

    assert on_hand() == {flour.pk: Decimal(9_000)}
    assert CountEntry.objects.filter(count=count).count() == 1
    with pytest.raises(CountStateError, match=r"is discarded\. Open a new count\."):
        counting.send_to_review(count.pk)


def test_a_review_can_be_reopened_and_is_never_posted_from_the_walk(shelf):
    flour = build.item("flour", place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "1 kg")
    counting.send_to_review(count.pk)
    counting.reopen(count.pk)

    with pytest.raises(CountStateError, match="is open"):
        counting.post_count(count.pk, at=LATER)

    assert counts.posted(count) == 1
    with pytest.raises(CountStateError, match="is posted"):
        counting.reopen(count.pk)
    with pytest.raises(CountStateError, match="is posted"):
        counting.discard(count.pk, at=LATER)


def test_a_count_of_nothing_is_not_posted(shelf):
    build.item("flour", on_hand_base=9_000, place=shelf)
    count = counts.opened(shelf)

    with pytest.raises(NothingCountedError):
        counts.posted(count)


def test_entries_that_the_review_did_not_show_stop_the_posting(shelf):
    flour = build.item("flour", place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "8 kg")
    counting.send_to_review(count.pk)
    seen = counting.review(count.pk).shown
    counts.enter(count, flour, "7 kg")

    with pytest.raises(CountMovedOnError):
        counting.post_count(count.pk, at=LATER, seen=seen)

    seen = counting.review(count.pk).shown
    assert counting.post_count(count.pk, at=LATER, seen=seen) == 1


def test_a_moment_ahead_or_no_place_is_refused(shelf):
    with pytest.raises(MomentAheadError):
        counting.open_count(counted_at=LATER, at=NOON)
    with pytest.raises(NothingToWalkError):
        counting.open_count(counted_at=NOON, at=NOON, place_ids=[])
    with pytest.raises(UnknownCountError, match="There is no count 404"):
        counting.post_count(404, at=NOON)


def test_a_sheet_lists_what_stands_there_and_leaves_out_what_is_gone(shelf):
    rack = build.place("rack", walk_order=5)
    build.item("sugar", place=shelf, walk_order=2)
    build.item("flour", place=shelf, walk_order=1)
    build.item("old salt", place=shelf, retired=True)
    build.item("old spice", place=shelf, retired=True, on_hand_base=10, walk_order=3)
    both = build.item("butter", place=rack)
    build.stock(both, 500, place=shelf)
    build.cake("wedding cake")

    sheet = counting.sheet(counts.opened().pk, shelf.pk)

    names = [line.line.item.name for line in sheet.lines]
    assert names == ["flour", "sugar", "old spice", "butter"]
    assert sheet.left == 4


def test_a_sheet_is_a_fixed_number_of_queries(shelf, django_assert_num_queries):
    for number in range(12):
        build.item(f"item {number}", place=shelf, on_hand_base=number + 1)
    count = counts.opened()

    with django_assert_num_queries(13):
        counting.sheets(count.pk)


def test_a_count_as_of_before_a_posted_one_is_refused(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "5 kg")
    counts.posted(count)

    with pytest.raises(CountedSinceError) as refused:
        counting.open_count(counted_at=NOON - timedelta(hours=1), at=LATER)

    assert "Walk-in: counted since" in str(refused.value)
    again = counting.open_count(counted_at=NOON, at=LATER)
    assert again.counted_at == NOON


def test_what_was_confirmed_by_hand_after_the_moment_is_not_corrected(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "5 kg")
    correcting.set_on_hand(OnHandRow(flour.pk, shelf.pk, Decimal(9_000)), at=LATER)

    with pytest.raises(CorrectedSinceError):
        counts.posted(count)

    assert on_hand() == {flour.pk: 9_000}


def test_what_was_corrected_by_hand_after_the_moment_is_not_corrected_again(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    sugar = build.item("sugar", on_hand_base=3_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "5 kg")
    counts.enter(count, sugar, "2 kg")
    row = OnHandRow(flour.pk, shelf.pk, Decimal(5_000))
    correcting.set_on_hand(row, at=NOON + timedelta(minutes=30))

    with pytest.raises(CorrectedSinceError) as refused:
        counts.posted(count)

    assert refused.value.item_names == ("flour",)
    counts.enter(count, flour, "")
    assert counts.posted(count) == 1
    assert on_hand() == {flour.pk: 5_000, sugar.pk: 2_000}
