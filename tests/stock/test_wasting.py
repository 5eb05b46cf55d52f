"""Wasting: what leaves the record, from which lot, once, and how it is undone."""

from datetime import timedelta
from decimal import Decimal

import pytest

from stock.counts import counting
from stock.counts.undoing import undo_post
from stock.ledger import levels
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.ledger.ledger import AmountOutOfRangeError
from stock.ledger.verifying import verify_ledger
from stock.models import Movement, Waste
from stock.wasting.errors import (
    MoreThanOnRecordError,
    NothingWastedError,
    SetSinceWasteError,
    UnknownReasonError,
    WastedAlreadyError,
)
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


@pytest.fixture
def cream(shelf):
    """300 g by Friday, 500 g by Saturday."""
    item = build.item("cream", place=shelf)
    build.stock(item, 500, use_by=SATURDAY, lot="B", at=NOON - timedelta(days=1))
    build.stock(item, 300, use_by=FRIDAY, lot="A", at=NOON - timedelta(days=1))
    return item


def wasted(item, amount_base, *, key="k", by=None, reason="spoiled", **fields):
    entry = WasteEntry(
        item_id=item.pk,
        place_id=fields.pop("place", item.place).pk,
        amount_base=Decimal(amount_base),
        reason=reason,
        **fields,
    )
    row = waste(entry, key=key, by_id=by.pk if by else None)
    assert verify_ledger().is_whole
    return row


def undone(row, **fields):
    back = undo_waste(row.pk, **fields)
    assert verify_ledger().is_whole
    return back


def on_hand(item):
    return {lot.code: lot.amount_base for lot in levels.lots_on_hand(item=item)}


def test_the_earliest_use_by_goes_first(cream):
    wasted(cream, 400)

    assert on_hand(cream) == {"B": 400}


def test_the_lot_that_is_named_goes_alone(cream):
    [_, late] = levels.lots_on_hand(item=cream)

    wasted(cream, 200, lot_id=late.lot_id)

    assert on_hand(cream) == {"A": 300, "B": 300}


def test_it_is_kept_with_its_reason_who_and_when(cream):
    ada = build.user()

    row = wasted(cream, 400, by=ada, reason="dropped")

    assert (row.reason, row.amount_base, row.at, row.by) == ("dropped", 400, NOON, ada)
    movements = Movement.objects.filter(kind=Movement.Kind.WASTED).order_by("pk")
    told = [(each.amount_base, each.at, each.by, each.waste) for each in movements]
    assert told == [(-300, NOON, ada, row), (-100, NOON, ada, row)]


def test_another_place_is_left_alone(cream):
    freezer = build.place("freezer")
    build.stock(cream, 50, place=freezer, lot="A", use_by=FRIDAY)

    wasted(cream, 20, place=freezer)

    assert levels.on_hand_base_by_place(item=cream) == {
        cream.place_id: 800,
        freezer.pk: 30,
    }


def test_a_repeat_of_the_key_changes_nothing(cream):
    first = wasted(cream, 400)

    again = wasted(cream, 400)

    assert again == first
    assert on_hand(cream) == {"B": 400}
    assert Waste.objects.count() == 1


def test_a_repeat_after_undoing_stays_undone(cream):
    undone(wasted(cream, 400))

    wasted(cream, 400)

    assert on_hand(cream) == {"A": 300, "B": 500}


@pytest.mark.parametrize(
    "other", [{"amount_base": 300}, {"reason": "dropped"}, {"item": True}]
)
def test_the_key_of_something_else_is_refused(cream, other):
    wasted(cream, 400)
    item = build.item("milk", place=cream.place, on_hand_base=900)
    named = item if other.pop("item", None) else cream

    with pytest.raises(WastedAlreadyError, match="400 g of cream wasted, spoiled"):
        wasted(named, **({"amount_base": 400} | other))

    assert on_hand(cream) == {"B": 400}


def test_more_than_on_record_is_refused_with_what_is_there(cream):
    with pytest.raises(MoreThanOnRecordError) as refused:
        wasted(cream, 900)

    assert str(refused.value) == (
        "Cream: 800 g on record in walk-in, less than 900 g. "
        "Waste what is on record, or say that it was more."
    )
    assert refused.value.left_base == 800
    assert on_hand(cream) == {"A": 300, "B": 500}
    assert not Waste.objects.exists()


def test_what_was_never_counted_is_refused_too(shelf):
    salt = build.item("salt", place=shelf)

    with pytest.raises(MoreThanOnRecordError, match="Salt: none on record in walk-in"):
        wasted(salt, 5)


def test_more_than_on_record_can_be_said_and_is_below_nothing_until_counted(cream):
    row = wasted(cream, 900, beyond_record=True)

    assert row.amount_base == 900
    assert on_hand(cream) == {"B": -100}


def test_what_is_on_no_record_can_be_said_too(shelf):
    salt = build.item("salt", place=shelf)

    wasted(salt, 5, beyond_record=True)

    assert on_hand(salt) == {"": -5}


def test_a_lot_that_is_owed_counts_against_the_others(cream):
    build.stock(cream, -100, lot="0", kind=Movement.Kind.USED)  # 700 g in all

    with pytest.raises(MoreThanOnRecordError):
        wasted(cream, 750)
    wasted(cream, 700)

    assert on_hand(cream) == {"B": 100, "0": -100}


