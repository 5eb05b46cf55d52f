from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest

from stock.ledger import levels
from stock.ledger.levels import LotOnHand
from stock.models import Movement
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
FRIDAY = date(2026, 5, 8)
SATURDAY = date(2026, 5, 9)


@pytest.fixture
def kitchen():
    """Flour in two places, of two lots; sugar in one; salt that never moved."""
    return build_kitchen()


class build_kitchen:  # noqa: N801 (a small bag of rows)
    def __init__(self):
        self.shelf, self.cellar = build.place("shelf"), build.place("cellar")
        self.flour, self.sugar = build.item("flour"), build.item("sugar")
        self.salt = build.item("salt")
        self.flour_friday = build.stock(
            self.flour, 5_000, place=self.shelf, use_by=FRIDAY, at=NOON
        )
        self.flour_saturday = build.stock(
            self.flour, 2_000, place=self.cellar, use_by=SATURDAY, at=NOON + HOUR
        )
        self.sugar_lot = build.stock(self.sugar, 900, place=self.shelf, at=NOON)
        build.stock(
            self.flour,
            -1_500,
            place=self.shelf,
            use_by=FRIDAY,
            at=NOON + 2 * HOUR,
            kind=Movement.Kind.USED,
        )
        build.stock(
            self.sugar,
            -900,
            place=self.shelf,
            at=NOON + 2 * HOUR,
            kind=Movement.Kind.WASTED,
        )


@pytest.mark.parametrize(
    ("hours", "flour_base", "sugar_base"),
    [
        (-1, None, None),  # nothing had moved: absent, not zero
        (0, 5_000, 900),  # a movement at the very moment counts
        (0.5, 5_000, 900),
        (1, 7_000, 900),
        (2, 5_500, 0),
        (200, 5_500, 0),
    ],
)
def test_as_of_a_moment(kitchen, hours, flour_base, sugar_base):
    expected = {kitchen.flour.pk: flour_base, kitchen.sugar.pk: sugar_base}

    on_hand = on_hand_base_by_item(at=NOON + hours * HOUR)

    assert on_hand == {
        item: Decimal(base) for item, base in expected.items() if base is not None
    }


def test_an_entry_made_late_counts_from_when_it_moved(kitchen):
    build.stock(kitchen.sugar, 100, place=kitchen.shelf, at=NOON - HOUR)

    assert on_hand_base_by_item(at=NOON - HOUR) == {kitchen.sugar.pk: Decimal(100)}
    assert on_hand_base_by_item(at=NOON)[kitchen.sugar.pk] == Decimal(1_000)
    assert on_hand_base_by_item()[kitchen.sugar.pk] == Decimal(100)


def test_by_place(kitchen):
    assert levels.on_hand_base_by_place(item=kitchen.flour) == {
        kitchen.shelf.pk: Decimal(3_500),
        kitchen.cellar.pk: Decimal(2_000),
    }
    assert levels.on_hand_base_by_place(item=kitchen.flour, at=NOON) == {
        kitchen.shelf.pk: Decimal(5_000)
    }
    assert levels.on_hand_base_by_place(item=kitchen.salt) == {}


def test_by_shelf(kitchen):
    flour, sugar = kitchen.flour.pk, kitchen.sugar.pk
    shelf, cellar = kitchen.shelf.pk, kitchen.cellar.pk

    assert levels.on_hand_base_by_shelf() == {
        (flour, shelf): Decimal(3_500),
        (flour, cellar): Decimal(2_000),
        (sugar, shelf): Decimal(0),  # used up, which is not the same as unknown
    }
    assert levels.on_hand_base_by_shelf(at=NOON) == {
        (flour, shelf): Decimal(5_000),
        (sugar, shelf): Decimal(900),
    }


