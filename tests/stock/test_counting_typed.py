"""What is typed and not entered is asked about before an older figure stands."""

import io
from datetime import timedelta
from functools import partial

import pytest
from django.core.management import CommandError, call_command

from stock.counts import counting
from stock.counts.devices import DeviceReport, TypedIn, hear
from stock.counts.errors import UndecidedError
from stock.counts.lines import LineKey
from stock.models import CountDecision, CountEntry, CountTyped
from tests import build
from tests.build import NOON
from tests.stock import counts

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(hours=2)
FIVE_LB_G = pytest.approx(2268, abs=1)


@pytest.fixture
def flour(shelf):
    return build.item("flour", place=shelf)


@pytest.fixture
def count(shelf, flour):
    return counts.opened(shelf)


@pytest.fixture
def ada():
    return build.user("ada")


def says(count, flour, by, *texts, number=1, after_minutes=10, device="phone"):
    """Let a person's phone say what is typed on it."""
    typed = tuple(TypedIn(flour.place_id, flour.pk, text) for text in texts)
    report = DeviceReport(
        count.pk, device, number, is_open=True, waiting=0, typed=typed
    )
    hear([report], by_id=by.pk, at=NOON + timedelta(minutes=after_minutes))


def is_open(count):
    return counting.review(count.pk).undecided == ("flour",)


post = partial(counts.posted, as_entered=False)


@pytest.fixture
def typed(count, flour, ada):
    """Five pounds entered; then something that is asked about, and not entered."""
    counts.enter(count, flour, "5 lb", by=ada)
    says(count, flour, ada, "6/5 lb")


def test_an_older_figure_is_not_posted_unasked(count, flour, typed):
    with pytest.raises(UndecidedError) as refused:
        post(count)

    assert str(refused.value) == (
        'Typed last, and not entered: flour in walk-in, "6/5 lb". Decide which figure '
        "stands for each, then post."
    )
    [row] = counting.review(count.pk).rows
    [line] = row.lines
    assert line.typed_sentences == ("ada typed “6/5 lb” since, not entered.",)
    assert counts.on_hand().get(flour.pk, 0) == 0


def test_the_command_names_the_line_and_posts_when_told(count, flour, typed):
    out = io.StringIO()

    with pytest.raises(CommandError) as refused:
        call_command("post_count", stdout=out)

    assert str(refused.value).startswith(
        'Typed last, and not entered: flour in walk-in, "6/5 lb".'
    )
    assert str(refused.value).endswith("With --as-entered the figure before it stands.")
    assert (
        "  walk-in: ada typed “6/5 lb” since, not entered."
        in out.getvalue().splitlines()
    )
    call_command("post_count", "--as-entered", stdout=out)
    assert counts.on_hand()[flour.pk] == FIVE_LB_G
    assert CountDecision.objects.get().text == "5 lb"


def test_clearing_it_on_the_phone_answers_it(count, flour, ada, typed):
    says(count, flour, ada, number=2)

    assert not is_open(count)
    assert post(count) == 1


@pytest.mark.parametrize("device", ["phone", "tablet"])
def test_what_its_writer_enters_next_answers_it(count, flour, ada, typed, device):
    counts.enter(count, flour, "6 lb", by=ada, device=device, after_minutes=30)

    assert not [
        row
        for line in counting.review(count.pk).rows
        for row in line.lines
        if row.typed
    ]


def test_an_entry_from_before_that_comes_after_it_does_not(count, flour, ada, typed):
    late = NOON + timedelta(minutes=40)
    counts.enter(count, flour, "4 lb", by=ada, after_minutes=6, at=late)

    assert is_open(count)


def test_the_same_as_the_figure_asks_nothing(count, flour, ada):
    counts.enter(count, flour, "5 lb", by=ada)

    says(count, flour, ada, "5 lb")

    assert not is_open(count)


def test_what_another_typed_asks_nothing(count, flour, ada):
    counts.enter(count, flour, "5 lb", by=ada)

    says(count, flour, build.user("ben"), "6/5 lb")

    assert not is_open(count)


def test_where_no_figure_stands_there_is_none_to_decide(count, flour, ada):
    says(count, flour, ada, "6/5 lb")

    assert counting.review(count.pk).undecided == ()


def decide(count, flour):
    line = LineKey(flour.place_id, flour.pk)
    seen = counting.review(count.pk)
    counting.decide(
        count.pk,
        line,
        "one",
        at=LATER,
        entry_id=CountEntry.objects.get().pk,
        seen_entry_id=seen.newest_entry_id,
        seen_typed_id=seen.newest_typed_id,
    )


def test_the_figure_is_decided_for_until_something_else_is_typed(
    count, flour, ada, typed
):
    decide(count, flour)
    assert not is_open(count)

    says(count, flour, ada, "6/5 lb", number=2, after_minutes=20)  # as it was
    assert not is_open(count)
    assert CountTyped.objects.get().heard_at == NOON + timedelta(minutes=10)

    says(count, flour, ada, "7/5 lb", number=3, after_minutes=30)
    assert is_open(count)
    decide(count, flour)
    assert post(count) == 1
    assert counts.on_hand()[flour.pk] == FIVE_LB_G


def test_two_texts_of_one_line_are_both_kept(count, flour, ada):
    says(count, flour, ada, "6/5 lb", "7/5 lb", "6/5 lb")

    assert sorted(CountTyped.objects.values_list("text", flat=True)) == [
        "6/5 lb",
        "7/5 lb",
    ]
