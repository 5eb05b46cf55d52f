"""A count of butter in the walk-in."""

from datetime import timedelta

import pytest

from stock.counts import counting
from tests import build
from tests.build import NOON


@pytest.fixture
def walk_in():
    return build.place("walk-in")


@pytest.fixture
def butter(walk_in):
    """Two cases of 10 kg on record since yesterday, at 50 a case."""
    item = build.item("butter", place=walk_in, own_units="stick = 100 g")
    build.pack(item, holds="10 kg", size_base=10_000, called="case", price="50")
    build.stock(item, 20_000, place=walk_in, at=NOON - timedelta(days=1))
    return item


@pytest.fixture
def count(butter):
    return counting.open_count(counted_at=NOON, at=NOON)
