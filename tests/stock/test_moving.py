"""Moving: which lots go, that they stay what they are, once, and how it is undone."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from planning.plan.snapshot import load_kitchen
from stock.counts.undoing import undo_post
from stock.ledger import levels
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.ledger.ledger import AmountOutOfRangeError
from stock.ledger.verifying import rebuild
from stock.models import Bakery, Balance, Move, Movement
from stock.moving.errors import (
    MoreThanThereError,
    MovedAlreadyError,
    MoveNotUndoneError,
    NothingMovedError,
    RetiredItemError,
    SamePlaceError,
)
from stock.moving.moving import MoveEntry, move_stock, undo_move
from stock.wasting.wasting import WasteEntry, undo_waste, waste
from tests import build
from tests.build import MONDAY, NOON
from tests.on_hand import on_hand_base_by_item
from tests.stock import counts

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.usefixtures("at_noon", "ledger_stays_whole"),
]

FRIDAY, SATURDAY = MONDAY + timedelta(days=4), MONDAY + timedelta(days=5)
EARLIER = NOON - timedelta(days=1)


@pytest.fixture
def freezer():
    return build.place("freezer")


@pytest.fixture
def cream(shelf):
    """300 g by Friday, 500 g by Saturday, in the walk-in."""
    item = build.item("cream", place=shelf)
    build.stock(item, 500, use_by=SATURDAY, lot="B", at=EARLIER)
    build.stock(item, 300, use_by=FRIDAY, lot="A", at=EARLIER)
    return item


def moved(item, amount_base, to_place, *, key="k", by=None, from_place=None, lot=None):
    entry = MoveEntry(
        item_id=item.pk,
        from_place_id=(from_place or item.place).pk,
        to_place_id=to_place.pk,
        amount_base=Decimal(amount_base),
        lot_id=lot,
    )
    return move_stock(entry, key=key, by_id=by.pk if by else None)


def on_hand(item, place):
    lots = levels.lots_on_hand(item=item, place=place)
    return {(lot.code, lot.use_by): lot.amount_base for lot in lots}


def test_the_earliest_use_by_goes_first_and_keeps_lot_and_date(cream, freezer):
    moved(cream, 400, freezer)

    assert on_hand(cream, freezer) == {("A", FRIDAY): 300, ("B", SATURDAY): 100}
    assert on_hand(cream, cream.place) == {("B", SATURDAY): 400}


def test_the_lot_that_is_named_goes_alone(cream, freezer):
    [_, late] = levels.lots_on_hand(item=cream)

    moved(cream, 200, freezer, lot=late.lot_id)

    assert on_hand(cream, freezer) == {("B", SATURDAY): 200}


def test_it_is_two_movements_of_one_kind_for_each_lot(cream, freezer):
    ada = build.user()

    row = moved(cream, 400, freezer, by=ada)

    assert (row.amount_base, row.at, row.by) == (400, NOON, ada)
    movements = Movement.objects.filter(move=row)
    assert {(each.kind, each.at, each.by) for each in movements} == {
        ("moved", NOON, ada)
    }
    shelves = [(each.place, each.lot.code, each.amount_base) for each in movements]
    assert sorted(shelves, key=lambda each: each[2]) == [
        (cream.place, "A", -300),
        (cream.place, "B", -100),
        (freezer, "B", 100),
        (freezer, "A", 300),
    ]


def test_a_repeat_of_the_key_changes_nothing(cream, freezer):
    first = moved(cream, 400, freezer)

    assert moved(cream, 400, freezer) == first

    assert on_hand_base_by_item(place=freezer) == {cream.pk: 400}
    assert Move.objects.count() == 1


def test_a_repeat_after_undoing_stays_undone(cream, freezer):
    undo_move(moved(cream, 400, freezer).pk)

    moved(cream, 400, freezer)

    assert on_hand(cream, freezer) == {}


@pytest.mark.parametrize("other", ["amount", "place", "lot", "item"])
def test_the_key_of_something_else_is_refused(cream, freezer, other):
    moved(cream, 400, freezer)
    [late] = levels.lots_on_hand(item=cream, place=cream.place)
    milk = build.item("milk", place=cream.place, on_hand_base=900)
    item = milk if other == "item" else cream
    amount_base = 300 if other == "amount" else 400
    to_place = build.place("rack") if other == "place" else freezer
    lot = late.lot_id if other == "lot" else None

    with pytest.raises(
        MovedAlreadyError, match="400 g of cream moved from walk-in to freezer"
    ):
        moved(item, amount_base, to_place, lot=lot)

    assert on_hand_base_by_item(place=freezer) == {cream.pk: 400}


def test_more_than_is_there_is_refused_with_what_is_there(cream, freezer):
    with pytest.raises(MoreThanThereError) as refused:
        moved(cream, 900, freezer)

    assert str(refused.value) == (
        "Cream: 800 g on record in walk-in, less than 900 g. "
        "Move what is on record, or set what is there first."
    )
    assert not Move.objects.exists()


def test_what_was_never_counted_cannot_be_moved(shelf, freezer):
    salt = build.item("salt", place=shelf)

    with pytest.raises(MoreThanThereError, match="Salt: none on record in walk-in"):
        moved(salt, 5, freezer)


def test_more_than_the_named_lot_has_is_refused(cream, freezer):
    [early, _] = levels.lots_on_hand(item=cream)

    with pytest.raises(MoreThanThereError, match="300 g on record"):
        moved(cream, 400, freezer, lot=early.lot_id)


def test_a_lot_that_is_owed_counts_against_the_others(cream, freezer):
    build.stock(cream, -100, lot="0", kind=Movement.Kind.USED)  # 700 g in all

    with pytest.raises(MoreThanThereError):
        moved(cream, 750, freezer)
    moved(cream, 700, freezer)

    assert on_hand_base_by_item(place=cream.place) == {cream.pk: 0}


def test_all_of_it_in_rounded_words_is_all_of_it(shelf, freezer):
    """2 lb are 907.1847 g; two halves of a third of 6 lb are a ten-thousandth less."""
    butter = build.item("butter", place=shelf, par="5 lb", par_base=2267.96185)
    build.stock(butter, "907.1846")

    row = moved(butter, "907.1847", freezer)

    assert row.amount_base == Decimal("907.1846")
    assert on_hand(butter, shelf) == {}


def test_the_same_place_is_refused(cream):
    with pytest.raises(SamePlaceError, match="Cream is in walk-in already"):
        moved(cream, 5, cream.place)


def test_a_retired_item_is_refused(cream, freezer):
    cream.retired = True
    cream.save()

    with pytest.raises(RetiredItemError, match="Cream is retired"):
        moved(cream, 5, freezer)


@pytest.mark.parametrize("amount", [0, -5, "0.00004"])
def test_nothing_is_no_move(cream, freezer, amount):
    with pytest.raises(NothingMovedError):
        moved(cream, amount, freezer)


def test_what_no_bakery_holds_is_refused(cream, freezer):
    with pytest.raises(AmountOutOfRangeError):
        moved(cream, 10**12, freezer)


def test_undoing_brings_every_lot_back_as_if_it_had_never_moved(cream, freezer):
    ada = build.user()

    row = undo_move(moved(cream, 400, freezer).pk, by_id=ada.pk)

    assert on_hand(cream, cream.place) == {("A", FRIDAY): 300, ("B", SATURDAY): 500}
    assert (row.undone_at, row.undone_by_id) == (NOON, ada.pk)
    assert not Balance.objects.filter(place=freezer).exists()
    assert levels.on_hand_base_by_place(item=cream) == {cream.place_id: 800}


def test_undoing_another_move_leaves_what_all_moved_out_of_on_record(cream, freezer):
    """All of it was received, moved on, and then a little of it to and fro."""
    rack = build.place("rack")
    build.stock(cream, 40, place=rack, lot="C", kind=Movement.Kind.RECEIVED, at=EARLIER)
    moved(cream, 40, freezer, from_place=rack, key="all")

    undo_move(moved(cream, 10, cream.place, from_place=freezer, key="little").pk)

    assert on_hand_base_by_item(place=rack, at=EARLIER) == {cream.pk: 40}
    assert on_hand_base_by_item(place=rack) == {cream.pk: 0}


@pytest.mark.parametrize("anew", [False, True])
def test_what_passed_through_a_place_by_two_moves_stays_on_record(
    cream, freezer, monkeypatch, anew
):
    rack, later = build.place("rack"), NOON + timedelta(minutes=5)
    moved(cream, 300, rack, key="in")
    monkeypatch.setattr(timezone, "now", lambda: later)
    moved(cream, 300, freezer, from_place=rack, key="on")

    if anew:
        rebuild()
    else:
        undo_move(moved(cream, 100, freezer, key="other").pk)

    assert on_hand_base_by_item(place=rack, at=NOON) == {cream.pk: 300}
    assert on_hand_base_by_item(place=rack) == {cream.pk: 0}


def test_undoing_twice_brings_back_once(cream, freezer):
    row = moved(cream, 400, freezer)

    undo_move(row.pk)
    undo_move(row.pk)

    assert on_hand_base_by_item(place=cream.place) == {cream.pk: 800}


def used(cream, freezer):
    build.stock(
        cream, -150, place=freezer, lot="A", use_by=FRIDAY, kind=Movement.Kind.USED
    )


def wasted(cream, freezer):
    waste(WasteEntry(cream.pk, freezer.pk, Decimal(150), "spoiled"), key="w")


def moved_on(cream, freezer):
    moved(cream, 150, build.place("rack"), from_place=freezer, key="on")


@pytest.mark.parametrize("takes", [used, wasted, moved_on])
def test_what_is_not_all_there_any_more_cannot_be_undone(cream, freezer, takes):
    row = moved(cream, 300, freezer)
    takes(cream, freezer)

    with pytest.raises(
        MoveNotUndoneError,
        match="Cream in freezer was used, wasted or moved on since",
    ):
        undo_move(row.pk)

    assert on_hand_base_by_item(place=freezer) == {cream.pk: 150}


def test_once_what_took_it_is_undone_the_move_can_be_undone(cream, freezer):
    row = moved(cream, 300, freezer)
    taken = waste(WasteEntry(cream.pk, freezer.pk, Decimal(150), "staff"), key="w")
    undo_waste(taken.pk)

    undo_move(row.pk)

    assert on_hand_base_by_item(place=cream.place) == {cream.pk: 800}


def test_more_of_the_same_lot_that_stood_there_does_not_stand_in_the_way(
    cream, freezer
):
    build.stock(cream, 200, place=freezer, lot="A", use_by=FRIDAY, at=EARLIER)
    row = moved(cream, 300, freezer)
    used(cream, freezer)  # 350 g of it are left

    undo_move(row.pk)

    assert on_hand(cream, freezer) == {("A", FRIDAY): 50}


@pytest.mark.parametrize("place", ["walk-in", "freezer"])
def test_what_was_set_since_in_either_place_is_never_added_to(cream, freezer, place):
    row = moved(cream, 400, freezer)
    where = freezer if place == "freezer" else cream.place
    set_on_hand(OnHandRow(cream.pk, where.pk, Decimal(990), SATURDAY, "B"))

    with pytest.raises(
        MoveNotUndoneError, match=f"Cream in {place} was set by hand since"
    ):
        undo_move(row.pk)


def test_a_count_of_the_moment_before_leaves_the_move_on_top(cream, freezer):
    count = counts.opened(cream.place, freezer, counted_at=NOON - timedelta(minutes=30))
    counts.enter(count, cream, "700 g", after_minutes=5)  # before it moved
    moved(cream, 400, freezer)

    counts.posted(count)

    assert levels.on_hand_base_by_place(item=cream) == {
        cream.place_id: 300,
        freezer.pk: 400,
    }


def test_a_count_after_the_move_finds_it_where_it_is_now(cream, freezer):
    row = moved(cream, 400, freezer)
    count = counts.opened(cream.place, freezer, counted_at=NOON + timedelta(minutes=30))
    counts.enter(count, cream, "400 g")
    counts.enter(count, cream, "390 g", place=freezer)

    counts.posted(count)

    assert levels.on_hand_base_by_place(item=cream) == {
        cream.place_id: 400,
        freezer.pk: 390,
    }
    with pytest.raises(MoveNotUndoneError, match="counted since"):
        undo_move(row.pk)
    undo_post(count.pk, at=NOON + timedelta(hours=3))
    undo_move(row.pk)
    assert levels.on_hand_base_by_place(item=cream) == {cream.place_id: 800}


def test_the_plan_has_as_much_as_before(cream, freezer):
    before = load_kitchen(bakery=Bakery.current(), as_of=NOON).lots

    moved(cream, 400, freezer)

    after = load_kitchen(bakery=Bakery.current(), as_of=NOON).lots
    earlier = load_kitchen(bakery=Bakery.current(), as_of=EARLIER).lots
    for lots in (after, earlier):
        stands = dict(zip(lots.use_by, lots.amount_base.tolist(), strict=True))
        assert stands == {FRIDAY: 300, SATURDAY: 500}
        assert len(lots.use_by) == len(before.use_by)


@pytest.mark.parametrize("lots", [1, 6])
def test_queries_do_not_grow_with_lots(
    shelf, freezer, django_assert_max_num_queries, lots
):
    flour = build.item("flour", place=shelf)
    for number in range(lots):
        build.stock(flour, 100, lot=f"L{number}")

    with django_assert_max_num_queries(18):
        row = moved(flour, 100 * lots, freezer)
    with django_assert_max_num_queries(23):
        undo_move(row.pk)