def test_all_of_it_in_rounded_words_is_all_of_it(shelf):
    """2 lb are 907.1847 g; two halves of a third of 6 lb are a ten-thousandth less."""
    butter = build.item("butter", place=shelf, par="5 lb", par_base=2267.96185)
    build.stock(butter, "907.1846")

    row = wasted(butter, "907.1847")

    assert row.amount_base == Decimal("907.1846")
    assert on_hand(butter) == {}


@pytest.mark.parametrize("amount", [0, -5, "0.00004"])
def test_nothing_is_no_waste(cream, amount):
    with pytest.raises(NothingWastedError):
        wasted(cream, amount)


def test_what_no_bakery_holds_is_refused(cream):
    with pytest.raises(AmountOutOfRangeError):
        wasted(cream, 10**12, beyond_record=True)


@pytest.mark.parametrize("reason", ["", "stolen", "Spoiled", "spoiled\0"])
def test_a_reason_is_one_of_the_list(cream, reason):
    with pytest.raises(UnknownReasonError, match="Choose why: spoiled, dropped"):
        wasted(cream, 5, reason=reason)


def test_undoing_puts_back_every_lot_at_the_moment_of_the_waste(cream):
    ada = build.user()
    row = undone(wasted(cream, 400), by_id=ada.pk)

    assert on_hand(cream) == {"A": 300, "B": 500}
    assert (row.undone_at, row.undone_by_id) == (NOON, ada.pk)
    assert on_hand_base_by_item(at=NOON) == {cream.pk: 800}
    back = Movement.objects.filter(waste=row, amount_base__gt=0)
    assert {each.kind for each in back} == {Movement.Kind.WASTED}


def test_undoing_twice_puts_back_once(cream):
    row = wasted(cream, 400)

    undone(row)
    undone(row)

    assert on_hand(cream) == {"A": 300, "B": 500}


def test_undoing_does_not_mind_what_is_used_or_wasted_since(cream):
    row = wasted(cream, 400)
    wasted(cream, 100, key="other")
    build.stock(cream, -50, lot="B", use_by=SATURDAY, kind=Movement.Kind.USED)

    undone(row)

    assert on_hand(cream) == {"A": 300, "B": 350}


def set_by_hand(item):
    row = OnHandRow(item.pk, item.place_id, Decimal(90), use_by=SATURDAY, lot_code="B")
    set_on_hand(row)


def counted(item):
    count = counts.opened(item.place, counted_at=NOON + timedelta(minutes=5))
    counts.enter(count, item, "90 g", use_by=SATURDAY, lot_code="B")
    counting.send_to_review(count.pk)
    counting.post_count(count.pk, at=NOON + timedelta(minutes=9), as_entered=True)
    return count


def imported(item):
    set_on_hand(
        OnHandRow(item.pk, item.place_id, Decimal(90), use_by=SATURDAY, lot_code="B"),
        at=NOON,
        kind=Movement.Kind.IMPORTED,
    )


@pytest.mark.parametrize(
    ("say", "words"),
    [
        (set_by_hand, "set by hand since"),
        (counted, "counted since"),
        (imported, "set from a workbook since"),
    ],
)
def test_what_was_said_since_is_never_added_to(cream, say, words):
    row = wasted(cream, 400)
    say(cream)

    with pytest.raises(SetSinceWasteError, match=f"Cream in walk-in was {words}"):
        undone(row)

    assert on_hand(cream) == {"B": 90}


def test_what_was_found_as_on_record_since_is_never_added_to(cream):
    row = wasted(cream, 400)
    left = OnHandRow(cream.pk, cream.place_id, Decimal(400), use_by=SATURDAY)
    assert set_on_hand(left) is None

    with pytest.raises(SetSinceWasteError, match="Cream in walk-in was set by hand"):
        undone(row)

    assert on_hand(cream) == {"B": 400}


def test_once_the_count_is_undone_the_waste_can_be_undone(cream):
    row = wasted(cream, 400)
    count = counted(cream)
    undo_post(count.pk, at=NOON + timedelta(minutes=10))

    undone(row)

    assert on_hand(cream) == {"A": 300, "B": 500}


def test_a_count_of_another_place_does_not_stand_in_the_way(cream):
    row = wasted(cream, 400)
    freezer = build.place("freezer")
    build.stock(cream, 50, place=freezer)
    set_on_hand(OnHandRow(cream.pk, freezer.pk, Decimal(90)))

    undone(row)

    assert levels.on_hand_base_by_place(item=cream)[cream.place_id] == 800


@pytest.mark.parametrize("lots", [1, 6])
def test_queries_do_not_grow_with_lots(shelf, django_assert_max_num_queries, lots):
    flour = build.item("flour", place=shelf)
    for number in range(lots):
        build.stock(flour, 100, lot=f"L{number}")

    with django_assert_max_num_queries(18):
        row = wasted_quietly(flour, 100 * lots)
    with django_assert_max_num_queries(17):
        undo_waste(row.pk)


def wasted_quietly(item, amount_base):
    entry = WasteEntry(item.pk, item.place_id, Decimal(amount_base), "staff")
    return waste(entry, key="quiet")
