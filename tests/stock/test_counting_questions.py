"""A figure that was asked about is decided like two figures, before it is posted."""

import io
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from stock.counts import counting, history
from stock.counts.deciding import ChosenReading
from stock.counts.errors import (
    DecidedSinceError,
    LineGoneError,
    NoteChangedError,
    UndecidedError,
)
from stock.counts.lines import LineKey
from stock.models import Count, CountDecision, CountEntry
from stock.web.counts.outcome import questions_words
from tests import build
from tests.build import NOON
from tests.stock import counts
from tests.web.counts.sending import as_reviewed

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)


@pytest.fixture
def boards(shelf):
    """Forty boards on record, in packs of 25."""
    item = build.item("board", measure="count", place=shelf, on_hand_base=40)
    build.pack(item, called="pack", holds="25 each", size_base=25)
    return item


@pytest.fixture
def count(shelf, boards):
    return counts.opened(shelf)


def line_of(item):
    return LineKey(item.place.pk, item.pk)


def decide(count, item, choice, **fields):
    counting.decide(count.pk, line_of(item), choice, at=LATER, **fields)


def post(count, **fields):
    counting.send_to_review(count.pk)
    return counting.post_count(count.pk, at=LATER, **fields)


def reviewed(count):
    [row] = counting.review(count.pk).rows
    return row.lines[0]


def test_what_was_asked_and_not_answered_is_not_posted(count, boards):
    answer = counts.enter(count, boards, "37 packs")

    with pytest.raises(UndecidedError) as refused:
        post(count)

    assert answer.slip.instead.text == "37 each"
    assert refused.value.asked == ("board",)
    assert counting.review(count.pk).undecided == ("board",)
    assert counts.on_hand() == {boards.pk: 40}


@pytest.fixture
def differing(count, shelf):
    """Two people differ about the flour, and the boards are asked about too."""
    flour = build.item("flour", place=shelf)
    for name, text in (("ben", "8 kg"), ("bo", "1 kg")):
        counts.enter(count, flour, text, by=build.user(name))
    return flour


BOTH = (
    "Counted twice with different figures: flour. Asked about, and not answered yet: "
    "board. "
)


def test_all_that_is_to_be_decided_is_listed_at_once(count, boards, differing):
    counts.enter(count, boards, "37 packs")

    with pytest.raises(UndecidedError) as refused:
        post(count)

    remedy = "Decide which figure stands for each, then post."
    assert str(refused.value) == f"{BOTH}{remedy}"
    with pytest.raises(CommandError) as refused:
        call_command("post_count", stdout=io.StringIO())
    assert str(refused.value).startswith(BOTH)
    with pytest.raises(CommandError) as refused:
        call_command("post_count", "--as-entered", stdout=io.StringIO())
    assert str(refused.value) == (
        "Counted twice with different figures: flour. Choose the figures that are "
        "right in the review, or enter the right ones."
    )
    assert not CountDecision.objects.exists()


def test_the_page_lists_all_that_is_to_be_decided(signed_in, count, boards, differing):
    counts.enter(count, boards, "37 packs")
    counting.send_to_review(count.pk)

    url = f"/count/{count.pk}/post/"
    response = signed_in.post(url, as_reviewed(signed_in, count), follow=True)

    assert BOTH in response.content.decode()
    assert "Decide on flour, board first." in response.content.decode()


def test_another_reading_is_decided_for_and_the_entry_stays_as_it_was(count, boards):
    ada = build.user("ada")
    counts.enter(count, boards, "37 packs")
    [offered] = reviewed(count).readings

    reading = ChosenReading(offered.text, offered.amount_base)
    decide(
        count,
        boards,
        "read",
        entry_id=CountEntry.objects.get().pk,
        reading=reading,
        by_id=ada.pk,
    )

    assert reviewed(count).counted_base == 37
    assert post(count) == 1
    assert counts.on_hand() == {boards.pk: 37}
    assert CountEntry.objects.get().amount_base == 925


