"""A newer entry that could not be read is asked about before an older figure stands."""

import io
from datetime import timedelta
from functools import partial

import pytest
from django.core.management import CommandError, call_command

from stock.counts import counting
from stock.counts.errors import EnteredSinceError, UndecidedError
from stock.counts.lines import LineKey
from stock.models import CountDecision, CountEntry
from tests import build
from tests.build import NOON
from tests.stock import counts

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf)


@pytest.fixture
def count(shelf, flour):
    return counts.opened(shelf)


@pytest.fixture
def ada():
    return build.user("ada")


post = partial(counts.posted, as_entered=False)


def is_open(count):
    return counting.review(count.pk).undecided == ("flour",)


@pytest.fixture
def unread(count, flour, ada):
    """Five pounds, and then something in a pack's notation that nobody can read."""
    counts.enter(count, flour, "5 lb", by=ada)
    counts.enter(count, flour, "6/5 lb", by=ada)


def test_an_older_figure_is_not_posted_unasked(count, flour, unread):
    with pytest.raises(UndecidedError) as refused:
        post(count)

    assert str(refused.value) == (
        'Entered last, and not readable: flour in walk-in, "6/5 lb". Decide which '
        "figure stands for each, then post."
    )
    [row] = counting.review(count.pk).rows
    [line] = row.lines
    assert [said.entry.text for said in line.unread] == ["6/5 lb"]
    assert counting.review(count.pk).open_lines == 1
    assert counting.review(count.pk).kept == ()


def test_the_command_names_the_line_and_posts_when_told(count, flour, unread):
    out = io.StringIO()

    with pytest.raises(CommandError) as refused:
        call_command("post_count", stdout=out)

    assert str(refused.value).startswith(
        'Entered last, and not readable: flour in walk-in, "6/5 lb".'
    )
    assert str(refused.value).endswith("With --as-entered the figure before it stands.")
    assert (
        "  walk-in: ada's newest entry, “6/5 lb”, could not be read."
        in out.getvalue().splitlines()
    )
    call_command("post_count", "--as-entered", stdout=out)
    assert counts.on_hand()[flour.pk] == pytest.approx(2268, abs=1)
    assert CountDecision.objects.get().text == "5 lb"


@pytest.mark.parametrize("text", ["5 lb", "30 lb", ""])
def test_what_its_writer_enters_next_answers_it(count, flour, ada, unread, text):
    counts.enter(count, flour, text, by=ada)

    assert not is_open(count)


def test_what_another_enters_next_does_not_answer_it(count, flour, unread):
    counts.enter(count, flour, "5 lb", by=build.user("ben"))

    assert is_open(count)


def test_another_phone_of_its_writer_answers_it_by_the_clock(count, flour, ada, unread):
    earlier = {"device": "tablet", "after_minutes": 1, "by": ada}
    counts.enter(count, flour, "5 lb", **earlier)
    assert is_open(count)

    counts.enter(count, flour, "5 lb", **earlier | {"after_minutes": 9})
    assert not is_open(count)


def test_an_older_one_that_came_late_is_no_question(count, flour, ada):
    sequence = 10**9
    counts.enter(count, flour, "5 lb", by=ada, sequence=sequence)
    counts.enter(count, flour, "6/5 lb", by=ada, sequence=sequence - 1)

    assert not is_open(count)
    assert counting.review(count.pk).kept == ()


@pytest.mark.parametrize("before", [(), ("5 lb", "")])
def test_where_no_figure_stands_there_is_none_to_decide(count, flour, ada, before):
    for text in (*before, "6/5 lb"):
        counts.enter(count, flour, text, by=ada)

    seen = counting.review(count.pk)
    assert seen.undecided == ()
    assert [line.item for line in seen.not_counted] == [flour]
    assert [said.entry.text for said in seen.kept] == ["6/5 lb"]


def decide(count, flour, **fields):
    line = LineKey(flour.place.pk, flour.pk)
    entry_id = CountEntry.objects.get(text="5 lb").pk
    counting.decide(count.pk, line, "one", at=LATER, entry_id=entry_id, **fields)


def test_the_older_figure_is_decided_for_until_another_is_unreadable(
    count, flour, ada, unread
):
    decide(count, flour)

    assert not is_open(count)
    counts.enter(count, flour, "7/5 lb", by=ada)
    assert is_open(count)
    decide(count, flour)
    assert post(count) == 1


def test_it_stands_on_the_sheet_of_its_writer(count, flour, ada, unread):
    def shown(by):
        [line] = counting.sheet(count.pk, flour.place.pk, by_id=by.pk).lines
        return line.unread and line.unread.text

    assert (shown(ada), shown(build.user("ben"))) == ("6/5 lb", None)
    decide(count, flour)
    assert shown(ada) is None


@pytest.mark.parametrize(("text", "quoted"), [("6/5 lb", "6/5 lb"), ("", "blank")])
def test_a_decision_from_a_page_older_than_an_entry_of_its_line_is_refused(
    count, flour, ada, text, quoted
):
    counts.enter(count, flour, "5 lb", by=ada)
    seen = counting.review(count.pk).newest_entry_id
    counts.enter(count, flour, text, by=ada)

    with pytest.raises(EnteredSinceError) as refused:
        decide(count, flour, seen_entry_id=seen)

    assert str(refused.value) == (
        f'ada entered "{quoted}" here after you opened this page. Look at the line '
        "again, then decide."
    )
    assert not CountDecision.objects.exists()


def test_an_entry_of_another_line_stands_in_no_decisions_way(count, flour, shelf):
    counts.enter(count, flour, "5 lb")
    seen = counting.review(count.pk).newest_entry_id
    counts.enter(count, build.item("sugar", place=shelf), "2 lb")

    decide(count, flour, seen_entry_id=seen)

    assert (
        CountDecision.objects.get().amount_base
        == CountEntry.objects.get(text="5 lb").amount_base
    )
