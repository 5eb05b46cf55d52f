"""Many counters at once, and sends in every order: none lost, none doubled."""

from datetime import timedelta
from decimal import Decimal
from uuid import UUID

import pytest
from django.db import transaction
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from stock.counts import counting
from stock.counts.devices import DeviceReport, TypedIn, hear
from stock.counts.errors import PlaceBeingCountedError
from stock.counts.lines import EntryIn, LineKey, standings
from stock.ledger.verifying import verify_ledger
from stock.models import Count, CountDevice, CountEntry, CountTyped, Movement
from tests import build
from tests.build import NOON
from tests.stock import counts

SENDERS, LINES = 20, 60
# Who holds which device.
DEVICES = {"ada's phone": "ada", "ada's tablet": "ada", "bo's phone": "bo"}
ITEMS = 3


@pytest.mark.django_db(transaction=True)
def test_twenty_counters_send_sixty_entries_each_at_once(at_once):
    shelf = build.place()
    items = [build.item(f"item {number}", place=shelf) for number in range(LINES)]
    count = counts.opened(shelf)
    people = [build.user(f"counter {number}") for number in range(SENDERS)]
    entries = {
        person.pk: [
            counts.entry(count, item, f"{3 + at} g", by=person, device=person.username)
            for at, item in enumerate(items)
        ]
        for person in people
    }
    answers = {}

    def send(person):
        def job(number):
            answers[person.pk, number] = counts.take(*entries[person.pk])

        return job

    # Each sends all of it twice, as a phone does that missed the answer.
    at_once(*(send(person) for person in people), times=2)

    assert CountEntry.objects.count() == SENDERS * LINES
    assert CountEntry.objects.values("key").distinct().count() == SENDERS * LINES
    states = {answer.state for of in answers.values() for answer in of}
    assert states == {"taken"}
    # All agree on each line, so each line is what each of them said.
    assert sum(counts.counted(count).values()) == sum(3 + at for at in range(LINES))


@pytest.mark.django_db(transaction=True)
def test_an_entry_that_comes_while_the_count_is_posted_is_in_it_or_kept(at_once):
    shelf = build.place()
    items = [build.item(f"item {number}", place=shelf) for number in range(30)]
    count = counts.opened(shelf)
    counts.enter(count, items[0], "1 g")
    counting.send_to_review(count.pk)
    entries = [counts.entry(count, item, "5 g") for item in items[1:]]

    at_once(
        lambda number: counts.take(entries[number]),
        lambda number: counting.post_count(count.pk, at=NOON + timedelta(hours=1)),
        times=len(entries),
    )

    taken = CountEntry.objects.filter(kept="").count()
    kept = CountEntry.objects.filter(kept="posted").count()
    assert taken + kept == len(items)
    moved = Movement.objects.filter(kind=Movement.Kind.COUNTED).count()
    assert moved == taken
    assert verify_ledger().is_whole


@pytest.mark.django_db(transaction=True)
def test_of_two_counts_opened_for_one_place_at_once_one_is_refused(at_once):
    shelf = build.place()
    refused = []

    def open_one(_):
        try:
            counts.opened(shelf)
        except PlaceBeingCountedError as error:
            refused.append(str(error))

    at_once(open_one, open_one, open_one, times=1)

    assert Count.objects.count() == 1
    assert len(refused) == 2


