"""How an order went to its supplier: by mail, as a message, or phoned in."""

from email import message_from_bytes, policy

import pytest
from django.urls import reverse

from planning.orders.orders import Hand, approve_order
from tests.web.orders.drafts import MONDAY_NOON, draft
from tests.web.orders.pages import page, post, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(mill, flour, rosa):
    """Three bags of flour, approved by Rosa."""
    order = draft(mill, (flour, 3))
    approve_order(Hand(order.pk, 1, MONDAY_NOON, rosa.pk))
    return order


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Sent today noon by Rosa."),
        ({"how": "mail"}, "Sent today noon by Rosa, by e-mail."),
        ({"how": "message"}, "Sent today noon by Rosa, as a message."),
        (
            {"how": "phone", "taken_by": " Orla  Finn "},
            "Sent today noon by Rosa, phoned in: Orla Finn took it.",
        ),
    ],
)
def test_the_order_says_how_it_went(site, order, typed, said):
    sent = post(site, "send_order", order.pk, version=2, **typed)

    assert text(sent).count(said) == 2  # above, and in its history


def test_a_second_tap_does_not_say_otherwise(site, order):
    post(site, "send_order", order.pk, version=2, how="mail")

    again = post(site, "send_order", order.pk, version=2, how="message")

    assert "Sent today noon by Rosa, by e-mail." in text(again)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"how": "phone"}, "Say who took the order on the phone."),
        ({"how": "pigeon"}, "Choose how it went."),
        ({"how": "mail", "taken_by": "Orla"}, "Only a phoned order"),
        ({"how": "phone", "taken_by": "O" * 121}, "Taken by:"),
    ],
)
def test_what_cannot_be_is_asked_again_and_nothing_is_sent(site, order, typed, said):
    response = post(site, "send_order", order.pk, version=2, **typed)

    assert said in text(response)
    assert response.redirect_chain == [
        (reverse("planning:send_order", args=[order.pk]), 302)
    ]
    order.refresh_from_db()
    assert order.state == "approved"


def test_its_mail_is_a_file_to_open_and_send(site, order):
    assert "As an e-mail" in page(site, "send_order", order.pk)

    file = site.get(reverse("planning:order_file", args=[order.pk, "eml"]))

    mail = message_from_bytes(file.content, policy=policy.default)
    assert mail["To"] == "desk@mill.example"
    assert "3 x 1 kg bag, flour" in mail.get_body().get_content()


def test_a_revision_says_how_it_went(site, order, flour):
    post(site, "send_order", order.pk, version=2, how="mail")
    post(site, "revise_order", order.pk, version=3)
    post(site, "revision", order.pk, version=4, **{f"packs_{flour.pk}": "5"})
    post(site, "approve_revision", order.pk, version=5)

    unsaid = post(site, "send_revision", order.pk, version=6, how="phone")
    sent = post(
        site, "send_revision", order.pk, version=6, how="phone", taken_by="Orla"
    )

    assert "Say who took the order on the phone." in text(unsaid)
    said = "Revision 1 sent today noon by Rosa, phoned in: Orla took it."
    assert said in text(sent)
