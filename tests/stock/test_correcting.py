from datetime import date, timedelta
from decimal import Decimal

import pytest

from stock.ledger import levels
from stock.ledger.correcting import (
    NegativeOnHandError,
    OnHandRow,
    OnHandTwiceError,
    SetSinceError,
    on_hand_changes,
    set_on_hand,
    set_on_hand_rows,
)
from stock.ledger.ledger import AmountOutOfRangeError
from stock.models import Confirmation, Movement
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
FRIDAY = date(2026, 5, 8)


@pytest.fixture
def flour():
    return build.item("bread flour", place=build.place("shelf"))


def row(item, amount_base, **fields):
    fields = {"place_id": item.place_id} | fields
    return OnHandRow(item_id=item.pk, amount_base=Decimal(amount_base), **fields)


def on_hand_base_by_lot_code(item, at=None):
    return {lot.code: lot.amount_base for lot in levels.lots_on_hand(item=item, at=at)}


def test_an_empty_shelf_is_filled_by_one_movement(flour):
    ada = build.user()

    change = set_on_hand(row(flour, 5_000), at=NOON, by_id=ada.pk, note="by hand")

    assert change.before_base == 0
    assert change.row.amount_base == Decimal(5_000)
    movement = Movement.objects.get()
    assert (movement.kind, movement.amount_base) == ("corrected", Decimal(5_000))
    assert (movement.by, movement.note, movement.at) == (ada, "by hand", NOON)


def test_only_the_difference_is_written(flour):
    build.stock(flour, 5_000)

    change = set_on_hand(row(flour, "4200.5"), at=NOON + HOUR)

    assert change.before_base == Decimal(5_000)
    assert Movement.objects.latest("pk").amount_base == Decimal("-799.5")
    assert on_hand_base_by_item() == {flour.pk: Decimal("4200.5")}


def test_the_same_again_changes_nothing(flour):
    set_on_hand(row(flour, 5_000), at=NOON)

    assert set_on_hand(row(flour, 5_000), at=NOON) is None
    assert set_on_hand(row(flour, "5000.00004"), at=NOON + HOUR) is None

    assert Movement.objects.count() == 1


def test_to_nothing(flour):
    build.stock(flour, 5_000)

    set_on_hand(row(flour, 0), at=NOON + HOUR)

    assert on_hand_base_by_item() == {flour.pk: Decimal(0)}


def test_nothing_where_nothing_was_changes_nothing(flour):
    assert set_on_hand(row(flour, 0), at=NOON) is None
    assert not Movement.objects.exists()


def test_what_moves_after_the_moment_still_adds_to_it(flour):
    build.stock(flour, 1_000, at=NOON)
    build.stock(flour, 300, at=NOON + 2 * HOUR, kind=Movement.Kind.RECEIVED)

    set_on_hand(row(flour, 800), at=NOON + HOUR)

    assert on_hand_base_by_item(at=NOON + HOUR) == {flour.pk: Decimal(800)}
    assert on_hand_base_by_item() == {flour.pk: Decimal(1_100)}


def test_each_place_and_each_use_by_is_set_by_itself(flour):
    cellar = build.place("cellar")
    build.stock(flour, 100)
    build.stock(flour, 200, use_by=FRIDAY)
    build.stock(flour, 400, place=cellar)

    set_on_hand(row(flour, 250, use_by=FRIDAY), at=NOON)

    assert [lot.amount_base for lot in levels.lots_on_hand(place=flour.place)] == [
        Decimal(250),
        Decimal(100),
    ]
    assert on_hand_base_by_item(place=cellar) == {flour.pk: Decimal(400)}


