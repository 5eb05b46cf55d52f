"""Accepted changes of What if go through their jobs; others are taken back."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest

from planning.bakeplan.planned_cakes import keep_planned_cakes
from planning.models import PlannedCake
from planning.scenarios.accepting import accept_changes
from planning.scenarios.what_if_names import WhatIfError
from planning.web.scenarios.what_if_trial import Trial
from stock.models import Bakery, Movement, Pack, Supplier
from stock.suppliers.packs import keep_packs
from tests.build import MONDAY
from tests.web.what_if.trying import (
    ADDRESS,
    FRIDAY,
    marks,
    tried,
    two_tortes,
    undo,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_a_change_is_taken_back_or_all_are_thrown_away(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "close-day", day=FRIDAY.isoformat())

    one_back = undo(signed_in)
    none_left = signed_in.post(f"{ADDRESS}take-back/", {"which": "all"}, follow=True)

    assert "W-1" not in one_back.content.decode()
    assert "Closed: Friday." in one_back.content.decode()
    assert "Side by side" not in none_left.content.decode()


def test_undone_twice_or_from_an_older_page_no_other_change_goes(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "close-day", day=FRIDAY.isoformat())
    first, _ = marks(signed_in)

    undo(signed_in, mark=first)
    again = undo(signed_in, mark=first)

    assert "Closed: Friday." in again.content.decode()


def test_changes_that_the_review_had_not_shown_are_not_made(signed_in):
    two_tortes(signed_in)
    review = signed_in.get(f"{ADDRESS}review/").content.decode()
    shown = re.search(r'name="shown" value="([^"]*)"', review)[1]
    tried(signed_in, "drop-cake", reference="T-1")  # in another tab

    accept = f"{ADDRESS}accept/"
    refused = signed_in.post(accept, {"shown": shown}, follow=True)

    said = "Nothing was changed. Other changes wait now. Look at them again."
    assert said in refused.content.decode()
    assert PlannedCake.objects.get().status == "confirmed"


def test_the_review_says_what_is_made_and_what_is_not(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "on-hand", item="butter", amount="100 g")

    markup = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())

    made, left = markup.split("What is not made from here")
    assert "W-1 is added" in made
    assert "Butter: 100 g on hand." in left


def test_accepted_every_change_goes_through_its_job(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "move-cake", reference="T-1", due=FRIDAY.isoformat())
    tried(signed_in, "close-day", day="2026-05-11")
    tried(signed_in, "skip-delivery", supplier="dairy", day="2026-05-05")
    tried(signed_in, "price", supplier="Dairy", item="butter", price="12.50")
    tried(signed_in, "on-hand", item="butter", amount="100 g")
    moves = Movement.objects.count()

    response = signed_in.post(f"{ADDRESS}accept/", follow=True)

    rows = PlannedCake.objects.order_by("reference")
    assert list(rows.values_list("reference", "due_on", "status")) == [
        ("T-1", FRIDAY, "confirmed"),
        ("W-1", FRIDAY, "tentative"),
    ]
    assert Bakery.objects.get().closed_on == "2026-05-11"
    assert Supplier.objects.get().closed_on == "2026-05-05"
    assert Pack.objects.get().price == Decimal("12.50")
    assert Movement.objects.count() == moves
    markup = unescape(response.content.decode())
    assert "5 changes are made." in markup
    assert "100 g on hand" in markup  # goes on waiting


def test_a_day_is_closed_before_any_settings_were_saved(signed_in):
    Bakery.objects.all().delete()
    tried(signed_in, "close-day", day="2026-05-11")

    response = signed_in.post(f"{ADDRESS}accept/", follow=True)

    assert response.status_code == 200
    assert Bakery.objects.get().closed_on == "2026-05-11"


def test_a_dropped_cake_is_cancelled(signed_in):
    tried(signed_in, "drop-cake", reference="T-1")

    signed_in.post(f"{ADDRESS}accept/")

    assert PlannedCake.objects.get().status == "cancelled"


def test_the_review_says_from_which_day_a_cake_is_moved(signed_in):
    tried(signed_in, "move-cake", reference="t-1", due=FRIDAY.isoformat())
    tried(signed_in, "move-cake", reference="T-1", due=MONDAY.isoformat())

    markup = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())

    assert "T-1 is moved from Saturday to today." in markup
    assert "Friday" not in markup
    signed_in.post(f"{ADDRESS}accept/")
    assert PlannedCake.objects.get().due_on == MONDAY


def test_a_cake_that_somebody_moved_meanwhile_is_not_moved_again(signed_in):
    tried(signed_in, "move-cake", reference="T-1", due=FRIDAY.isoformat())
    thursday = MONDAY + timedelta(days=3)
    PlannedCake.objects.update(due_on=thursday)

    response = signed_in.post(f"{ADDRESS}accept/", follow=True)

    assert (
        "Nothing was changed. T-1 was due on Saturday when this move was tried, and is "
        "due on Thursday now." in unescape(response.content.decode())
    )
    assert PlannedCake.objects.get().due_on == thursday


class TestChangedMeanwhile:
    """Somebody changes what a change is about; neither is written over unseen."""

    def accepted(self, browser):
        response = browser.post(f"{ADDRESS}accept/", follow=True)
        return unescape(response.content.decode())

    def test_a_cake_that_got_larger_is_not_dropped(self, signed_in):
        tried(signed_in, "drop-cake", reference="T-1")
        planned = PlannedCake.objects.get()
        keep_planned_cakes([{"reference": "T-1", "quantity": 3}], ids=[planned.pk])
        said = (
            "T-1 was changed after you tried this: Quantity was 1, is 3. "
            "Undo this change, then try it again."
        )

        assert f"Nothing was changed. {said}" in self.accepted(signed_in)

        assert PlannedCake.objects.get().status == "confirmed"
        review = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())
        assert said in review
        assert "Make these changes" not in review

    def test_a_price_that_somebody_else_set_stays(self, signed_in):
        tried(signed_in, "price", supplier="Dairy", item="butter", price="12.50")
        pack = Pack.objects.get()
        entry = {"supplier": "Dairy", "item": "butter", "pack": pack.label}
        keep_packs([{**entry, "price": "11.00"}])

        assert "Price of one pack was 9.99, is 11" in self.accepted(signed_in)

        assert Pack.objects.get().price == Decimal("11.00")

    def test_a_change_between_looking_and_making_is_seen_under_the_lock(
        self, signed_in
    ):
        tried(signed_in, "drop-cake", reference="T-1")
        trial = signed_in.get(ADDRESS).wsgi_request
        understood = Trial(trial).understood
        keep_planned_cakes([{"reference": "T-1", "note": "for two"}])

        with pytest.raises(WhatIfError, match="Note was blank, is for two"):
            accept_changes(understood)

        assert PlannedCake.objects.get().status == "confirmed"

    def test_undone_and_tried_again_it_is_made(self, signed_in):
        tried(signed_in, "drop-cake", reference="T-1")
        keep_planned_cakes([{"reference": "T-1", "quantity": 3}])
        undo(signed_in)
        tried(signed_in, "drop-cake", reference="T-1")

        assert "1 change is made." in self.accepted(signed_in)

        assert PlannedCake.objects.get().status == "cancelled"


@pytest.mark.parametrize("name", ["was_due", "seen"])
def test_what_a_change_started_from_is_not_typed(signed_in, name):
    assert f"-{name}" not in signed_in.get(ADDRESS).content.decode()


def test_a_delivery_is_dropped_however_the_supplier_is_spelled(signed_in):
    Supplier.objects.update(name="Ölmühle")
    tried(signed_in, "skip-delivery", supplier="ÖLMÜHLE", day="2026-05-05")

    signed_in.post(f"{ADDRESS}accept/")

    assert Supplier.objects.get().closed_on == "2026-05-05"


def test_what_is_dropped_is_neither_dropped_nor_moved_again(signed_in):
    tried(signed_in, "drop-cake", reference="T-1")

    dropped = tried(signed_in, "drop-cake", reference="t-1")
    moved = tried(signed_in, "move-cake", reference="T-1", due=FRIDAY.isoformat())

    assert dropped.count("T-1 is cancelled.") == 1
    assert "No cake on the plan" not in dropped
    assert "T-1 is moved" not in moved
    assert "No cake on the plan is called T-1." in moved


def test_so_many_cakes_are_said_in_figures(signed_in):
    markup = tried(
        signed_in,
        "add-cake",
        reference="W-1",
        cake="Torte",
        due=FRIDAY.isoformat(),
        quantity="1234567",
        size="",
    )

    times = "\N{MULTIPLICATION SIGN}"
    assert f"W-1 is added: 1,234,567 {times} Torte, for Friday." in markup


def test_where_nothing_waits_nothing_is_said_to_be_made(signed_in):
    review = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())
    accepted = signed_in.post(f"{ADDRESS}accept/", follow=True).content.decode()

    assert "They are made all together" not in review
    assert "No change waits to be accepted." in review
    assert "No change waits to be accepted." in accepted
    assert "0 changes" not in accepted


def test_what_can_be_no_more_is_said_and_nothing_is_made(signed_in):
    two_tortes(signed_in)
    tried(signed_in, "drop-cake", reference="T-1")
    PlannedCake.objects.all().delete()

    markup = unescape(signed_in.get(ADDRESS).content.decode())
    response = signed_in.post(f"{ADDRESS}accept/", follow=True)

    assert "No cake on the plan is called T-1." in markup
    assert "Nothing was changed." in unescape(response.content.decode())
    assert not PlannedCake.objects.exists()


@pytest.mark.parametrize("page", ["accept", "take-back"])
def test_looking_changes_nothing(signed_in, page):
    assert signed_in.get(f"{ADDRESS}{page}/").status_code == 405
