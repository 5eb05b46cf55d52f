"""Lots shared among the lines of a count: the review and posting say the same."""

from datetime import date
from decimal import Decimal

import pytest
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from stock.counts import counting
from stock.counts.errors import OddUseByError
from stock.counts.lines import LineKey
from stock.counts.lots import _apportioned, share_lots
from stock.counts.sheets import look
from stock.ledger.ledger import LotKey
from stock.ledger.levels import LotOnHand
from stock.models import CountEntry, CountResult, Movement
from tests import build
from tests.stock import counts

FRIDAY, SATURDAY = date(2026, 5, 8), date(2026, 5, 9)


@pytest.fixture
def filling(shelf):
    """A record of 5 kg with use-by Friday, and of 10 kg without a date."""
    item = build.item("filling", kind="made", place=shelf)
    build.stock(item, 5_000, use_by=FRIDAY)
    build.stock(item, 10_000)
    return item


@pytest.mark.django_db
def test_a_blanked_line_takes_no_lots_from_the_rest(shelf, filling):
    count = counts.opened(shelf)
    counts.enter(count, filling, "5 kg", use_by=FRIDAY)
    counts.enter(count, filling, "", use_by=FRIDAY)
    counts.enter(count, filling, "15 kg")

    [row] = counting.review(count.pk).rows
    corrected = counts.posted(count)

    assert (row.counted_base, row.expected_base) == (15_000, 15_000)
    assert corrected == 0


@pytest.mark.django_db
def test_a_line_is_compared_with_what_it_would_take_beside_the_counted_ones(
    shelf, filling
):
    """Friday's 5 kg are the undated line's until somebody names them."""
    count = counts.opened(shelf)
    friday, rest = (LineKey(shelf.pk, filling.pk, day) for day in (FRIDAY, None))
    counts.enter(count, filling, "15 kg")

    alone = look(count.pk).records
    counts.enter(count, filling, "5 kg", use_by=FRIDAY)
    beside = look(count.pk).records

    assert (alone[rest].expected_base, alone[friday].expected_base) == (15_000, 5_000)
    assert beside[rest].expected_base == 10_000


def test_a_line_that_names_a_lot_takes_it_before_one_that_names_a_day():
    # Both Friday's: the one of lot L7, and another.
    l7, other = (
        LotOnHand(1, 2, lot_id, FRIDAY, code, Decimal(amount))
        for lot_id, code, amount in ((10, "L7", 3_000), (11, "", 5_000))
    )
    of_the_day, of_the_lot = LineKey(2, 1, FRIDAY), LineKey(2, 1, None, "L7")

    shared = share_lots([of_the_day, of_the_lot], [l7, other])

    assert shared == {of_the_lot: [l7], of_the_day: [other]}


def test_a_surplus_of_a_day_is_the_lots_that_came_last():
    first, last = (
        LotOnHand(1, 2, lot_id, FRIDAY, code, Decimal(1_000))
        for lot_id, code in ((10, "L7"), (11, "L8"))
    )
    before = {LotKey(1, FRIDAY, lot.code): lot for lot in (first, last)}

    after = _apportioned(LineKey(2, 1, FRIDAY), Decimal(2_500), before, ())

    assert {lot.code: base for lot, base in after.items()} == {"L7": 1_000, "L8": 1_500}


LOTS = st.lists(
    st.tuples(
        st.sampled_from([None, FRIDAY, SATURDAY]),
        st.sampled_from(["", "L7"]),
        st.integers(-2, 9).filter(bool),
    ),
    max_size=6,
)
SAYINGS = st.lists(
    st.tuples(
        st.sampled_from([None, FRIDAY, SATURDAY]),
        st.sampled_from(["", "L7"]),
        st.sampled_from(["", "none", "1 kg", "3 kg", "8 kg"]),
    ),
    min_size=1,
    max_size=8,
)


class TestTheReviewAndPosting(TestCase):
    """What the review says of an item is what posting writes of it."""

    @settings(
        max_examples=60,
        deadline=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(lots=LOTS, sayings=SAYINGS)
    def test_they_agree(self, lots, sayings):
        shelf = build.place()
        item = build.item(kind="made", place=shelf)
        for use_by, code, kg in lots:
            build.stock(item, kg * 1_000, use_by=use_by, lot=code)
        count = counts.opened(shelf)
        for minute, (use_by, code, text) in enumerate(sayings):
            counts.enter(
                count,
                item,
                text,
                use_by=use_by,
                lot_code=code,
                after_minutes=minute,
            )
        reviewed = counting.review(count.pk).rows
        if not reviewed:
            return

        counts.posted(count)

        [row] = reviewed
        written = Movement.objects.filter(item=item, kind="counted")
        total = written.aggregate(total=Sum("amount_base"))["total"] or Decimal(0)
        result = CountResult.objects.get(item=item)
        assert row.variance_base == total
        assert (row.counted_base, row.expected_base) == (
            result.counted_base,
            result.expected_base,
        )


WILD = date(1926, 5, 9)


@pytest.mark.django_db
def test_a_wild_use_by_that_stands_in_an_open_count_is_not_posted(shelf, filling):
    count = counts.opened(shelf)
    counts.enter(count, filling, "2 kg", use_by=date(2026, 5, 10))
    CountEntry.objects.update(use_by=WILD)  # as versions before this took it

    with pytest.raises(OddUseByError) as refused:
        counts.posted(count)

    assert str(refused.value) == (
        "Filling in walk-in, use by 1926-05-09: no such year. Clear it on its sheet, "
        "then count it with the right date."
    )
    counts.enter(count, filling, "", use_by=WILD)
    counts.enter(count, filling, "2 kg", use_by=date(2026, 5, 10))
    assert counts.posted(count) == 1


@pytest.mark.django_db
def test_a_lot_of_a_wild_use_by_that_is_on_record_is_counted_away(shelf, filling):
    build.stock(filling, 1_000, use_by=WILD)
    count = counts.opened(shelf)
    counts.enter(count, filling, "none", use_by=WILD)

    assert counts.posted(count) == 1
