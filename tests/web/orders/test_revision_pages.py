"""A sent order is revised on its pages."""

import pytest
from django.urls import reverse

from planning.models import Revision
from planning.orders.orders import Hand, approve_order, send_order
from tests.web.orders.drafts import MONDAY_NOON, draft
from tests.web.orders.pages import page, post, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(mill, flour, rosa):
    """Three bags of flour, sent by Rosa for tomorrow."""
    order = draft(mill, (flour, 3))
    approve_order(Hand(order.pk, 1, MONDAY_NOON, rosa.pk))
    send_order(Hand(order.pk, 2, MONDAY_NOON, rosa.pk))
    return order


def version(order):
    order.refresh_from_db()
    return order.version


def test_an_order_is_revised_approved_and_sent(site, order, flour):
    opened = post(site, "revise_order", order.pk, version=3)
    assert "Revision 1 of 2026-014" in text(opened)
    saved = post(
        site,
        "revision",
        order.pk,
        version=version(order),
        deliver_on="2026-05-05",
        note="Ring twice",
        **{f"packs_{flour.pk}": "5"},
    )
    assert "Was 3 \N{MULTIPLICATION SIGN} 1 kg bag, now 5" in text(saved)
    assert "Revision 1 is not sent yet" in page(site, "order", order.pk)

    approved = post(site, "approve_revision", order.pk, version=version(order))
    assert "order 2026-014, revision 1 to Mill, Sons & Co" in text(approved)
    file = site.get(reverse("planning:revision_file", args=[order.pk, "csv"]))
    assert "was 3 \N{MULTIPLICATION SIGN} 1 kg bag, now 5" in file.content.decode()
    sent = post(site, "send_revision", order.pk, version=version(order))

    assert "Revision 1 is sent. It is on order from now on." in text(sent)
    assert "Sent today noon by Rosa." in text(sent)
    assert "Revision 1 sent today noon by Rosa." in text(sent)
    assert "Total $45.00" in text(sent)
    assert "Replaces 2026-014" in text(sent)
    assert "Revision 1, replaces 2026-014." in text(sent)
    assert "Was 3 \N{MULTIPLICATION SIGN} 1 kg bag, now 5" in text(sent)


def test_a_stale_page_is_told_and_keeps_nothing(site, order, flour):
    post(site, "revise_order", order.pk, version=3)
    field = f"packs_{flour.pk}"
    post(site, "revision", order.pk, version=version(order), **{field: "5"})

    stale = post(site, "revision", order.pk, version=4, **{field: "6"})

    assert "Rosa has drafted revision 1 of 2026-014 already" in text(stale)
    assert Revision.objects.get().lines.get().packs == 5


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"deliver_on": "2026-05-03"}, "has passed"),
        ({"deliver_on": "soon"}, "date"),
        ({"packs": "many"}, "number"),
        ({"packs": "100001"}, "100000"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(site, order, flour, typed, said):
    post(site, "revise_order", order.pk, version=3)
    data = {"deliver_on": "2026-05-05", "packs": "5"} | typed
    data[f"packs_{flour.pk}"] = data.pop("packs")

    response = post(site, "revision", order.pk, version=version(order), **data)

    [errors] = response.context["form"].errors.values()
    assert said in str(errors)
    assert Revision.objects.get().lines.get().packs == 3


def test_a_discarded_revision_leaves_what_was_sent(site, order, flour):
    post(site, "revise_order", order.pk, version=3)

    gone = post(site, "discard_revision", order.pk, version=version(order))

    assert "Revision 1 is discarded. What was sent stays." in text(gone)
    assert "Revise this order" in text(gone)
    assert site.get(reverse("planning:revision", args=[order.pk])).status_code == 302
    files = reverse("planning:revision_file", args=[order.pk, "csv"])
    assert site.get(files).status_code == 404


def test_each_step_of_a_revision_is_one_line_of_the_history(site, order, flour):
    post(site, "revise_order", order.pk, version=3)
    sent = {"deliver_on": "2026-05-05", f"packs_{flour.pk}": "5"}
    post(site, "revision", order.pk, version=version(order), **sent)
    post(site, "approve_revision", order.pk, version=version(order))

    history = page(site, "order", order.pk).partition("History")[2]

    assert [
        words in history
        for words in (
            "Revision 1 drafted today noon by Rosa.",
            "Revision 1 changed today noon by Rosa.",
            "Revision 1 approved today noon by Rosa.",
            " Changed today",
        )
    ] == [True, True, True, False]
