"""A posted count is undone as a whole, as long as nothing later builds on it."""

import io
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from stock.counts import counting, history
from stock.counts.errors import (
    CountStateError,
    DependedOnError,
    PlaceBeingCountedError,
    UndecidedError,
)
from stock.ledger import correcting, levels, verifying
from stock.ledger.correcting import OnHandRow
from stock.models import Count, CountResult, Movement
from stock.moving.moving import MoveEntry, move_stock
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item
from tests.stock import counts

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=3)


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf, on_hand_base=9_000)


@pytest.fixture
def curd(shelf):
    item = build.item("curd", kind="made", place=shelf)
    build.stock(item, 500, use_by=date(2026, 5, 8))
    return item


@pytest.fixture
def count(shelf, flour, curd):
    """Flour 9 kg on record and 5 kg counted; curd as on record."""
    count = counts.opened(shelf)
    counts.enter(count, flour, "5 kg")
    counts.enter(count, curd, "500 g", use_by=date(2026, 5, 8))
    counts.posted(count)
    return count


def undo(count, **fields):
    return counting.undo_post(count.pk, at=LATER, **fields)


def test_an_undone_count_leaves_the_ledger_as_it_was_before(count, flour, curd):
    before = {flour.pk: 9_000, curd.pk: 500}
    ada = build.user("ada")

    assert undo(count, by_id=ada.pk) == 1
    assert undo(count) == 0  # again is nothing

    count.refresh_from_db()
    assert (count.state, count.undone_by) == (Count.State.IN_REVIEW, ada)
    assert counts.on_hand() == before
    assert on_hand_base_by_item(at=NOON) == before
    assert levels.last_counted_at_by_item() == {flour.pk: NOON, curd.pk: NOON}
    assert not CountResult.objects.exists()
    assert history.accuracy_over_time() == []
    verdict = verifying.verify_ledger()
    assert (verdict.wrong, verdict.added_up) == ((), ())
    written = Movement.objects.filter(kind="counted").order_by("pk")
    assert [row.amount_base for row in written] == [-4_000, 4_000]


def test_what_came_after_the_posting_is_in_the_review_of_the_undone_count(
    count, shelf, flour, curd
):
    ben, loft = build.user("ben"), build.place("loft")
    sent = {
        "figure": counts.entry(count, flour, "6 kg", by=ben),
        "unread": counts.entry(count, curd, "a lot", by=ben, use_by=date(2026, 5, 8)),
        "elsewhere": counts.entry(count, flour, "1 kg", by=ben, place=loft),
    }
    for each in sent.values():
        (answer,) = counts.take(each)
        assert answer.state == "kept"
    undo(count)
    undo(count)

    seen = counting.review(count.pk)

    assert counts.conflicts(count) == ("flour",)  # 5 kg and 6 kg
    [line] = [each for row in seen.rows for each in row.lines if each.unread]
    assert [said.entry.key for said in line.unread] == [sent["unread"].key]
    assert [said.entry.key for said in seen.kept] == [sent["elsewhere"].key]
    (again,) = counts.take(sent["figure"])
    assert again.state == "taken"
    assert history.unseen_late() == []
    with pytest.raises(UndecidedError):
        counting.post_count(count.pk, at=LATER)


def test_an_undone_count_is_posted_again_with_another_figure(count, flour):
    undo(count)
    counts.enter(count, flour, "6 kg")

    assert counts.posted(count) == 1
    assert counts.on_hand()[flour.pk] == 6_000
    assert undo(count) == 1
    assert counts.on_hand()[flour.pk] == 9_000


@pytest.fixture
def sugar(shelf):
    """Never counted; a count of it, the first ever, is posted and undone below."""
    return build.item("sugar", place=shelf)


def counted_and_undone(sugar):
    count = counts.opened(sugar.place)
    counts.enter(count, sugar, "5 kg")
    counts.posted(count)
    undo(count)


def test_what_was_never_counted_before_is_never_counted_again(sugar):
    counted_and_undone(sugar)

    for _ in range(2):
        assert levels.items_on_record([sugar.pk]) == set()
        assert counts.on_hand() == {}
        assert on_hand_base_by_item(at=LATER) == {}
        verifying.rebuild()
    assert verifying.verify_ledger() == verifying.Verdict(movements=2, balances=0)


@pytest.mark.parametrize("said", ["before", "after"])
def test_none_said_by_hand_outlasts_a_count_that_is_undone(sugar, said):
    none = OnHandRow(sugar.pk, sugar.place.pk, 0)
    if said == "before":
        correcting.set_on_hand(none, at=NOON)
    counted_and_undone(sugar)
    if said == "after":
        correcting.set_on_hand(none)

    for _ in range(2):
        assert levels.items_on_record([sugar.pk]) == {sugar.pk}
        assert counts.on_hand() == {sugar.pk: 0}
        verifying.rebuild()


def test_what_another_count_found_stays_on_record(sugar):
    first = counts.opened(sugar.place)
    counts.enter(first, sugar, "none")
    counts.posted(first)
    second = counts.opened(sugar.place, counted_at=NOON + timedelta(minutes=30))
    counts.enter(second, sugar, "5 kg")
    counts.posted(second)

    undo(second)

    assert levels.items_on_record([sugar.pk]) == {sugar.pk}
    assert counts.on_hand() == {sugar.pk: 0}


