from decimal import Decimal

import pytest

from stock.errors import YieldPercentError
from stock.measures.yields import (
    as_purchased_base,
    edible_base,
    measured_yield_percent,
    reference_yields,
    yield_fraction,
    yields_of,
)


def test_half_of_it_edible_means_buying_twice_as_much():
    assert as_purchased_base(300, 50) == 600
    assert edible_base(600, 50) == 300


@pytest.mark.parametrize("percent", [0, -1, Decimal("100.01"), 200])
def test_a_yield_is_above_nothing_and_at_most_all(percent):
    with pytest.raises(YieldPercentError, match="above 0 and at most 100"):
        yield_fraction(percent)


def test_all_of_it_may_be_edible():
    assert yield_fraction(100) == 1


def test_the_bakery_s_own_test_gives_its_yield():
    assert measured_yield_percent(as_purchased_base=80, edible_base=20) == 25


def test_more_edible_than_was_bought_is_no_yield():
    with pytest.raises(YieldPercentError):
        measured_yield_percent(as_purchased_base=80, edible_base=81)
    with pytest.raises(ValueError, match="above 0"):
        measured_yield_percent(as_purchased_base=0, edible_base=0)


def test_every_published_yield_names_its_source():
    for found in reference_yields():
        assert found.source
        assert 0 < found.yield_percent <= 100


def test_yields_that_differ_are_all_shown():
    assert [found.yield_percent for found in yields_of("banana")] == [64, 68]
    assert yields_of("") == []