class TestLotsOfOneUseBy:
    """The row gives their sum; these are the lots on which a difference goes."""

    @pytest.mark.parametrize(
        ("target_base", "lot_code", "after_base"),
        [
            (1_000, "", {"A": 300, "B": 200, "C": 500}),  # more: on the newest
            (1_000, "A", {"A": 800, "B": 200}),  # on the one that is named
            (1_000, "D", {"A": 300, "B": 200, "D": 500}),  # be it a new one
            (450, "", {"A": 300, "B": 150}),  # less: off the newest
            (450, "A", {"A": 250, "B": 200}),
            (100, "", {"A": 100}),  # the newest first, then the next
            (100, "A", {"B": 100}),
            (100, "D", {"A": 100}),
            (500, "D", {"A": 300, "B": 200}),  # the sum is right: no difference
            (0, "", {}),
        ],
    )
    def test_the_difference_goes_on(self, flour, target_base, lot_code, after_base):
        build.stock(flour, 300, lot="A")
        build.stock(flour, 200, lot="B")
        if target_base == 1_000 and not lot_code:
            build.stock(flour, 1, lot="C")

        set_on_hand(row(flour, target_base, lot_code=lot_code), at=NOON)

        assert on_hand_base_by_lot_code(flour) == {
            code: Decimal(base) for code, base in after_base.items()
        }

    def test_a_lot_that_was_below_nothing_is_set_right_on_the_way(self, flour):
        # 50 g of B were used as if they had been of A.
        build.stock(flour, -50, lot="A", kind=Movement.Kind.USED)
        build.stock(flour, 200, lot="B")

        set_on_hand(row(flour, 140), at=NOON)

        assert on_hand_base_by_lot_code(flour) == {"B": Decimal(140)}

    def test_only_a_lot_below_nothing_comes_up_to_what_is_there(self, flour):
        build.stock(flour, -50, kind=Movement.Kind.USED)

        set_on_hand(row(flour, 20), at=NOON)

        assert on_hand_base_by_lot_code(flour) == {"": Decimal(20)}

    @pytest.mark.parametrize("target_base", [100, 80, 130])
    def test_stock_without_a_code_takes_the_one_that_is_given(self, flour, target_base):
        build.stock(flour, 100)

        set_on_hand(row(flour, target_base, lot_code="A"), at=NOON)

        assert on_hand_base_by_lot_code(flour) == {"A": Decimal(target_base)}
        again = set_on_hand(row(flour, target_base, lot_code="A"), at=NOON)
        assert again is None

    def test_a_lot_that_is_used_up_takes_no_difference(self, flour):
        build.stock(flour, 100, lot="A")
        build.stock(flour, -100, lot="A", kind=Movement.Kind.USED)

        set_on_hand(row(flour, 70), at=NOON)

        assert on_hand_base_by_lot_code(flour) == {"": Decimal(70)}


class TestManyRows:
    def test_only_what_differs_is_written_and_told(self, flour):
        sugar = build.item("sugar", place=flour.place, on_hand_base=900)
        salt = build.item("salt", place=flour.place, on_hand_base=50)
        rows = [row(flour, 5_000), row(sugar, 900), row(salt, 40)]

        changes = set_on_hand_rows(rows, at=NOON, kind=Movement.Kind.IMPORTED)

        assert [change.row for change in changes] == [rows[0], rows[2]]
        assert [change.before_base for change in changes] == [0, Decimal(50)]
        assert set_on_hand_rows(rows, at=NOON, kind=Movement.Kind.IMPORTED) == []

    def test_what_no_row_speaks_of_stays(self, flour):
        build.item("sugar", place=flour.place, on_hand_base=900)

        set_on_hand_rows([row(flour, 5_000)], at=NOON)

        assert sorted(on_hand_base_by_item().values()) == [900, 5_000]

    def test_what_is_said_again_was_said_at_its_latest_moment(self, flour):
        set_on_hand(row(flour, 5_000), at=NOON)
        shelf = flour.pk, flour.place.pk

        for later in (2 * HOUR, 0 * HOUR, HOUR):
            assert set_on_hand(row(flour, 5_000), at=NOON + later) is None

        assert levels.last_counted_at_by_shelf() == {shelf: NOON + 2 * HOUR}
        assert levels.last_counted_at_by_shelf(at=NOON + HOUR) == {shelf: NOON}
        assert Movement.objects.count() == 1

    def test_a_preview_writes_nothing(self, flour):
        (change,) = on_hand_changes([row(flour, 5_000, lot_code="A")], at=NOON)

        assert change.change_base_by_lot_code == {"A": Decimal(5_000)}
        assert not Movement.objects.exists()

    def test_no_rows_change_nothing(self):
        assert set_on_hand_rows([], at=NOON) == []

    @pytest.mark.parametrize("rows", [1, 50])
    def test_queries_do_not_grow_with_the_rows(self, rows, django_assert_num_queries):
        shelf = build.place()
        items = [build.item(place=shelf) for _ in range(rows)]
        wanted = [row(item, 100) for item in items]

        # The two transactions open and close: 4. Lock, moment, holds, read; three for
        # new lots; lock, check the lots, movements, balances.
        with django_assert_num_queries(4 + 4 + 3 + 4):
            set_on_hand_rows(wanted)
        # Record opens a transaction to write nothing. Four confirm what stands.
        with django_assert_num_queries(2 + 4 + 2 + 4):
            set_on_hand_rows(wanted)
        with django_assert_num_queries(2):
            on_hand_changes(wanted, at=NOON)


