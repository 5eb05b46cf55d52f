"""Stored tares at the shelf: what the empty bin weighs."""

from decimal import Decimal

import pytest

from stock.counts import tares
from stock.errors import (
    OwnWordError,
    QuantityError,
    SeveralReadingsError,
    TareError,
    UnknownUnitError,
)
from stock.models import Tare
from tests import build
from tests.stock import counts

pytestmark = pytest.mark.django_db


@pytest.fixture
def shelf():
    return build.place("bins")


def test_a_bin_on_the_scale_is_counted_without_its_tare(shelf):
    # Reference C-53: gross 18.64 lb, tare 2.15 lb: 16.49 lb = 7,479.7382 g.
    flour = build.item("flour", place=shelf)
    tares.keep_tare(name="bin", weight="2.15 lb", item_id=flour.pk)
    count = counts.opened(shelf)

    answer = counts.enter(count, flour, "18.64lb-bin")

    assert answer.amount_base == Decimal("7479.7382")


def test_the_nearest_tare_of_a_name_is_meant(shelf):
    flour = build.item("flour", place=shelf)
    salt = build.item("salt", place=shelf)
    tares.keep_tare(name="bin", weight="1 lb")
    tares.keep_tare(name="bin", weight="2 lb", place_id=shelf.pk)
    tares.keep_tare(name="Bin", weight="3 lb", item_id=flour.pk)

    known = tares.tares_by_shelf([(shelf.pk, flour.pk), (shelf.pk, salt.pk), (0, 0)])

    assert str(known[shelf.pk, flour.pk]["bin"]) == "3 lb"
    assert str(known[shelf.pk, salt.pk]["bin"]) == "2 lb"
    assert str(known[0, 0]["bin"]) == "1 lb"


@pytest.mark.parametrize(("name", "again"), [("bin", "BIN"), ("étui", "Étui")])
def test_the_same_name_again_takes_the_new_weight(shelf, name, again):
    first = tares.keep_tare(name=name, weight="1 lb", place_id=shelf.pk)

    second = tares.keep_tare(name=again, weight="500 g", place_id=shelf.pk)

    assert first.pk == second.pk
    assert Tare.objects.get().weight_g == 500


@pytest.mark.parametrize(
    ("weight", "error"),
    [
        ("2", QuantityError),
        ("12/32 oz", SeveralReadingsError),  # asked about: twelve of 32 oz, or 3/8 oz
        ("0 lb", TareError),
        ("2 cases", UnknownUnitError),
    ],
)
def test_a_tare_that_weighs_nothing_known_is_refused(shelf, weight, error):
    with pytest.raises(error):
        tares.keep_tare(name="bin", weight=weight)
    with pytest.raises(OwnWordError):
        tares.keep_tare(name="bin 2", weight="1 lb")


def test_a_tare_can_be_dropped_once(shelf):
    tare = tares.keep_tare(name="bin", weight="1 lb")
    tares.remove_tare(tare.pk)

    with pytest.raises(tares.UnknownTareError):
        tares.remove_tare(tare.pk)
