"""Entries of several phones and people: repeated, late, out of order."""

from datetime import timedelta
from uuid import uuid4

import pytest

from stock.counts import counting
from stock.counts.counting import AnswerState
from stock.models import CountEntry
from tests import build
from tests.build import NOON
from tests.stock import counts

pytestmark = pytest.mark.django_db


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf, own_units="scoop = 1 lb")


@pytest.fixture
def count(shelf):
    return counts.opened(shelf)


def test_a_repeat_is_not_counted_twice_and_answered_as_the_entry_stands(count, flour):
    first = counts.entry(count, flour, "3 kg")
    second = counts.entry(count, flour, "4 kg")

    counts.take(first)
    counts.take(second)
    again = counts.take(first, second, first)

    assert [answer.state for answer in again] == ["replaced", "taken", "replaced"]
    assert again[0].sentence.startswith("Replaced by a newer entry: ")
    assert CountEntry.objects.count() == 2
    assert counts.amount(count, flour) == 4_000


def test_entries_that_arrive_out_of_order_end_with_the_newest(count, flour):
    first = counts.entry(count, flour, "3 kg")
    second = counts.entry(count, flour, "4 kg")

    late, early = counts.take(second)[0], counts.take(first)[0]

    assert (late.state, early.state) == ("taken", "replaced")
    assert counts.amount(count, flour) == 4_000


def test_a_devices_running_number_counts_and_its_clock_does_not(count, flour):
    first = counts.entry(count, flour, "3 kg", after_minutes=90, sequence=1)
    second = counts.entry(count, flour, "4 kg", after_minutes=30, sequence=2)

    counts.take(second, first)

    assert counts.amount(count, flour) == 4_000


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
    assert counts.amount(count, flour) == 4_000


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
    assert counts.amount(count, flour) == 4_000


def minutes(number):
    return NOON + timedelta(minutes=number)


def test_a_clock_that_runs_ahead_beats_nothing_that_came_later(count, flour):
    ada, year = build.user("ada"), 365 * 24 * 60
    counts.enter(count, flour, "3 kg", by=ada, after_minutes=year, at=minutes(10))
    counts.enter(count, flour, "4 kg", by=ada, after_minutes=190, device="tablet")

    assert counts.conflicts(count) == ()
    assert counts.amount(count, flour) == 4_000


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


def test_another_entry_under_the_same_key_is_refused(count, flour):
    key = uuid4()
    counts.enter(count, flour, "3 kg", key=key)

    answer = counts.enter(count, flour, "5 kg", key=key)

    assert answer.state is AnswerState.REFUSED
    assert answer.sentence.endswith("Type this one again.")
    assert counts.amount(count, flour) == 3_000


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
    assert counts.amount(count, flour) is None
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
    assert counts.amount(count, flour) == 3_000
    assert CountEntry.objects.filter(kept="apart").count() == 1
    assert counting.review(count.pk).kept == ()


def test_a_claim_does_not_touch_what_its_sender_counted(count, flour):
    ada, bo = build.user("ada"), build.user("bo")
    own = counts.entry(count, flour, "4 kg", by=bo)
    claimed = counts.entry(count, flour, "3 kg", by=ada, supersedes=own.key)

    counts.take(own, claimed, sent_by=bo)

    assert counts.amount(count, flour) == 4_000


def test_the_claim_of_somebody_unknown_is_kept_apart_too(count, flour):
    bo = build.user("bo")
    entry = counts.entry(count, flour, "3 kg", by_id=bo.pk + 1_000)

    (answer,) = counts.take(entry, sent_by=bo)

    assert answer.state is AnswerState.APART
    assert "entered by somebody else" in answer.sentence