class TestWhatIsFoundAsOnRecord:
    def confirmed(self):
        rows = Confirmation.objects.values_list("kind", "at", "newest_movement")
        return list(rows)

    @pytest.mark.parametrize("kind", ["imported", "corrected"])
    def test_is_said_once_however_often_it_is_repeated(self, flour, kind):
        for _ in range(2):
            set_on_hand(row(flour, 5_000), at=NOON, kind=kind)
            assert self.confirmed() == []

        build.stock(flour, -1_000, kind="used")
        for _ in range(2):
            set_on_hand(row(flour, 4_000), at=NOON + HOUR, kind=kind)
            newest = Movement.objects.latest("pk").pk
            assert self.confirmed() == [(kind, NOON + HOUR, newest)]

    def test_of_an_empty_shelf_is_said_once(self, flour):
        set_on_hand(row(flour, 0), at=NOON, kind="imported")
        before = Confirmation.objects.values_list("pk", "newest_movement").get()
        build.stock(build.item("sugar", place=flour.place), 100)

        set_on_hand(row(flour, 0), at=NOON, kind="imported")

        after = Confirmation.objects.values_list("pk", "newest_movement").get()
        assert after == before

    @pytest.mark.parametrize(("kind", "times"), [("imported", 0), ("corrected", 1)])
    def test_later_is_said_anew_by_hand_not_by_the_same_import(
        self, flour, kind, times
    ):
        set_on_hand(row(flour, 5_000), at=NOON, kind=kind)

        set_on_hand(row(flour, 5_000), at=NOON + HOUR, kind=kind)

        assert len(self.confirmed()) == times

    def test_by_an_import_after_a_hand_is_said_anew(self, flour):
        set_on_hand(row(flour, 5_000), at=NOON)

        set_on_hand(row(flour, 5_000), at=NOON, kind="imported")

        assert [kind for kind, *_ in self.confirmed()] == ["imported"]


@pytest.mark.django_db(transaction=True)
def test_two_who_set_the_same_shelf_at_once_do_not_add_up(at_once):
    flour = build.item(place=build.place())

    def set_to(number):
        set_on_hand(row(flour, number + 1), at=NOON)

    at_once(set_to, set_to, times=20)

    # Whoever comes last sets the last figure; never one on top of the other.
    assert on_hand_base_by_item() == {flour.pk: Decimal(20)}


class TestRefusals:
    def test_what_was_there_before_somebody_found_it_as_on_record(self, flour):
        set_on_hand(row(flour, 5_000), at=NOON - HOUR)
        set_on_hand(row(flour, 5_000), at=NOON + HOUR)

        with pytest.raises(SetSinceError, match="set since that moment"):
            set_on_hand(row(flour, 4_000), at=NOON)

        assert on_hand_base_by_item() == {flour.pk: 5_000}

    def test_what_was_there_before_somebody_set_it(self, flour):
        set_on_hand(row(flour, 5_000), at=NOON + HOUR)

        with pytest.raises(SetSinceError, match="Bread flour: set since that moment"):
            set_on_hand(row(flour, 4_000), at=NOON)

        assert on_hand_base_by_item() == {flour.pk: Decimal(5_000)}

    def test_but_not_of_a_shelf_that_was_as_it_says(self, flour):
        build.stock(flour, 4_000, at=NOON)
        set_on_hand(row(flour, 5_000), at=NOON + HOUR)

        assert set_on_hand(row(flour, 4_000), at=NOON) is None

    def test_less_than_nothing(self, flour):
        with pytest.raises(NegativeOnHandError, match="Bread flour: less than nothing"):
            set_on_hand_rows([row(flour, -1)], at=NOON)

    def test_the_same_stock_twice(self, flour):
        rows = [
            row(flour, 100, use_by=FRIDAY, lot_code="A"),
            row(flour, 200, use_by=FRIDAY, lot_code="B"),
        ]

        with pytest.raises(
            OnHandTwiceError, match="Bread flour with use-by 2026-05-08 is listed twice"
        ):
            set_on_hand_rows(rows, at=NOON)

    def test_more_than_any_bakery_can_hold(self, flour):
        with pytest.raises(AmountOutOfRangeError, match="Bread flour"):
            set_on_hand(row(flour, 10**12), at=NOON)

    def test_one_bad_row_leaves_nothing_done(self, flour):
        sugar = build.item("sugar", place=flour.place)

        with pytest.raises(NegativeOnHandError):
            set_on_hand_rows([row(flour, 100), row(sugar, -1)], at=NOON)

        assert not Movement.objects.exists()
