"""What a supplier answers is noted on a page, and said on the order and on Today."""

import pytest
from django.urls import reverse

from tests import build
from tests.web.orders.drafts import TUESDAY
from tests.web.orders.pages import page, post, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(mill, flour):
    return build.order(mill, reference="A-7", deliver_on=TUESDAY, lines=[(flour, 5)])


def fields(order, **typed):
    line = order.lines.get()
    return {f"line_{line.pk}-{name}": value for name, value in typed.items()}


def test_a_short_line_is_said_everywhere_and_can_be_undone(site, order):
    form = page(site, "answer_order", order.pk)
    assert "Flour , 5 \N{MULTIPLICATION SIGN} 1 kg bag" in form

    saved = post(
        site,
        "answer_order",
        order.pk,
        version=1,
        **fields(order, kind="short", packs=3),
    )

    words = "Mill, Sons & Co confirms 3 of 5 \N{MULTIPLICATION SIGN} 1 kg bag of flour."
    assert "The answer to A-7 is saved." in text(saved)
    assert f"answer {words}" in text(saved)
    assert f"{words} Noted today noon by Rosa." in text(saved)
    assert words in text(site.get(reverse("planning:today")))
    assert "All as confirmed" in page(site, "receive_order", order.pk)
    undone = post(site, "answer_order", order.pk, version=2, **fields(order, kind=""))
    assert f"No longer holds since today noon: {words}" in text(undone)
    assert words not in text(site.get(reverse("planning:today")))


def test_all_lines_are_confirmed_in_one_tap(site, order):
    saved = post(site, "answer_order", order.pk, version=1, all="yes")

    assert "Mill, Sons & Co confirms 5 \N{MULTIPLICATION SIGN} 1 kg bag" in text(saved)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"kind": "short", "packs": "many"}, "packs"),
        ({"kind": "short", "packs": "7"}, "packs"),
        ({"kind": "later", "due_on": "soon"}, "due_on"),
        ({"kind": "substituted", "packs": "1", "pack_id": "x"}, "pack_id"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(site, order, typed, field):
    response = post(site, "answer_order", order.pk, version=1, **fields(order, **typed))

    [form] = response.context["forms"]
    assert list(form.errors) == [field]
    order.refresh_from_db()
    assert order.version == 1


def test_an_order_that_is_no_longer_open_is_refused(site, order):
    order.state = "cancelled"
    order.save()

    response = post(site, "answer_order", order.pk, version=1, **fields(order, kind=""))

    assert response.redirect_chain[-1][0] == reverse("planning:order", args=[order.pk])