def test_lots_leave_out_what_is_used_up(kitchen):
    assert levels.lots_on_hand() == [
        LotOnHand(
            item_id=kitchen.flour.pk,
            place_id=kitchen.shelf.pk,
            lot_id=kitchen.flour_friday,
            use_by=FRIDAY,
            code="",
            amount_base=Decimal(3_500),
        ),
        LotOnHand(
            item_id=kitchen.flour.pk,
            place_id=kitchen.cellar.pk,
            lot_id=kitchen.flour_saturday,
            use_by=SATURDAY,
            code="",
            amount_base=Decimal(2_000),
        ),
    ]


def test_lots_of_an_item_in_a_place_as_of_a_moment(kitchen):
    (lot,) = levels.lots_on_hand(item=kitchen.sugar, place=kitchen.shelf, at=NOON)

    assert (lot.lot_id, lot.amount_base) == (kitchen.sugar_lot, Decimal(900))
    assert levels.lots_on_hand(item=kitchen.sugar, place=kitchen.cellar) == []


def test_lots_come_soonest_use_by_first_and_undated_last():
    flour = build.item(place=build.place())
    for use_by, code in [(None, "z"), (SATURDAY, "b"), (SATURDAY, "a"), (FRIDAY, "c")]:
        build.stock(flour, 10, use_by=use_by, lot=code)

    assert [lot.code for lot in levels.lots_on_hand()] == ["c", "a", "b", "z"]


def test_a_lot_in_two_places_is_two_rows():
    flour = build.item()
    for name in ("shelf", "cellar"):
        build.stock(flour, 10, place=build.place(name), use_by=FRIDAY)

    assert [lot.amount_base for lot in levels.lots_on_hand()] == [Decimal(10)] * 2


def test_a_lot_of_which_more_left_than_came_is_below_nothing():
    flour = build.item(place=build.place(), on_hand_base=10)
    build.stock(flour, -30, kind=Movement.Kind.USED)

    (lot,) = levels.lots_on_hand()

    assert lot.amount_base == Decimal(-20)


def test_last_counted_is_the_latest_count_correction_or_import(kitchen):
    build.stock(
        kitchen.flour,
        5,
        place=kitchen.cellar,
        at=NOON + 3 * HOUR,
        kind=Movement.Kind.CORRECTED,
    )

    assert levels.last_counted_at_by_item() == {
        kitchen.flour.pk: NOON + 3 * HOUR,
        kitchen.sugar.pk: NOON,  # what was wasted since is no count
    }
    assert levels.last_counted_at_by_item(at=NOON)[kitchen.flour.pk] == NOON
    assert levels.last_counted_at_by_item(place=kitchen.cellar) == {
        kitchen.flour.pk: NOON + 3 * HOUR
    }


def test_last_counted_and_last_moved_by_shelf(kitchen):
    flour, sugar = kitchen.flour.pk, kitchen.sugar.pk
    shelf, cellar = kitchen.shelf.pk, kitchen.cellar.pk

    assert levels.last_counted_at_by_shelf() == {
        (flour, shelf): NOON,
        (flour, cellar): NOON + HOUR,
        (sugar, shelf): NOON,
    }
    assert levels.last_moved_at_by_shelf(item=kitchen.flour) == {
        (flour, shelf): NOON + 2 * HOUR,
        (flour, cellar): NOON + HOUR,
    }


@pytest.mark.parametrize("at", [None, NOON])
def test_every_read_is_one_query(kitchen, django_assert_num_queries, at):
    reads = [
        lambda: levels.on_hand_base_by_place(item=kitchen.flour, at=at),
        lambda: levels.on_hand_base_by_shelf(at=at),
        lambda: levels.lots_on_hand(at=at),
        lambda: levels.lots_on_hand(item=kitchen.flour, place=kitchen.shelf, at=at),
        lambda: levels.last_counted_at_by_item(at=at),
        lambda: levels.last_counted_at_by_shelf(item=kitchen.flour, at=at),
        levels.last_moved_at_by_shelf,
    ]
    for read in reads:
        with django_assert_num_queries(1):
            read()


def test_a_moment_without_its_zone_is_refused():
    with pytest.raises(ValueError, match="must be aware"):
        levels.on_hand_base_by_shelf(at=datetime(2026, 5, 4, 12))  # noqa: DTZ001 (refused)
