"""After a count is posted: what came late, the notes, and its undoing."""

from datetime import timedelta
from decimal import Decimal

import pytest

from stock.conversion.converters import converters_for
from stock.counts import counting
from stock.counts.lines import LineKey
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.models import Count
from stock.web.amounts import compared
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item
from tests.web.counts.sending import entry, said, send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def posted(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))
    line = LineKey(count.places.get().pk, butter.pk)
    counting.note(count.pk, line, "torn bag", at=NOON)
    counting.send_to_review(count.pk)
    counting.post_count(count.pk, at=NOON, as_entered=True)
    return count


def outcome(browser, count):
    return browser.get(f"/count/{count.pk}/review/")


def words(response):
    return response.content.decode().replace("\N{NO-BREAK SPACE}", " ")


def test_entries_that_came_late_are_shown_with_what_to_do(signed_in, posted, butter):
    send(signed_in, entry(posted, butter, "3 cases", sequence=9))

    page = outcome(signed_in, posted)

    assert "butter, walk-in: ada said “3 cases”, which came" in words(page)
    assert "Posted: 1 case." in words(page)
    place = posted.places.get().pk
    assert f'href="/shelves/{butter.pk}/set/?place={place}"' in words(page)
    assert "1 entry came after the count as of" in words(signed_in.get("/count/"))
    seen = {"seen": page.context["late_newest"]}
    signed_in.post(f"/count/{posted.pk}/late/", seen)
    assert "came after the count" not in words(signed_in.get("/count/"))
    assert "said “3 cases”" in words(outcome(signed_in, posted))


def test_an_undone_count_asks_about_what_came_late(signed_in, posted, butter):
    send(signed_in, entry(posted, butter, "3 cases", sequence=9))

    page = signed_in.post(f"/count/{posted.pk}/undo/", follow=True)

    assert said(page)[-1].endswith("in review again, with 1 entry that came late.")
    assert "ada said “3 cases”" in words(page)
    assert "3 cases counted, 2 cases on record" in words(page)


def test_what_came_late_is_quoted_as_it_was_typed(signed_in, posted, butter):
    send(signed_in, entry(posted, butter, "3 case", typed="3", sequence=9))

    page = words(outcome(signed_in, posted))

    assert "butter, walk-in: ada said “3”, 3 cases, which came" in page


def test_what_was_corrected_adds_up_as_it_is_said():
    # 247 eggs are 20 1/2 dozen nearly enough to be said so, 243 are 4 fewer: rounded,
    # 20 1/2 dozen and 20 dozen + 3 would be 3 apart.
    eggs = build.item("eggs", measure="count")
    build.pack(eggs, holds="30 dozen", size_base=360, called="case")
    converter = converters_for()[eggs.pk]

    said = [
        amount.words.replace("\N{NO-BREAK SPACE}", " ")
        for amount in compared(Decimal(243), Decimal(247), converter)
    ]

    assert said[2] == "minus 4 eggs"
    assert [converter.to_base(words) for words in said[:2]] == [243, 247]


def test_what_is_compared_is_said_in_the_item_s_own_units():
    # 1,000 g come out in no fraction of an ounce: they are 2 lb 3.27 oz.
    butter = build.item("butter")
    build.pack(butter, holds="5 lb", size_base=2_267.9619, called="tub")
    converter = converters_for()[butter.pk]

    said = [
        amount.compared_words.replace("\N{NO-BREAK SPACE}", " ")
        for amount in compared(Decimal(1_000), Decimal("907.1847"), converter)
    ]

    assert said == ["about 2 lb 3 oz (1,000 g)", "2 lb", "3 1/4 oz"]


def test_the_figures_of_a_posted_count_add_up(signed_in, count, butter, walk_in):
    for name, counted in (("flour", "10 kg"), ("sugar", "9.9 kg"), ("salt", "8 kg")):
        item = build.item(name, place=walk_in)
        build.stock(item, 10_000, place=walk_in, at=NOON - timedelta(days=1))
        send(signed_in, entry(count, item, counted))
    send(signed_in, entry(count, butter, "1 c"))
    counting.send_to_review(count.pk)
    counting.post_count(count.pk, at=NOON, as_entered=True)

    page = outcome(signed_in, count)

    assert page.context["facts"][:3] == [
        ("Counted", 4, "lines"),
        ("As on record", 1, "of them"),
        ("Corrected", 3, "of them, 1 by at most 2 in 100"),
    ]
    assert ">2 (50%)<" in words(page)


def test_notes_are_shown_after_posting_too(signed_in, posted):
    assert "butter, walk-in: torn bag" in words(outcome(signed_in, posted))


def test_a_posted_count_is_undone_from_its_page(signed_in, posted, butter):
    page = outcome(signed_in, posted)
    form = {"posted": page.context["posted_at"]}

    response = signed_in.post(f"/count/{posted.pk}/undo/", form, follow=True)

    assert said(response)[-1] == (
        "Undone: 1 line is as before. The count is in review again."
    )
    assert on_hand_base_by_item() == {butter.pk: Decimal(20_000)}
    assert Count.objects.get().state == Count.State.IN_REVIEW


def test_undo_is_not_offered_once_somebody_set_what_was_counted(
    signed_in, posted, butter
):
    undo_url = f'action="/count/{posted.pk}/undo/"'
    assert undo_url in outcome(signed_in, posted).content.decode()
    set_on_hand(OnHandRow(butter.pk, butter.place_id, Decimal(900)))

    page = outcome(signed_in, posted)

    assert undo_url not in page.content.decode()
    assert "Butter in walk-in was set by hand since." in words(page)