@pytest.mark.parametrize("answers", ["counter", "review", "all at once"])
def test_a_figure_that_somebody_vouches_for_is_posted(count, boards, answers):
    counts.enter(count, boards, "37 packs")
    if answers == "counter":
        counts.enter(count, boards, "37 packs", asked="pack", confirmed=True)
    elif answers == "review":
        decide(count, boards, "one", entry_id=CountEntry.objects.get().pk)

    assert post(count, as_entered=answers == "all at once") == 1
    assert counts.on_hand() == {boards.pk: 925}
    if answers == "all at once":
        decision = CountDecision.objects.get()
        assert (decision.choice, decision.amount_base) == ("one", 925)


def test_the_question_stands_on_the_sheet_until_it_is_answered(count, boards):
    ada, ben = build.user("ada"), build.user("ben")
    counts.enter(count, boards, "37 packs", by=ada)

    def asked(by):
        [line] = counting.sheet(count.pk, boards.place.pk, by_id=by.pk).lines
        return line.question and line.question.instead.text

    assert (asked(ada), asked(ben)) == ("37 each", None)
    decide(count, boards, "one", entry_id=CountEntry.objects.get().pk)
    assert asked(ada) is None


def test_the_other_place_that_is_counted_at_last_answers_the_question(shelf):
    freezer = build.place("freezer", walk_order=9)
    butter = build.item("butter", place=shelf, on_hand_base=20_000)
    build.stock(butter, 100, place=freezer)
    count = counts.opened()
    counts.enter(count, butter, "8 kg")
    assert counting.review(count.pk).undecided == ("butter",)

    counts.enter(count, butter, "12 kg", place=freezer, confirmed=True)

    kinds = [
        line.slip.kind
        for row in counting.review(count.pk).rows
        for line in row.lines
        if line.slip
    ]
    assert "place" not in kinds


def test_who_decides_second_sees_the_first_decision(count, boards):
    ada, ben = build.user("ada"), build.user("ben")
    counts.enter(count, boards, "37 packs")
    entry_id = CountEntry.objects.get().pk
    seen = {"seen_version": 0, "entry_id": entry_id}
    decide(count, boards, "one", by_id=ada.pk, **seen)

    with pytest.raises(DecidedSinceError) as refused:
        decide(
            count,
            boards,
            "read",
            reading=ChosenReading("37 each", Decimal(37)),
            by_id=ben.pk,
            **seen,
        )

    assert str(refused.value) == (
        'ada chose "37 packs" while you were looking. Look at the line again, then '
        "decide."
    )
    decide(count, boards, "one", by_id=ada.pk, **seen)  # the same again is one
    assert CountDecision.objects.get().version == 1
    decide(count, boards, "", seen_version=1)
    assert counting.review(count.pk).undecided == ("board",)


@pytest.mark.parametrize(
    ("decided", "entered", "amounts"),
    [("one", "37", {925, 37}), ("read", "37 packs", {37, 925})],
)
def test_the_counter_and_the_reviewer_who_answer_at_once_are_both_seen(
    count, boards, decided, entered, amounts
):
    counts.enter(count, boards, "37 packs")
    entry_id = CountEntry.objects.get().pk
    reading = ChosenReading("37 each", Decimal(37)) if decided == "read" else None
    decide(count, boards, decided, entry_id=entry_id, reading=reading)
    text = entered if "pack" in entered else f"{entered} each"
    counts.enter(count, boards, text, asked="pack", confirmed=True)

    line = reviewed(count)

    assert line.is_conflict
    [was] = line.readings
    assert {was.amount_base, line.said[-1].entry.amount_base} == amounts
    entry_id = line.said[-1].entry.pk
    decide(count, boards, "one", entry_id=entry_id, seen_version=1)
    assert counting.review(count.pk).undecided == ()


@pytest.mark.parametrize(
    ("choice", "came_to"), [("one", (1, 1, 0)), ("read", (1, 0, 1))]
)
def test_what_the_review_answered_is_told_after_posting(count, boards, choice, came_to):
    counts.enter(count, boards, "37 packs", asked="pack")
    reading = ChosenReading("37 each", Decimal(37)) if choice == "read" else None
    decide(count, boards, choice, entry_id=CountEntry.objects.get().pk, reading=reading)
    post(count)

    asked = history.outcome(count.pk).questions

    assert (asked.asked, asked.confirmed, asked.corrected) == came_to


