"""Entries of a count: as they are understood, for what has changed meanwhile."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from stock.counts import counting
from stock.counts.counting import AnswerState
from stock.models import CountEntry
from tests import build
from tests.build import NOON
from tests.stock import counts

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf, own_units="scoop = 1 lb")


@pytest.fixture
def count(shelf):
    return counts.opened(shelf)


def test_an_entry_is_taken_and_echoed_in_the_items_words(count, flour):
    answer = counts.enter(count, flour, "3s")

    assert answer.state is AnswerState.TAKEN
    assert answer.sentence == "flour: 3 lb."
    assert counts.amount(count, flour) == Decimal("1360.7771")


def test_a_blank_entry_takes_the_line_back(count, flour):
    counts.enter(count, flour, "3 kg")

    answer = counts.enter(count, flour, "")

    assert (answer.state, answer.sentence) == ("taken", "Not counted.")
    assert counts.amount(count, flour) is None


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
    assert counts.amount(count, flour) == 3_000


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
    assert counts.amount(count, flour) == 3_000


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
