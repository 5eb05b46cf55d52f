"""Entries from phones: repeated, late, out of order, for what has changed meanwhile."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from stock.counts import counting
from stock.counts.counting import AnswerState
from stock.models import CountEntry
from tests import build
from tests.build import NOON
from tests.stock import counts

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)
LB_G = Decimal("453.5924")


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf, own_units="scoop = 1 lb")


@pytest.fixture
def count(shelf):
    return counts.opened(shelf)


def amount(count, item):
    return counts.counted(count).get((item.place_id, item.pk))


def test_an_entry_is_taken_and_echoed_in_the_items_words(count, flour):
    answer = counts.enter(count, flour, "3s")

    assert answer.state is AnswerState.TAKEN
    assert answer.sentence == "flour: 3 lb."
    assert amount(count, flour) == Decimal("1360.7771")


def test_a_repeat_is_not_counted_twice_and_answered_as_the_entry_stands(count, flour):
    first = counts.entry(count, flour, "3 kg")
    second = counts.entry(count, flour, "4 kg")

    counts.take(first)
    counts.take(second)
    again = counts.take(first, second, first)

    assert [answer.state for answer in again] == ["replaced", "taken", "replaced"]
    assert again[0].sentence.startswith("Replaced by a newer entry: ")
    assert CountEntry.objects.count() == 2
    assert amount(count, flour) == 4_000


def test_entries_that_arrive_out_of_order_end_with_the_newest(count, flour):
    first = counts.entry(count, flour, "3 kg")
    second = counts.entry(count, flour, "4 kg")

    late, early = counts.take(second)[0], counts.take(first)[0]

    assert (late.state, early.state) == ("taken", "replaced")
    assert amount(count, flour) == 4_000


def test_a_devices_running_number_counts_and_its_clock_does_not(count, flour):
    first = counts.entry(count, flour, "3 kg", after_minutes=90, sequence=1)
    second = counts.entry(count, flour, "4 kg", after_minutes=30, sequence=2)

    counts.take(second, first)

    assert amount(count, flour) == 4_000


def test_another_device_of_the_same_person_replaces_what_it_saw(count, flour):
    ada = build.user("ada")
    phone = counts.entry(count, flour, "3 kg", by=ada, after_minutes=90)
    tablet = counts.entry(
        count,
        flour,
        "4 kg",
        by=ada,
        after_minutes=30,  # its clock is an hour behind
        device="tablet",
        supersedes=phone.key,
    )

    counts.take(tablet)
    (answer,) = counts.take(phone)

    assert answer.state is AnswerState.REPLACED
    assert amount(count, flour) == 4_000


def test_two_devices_that_knew_nothing_of_each_other_are_shown(count, flour):
    ada = build.user("ada")
    counts.enter(count, flour, "3 kg", by=ada, after_minutes=30)
    counts.enter(count, flour, "4 kg", by=ada, after_minutes=50, device="tablet")

    assert counts.conflicts(count) == ("flour",)


def test_on_two_devices_hours_apart_the_later_one_stands(count, flour):
    ada = build.user("ada")
    counts.enter(count, flour, "3 kg", by=ada, after_minutes=10)
    counts.enter(count, flour, "4 kg", by=ada, after_minutes=190, device="tablet")

    assert counts.conflicts(count) == ()
    assert amount(count, flour) == 4_000


def minutes(number):
    return NOON + timedelta(minutes=number)


def test_a_clock_that_runs_ahead_beats_nothing_that_came_later(count, flour):
    ada, year = build.user("ada"), 365 * 24 * 60
    counts.enter(count, flour, "3 kg", by=ada, after_minutes=year, at=minutes(10))
    counts.enter(count, flour, "4 kg", by=ada, after_minutes=190, device="tablet")

    assert counts.conflicts(count) == ()
    assert amount(count, flour) == 4_000


def test_what_a_clock_ahead_says_late_is_no_newer_than_another_figure(count, flour):
    # It came last, from a clock that is a day ahead: it may be from long before.
    ada, day = build.user("ada"), 24 * 60
    counts.enter(count, flour, "4 kg", by=ada, after_minutes=190, device="tablet")
    counts.enter(count, flour, "3 kg", by=ada, after_minutes=day, at=minutes(400))

    assert counts.conflicts(count) == ("flour",)


def test_a_clock_that_runs_behind_loses_nothing_that_came_later(count, flour):
    # Entered and sent after 300 minutes, on a clock that is five hours behind.
    ada = build.user("ada")
    counts.enter(count, flour, "3 kg", by=ada, after_minutes=170, device="tablet")
    counts.enter(count, flour, "4 kg", by=ada, after_minutes=0, at=minutes(300))

    assert counts.conflicts(count) == ("flour",)


def test_what_waited_on_a_phone_is_asked_about_beside_a_later_figure(count, flour):
    # With no signal until the evening: a clock cannot show that it was earlier.
    ada = build.user("ada")
    counts.enter(count, flour, "4 kg", by=ada, after_minutes=190, device="tablet")
    counts.enter(count, flour, "3 kg", by=ada, after_minutes=10, at=minutes(500))

    assert counts.conflicts(count) == ("flour",)


def test_two_people_on_one_line_are_told_of_each_other(count, flour):
    counts.enter(count, flour, "3 kg", by=build.user("ada"))

    answer = counts.enter(count, flour, "4 kg", by=build.user("bo"))

    assert answer.state is AnswerState.TAKEN
    assert answer.sentence.endswith(
        "Somebody else has another figure; the review decides."
    )


def test_a_blank_entry_takes_the_line_back(count, flour):
    counts.enter(count, flour, "3 kg")

    answer = counts.enter(count, flour, "")

    assert (answer.state, answer.sentence) == ("taken", "Not counted.")
    assert amount(count, flour) is None


@pytest.mark.parametrize(
    ("end", "advice"),
    [
        (counts.posted, "correct it by hand"),
        (
            lambda count: counting.discard(count.pk, at=LATER),
            "enter it in the next count",
        ),
    ],
)
def test_an_entry_after_the_end_is_kept_with_what_to_do(count, flour, end, advice):
    counts.enter(count, flour, "3 kg")
    end(count)
    late = counts.entry(count, flour, "4 kg")

    first, again = counts.take(late)[0], counts.take(late)[0]

    assert first.state == again.state == AnswerState.KEPT
    assert advice in first.sentence
    assert first.sentence == again.sentence
    assert CountEntry.objects.get(key=late.key).amount_base == 4_000
    assert [said.entry.key for said in counting.review(count.pk).kept] == [late.key]


def test_an_entry_during_the_review_is_taken(count, flour):
    counting.send_to_review(count.pk)

    assert counts.enter(count, flour, "3 kg").state is AnswerState.TAKEN


def test_an_entry_for_a_place_that_the_count_does_not_walk_is_kept(count, flour):
    rack = build.place("rack")

    answer = counts.enter(count, flour, "3 kg", place=rack)

    assert answer.state is AnswerState.KEPT
    assert "does not walk rack" in answer.sentence
    assert counts.counted(count) == {}


def test_an_item_retired_meanwhile_is_taken_with_a_word(count, flour):
    flour.retired = True
    flour.save()

    answer = counts.enter(count, flour, "3 kg")

    assert answer.state is AnswerState.TAKEN
    assert "It is retired" in answer.sentence
    assert amount(count, flour) == 3_000


def test_a_pack_redefined_meanwhile_stays_as_it_was_understood(count, flour):
    supplier = build.supplier()
    build.pack(flour, supplier, called="bag", holds="25 lb", size_base=11_339.809)

    answer = counts.enter(
        count,
        flour,
        "2 bag",
        understood_base=Decimal("45359.237"),  # bags of 50 lb
    )

    assert answer.amount_base == Decimal("45359.237")
    (row,) = counting.review(count.pk).rows
    assert row.counted_base == Decimal("45359.237")
    assert row.lines[0].said[0].remarks == (
        '"2 bag" was understood as 4 bags when it was entered; a word has changed '
        "since, and it would be 2 bags now.",
    )


def test_a_word_that_is_gone_stays_as_it_was_understood(count, flour):
    answer = counts.enter(count, flour, "2 crate", understood_base=Decimal(5_000))

    assert answer.state is AnswerState.TAKEN
    (row,) = counting.review(count.pk).rows
    assert row.counted_base == 5_000
    assert '"crate" isn\'t a unit of' in row.lines[0].said[0].remarks[0]


def test_what_nobody_can_read_is_kept_and_does_not_replace_anything(count, flour):
    counts.enter(count, flour, "3 kg")

    answer = counts.enter(count, flour, "3 crates")

    assert answer.state is AnswerState.KEPT
    assert '"crates" isn\'t a unit of flour' in answer.sentence
    assert answer.sentence.endswith("It is kept as typed; type the line again.")
    assert amount(count, flour) == 3_000


@pytest.mark.parametrize("text", ["99999999999 kg", "9" * 300, "999999999 kg"])
def test_more_than_any_bakery_holds_is_kept_with_a_sentence(count, flour, text):
    answer = counts.enter(count, flour, text)

    assert answer.state is AnswerState.KEPT
    assert answer.amount_base is None


@pytest.mark.parametrize("nonsense", [Decimal("NaN"), Decimal(-5), Decimal(10) ** 15])
def test_a_device_that_understood_nonsense_is_not_believed(count, flour, nonsense):
    answer = counts.enter(count, flour, "3 kg", understood_base=nonsense)

    assert answer.amount_base == 3_000


def test_a_devices_rounding_is_not_another_figure(count, flour):
    answer = counts.enter(
        count, flour, "3 scoop", understood_base=Decimal("1360.77711000001")
    )

    assert answer.amount_base == Decimal("1360.7771")


def test_what_a_device_understood_a_hundredth_off_is_its_own_figure(count, flour):
    # The word came to mean something else since: the counter saw 3.02 kg echoed.
    answer = counts.enter(count, flour, "3 kg", understood_base=Decimal(3_020))

    assert answer.amount_base == 3_020


def test_a_thousand_times_too_much_is_taken_and_asked_about(count, flour):
    build.stock(flour, 3_000, at=NOON - timedelta(days=1))

    answer = counts.enter(count, flour, "3000 kg")

    assert answer.state is AnswerState.TAKEN
    assert answer.slip.instead.text == "3000 g"
    assert counting.review(count.pk).rows[0].lines[0].slip == answer.slip


def test_what_its_counter_has_confirmed_is_not_asked_again(count, flour):
    build.stock(flour, 3_000, at=NOON - timedelta(days=1))
    counts.enter(count, flour, "3000 kg", asked="pack")

    answer = counts.enter(count, flour, "3000 kg", asked="pack", confirmed=True)

    assert answer.slip is None
    assert counting.review(count.pk).rows[0].lines[0].slip is None


def test_unknown_counts_items_and_places_are_refused_and_nothing_else(count, flour):
    good = counts.entry(count, flour, "3 kg")
    bad = [
        counts.entry(count, flour, "3 kg", count_id=404),
        counts.entry(count, flour, "3 kg", item_id=404),
        counts.entry(count, flour, "3 kg", place_id=404),
    ]

    answers = counts.take(*bad, good)

    assert [answer.state for answer in answers] == ["refused"] * 3 + ["taken"]
    assert all(answer.sentence.endswith(".") for answer in answers)


def test_another_entry_under_the_same_key_is_refused(count, flour):
    key = uuid4()
    counts.enter(count, flour, "3 kg", key=key)

    answer = counts.enter(count, flour, "5 kg", key=key)

    assert answer.state is AnswerState.REFUSED
    assert answer.sentence.endswith("Type this one again.")
    assert amount(count, flour) == 3_000


def test_the_entry_of_a_closed_account_counts(count, flour):
    ada = build.user("ada")
    counts.take(counts.entry(count, flour, "3 kg", by=ada), sent_by=ada)

    ada.is_active = False
    ada.save()

    (row,) = counting.review(count.pk).rows
    (said,) = row.lines[0].said
    assert said.remarks == (
        "The account of ada is closed; the entry counts all the same.",
    )


def test_an_entry_sent_by_another_than_its_writer_is_kept_apart(count, flour):
    ada, bo = build.user("ada"), build.user("bo")

    (answer,) = counts.take(counts.entry(count, flour, "3 kg", by=ada), sent_by=bo)

    assert answer.state is AnswerState.APART
    assert amount(count, flour) is None
    row = CountEntry.objects.get()
    assert (row.by, row.sent_by, row.claimed_by) == (bo, bo, ada)
    (said,) = counting.review(count.pk).kept
    assert said.remarks == (
        "Entered by ada, sent by bo: not part of the count. Ask ada to sign in on "
        "that phone, or to count it again.",
    )


def test_what_another_sent_counts_once_its_writer_sends_it(count, flour):
    ada, bo = build.user("ada"), build.user("bo")
    entry = counts.entry(count, flour, "3 kg", by=ada)
    counts.take(entry, sent_by=bo)
    counts.take(entry, sent_by=bo)

    (answer,) = counts.take(entry, sent_by=ada)

    assert answer.state is AnswerState.TAKEN
    assert answer.key == entry.key
    assert amount(count, flour) == 3_000
    assert CountEntry.objects.filter(kept="apart").count() == 1
    assert counting.review(count.pk).kept == ()


def test_a_claim_does_not_touch_what_its_sender_counted(count, flour):
    ada, bo = build.user("ada"), build.user("bo")
    own = counts.entry(count, flour, "4 kg", by=bo)
    claimed = counts.entry(count, flour, "3 kg", by=ada, supersedes=own.key)

    counts.take(own, claimed, sent_by=bo)

    assert amount(count, flour) == 4_000


def test_the_claim_of_somebody_unknown_is_kept_apart_too(count, flour):
    bo = build.user("bo")
    entry = counts.entry(count, flour, "3 kg", by_id=bo.pk + 1_000)

    (answer,) = counts.take(entry, sent_by=bo)

    assert answer.state is AnswerState.APART
    assert "entered by somebody else" in answer.sentence


def test_an_item_whose_measures_are_broken_is_kept_not_lost(count, flour):
    flour.equivalents = "1 cup = 2 pint"
    flour.save()

    answer = counts.enter(count, flour, "3 kg")

    assert answer.state is AnswerState.KEPT
    assert "cannot be used" in answer.sentence


@pytest.mark.parametrize("lines", [1, 60])
def test_any_number_of_entries_takes_the_same_queries(
    shelf, django_assert_num_queries, lines
):
    items = [build.item(f"item {number}", place=shelf) for number in range(lines)]
    count = counts.opened(shelf)
    entries = [counts.entry(count, item, "3 kg") for item in items]

    with django_assert_num_queries(18):
        counts.take(*entries)


def test_an_answer_calls_pieces_by_the_item_s_own_name(shelf):
    box = build.item("cake box", measure="count", place=shelf)
    count = counts.opened(shelf)

    answer = counts.enter(count, box, "8 each")

    assert (answer.words, answer.sentence) == (
        "8 cake boxes",
        "cake box: 8 cake boxes.",
    )


@pytest.mark.parametrize("day", ["0001-01-01", "0026-12-24", "1989-12-31"])
def test_a_use_by_that_nobody_can_mean_is_refused(count, flour, day):
    use_by = date.fromisoformat(day)

    answer = counts.enter(count, flour, "4 kg", use_by=use_by)

    assert (answer.state, answer.sentence) == (
        "refused",
        f"{day} is too far away. Write a year from 1990 to 2189.",
    )
    assert not CountEntry.objects.exists()


def test_a_stored_lot_with_such_a_use_by_can_still_be_counted_away(count, flour):
    build.stock(flour, 300, use_by=date(26, 12, 24))

    answer = counts.enter(count, flour, "0", use_by=date(26, 12, 24))

    assert answer.state == "taken"
