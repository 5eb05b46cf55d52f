"""A count in review is posted or discarded, as its page showed it."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client

from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.models import Count, Movement
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item
from tests.web.counts.sending import as_reviewed, entry, said, send
from tests.web.reading import hidden_fields

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def post_form(site, count):
    """What the button that posts sends, as the review shows it now."""
    return hidden_fields(
        site, f"/count/{count.pk}/review/", action=f"/count/{count.pk}/post/"
    )


def discard_form(site, count):
    """What the button that discards sends, as its page shows it now."""
    address = f"/count/{count.pk}/discard/"
    return hidden_fields(site, address, action=address)


def test_posting_says_what_happened_and_keeps_later_deliveries(
    signed_in, count, butter, walk_in
):
    send(signed_in, entry(count, butter, "1 c"))
    received = Movement.Kind.RECEIVED
    build.stock(
        butter, 10_000, place=walk_in, at=NOON + timedelta(hours=1), kind=received
    )
    signed_in.post(f"/count/{count.pk}/done/")
    review = signed_in.get(f"/count/{count.pk}/review/").context["review"]

    response = signed_in.post(
        f"/count/{count.pk}/post/", {"shown": review.shown}, follow=True
    )

    assert said(response)[-1] == (
        "The count is posted. The record of 1 item was corrected."
    )
    # 10 kg counted at noon, 10 kg came at one
    assert on_hand_base_by_item() == {butter.pk: Decimal(20_000)}


def test_what_was_set_by_hand_meanwhile_is_told_and_stops_the_posting(
    signed_in, count, butter, walk_in
):
    send(signed_in, entry(count, butter, "1 c"))
    row = OnHandRow(butter.pk, walk_in.pk, Decimal(10_000))
    set_on_hand(row, at=NOON + timedelta(hours=1))
    signed_in.post(f"/count/{count.pk}/done/")

    page = signed_in.get(f"/count/{count.pk}/review/").content.decode()
    shown = as_reviewed(signed_in, count)
    response = signed_in.post(f"/count/{count.pk}/post/", shown, follow=True)

    assert "clear this line on the sheet" in page
    assert said(response)[-1].startswith("Set right since the count's moment: butter.")
    assert on_hand_base_by_item() == {butter.pk: Decimal(10_000)}


def test_an_entry_that_came_after_the_review_was_read_stops_the_posting(
    signed_in, count, butter
):
    send(signed_in, entry(count, butter, "1 c"))
    signed_in.post(f"/count/{count.pk}/done/")
    seen = signed_in.get(f"/count/{count.pk}/review/").context["review"]
    send(signed_in, entry(count, butter, "2 c", sequence=2))

    response = signed_in.post(
        f"/count/{count.pk}/post/", {"shown": seen.shown}, follow=True
    )

    assert 'ada entered "2 c" of butter in walk-in after you' in said(response)[-1]
    assert Count.objects.get().state == Count.State.IN_REVIEW


@pytest.fixture
def two_figures(count, butter, signed_in):
    """Ada says 1 case and ben 2 of one line; the count is in review."""
    ben = Client()
    ben.force_login(build.user("ben"))
    send(signed_in, entry(count, butter, "1 c"))
    send(ben, entry(count, butter, "2 c"))
    signed_in.post(f"/count/{count.pk}/done/")
    return ben


def _decide(site, count, words):
    """Press the button of the first line that says these words; blank: again."""
    page = site.get(f"/count/{count.pk}/review/")
    [line] = page.context["differing"][0].lines
    offered = {said.replace("\xa0", " "): value for value, said in line.choices}
    value = offered.get(words, "")
    review = page.context["review"]
    site.post(
        f"/count/{count.pk}/decide/",
        {
            "line": line.id,
            "choice": value,
            "version": line.version,
            "seen": review.newest_entry_id,
            "undone": review.undone,
        },
    )


@pytest.mark.parametrize("step", ["post", "discard"])
def test_a_page_from_before_a_decision_neither_posts_nor_discards(
    signed_in, count, two_figures, step
):
    _decide(signed_in, count, "ada: 1 case")
    form = post_form if step == "post" else discard_form
    stale = form(signed_in, count)
    _decide(two_figures, count, "")
    taken_back = signed_in.post(f"/count/{count.pk}/{step}/", stale, follow=True)
    _decide(two_figures, count, "Added up: 3 cases")

    page = signed_in.post(f"/count/{count.pk}/{step}/", stale, follow=True)

    assert said(taken_back)[-1].startswith("ben undid the decision on butter in walk-")
    assert said(page)[-1] == (
        'ben chose "1 c + 2 c" for butter in walk-in after you opened this page. Look '
        f"at it again, then {step}."
    )
    assert Count.objects.get().state == Count.State.IN_REVIEW
    signed_in.post(f"/count/{count.pk}/{step}/", form(signed_in, count))
    assert not Count.objects.get().is_live


def test_a_page_from_before_the_record_changed_posts_nothing(
    signed_in, count, butter, walk_in
):
    send(signed_in, entry(count, butter, "1 c"))
    signed_in.post(f"/count/{count.pk}/done/")
    stale = post_form(signed_in, count)
    yesterday = NOON - timedelta(days=1)
    build.stock(butter, 10_000, place=walk_in, at=yesterday, kind="received")

    page = signed_in.post(f"/count/{count.pk}/post/", stale, follow=True)

    assert said(page)[-1] == (
        "The record of butter in walk-in changed (received) after you opened this "
        "page. Look at it again, then post."
    )
    assert "3 cases on record" in page.content.decode().replace("\xa0", " ")


def test_a_page_from_before_a_unit_changed_posts_nothing(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))
    signed_in.post(f"/count/{count.pk}/done/")
    stale = post_form(signed_in, count)
    butter.packs.update(holds="5 kg", size_base=5_000)

    page = signed_in.post(f"/count/{count.pk}/post/", stale, follow=True)

    assert said(page)[-1].startswith(
        "A unit or a conversion of what was counted changed after you opened"
    )
    assert Count.objects.get().state == Count.State.IN_REVIEW


def test_a_delivery_after_the_moment_does_not_stop_the_posting(
    signed_in, count, butter, walk_in
):
    send(signed_in, entry(count, butter, "1 c"))
    signed_in.post(f"/count/{count.pk}/done/")
    shown = post_form(signed_in, count)
    later = NOON + timedelta(hours=1)
    build.stock(butter, 10_000, place=walk_in, at=later, kind="received")

    signed_in.post(f"/count/{count.pk}/post/", shown)

    assert Count.objects.get().state == Count.State.POSTED


@pytest.mark.parametrize("shown", ["", "x", "|||||", "|1|0|0|0"])
def test_a_form_that_shows_nothing_of_a_review_posts_nothing(
    signed_in, count, butter, shown
):
    send(signed_in, entry(count, butter, "1 c"))
    signed_in.post(f"/count/{count.pk}/done/")

    signed_in.post(f"/count/{count.pk}/post/", {"shown": shown})

    assert Count.objects.get().state == Count.State.IN_REVIEW


def test_a_review_from_before_an_undo_posts_nothing(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))
    signed_in.post(f"/count/{count.pk}/done/")
    stale = post_form(signed_in, count)
    signed_in.post(f"/count/{count.pk}/post/", stale)
    signed_in.post(f"/count/{count.pk}/undo/")

    response = signed_in.post(f"/count/{count.pk}/post/", stale, follow=True)

    assert said(response)[-1] == (
        "ada undid the count after you opened this page. Look at the review again."
    )
    assert Count.objects.get().state == Count.State.IN_REVIEW
    signed_in.post(f"/count/{count.pk}/post/", post_form(signed_in, count))
    assert Count.objects.get().state == Count.State.POSTED


def test_a_count_is_discarded_only_after_asking(signed_in, count, butter):
    send(signed_in, entry(count, butter, "1 c"))

    asked = signed_in.get(f"/count/{count.pk}/discard/").content.decode()
    signed_in.post(f"/count/{count.pk}/discard/")
    assert Count.objects.get().state == Count.State.OPEN  # it says not what it saw
    signed_in.post(f"/count/{count.pk}/discard/", discard_form(signed_in, count))

    assert "1 item counted" in asked
    assert Count.objects.get().state == Count.State.DISCARDED
    assert on_hand_base_by_item() == {butter.pk: Decimal(20_000)}


def test_a_discard_from_a_page_older_than_an_entry_shows_the_newest(
    signed_in, count, butter
):
    shown = discard_form(signed_in, count)
    send(signed_in, entry(count, butter, "1 c"))

    page = signed_in.post(f"/count/{count.pk}/discard/", shown, follow=True)

    assert said(page)[-1] == (
        'ada entered "1 c" of butter in walk-in after you opened this page. Look at it '
        "again, then discard."
    )
    assert "1 item counted" in page.content.decode()
    assert Count.objects.get().state == Count.State.OPEN
    signed_in.post(f"/count/{count.pk}/discard/", discard_form(signed_in, count))
    assert Count.objects.get().state == Count.State.DISCARDED


def test_a_discard_from_a_page_older_than_the_posting_is_refused(
    signed_in, count, butter
):
    send(signed_in, entry(count, butter, "1 c"))
    shown = discard_form(signed_in, count)
    signed_in.post(f"/count/{count.pk}/done/")
    signed_in.post(f"/count/{count.pk}/post/", post_form(signed_in, count))

    posted = signed_in.post(f"/count/{count.pk}/discard/", shown, follow=True)
    signed_in.post(
        f"/count/{count.pk}/undo/",
        {"posted": Count.objects.get().closed_at.isoformat()},
    )
    undone = signed_in.post(f"/count/{count.pk}/discard/", shown, follow=True)

    assert said(posted)[-1] == (f"Count {count.pk} is posted. Undo it, or count again.")
    assert "Posted count" in posted.content.decode()
    assert said(undone)[-1].startswith("ada undid the count after you opened")
    assert Count.objects.get().state == Count.State.IN_REVIEW
