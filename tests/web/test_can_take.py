"""Can we take it? answers in one sentence, and puts the cake on the plan."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.utils import timezone

from planning.models import PlannedCake
from stock.models import Bakery, Item, Pack, Supplier
from tests import build
from tests.build import MONDAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

ADDRESS = "/can-we-take-it/"
FRIDAY, SATURDAY = MONDAY + timedelta(days=4), MONDAY + timedelta(days=5)
AFTER_SATURDAY = SATURDAY + timedelta(days=1)


@pytest.fixture
def torte():
    """1,000 g of butter; a torte takes 400. One is planned for Saturday."""
    build.bakery(time_zone="UTC")
    butter = build.item("butter", on_hand_base=1_000)
    salt = build.item("salt", on_hand_base=900)
    build.pack(butter, build.supplier("Dairy"), size_base=1_000, price="9.99")
    row = build.cake("Torte", lines=[(butter, 400), (salt, 5)])
    build.planned_cake(row, due_on=SATURDAY, reference="T-1")
    return row


def asked(**changes):
    return {"cake": "Torte", "due": FRIDAY.isoformat(), "quantity": "1", "size": ""} | (
        changes
    )


def page(browser, **changes):
    response = browser.get(ADDRESS, asked(**changes))
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def test_before_it_is_asked_the_page_only_asks(signed_in, torte):
    markup = unescape(signed_in.get(ADDRESS).content.decode())

    assert "Which cake, and for when?" in markup
    assert "answer-words" not in markup
    assert "field-error" not in markup


def test_without_a_cake_it_says_what_to_do_first(signed_in):
    assert "Add the first cake" in unescape(signed_in.get(ADDRESS).content.decode())


def test_the_menu_leads_to_it_after_shortfalls(signed_in, torte):
    markup = page(signed_in)

    assert markup.index('href="/shortfalls/"') < markup.index(f'href="{ADDRESS}"')
    assert markup.index('href="/orders/"') < markup.index(f'href="{ADDRESS}"')


def test_yes_from_the_shelves_with_what_it_costs(signed_in, torte):
    markup = page(signed_in)

    # butter: 400 g at 9.99 a kilogram; nobody sells salt
    assert "Yes, from the shelves: stock and open orders are enough." in markup
    assert '<span class="figure">$4.00</span> without 1 that nobody sells' in markup
    assert "2 items of which there is enough" in markup
    assert "What has to be ordered" not in markup


def test_the_cost_of_the_ingredients_is_shown_item_by_item(signed_in, torte):
    sugar = build.item("sugar", on_hand_base=900)
    build.pack(sugar, build.supplier("Mill"), size_base=1_000, price="1.11")
    build.recipe_line(torte, sugar, 50)

    markup = page(signed_in)

    # 400 g of butter at 9.99 a kilogram and 50 g of sugar at 1.11: 3.996 + 0.0555
    costs = markup.partition("item by item</summary>")[2].partition("</details>")[0]
    assert costs.index(">Butter</a>") < costs.index("$3.996<")
    assert costs.index("$3.996<") < costs.index(">Sugar</a>") < costs.index("$0.0555<")
    assert costs.index("$0.0555<") < costs.index(">$4.05<")
    assert "salt" not in costs


def test_an_item_says_through_what_the_cake_takes_it(signed_in, torte):
    butter = torte.lines.get(component__name="butter").component
    icing = build.recipe("Icing", yield_base=1_000, lines=[(butter, 500)])
    build.recipe_line(torte, icing, 100)

    markup = page(signed_in)

    # 400 g of its own and 50 g in 100 g of icing
    item = markup.partition(">Butter</a>: 450 g</h3>")[2].partition("</details>")[0]
    assert "<summary>For Torte, Icing</summary>" in item
    assert "<li>400 g for Torte</li><li>50 g for Icing</li>" in item


def test_yes_if_ordered_names_the_moment_and_the_line_that_grows(signed_in, torte):
    markup = page(signed_in, quantity="2", due=SATURDAY.isoformat())

    assert "Yes, if ordered by Thu 2:00 pm from Dairy; 1 order is new." in markup
    assert "Dairy by Thu 2:00 pm, for Friday</strong>: $9.99 more" in markup
    assert "1 \N{MULTIPLICATION SIGN} pack of 1000 g, butter" in markup
    assert (
        "200 g short from Saturday; Torte, Saturday (T-1), would lack it too." in markup
    )
    assert "Not ordered, it would hurt" in markup


def test_yes_from_the_shelves_says_what_later_cakes_need(signed_in, torte):
    markup = page(signed_in, quantity="2")

    # Friday's two take 800 of 1,000; Saturday's T-1 lacks 200
    assert (
        "stock and open orders are enough for this cake, "
        "but not for later ones." in markup
    )
    assert (
        "So that Torte, Saturday (T-1), does not go short later, order by Thu 2:00 pm "
        "from Dairy; 1 order is new."
    ) in markup
    assert "Not for this cake: for later ones." in markup


def test_what_fills_an_order_up_is_in_the_sum(signed_in, torte):
    Supplier.objects.update(minimum_order="25")

    markup = page(signed_in, quantity="2", due=SATURDAY.isoformat())

    assert '<span class="figure">$25.00</span>' in markup
    assert "fees counted, and $15.01 to reach minimum orders" in markup


def test_past_the_horizon_it_says_how_far_orders_are_suggested(signed_in, torte):
    Bakery.objects.update(horizon_days=7)
    Supplier.objects.update(minimum_order="25")

    markup = page(signed_in, due="2026-05-20", quantity="2")

    # 9.99 of 25; what else comes on that day is not planned yet
    assert "Orders are suggested up to" in markup
    assert '<span class="figure">$9.99</span>' in markup
    assert "fees counted, not the $15.01 under a minimum" in markup


def test_no_because_of_what_on_which_day(signed_in, torte):
    markup = page(signed_in, quantity="3", due=MONDAY.isoformat())

    # 1,200 today and Saturday's 400, of 1,000: Friday's delivery brings Saturday's only
    assert (
        "No, because butter will be 600 g short from today, and no delivery brings all "
        "of it in time." in markup
    )
    assert "600 g short from today; Torte, Saturday (T-1), would lack it too." in markup
    assert "It would hurt" in markup
    assert "More to order" not in markup


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"cake": ""}, "“Cake” must not stay blank."),
        ({"cake": "Gateau"}, "There is no cake called 'Gateau'."),
        ({"due": ""}, "“Due” must not stay blank."),
        ({"due": "2026-05-03"}, "2026-05-03 is over"),
        ({"due": "2028-05-03"}, "further ahead than a plan looks"),
        ({"quantity": "0"}, "It must be 1 or more."),
        ({"quantity": "some"}, "some"),
        ({"size": "huge"}, "'huge' isn't a size"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_with_the_entry_kept(
    signed_in, torte, changes, words
):
    markup = page(signed_in, **changes)

    [name] = changes
    field = markup.split(f'id="id_{name}_error"')[1].split("</div>")[0]
    assert words in field
    assert "answer-words" not in markup
    if name != "due":
        assert changes[name] in markup


def test_something_retired_in_the_cake_is_said_beside_it(signed_in, torte):
    build.recipe_line(torte, build.item("anise", retired=True), 5)

    markup = page(signed_in)

    field = markup.split('id="id_cake_error"')[1].split("</div>")[0]
    assert "Torte takes anise. What is retired is not watched" in field
    assert "answer-words" not in markup


def test_it_goes_on_the_plan_as_it_was_asked_for(signed_in, torte):
    response = signed_in.post(
        ADDRESS, asked(quantity="2", reference="T-2", status="confirmed"), follow=True
    )

    planned = PlannedCake.objects.get(reference="T-2")
    assert (planned.due_on, planned.quantity, planned.status) == (
        FRIDAY,
        2,
        "confirmed",
    )
    markup = unescape(response.content.decode())
    assert response.redirect_chain == [(f"/bake-plan/{planned.pk}/", 302)]
    assert "T-2 is on the plan for Friday, confirmed." in markup
    assert "This makes butter run out" in markup


def test_a_day_that_is_over_is_refused_beside_it(signed_in, torte):
    response = signed_in.post(
        ADDRESS, asked(due="2020-05-08", reference="T-2", status="tentative")
    )

    markup = unescape(response.content.decode())
    assert response.status_code == 200
    field = markup.split('id="id_due_error"')[1].split("</div>")[0]
    assert "2020-05-08 is over" in field
    assert PlannedCake.objects.count() == 1


def test_left_open_it_is_tentative(signed_in, torte):
    signed_in.post(ADDRESS, asked(reference="T-2", status="baked"))

    assert PlannedCake.objects.get(reference="T-2").status == "tentative"


@pytest.mark.parametrize(
    ("reference", "words"), [("", "must not stay blank"), ("T-1", "T-1")]
)
def test_a_reference_that_cannot_be_leaves_the_answer_and_says_why(
    signed_in, torte, reference, words
):
    response = signed_in.post(ADDRESS, asked(reference=reference, status="tentative"))

    markup = unescape(response.content.decode())
    assert response.status_code == 200
    assert "Yes, from the shelves" in markup
    assert words in markup.split('id="id_reference_error"')[1].split("</div>")[0]
    assert PlannedCake.objects.count() == 1


def test_names_of_people_are_shown_as_text(signed_in, torte):
    markup = signed_in.get(ADDRESS, asked(cake="<b>x</b>")).content.decode()

    assert "<b>x</b>" not in markup


def test_cakes_that_are_short_anyway_are_not_said_to_be_hurt(signed_in, torte):
    build.planned_cake(torte, due_on=SATURDAY, reference="T-2", quantity=2)

    markup = page(signed_in)

    # Saturday takes 1,200 of 1,000 without it, and a pack is suggested for that.
    assert "Yes, from the shelves: stock and open orders are enough." in markup
    shorter = "400 g shorter than without it, from Saturday"
    assert f"{shorter}; the suggested orders bring it." in markup
    assert "state-short" not in markup
    assert "would hurt" not in markup


def test_a_no_counts_and_names_the_cakes_that_it_leaves_shorter(signed_in, torte):
    build.planned_cake(torte, due_on=SATURDAY, reference="T-2", quantity=2)
    Pack.objects.all().delete()

    markup = page(signed_in)

    # 1,200 g of 1,000 on Saturday without it, and nobody sells any
    shorter = "400 g shorter than without it, from Saturday"
    assert f"No, because butter will be {shorter}" in markup
    assert '<span class="figure">2</span> 2 of them short already' in markup
    assert "<h3>Short already, and shorter with it</h3>" in markup
    assert "would hurt" not in markup


def test_what_a_batch_leaves_over_is_said_where_the_days_lack_more_than_the_plan_takes(
    signed_in,
):
    build.bakery(time_zone="UTC")
    butter = build.item("butter", on_hand_base=0)
    icing = build.recipe("Icing", yield_base=1_000, lines=[(butter, 500)], batch_step=1)
    torte = build.cake("Torte", lines=[(butter, 400), (icing, 100)])
    build.planned_cake(torte, due_on=SATURDAY, reference="T-1")

    markup = page(signed_in)

    # 500 g for Friday's batch and 400; Saturday's 500 are spared
    assert "Butter</a>: 400 g</h3>" in markup
    assert "900 g shorter than without it, from Friday." in markup
    assert "Whole batches take 900 g by Friday; the rest is left for later." in markup


def test_queries_do_not_grow_with_the_plan(signed_in, torte, django_assert_num_queries):
    signed_in.get(ADDRESS, asked(quantity="2"))
    with django_assert_num_queries(15):
        signed_in.get(ADDRESS, asked(quantity="2"))

    for number in range(8):
        build.planned_cake(torte, due_on=AFTER_SATURDAY, reference=f"S-{number}")
        build.item(f"item {number}", on_hand_base=100)
    with django_assert_num_queries(15):
        signed_in.get(ADDRESS, asked(quantity="2"))


def test_what_suggested_orders_make_good_is_not_left_below_safety(signed_in, torte):
    Item.objects.filter(name="butter").update(safety="700 g", safety_base=700)

    markup = page(signed_in)

    # Saturday's T-1 leaves 600 of 1,000 and so a pack is suggested; with the cake 200
    # are left, and that pack's 1,000
    assert "500 g below safety" in markup
    assert "; the suggested orders make it good." in markup
    fact = markup.partition("Left below safety")[2].partition("Cakes it could")[0]
    assert "butter" not in fact


def adding(browser, **changes):
    """What the buttons of the answer send, as the page shows it now."""
    markup = unescape(browser.get(ADDRESS, asked(**changes)).content.decode())
    mark = re.search(r'name="answer" value="([^"]*)"', markup)[1]
    return asked(**changes) | {
        "answer": mark,
        "reference": "W-1",
        "status": "confirmed",
    }


CHANGED = "The answer changed after you asked. Look at it again, then add."


def test_a_cake_is_added_while_the_answer_stands_and_only_once(signed_in, torte):
    form = adding(signed_in)

    signed_in.post(ADDRESS, form)
    again = signed_in.post(ADDRESS, form)

    assert PlannedCake.objects.filter(reference="W-1").count() == 1
    assert CHANGED not in again.content.decode()
    assert "W-1" in again.content.decode()


def took_the_rest(torte):
    build.planned_cake(torte, due_on=FRIDAY, reference="T-9")


def threw_the_butter_away(torte):
    build.stock(Item.objects.get(name="butter"), -900)


@pytest.mark.parametrize("somebody", [took_the_rest, threw_the_butter_away])
def test_a_cake_is_not_added_on_an_answer_that_others_have_changed(
    signed_in, torte, somebody
):
    stale = adding(signed_in)
    somebody(torte)

    refused = signed_in.post(ADDRESS, stale)

    assert CHANGED in refused.content.decode()
    assert not PlannedCake.objects.filter(reference="W-1").exists()
    signed_in.post(ADDRESS, adding(signed_in))
    assert PlannedCake.objects.filter(reference="W-1").exists()


def test_the_answer_of_a_page_left_open_until_the_cut_off_is_over_adds_nothing(
    signed_in, torte, monkeypatch
):
    stale = adding(signed_in, quantity="3")
    assert "if ordered" in page(signed_in, quantity="3")

    monkeypatch.setattr(timezone, "now", lambda: build.NOON + timedelta(days=3))
    refused = signed_in.post(ADDRESS, stale)

    assert CHANGED in refused.content.decode()
    assert not PlannedCake.objects.filter(reference="W-1").exists()


@pytest.mark.django_db(transaction=True)
def test_of_two_hands_that_take_the_last_butter_one_is_asked_to_look_again(
    signed_in, torte, at_once
):
    form = adding(signed_in)
    answers = []

    def hand(number):
        browser = Client()
        browser.force_login(build.user(f"hand {number}"))
        sent = form | {"reference": f"W-{number}"}
        return lambda _: answers.append(
            CHANGED in browser.post(ADDRESS, sent).content.decode()
        )

    at_once(hand(1), hand(2), times=1)

    assert sorted(answers) == [False, True]
    assert PlannedCake.objects.filter(reference__startswith="W-").count() == 1