class Sending(RuleBasedStateMachine):
    """Two people with three devices count three lines and send as they please."""

    @initialize()
    def open(self):
        self.before = transaction.savepoint()
        shelf = build.place()
        self.items = [build.item(place=shelf) for _ in range(ITEMS)]
        self.people = {name: build.user(build._a_name(name)) for name in ("ada", "bo")}
        self.count = counts.opened(shelf)
        self.shelf = shelf
        self.minutes = 0
        self.typed = []  # every entry, in the order in which it was typed
        self.waiting = {device: [] for device in DEVICES}
        self.sent = []
        self.last_by_bo = {}

    @rule(
        device=st.sampled_from(sorted(DEVICES)),
        item=st.integers(0, ITEMS - 1),
        grams=st.one_of(st.none(), st.integers(0, 3)),
        has_seen=st.booleans(),
        minutes_off=st.sampled_from([-60, 0, 0, 60]),  # clocks are set while counting
        minutes_later=st.integers(0, 1),
    )
    def type_an_entry(self, device, item, grams, has_seen, minutes_off, minutes_later):
        person = DEVICES[device]
        self.minutes += minutes_later
        row = self.items[item]
        known = [
            entry.key
            for entry in self.typed
            if entry.item_id == row.pk and DEVICES[entry.device] == person
        ]
        entry = EntryIn(
            key=UUID(int=len(self.typed) * 7919 % 104729 + 1, version=4),
            count_id=self.count.pk,
            place_id=self.shelf.pk,
            item_id=row.pk,
            text="" if grams is None else f"{grams} g",
            entered_at=NOON + timedelta(minutes=self.minutes + minutes_off),
            by_id=self.people[person].pk,
            device=device,
            sequence=len(self.typed),
            supersedes=known[-1] if known and has_seen else None,
        )
        self.typed.append(entry)
        self.waiting[device].append(entry)
        if person == "bo":
            self.last_by_bo[row.pk] = None if grams is None else Decimal(grams)

    @rule(device=st.sampled_from(sorted(DEVICES)), data=st.data())
    def send_some_of_it(self, device, data):
        some = data.draw(
            st.lists(st.sampled_from(self.waiting[device]), max_size=6)
            if self.waiting[device]
            else st.just([])
        )
        again = data.draw(
            st.lists(st.sampled_from(self.sent), max_size=3)
            if self.sent
            else st.just([])
        )
        answers = counts.take(*some, *again)
        assert {answer.state for answer in answers} <= {"taken", "replaced"}
        self.sent += some

    @invariant()
    def what_arrived_is_stored_once(self):
        arrived = {entry.key for entry in self.sent}
        stored = CountEntry.objects.filter(count=self.count)
        assert sorted(stored.values_list("key", flat=True)) == sorted(arrived)

    def teardown(self):
        try:
            self._end()
        finally:
            transaction.savepoint_rollback(self.before)

    def _end(self):
        for device in sorted(DEVICES, reverse=True):
            counts.take(*reversed(self.waiting[device]))
        stored = list(CountEntry.objects.filter(count=self.count))
        assert len(stored) == len(self.typed)
        as_sent = {line: _figures(of) for line, of in standings(stored).items()}
        by_key = {row.key: row for row in stored}
        in_order = [by_key[entry.key] for entry in self.typed]
        for number, row in enumerate(in_order, 1):
            row.pk = number  # as if they had come in the order of typing
        as_typed = {line: _figures(of) for line, of in standings(in_order).items()}
        assert as_sent == as_typed
        self._bo_has_one_phone_and_his_last_entry_stands(as_sent)

    def _bo_has_one_phone_and_his_last_entry_stands(self, as_sent):
        bo = self.people["bo"].pk
        for item_id, grams in self.last_by_bo.items():
            _, figures = as_sent[LineKey(self.shelf.pk, item_id)]
            of_bo = [amount for by_id, amount in figures if by_id == bo]
            assert of_bo == ([] if grams is None else [grams])


def _figures(standing):
    said = [(entry.by_id, entry.amount_base) for entry in standing.entries]
    return standing.counted_base, sorted(said)


@pytest.mark.django_db
def test_any_order_and_repetition_of_sends_ends_in_the_same_count():
    run_state_machine_as_test(
        Sending,
        settings=settings(max_examples=40, stateful_step_count=20, deadline=None),
    )


@pytest.mark.django_db(transaction=True)
def test_a_phone_that_reports_from_several_tabs_at_once_stands_as_it_said_last(at_once):
    shelf = build.place()
    item = build.item("flour", place=shelf)
    count, ada = counts.opened(shelf), build.user("ada")

    def report(first):
        def job(number):
            said = DeviceReport(
                count_id=count.pk,
                device="phone",
                number=first + 4 * number,
                is_open=True,
                waiting=first + 4 * number,
                typed=(TypedIn(shelf.pk, item.pk, f"{first + 4 * number} of"),),
            )
            hear([said], by_id=ada.pk, at=NOON)

        return job

    # Four tabs draw the numbers 1 to 20 between them.
    at_once(*(report(first) for first in (1, 2, 3, 4)), times=5)

    device = CountDevice.objects.get()
    assert (device.number, device.waiting) == (20, 20)
    assert CountTyped.objects.get().text == "20 of"