@pytest.mark.parametrize(
    ("said", "came_to"),
    [
        ([("37 packs", "pack", False), ("37 packs", "pack", True)], (1, 1, 0)),
        ([("37 packs", "pack", False), ("37 each", "", False)], (1, 0, 1)),
        # Counted again before anything was asked: only what follows answers.
        (
            [
                ("38 each", "", False),
                ("37 packs", "pack", False),
                ("37 packs", "pack", True),
            ],
            (1, 1, 0),
        ),
        # Posted as entered: the review answered that it is so.
        ([("38 each", "", False), ("37 packs", "pack", False)], (1, 1, 0)),
        # What was corrected may be asked about too: the slip was a slip.
        (
            [
                ("37 packs", "pack", False),
                ("900 each", "far", False),
                ("900 each", "far", True),
            ],
            (1, 0, 1),
        ),
        # And back: it was so after all.
        (
            [
                ("37 packs", "pack", False),
                ("900 each", "far", False),
                ("37 packs", "pack", True),
            ],
            (1, 1, 0),
        ),
    ],
)
def test_an_answer_is_told_by_what_became_of_the_figure_asked_about(
    count, boards, said, came_to
):
    for text, asked, confirmed in said:
        counts.enter(count, boards, text, asked=asked, confirmed=confirmed)
    counts.posted(count)

    questions = history.outcome(count.pk).questions

    assert (questions.asked, questions.confirmed, questions.corrected) == came_to


def test_a_posted_count_says_two_corrected_and_three_right_as_entered(
    count, boards, shelf
):
    for number in range(4):
        item = build.item(f"tin {number}", measure="count", place=shelf)
        counts.enter(count, item, "36 each")
        counts.enter(count, item, "370 each", asked="far")
        if number < 2:
            counts.enter(count, item, "37 each")
        else:
            counts.enter(count, item, "370 each", asked="far", confirmed=True)
    counts.enter(count, boards, "38 each")
    counts.enter(count, boards, "37 packs", asked="pack")  # the review says: so it is
    counts.posted(count)

    assert questions_words(history.outcome(count.pk).questions) == (
        "Asked about 5 lines at the shelf: 2 corrected, 3 right as entered."
    )


def test_a_figure_of_another_line_cannot_be_decided_for(count, boards, shelf):
    lid = build.item("lid", measure="count", place=shelf)
    counts.enter(count, boards, "37 packs")
    counts.enter(count, lid, "1 each")
    other = CountEntry.objects.get(item=lid)

    with pytest.raises(LineGoneError):
        decide(count, boards, "one", entry_id=other.pk)


def test_a_note_is_not_lost_under_another(count, boards):
    line = line_of(boards)
    counting.note(count.pk, line, "wet", at=LATER, seen_note="")

    with pytest.raises(NoteChangedError, match='It says "wet" now'):
        counting.note(count.pk, line, "torn", at=LATER, seen_note="")

    counting.note(count.pk, line, "wet, torn", at=LATER, seen_note="wet")
    assert CountDecision.objects.get().note == "wet, torn"


def test_the_command_lists_what_is_not_answered_and_posts_when_told(count, boards):
    counts.enter(count, boards, "37 packs")
    out = io.StringIO()

    with pytest.raises(CommandError) as refused:
        call_command("post_count", stdout=out)

    assert (
        "  walk-in: Did you mean 37 boards? Entered as 37 packs, or meant 37 boards."
        in out.getvalue().splitlines()
    )
    assert str(refused.value) == (
        "Asked about, and not answered yet: board. Choose the figures that are right "
        "in the review, or enter the right ones. With --as-entered those that were "
        "asked about stand as entered."
    )
    assert Count.objects.get().state == Count.State.OPEN
    call_command("post_count", "--as-entered", stdout=out)
    assert counts.on_hand() == {boards.pk: 925}
