"""Two people count one line: whether they agree, and who decides."""

from datetime import timedelta
from decimal import Decimal

import pytest

from stock.counts import counting
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


@pytest.mark.parametrize(
    ("hers", "his", "is_conflict"),
    [
        # 8 kg are 17.637 lb, 1 lb being 453.59237 g exactly.
        ("8 kg", "17.6 lb", False),  # 7983.2 g: 0.21 in a hundred
        ("8 kg", "17.55 lb", False),  # 7960.5 g: 0.49 in a hundred
        ("8 kg", "17.5 lb", True),  # 7937.9 g: 0.78 in a hundred
        ("8 kg", "8.02 kg", True),  # in one unit a figure is what it says
    ],
)
def test_nearly_the_same_in_other_units_is_one_figure(shelf, hers, his, is_conflict):
    flour = build.item("flour", place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, flour, hers, by=build.user("ada"))
    counts.enter(count, flour, his, by=build.user("bo"))

    assert bool(counts.conflicts(count)) is is_conflict


def test_one_egg_more_is_another_figure_in_whatever_words(shelf):
    eggs = build.item("eggs", measure="count", place=shelf)
    count = counts.opened(shelf)
    counts.enter(count, eggs, "25 dozen", by=build.user("ada"))  # 300
    counts.enter(count, eggs, "301 each", by=build.user("bo"))

    assert counts.conflicts(count) == ("eggs",)


def test_one_person_on_two_phones_in_two_units_is_one_figure(shelf):
    flour = build.item("flour", place=shelf)
    count = counts.opened(shelf)
    ada = build.user("ada")
    counts.enter(count, flour, "8 kg", by=ada)
    counts.enter(count, flour, "17.6 lb", by=ada, device="tablet")

    assert counts.conflicts(count) == ()


def test_one_person_on_two_phones_is_told_of_the_other_phone(shelf):
    flour = build.item("flour", place=shelf)
    count = counts.opened(shelf)
    ada = build.user("ada")
    counts.enter(count, flour, "8 kg", by=ada)

    answer = counts.enter(count, flour, "9 kg", by=ada, device="tablet")

    assert answer.sentence.endswith(
        "Another phone of yours has another figure; the review decides."
    )
