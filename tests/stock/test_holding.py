"""Holding a lot: what passes it over, what does not, and how it is released."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from planning.plan.snapshot import load_kitchen
from stock.holding.errors import HeldAlreadyError, NoReasonError
from stock.holding.holding import hold_lot, release_hold
from stock.ledger import ledger, levels, sharing
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.models import Bakery, Hold
from stock.moving.errors import MoreThanThereError
from stock.moving.moving import MoveEntry, move_stock
from stock.wasting.errors import MoreThanOnRecordError
from stock.wasting.wasting import WasteEntry, undo_waste, waste
from tests import build
from tests.build import MONDAY, NOON
from tests.stock import counts

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.usefixtures("at_noon", "ledger_stays_whole"),
]

FRIDAY, SATURDAY = MONDAY + timedelta(days=4), MONDAY + timedelta(days=5)
EARLIER = NOON - timedelta(days=1)


@pytest.fixture
def cream(shelf):
    """300 g by Friday, 500 g by Saturday."""
    item = build.item("cream", place=shelf)
    build.stock(item, 500, use_by=SATURDAY, lot="B", at=EARLIER)
    build.stock(item, 300, use_by=FRIDAY, lot="A", at=EARLIER)
    return item


@pytest.fixture
def early(cream):
    """The lot of 300 g that would be used first."""
    return levels.lots_on_hand(item=cream)[0].lot_id


def on_hand(item):
    return {lot.code: lot.amount_base for lot in levels.lots_on_hand(item=item)}


def wasted(item, amount_base, **fields):
    entry = WasteEntry(
        item.pk, item.place_id, Decimal(amount_base), "spoiled", **fields
    )
    return waste(entry, key=f"w {amount_base} {fields}")


def planned_with(as_of=NOON):
    lots = load_kitchen(bakery=Bakery.current(), as_of=as_of).lots
    return dict(zip(lots.use_by, lots.amount_base.tolist(), strict=True))


def test_it_keeps_why_who_and_when_and_stays_on_record(cream, early):
    ada = build.user()

    row = hold_lot(early, reason="  recall by   the dairy ", by_id=ada.pk)

    told = (row.lot_id, row.reason, row.held_at, row.held_by)
    assert told == (early, "recall by the dairy", NOON, ada)
    assert on_hand(cream) == {"A": 300, "B": 500}
    held = {lot.code: lot.on_hold for lot in levels.lots_on_hand(item=cream)}
    assert held == {"A": True, "B": False}


def test_the_plan_passes_it_over_now_and_as_of_before(cream, early):
    row = hold_lot(early, reason="recall")

    assert planned_with() == planned_with(as_of=EARLIER) == {SATURDAY: 500}

    release_hold(row.pk)
    assert planned_with() == {FRIDAY: 300, SATURDAY: 500}


def test_what_takes_from_a_place_passes_it_over(cream, early):
    hold_lot(early, reason="recall")

    wasted(cream, 100)

    assert on_hand(cream) == {"A": 300, "B": 400}
    assert early not in sharing.lots_to_take(item_id=cream.pk, place_id=cream.place_id)


def test_it_counts_for_nothing_where_more_is_taken_than_is_free(cream, early):
    hold_lot(early, reason="recall")
    freezer = build.place("freezer")

    with pytest.raises(MoreThanOnRecordError, match="500 g on record"):
        wasted(cream, 600)
    with pytest.raises(MoreThanThereError, match="500 g on record"):
        move_stock(
            MoveEntry(cream.pk, cream.place_id, freezer.pk, Decimal(600)), key="m"
        )


def test_the_lot_without_code_or_date_is_no_exception(shelf):
    flour = build.item("flour", place=shelf)
    held = build.stock(flour, 1_000, at=EARLIER)
    hold_lot(held, reason="weevils")

    wasted(flour, 100, beyond_record=True)

    assert on_hand(flour) == {"": 1_000, "not on record": -100}


def test_what_is_owed_has_another_lot_where_that_is_on_hold_too(shelf):
    flour = build.item("flour", place=shelf)
    for code in ("", "not on record"):
        hold_lot(build.stock(flour, 5, lot=code, at=EARLIER), reason="weevils")

    wasted(flour, 100, beyond_record=True)

    assert on_hand(flour) == {"": 5, "not on record": 5, "not on record 2": -100}


def test_a_lot_that_is_used_up_and_on_hold_owes_nothing(shelf):
    flour = build.item("flour", place=shelf)
    held = build.stock(flour, 5, at=EARLIER)
    hold_lot(held, reason="weevils")
    wasted(flour, 5, lot_id=held)

    wasted(flour, 100, beyond_record=True)

    assert on_hand(flour) == {"not on record": -100}


def test_released_it_owes_as_before(shelf):
    flour = build.item("flour", place=shelf)
    release_hold(hold_lot(build.stock(flour, 5), reason="weevils").pk)

    wasted(flour, 100, beyond_record=True)

    assert on_hand(flour) == {"": -95}


def test_named_it_can_be_wasted_and_moved_and_stays_on_hold(cream, early):
    hold_lot(early, reason="recall")
    freezer = build.place("freezer")

    row = wasted(cream, 100, lot_id=early)
    entry = MoveEntry(cream.pk, cream.place_id, freezer.pk, Decimal(200), early)
    move_stock(entry, key="m")

    assert on_hand(cream) == {"A": 200, "B": 500}
    [there] = levels.lots_on_hand(place=freezer)
    assert (there.code, there.on_hold) == ("A", True)
    assert planned_with() == {SATURDAY: 500}
    undo_waste(row.pk)
    assert planned_with() == {SATURDAY: 500}


def test_a_count_still_counts_it(cream, early):
    hold_lot(early, reason="recall")
    count = counts.opened(cream.place)
    counts.enter(count, cream, "700 g")

    counts.posted(count)

    assert sum(on_hand(cream).values()) == 700


def test_held_twice_for_one_reason_is_one_hold(cream, early):
    first = hold_lot(early, reason="recall")

    again = hold_lot(early, reason=" recall", by_id=build.user().pk)

    assert again == first
    assert Hold.objects.count() == 1


def test_held_for_another_reason_says_who_holds_it_and_why(cream, early):
    hold_lot(early, reason="recall", by_id=build.user("bea").pk)

    with pytest.raises(HeldAlreadyError) as refused:
        hold_lot(early, reason="smells")

    assert str(refused.value) == (
        "Cream, lot A, use by Fri May 8, 2026 is on hold already by bea: recall. "
        "Release it first to give another reason."
    )


def test_released_twice_is_released_once(early):
    ada, bea = build.user("ada"), build.user("bea")
    row = hold_lot(early, reason="recall")

    release_hold(row.pk, by_id=ada.pk)
    again = release_hold(row.pk, by_id=bea.pk)

    assert (again.released_at, again.released_by) == (NOON, ada)


def test_released_while_somebody_waited_for_the_lock_it_stays_so(early, monkeypatch):
    ada, bea = build.user("ada"), build.user("bea")
    row = hold_lot(early, reason="recall")
    lock = ledger.moment_after_lock

    def after_ada(item_ids):
        monkeypatch.setattr(ledger, "moment_after_lock", lock)
        release_hold(row.pk, by_id=ada.pk)
        return lock(item_ids)

    monkeypatch.setattr(ledger, "moment_after_lock", after_ada)
    release_hold(row.pk, by_id=bea.pk)

    row.refresh_from_db()
    assert row.released_by == ada


def test_an_old_page_never_releases_a_newer_hold(cream, early):
    old = hold_lot(early, reason="recall")
    release_hold(old.pk)
    hold_lot(early, reason="recall")

    release_hold(old.pk)

    assert planned_with() == {SATURDAY: 500}


@pytest.mark.parametrize("reason", ["", "  \n ", "x" * 201])
def test_a_hold_has_its_reason(early, reason):
    with pytest.raises(NoReasonError, match="Say why it is on hold"):
        hold_lot(early, reason=reason)


def test_the_database_keeps_one_standing_hold_of_a_lot(early):
    hold_lot(early, reason="recall")

    with pytest.raises(IntegrityError), transaction.atomic():
        Hold.objects.create(lot_id=early, reason="again", held_at=NOON)


@pytest.mark.django_db(transaction=True)
def test_held_by_many_hands_at_once_it_is_held_once(shelf, at_once):
    flour = build.item("flour", place=shelf)
    lot = build.stock(flour, 5)

    at_once(*[lambda _: hold_lot(lot, reason="recall")] * 5, times=2)

    assert Hold.objects.count() == 1


@pytest.fixture
def flour(shelf):
    """A kilogram without lot or date, on hold."""
    flour = build.item("flour", place=shelf)
    hold_lot(build.stock(flour, 1_000, at=EARLIER), reason="weevils")
    return flour


def test_what_a_count_finds_more_without_lot_is_not_on_hold(flour, shelf):
    count = counts.opened(shelf)
    counts.enter(count, flour, "3 kg")
    counts.posted(count)

    assert on_hand(flour) == {"": 1_000, "after hold": 2_000}
    fewer = counts.opened(shelf, counted_at=NOON + timedelta(hours=3))
    counts.enter(fewer, flour, "1.5 kg")
    counts.posted(fewer, at=NOON + timedelta(hours=4))
    assert on_hand(flour) == {"": 1_000, "after hold": 500}


def test_what_a_count_names_is_found_on_its_own_lot_on_hold_or_not(cream, early, shelf):
    hold_lot(early, reason="recall")
    count = counts.opened(shelf)

    counts.enter(count, cream, "400 g", use_by=FRIDAY, lot_code="A")
    counts.posted(count)

    assert on_hand(cream) == {"A": 400, "B": 500}


def set_to(flour, amount_base, **fields):
    row = OnHandRow(flour.pk, flour.place_id, Decimal(amount_base), **fields)
    return set_on_hand(row)


def test_what_a_hand_sets_more_without_lot_is_not_on_hold(flour):
    set_to(flour, 3_000)
    assert on_hand(flour) == {"": 1_000, "after hold": 2_000}
    assert set_to(flour, 3_000) is None

    set_to(flour, 1_400)
    assert on_hand(flour) == {"": 1_000, "after hold": 400}

    set_to(flour, 700)
    assert on_hand(flour) == {"": 700}


def test_what_is_on_hold_is_given_no_code_by_a_row(flour):
    set_to(flour, 1_500, lot_code="W7")

    assert on_hand(flour) == {"": 1_000, "W7": 500}


def test_what_comes_while_both_are_on_hold_has_a_third_lot(flour):
    set_to(flour, 1_500)
    later = levels.lots_on_hand(item=flour)[1]
    assert later.code == "after hold"
    hold_lot(later.lot_id, reason="weevils too")

    set_to(flour, 1_900)

    assert on_hand(flour) == {"": 1_000, "after hold": 500, "after hold 2": 400}


def test_released_they_stand_beside_and_what_comes_joins_the_newest(flour):
    set_to(flour, 1_500)
    release_hold(Hold.objects.get().pk)

    set_to(flour, 1_800)

    assert on_hand(flour) == {"": 1_000, "after hold": 800}
