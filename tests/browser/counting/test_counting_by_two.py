"""Two people count on two phones, and the ledger comes out right."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from planning.demo import build_sheets
from planning.interchange.loading import load_kitchen
from stock.models import Count, Item, Place
from tests.browser.conftest import TODAY
from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    enter,
    open_sheet,
    ready,
    sent,
    waiting,
)
from tests.on_hand import on_hand_base_by_item

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

LB_G = Decimal("453.59237")  # exact, NIST


def test_two_people_on_one_line_are_told_and_decide_in_the_review(
    phone, ada, ben, count, shelf
):
    hers, his = phone(ada), phone(ben)
    open_sheet(hers, count, shelf)
    open_sheet(his, count, shelf)
    enter(hers, "butter", "2 c")
    enter(his, "butter", "21 kg")
    sent(hers)
    sent(his)

    hers.goto(f"/count/{count.pk}/review/")
    expect(hers.get_by_text("Decide on butter first.")).to_be_visible()
    hers.get_by_role("button", name="ben: 21 kg").tap()

    expect(hers.get_by_text("21 kg counted, 2 cases on record")).to_be_visible()


REACH_IN = {
    "raspberries": "1 clamshell",  # two on record
    "strawberries": "1 clamshell",
    "lemons": "1 1/2 bag 9 each",
    "Dark ganache": "2 1/4 lb",
    "Lemon curd": "1 1/2 lb",
    "Meringue buttercream": "4 lb",
    "Simple syrup": "3 cup",
}

FREEZER = {
    "frozen raspberries": "4 bags and 3 lb",
    "Chocolate layers": "7 lb",
    "unsalted butter": "2 lb",  # three on record
    "Vanilla butter layers": "4.5 lb",
}


def test_a_count_of_the_demo_kitchen_on_two_phones_one_offline_posts_the_right_ledger(
    phone, ada, ben
):
    load_kitchen(build_sheets(TODAY), at=timezone.now() - timedelta(days=1))
    before = on_hand_base_by_item()
    reach_in, freezer = (
        Place.objects.get(name=name) for name in ("reach-in", "freezer")
    )
    hers, his = phone(ada), phone(ben)
    hers.goto("/count/")
    for name in (
        "dry rack",
        "bins",
        "walk-in",
        "decorating cupboard",
        "packaging loft",
    ):
        hers.get_by_label(name).uncheck()
    hers.get_by_role("button", name="Start counting").tap()
    ready(hers)
    count = Count.objects.get()
    open_sheet(his, count, freezer)
    ready_for_offline(his)
    his.context.set_offline(True)

    for name, text in REACH_IN.items():
        enter(hers, name, text)
        answer_as_entered(hers)
    for name, text in FREEZER.items():
        enter(his, name, text)
        answer_as_entered(his)
    sent(hers)
    expect(waiting(his)).to_contain_text("wait on this phone")
    his.context.set_offline(False)
    sent(his)
    hers.goto(f"/count/{count.pk}/review/")
    hers.get_by_role("button", name="Counting is done").tap()
    hers.get_by_role("button", name="Post this count").tap()
    expect(hers.get_by_text("The record of 2 items was corrected.")).to_be_visible()

    after = on_hand_base_by_item()
    changed = {
        Item.objects.get(pk=pk).name: after[pk] - before[pk]
        for pk in before
        if after[pk] != before[pk]
    }
    # a clamshell is 6 oz; both halves are rounded to the ledger's ten-thousandth
    assert changed == {
        "raspberries": pytest.approx(-6 * LB_G / 16, abs=Decimal("0.0001")),
        "unsalted butter": pytest.approx(-LB_G, abs=Decimal("0.0001")),
    }
    assert reach_in in count.places.all()


def answer_as_entered(tab):
    button = tab.locator("[data-answer='as entered']")
    if button.count():
        button.tap()
