"""Two people at one count at the same moment: the second sees what the first did."""

from contextlib import suppress
from datetime import timedelta

import pytest

from stock.counts import counting
from stock.counts.errors import CountError, DecidedSinceError
from stock.counts.lines import LineKey
from stock.ledger.verifying import verify_ledger
from stock.models import Count, CountDecision, CountEntry, Movement
from tests import build
from tests.build import NOON
from tests.stock import counts

pytestmark = pytest.mark.django_db(transaction=True)

LATER = NOON + timedelta(hours=2)
HANDS = 6


def test_of_several_who_decide_at_once_one_does_and_the_others_are_told(at_once):
    shelf = build.place()
    boards = build.item("board", measure="count", place=shelf, on_hand_base=40)
    count = counts.opened(shelf)
    people = [build.user(f"counter {number}") for number in range(HANDS)]
    for minute, person in enumerate(people):
        counts.enter(count, boards, f"{30 + minute} each", by=person)
    entries = list(CountEntry.objects.order_by("pk"))
    told = []

    def decide(entry):
        def job(number):
            try:
                counting.decide(
                    count.pk,
                    LineKey(shelf.pk, boards.pk),
                    "one",
                    at=LATER,
                    entry_id=entry.pk,
                    seen_version=0,
                )
            except DecidedSinceError as error:
                told.append(error)

        return job

    at_once(*(decide(entry) for entry in entries), times=1)

    assert len(told) == HANDS - 1
    decision = CountDecision.objects.get()
    assert decision.version == 1
    assert {error.text for error in told} == {decision.text}


def test_a_count_that_is_undone_and_posted_at_once_is_whole_either_way(at_once):
    shelf = build.place()
    flour = build.item("flour", place=shelf, on_hand_base=9_000)
    count = counts.opened(shelf)
    counts.enter(count, flour, "5 kg")
    counts.posted(count)

    def undo(number):
        with suppress(CountError):  # it was not posted just then
            counting.undo_post(count.pk, at=LATER)

    def post(number):
        counting.post_count(count.pk, at=LATER, as_entered=True)

    at_once(undo, post, undo, post, times=3)

    is_posted = Count.objects.get().state == Count.State.POSTED
    assert counts.on_hand() == {flour.pk: 5_000 if is_posted else 9_000}
    written = Movement.objects.filter(kind="counted").order_by("pk")
    changes = [row.amount_base for row in written]
    assert changes == [-4_000, 4_000] * (len(changes) // 2) + [-4_000] * is_posted
    assert not verify_ledger().wrong