def test_what_came_and_was_used_since_stays(count, flour):
    build.stock(flour, 2_000, at=LATER, kind="received")
    build.stock(flour, -1_000, at=LATER, kind="used")

    undo(count)

    assert counts.on_hand()[flour.pk] == 10_000


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ("corrected", "flour in walk-in was set by hand since"),
        ("confirmed", "flour in walk-in was set by hand since"),
        ("confirmed by a workbook", "flour in walk-in was set from a workbook since"),
        ("counted", "flour in walk-in was counted since"),
        ("as on record", "flour in walk-in was counted since"),
        ("used", "flour in walk-in was used since from what the count found"),
        ("moved", "flour in walk-in was moved since from what the count found"),
    ],
)
def test_what_builds_on_a_count_keeps_it_from_being_undone(shelf, flour, what, words):
    count = counts.opened(shelf)
    counts.enter(count, flour, "12 kg")
    counts.posted(count)
    if what == "corrected":
        correcting.set_on_hand(OnHandRow(flour.pk, shelf.pk, 11_000))
    elif what == "confirmed":
        assert correcting.set_on_hand(OnHandRow(flour.pk, shelf.pk, 12_000)) is None
    elif what == "confirmed by a workbook":
        as_counted = OnHandRow(flour.pk, shelf.pk, 12_000)
        correcting.set_on_hand(as_counted, at=NOON, kind=Movement.Kind.IMPORTED)
    elif what == "used":
        build.stock(flour, -10_000, at=LATER, kind="used")
    elif what == "moved":
        rack = build.place("rack")
        move = MoveEntry(flour.pk, shelf.pk, rack.pk, Decimal(10_000))
        move_stock(move, key="k")
    else:
        again = counts.opened(shelf, counted_at=NOON + timedelta(minutes=30))
        said = "12 kg" if what == "as on record" else "11 kg"
        counts.enter(again, flour, said)
        counts.posted(again, at=LATER)
    before = counts.on_hand()

    with pytest.raises(DependedOnError) as refused:
        undo(count)

    assert str(refused.value) == (
        f"Count {count.pk} cannot be undone: {words}. Set what is wrong by hand, or "
        "count it again."
    )
    assert counts.on_hand() == before
    assert Count.objects.get(pk=count.pk).state == Count.State.POSTED


@pytest.mark.parametrize("said", ["11 kg", "12 kg"])
def test_a_later_count_that_was_undone_keeps_nothing(shelf, flour, said):
    first = counts.opened(shelf)
    counts.enter(first, flour, "12 kg")
    counts.posted(first)
    again = counts.opened(shelf, counted_at=NOON + timedelta(minutes=30))
    counts.enter(again, flour, said)
    counts.posted(again, at=LATER)
    undo(again)
    counting.discard(again.pk, at=LATER)

    assert undo(first) == 1
    assert counts.on_hand()[flour.pk] == 9_000


def test_what_was_on_record_before_may_be_used_to_the_last_gram(shelf, flour):
    # 9 kg on record, 12 kg counted: the 3 kg that are left are those it found.
    count = counts.opened(shelf)
    counts.enter(count, flour, "12 kg")
    counts.posted(count)
    build.stock(flour, -9_000, at=LATER, kind="used")

    assert undo(count) == 1
    assert counts.on_hand()[flour.pk] == 0


def test_what_was_set_as_of_the_counts_own_moment_builds_on_it(count, flour):
    build.stock(flour, 500, at=count.counted_at, kind="imported")

    with pytest.raises(DependedOnError, match="set from a workbook since"):
        undo(count)


def test_what_was_confirmed_before_a_count_does_not_keep_it(shelf, flour):
    correcting.set_on_hand(OnHandRow(flour.pk, shelf.pk, 9_000), at=NOON)
    count = counts.opened(shelf)
    counts.enter(count, flour, "5 kg")
    counts.posted(count)

    assert undo(count) == 1
    assert levels.last_counted_at_by_item()[flour.pk] == NOON


def test_what_was_confirmed_of_an_earlier_moment_does_not_keep_it(shelf, flour):
    count = counts.opened(shelf, counted_at=NOON + timedelta(hours=1))
    counts.enter(count, flour, "5 kg")
    counts.posted(count)
    correcting.set_on_hand(OnHandRow(flour.pk, shelf.pk, 9_000), at=NOON)

    assert undo(count) == 1


def test_what_was_set_on_another_shelf_does_not_matter(count, flour):
    rack = build.place("rack")
    correcting.set_on_hand(OnHandRow(flour.pk, rack.pk, 11_000))

    assert undo(count) == 1


def test_a_place_that_is_being_counted_again_keeps_the_count(count, shelf):
    again = counts.opened(shelf, counted_at=NOON + timedelta(minutes=30))

    with pytest.raises(PlaceBeingCountedError, match=f"in count {again.pk}"):
        undo(count)


def test_only_the_posting_that_one_saw_is_undone(count, flour):
    count.refresh_from_db()
    seen = count.closed_at
    undo(count)
    counts.posted(count, at=LATER)

    with pytest.raises(CountStateError, match="posted again since you looked"):
        undo(count, posted_at=seen)


def test_a_count_that_was_never_posted_cannot_be_undone(shelf, flour):
    count = counts.opened(shelf)

    with pytest.raises(CountStateError, match="Only a posted count can be undone"):
        undo(count)


def test_the_command_undoes_and_says_what_keeps_it(count, flour, shelf):
    out = io.StringIO()

    call_command("post_count", "--count", str(count.pk), "--undo", stdout=out)

    assert out.getvalue() == f"Count {count.pk} is undone. Lines as before: 1.\n"
    counts.posted(count)
    correcting.set_on_hand(OnHandRow(flour.pk, shelf.pk, 11_000))
    with pytest.raises(CommandError, match="was set by hand since"):
        call_command("post_count", "--count", str(count.pk), "--undo")
