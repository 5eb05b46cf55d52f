"""Two people count one line: whether they agree, and who decides."""

from datetime import timedelta
from decimal import Decimal

import pytest

from stock import counting
from stock.counts.errors import UndecidedError
from stock.models import CountEntry
from tests import build
from tests.build import NOON
from tests.stock import counts
from tests.stock.counts import on_hand

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)


def test_two_people_who_differ_are_to_be_decided_first(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    ada, bo = build.user("ada"), build.user("bo")
    count = counts.opened(shelf)
    counts.enter(count, flour, "8 kg", by=ada)
    counts.enter(count, flour, "1 kg", by=bo)

    with pytest.raises(UndecidedError, match="different figures: flour"):
        counts.posted(count)

    line = counting.LineKey(shelf.pk, flour.pk)
    counting.decide(count.pk, line, "sum", at=LATER)
    counts.posted(count)
    assert on_hand() == {flour.pk: Decimal(9_000)}


def test_one_of_two_entries_can_be_chosen(shelf):
    flour = build.item("flour", on_hand_base=9_000, place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "8 kg", by=build.user("ada"))
    counts.enter(count, flour, "1 kg", by=build.user("bo"))
    chosen = CountEntry.objects.get(text="8 kg")

    line = counting.LineKey(shelf.pk, flour.pk)
    counting.decide(count.pk, line, "one", entry_id=chosen.pk, at=LATER)

    counts.posted(count)
    assert on_hand() == {flour.pk: Decimal(8_000)}


def test_an_entry_after_the_decision_asks_again(shelf):
    flour = build.item("flour", place=shelf)
    ada, bo = build.user("ada"), build.user("bo")
    count = counts.opened(shelf)
    counts.enter(count, flour, "8 kg", by=ada)
    counts.enter(count, flour, "1 kg", by=bo)
    line = counting.LineKey(shelf.pk, flour.pk)
    counting.decide(count.pk, line, "sum", at=LATER)

    counts.enter(count, flour, "2 kg", by=bo)

    with pytest.raises(UndecidedError):
        counts.posted(count)


def test_two_people_who_agree_are_no_conflict(shelf):
    flour = build.item("flour", place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, "8 kg", by=build.user("ada"))
    counts.enter(count, flour, "8000 g", by=build.user("bo"))

    counts.posted(count)

    assert on_hand() == {flour.pk: Decimal(8_000)}
