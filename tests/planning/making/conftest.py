"""Curd of sugar that is made on a Monday at noon."""

from datetime import timedelta

import pytest

from tests import build
from tests.build import NOON


@pytest.fixture(autouse=True)
def _bakery(clock):
    build.bakery(time_zone="UTC")


@pytest.fixture
def rack():
    return build.place("rack")


@pytest.fixture
def sugar(rack):
    """A kilo, counted on Sunday."""
    sunday = NOON - timedelta(days=1)
    return build.item("sugar", on_hand_base=1_000, place=rack, at=sunday)


@pytest.fixture
def curd(sugar):
    """500 g a batch, of which a tenth stays in the bowl; keeps three days."""
    return build.recipe(
        "curd", yield_base=500, loss_percent=10, keeps_days=3, lines=[(sugar, 200)]
    )
