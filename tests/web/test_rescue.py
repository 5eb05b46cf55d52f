"""Rescue says what to buy by hand, in what amounts, by when, for which cakes."""

import re
from datetime import timedelta
from html import unescape

import pytest

from planning.models import Order
from stock.models import Item, Movement
from tests import build
from tests.build import MONDAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def torte():
    """A torte takes 400 g of butter and a rose; butter comes on Tuesday at the soonest.

    1,100 g are missing today, 700 without the tentative torte; nobody sells roses.
    """
    build.bakery(time_zone="UTC")
    butter = build.item("butter", own_units="stick = 4 oz", on_hand_base=500)
    rose = build.item("rose", measure="count", on_hand_base=4)
    build.pack(butter, build.supplier("Dairy"), size_base=1_000)
    row = build.cake("Torte", lines=[(butter, 400), (rose, 1)])
    build.planned_cake(row, due_on=MONDAY, reference="T-1", quantity=3)
    build.planned_cake(row, due_on=MONDAY, reference="T-2", status="tentative")
    build.planned_cake(row, due_on=MONDAY + timedelta(days=3), reference="T-3")
    return row


def page(browser, address="/rescue/"):
    response = browser.get(address)
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def test_one_run_is_said_in_one_sentence(signed_in, torte):
    # butter for T-1 and T-2 today, a rose for T-3 on Thursday
    assert "One run for 2 items by today saves 3 cakes." in page(signed_in)


def test_amounts_are_those_of_a_shop_with_what_is_missing_beside_them(signed_in, torte):
    row = page(signed_in).split("<tr")[2]

    # 1,100 g are 2 lb and 6.8 oz
    assert ">3 lb</td>" in row
    assert ">2 lb 7 oz</td>" in row
    assert "<summary>2 cakes, first today</summary>" in row
    assert ">T-1</a> Torte, due today" in row


def test_it_can_be_copied_as_plain_text(signed_in, torte):
    text = page(signed_in).split('id="rescue-text"')[1].split("</pre>")[0]

    assert "3 lb butter (2 lb 7 oz needed), by today, for 2 cakes, first to" in text
    assert "1 rose, by Thursday, for Torte, Thursday (T-3)" in text
    assert "data-copy" in page(signed_in)
    assert "data-print" in page(signed_in)


def test_what_a_shop_sells_in_a_unit_of_its_own_is_said_in_the_kitchens_too(signed_in):
    build.bakery(time_zone="UTC")
    vanilla = build.item("vanilla", measure="volume", safety="1 tbsp")
    build.pack(vanilla, build.supplier("Dairy"), holds="1 quart", size_base=946.352946)
    cake = build.cake("Torte", lines=[(vanilla, 100)])
    build.planned_cake(cake, due_on=MONDAY, reference="T-1")

    markup = page(signed_in)

    # 100 mL are 6 tbsp and 2.3 tsp, 4 fl oz are 118 mL
    assert ">4 fl oz (1/2 cup)</td>" in markup
    assert "4 fl oz (1/2 cup) vanilla (6 tbsp" in markup


def test_dropping_a_tentative_cake_is_said_and_not_done(signed_in, torte):
    markup = page(signed_in)

    # 700 g are 1 lb and 8.7 oz
    words = "Without T-2, which is tentative: only 1 lb 9 oz needed."
    assert words in markup
    assert "Without T-1" not in markup


def test_the_plan_without_a_tentative_cake_is_one_tap_away(signed_in, torte):
    address = re.search(r'href="([^"]*)">See the plan without', page(signed_in))[1]

    markup = page(signed_in, address)

    form = markup.split('<details class="trial" id="drop-cake" open>')[1]
    assert 'value="T-2"' in form.split("</details>")[0].split("<datalist")[0]


def test_what_nobody_sells_is_named_with_the_way_out(signed_in, torte):
    assert "No supplier sells rose: give it a pack on its page" in page(signed_in)


def test_with_nothing_to_save_it_says_so(signed_in):
    build.bakery(time_zone="UTC")

    assert "Nothing has to be bought by hand." in page(signed_in)


def test_queries_do_not_grow_with_what_is_lacking(
    signed_in, torte, django_assert_num_queries
):
    page(signed_in)
    with django_assert_num_queries(12):
        page(signed_in)

    for number in range(6):
        item = build.item(f"item {number}")
        cake = build.cake(f"Cake {number}", lines=[(item, 10)])
        build.planned_cake(cake, due_on=MONDAY, reference=f"C-{number}")
    with django_assert_num_queries(12):
        page(signed_in)

    for number in range(6):
        item = Item.objects.get(name=f"item {number}")
        build.substitute(item, build.item(f"other {number}", on_hand_base=20))
    # and the recipes (2), for the allergens of the cakes
    with django_assert_num_queries(14):
        page(signed_in)


@pytest.fixture
def margarine(torte):
    """1,200 g of it, of which a roll takes 200 on Friday, and 100 are its safety.

    A cup of margarine weighs 240 g and stands for 220 g of butter, so 900 g free stand
    for 825 of the 1,100 that are missing today.
    """
    Item.objects.filter(name="butter").update(allergens="milk")
    row = build.item(
        "margarine", on_hand_base=1_200, safety_base=100, allergens="soy; milk; lupin"
    )
    bun = build.item("bun dough", allergens="soy", on_hand_base=1_000)
    build.recipe_line(torte, bun, 10)
    roll = build.cake("Roll", lines=[(row, 200)])
    build.planned_cake(roll, due_on=MONDAY + timedelta(days=4), reference="R-1")
    build.substitute(
        Item.objects.get(name="butter"),
        row,
        quantity_base=240,
        for_base=220,
        note="a softer crumb",
    )
    return row


def instead(browser):
    return page(browser).split('id="instead"')[1].split("</section>")[0]


def test_a_substitute_is_said_with_all_that_one_has_to_know(signed_in, margarine):
    words = instead(signed_in)

    assert f'Substitute: <a href="/shelves/{margarine.pk}/">Margarine</a>' in words
    assert "240 g of margarine for 220 g of butter. Noted: a softer crumb." in words
    # 825 g are 1 lb and 13.1 oz, 1,100 g 2 lb and 6.8 oz, 275 g 9.7 oz
    assert (
        "900 g of margarine from the shelf, in date and free, for "
        "1 lb 13 oz of the 2 lb 7 oz that no delivery brings."
    ) in words
    assert "9 3/4 oz would still be missing, and no delivery of it is in time." in words


def test_allergens_are_said_cake_by_cake_and_never_as_free_from(signed_in, margarine):
    words = instead(signed_in)

    # milk is on both labels; soy is in the bun dough; lupin is new
    assert "Torte</a> (T-1, T-2): <strong>adds lupin</strong>; soy in it already." in (
        words
    )
    assert "not a promise of “free from”; shared equipment may carry traces" in words


def test_what_it_would_leave_out_is_said_with_what_brings_it_still(
    signed_in, margarine
):
    Item.objects.filter(name="butter").update(allergens="milk; nuts; sesame")
    Item.objects.filter(name="bun dough").update(allergens="sesame")
    Item.objects.filter(name="margarine").update(allergens="")

    words = instead(signed_in)

    assert "(T-1, T-2): adds none; " in words
    assert "milk and nuts left out only by replacing all the butter in it." in words
    assert "sesame still in it, from bun dough" in words
    assert "No allergen is entered for margarine; that does not mean" in words


def test_what_adds_nothing_is_asked_first_and_nothing_counts_twice(
    signed_in, margarine
):
    """Lard covers all 1,100 g; margarine is asked for what is left: nothing."""
    butter = Item.objects.get(name="butter")
    lard = build.item("lard", on_hand_base=2_000, allergens="milk")
    build.substitute(butter, lard)
    build.substitute(
        butter, build.item("a fat of which no label is entered", on_hand_base=50)
    )

    words = instead(signed_in)

    names = [
        part.split("</a>")[0].split(">")[-1] for part in words.split("Substitute: <a")
    ]
    assert names[1:] == ["Lard", "A fat of which no label is entered", "Margarine"]
    assert "Instead of what stands above: 900 g of margarine" in words
    assert "Instead of what stands above: 1.1 kg of lard" not in words


def test_without_prices_the_cost_is_not_known(signed_in, margarine):
    assert "not known: no price for margarine." in instead(signed_in)


def test_what_it_costs_more_is_said(signed_in, margarine):
    build.pack(margarine, build.supplier("Mill", delivery_days="Sat"), price="12")

    # 900 g at 12.00 a kg, 10.80, for 825 g at 10.00 a kg, 8.25
    assert "It costs $2.55 more than butter would." in instead(signed_in)


def test_a_substitute_that_can_still_be_ordered_is_said(signed_in, torte):
    rose = Item.objects.get(name="rose")
    lily = build.item("lily", measure="count")
    build.pack(lily, build.supplier("Flowers"), size_base=10, price="4", called="bunch")
    build.substitute(rose, lily)

    words = instead(signed_in)

    # a rose is missing on Thursday; flowers come on Tuesday
    assert "Nothing of it is free on the shelf in time." in words
    assert (
        "For 1 rose still missing it can be ordered: 1 bunch from Flowers by today "
        "2:00 pm for tomorrow, $4.00 without any fee."
    ) in words


def test_what_is_retired_takes_no_place(signed_in, margarine):
    Item.objects.filter(name="margarine").update(retired=True)

    assert "margarine" not in instead(signed_in)


def test_where_nothing_is_noted_one_can_note_it(signed_in, torte):
    butter = Item.objects.get(name="butter")

    words = instead(signed_in)

    assert "No substitute is noted for" in words
    assert f'href="/shelves/{butter.pk}/substitutes/add/"' in words


def test_looking_changes_nothing_and_no_button_does(signed_in, margarine):
    before = list(Movement.objects.values_list("pk")), Order.objects.count()

    words = instead(signed_in)

    assert "<form" not in words
    assert (list(Movement.objects.values_list("pk")), Order.objects.count()) == before


@pytest.mark.parametrize("address", ["/", "/shortfalls/"])
def test_pages_that_say_too_late_lead_here(signed_in, torte, address):
    assert 'href="/rescue/"' in page(signed_in, address)


@pytest.mark.parametrize("address", ["/", "/shortfalls/"])
def test_where_a_delivery_saves_everything_nothing_leads_here(signed_in, address):
    build.bakery(time_zone="UTC")
    butter = build.item("butter")
    build.pack(butter, build.supplier("Dairy"))
    cake = build.cake("Torte", lines=[(butter, 400)])
    build.planned_cake(cake, due_on=MONDAY + timedelta(days=3), reference="T-1")

    markup = page(signed_in, address)

    assert "Butter" in markup
    assert 'href="/rescue/"' not in markup


@pytest.mark.parametrize("missing_too", [False, True])
def test_what_is_retired_is_not_said_to_be_saved(signed_in, missing_too):
    build.bakery(time_zone="UTC")
    anise = build.item("anise", retired=True)
    lines = [(anise, 5), (build.item("salt"), 2)] if missing_too else [(anise, 5)]
    build.planned_cake(build.cake(lines=lines), due_on=MONDAY + timedelta(days=3))

    shown = page(signed_in)

    assert "Retired, so not watched here, but needed: anise." in shown
    assert "Every cake can still be saved" not in shown
    assert "Nothing has to be bought by hand" not in shown


def test_something_retired_that_no_cake_needs_is_not_spoken_of(signed_in):
    build.bakery(time_zone="UTC")
    build.cake(lines=[(build.item("anise", retired=True), 5)])
    build.planned_cake(
        build.cake(lines=[(build.item("salt", on_hand_base=9), 2)]), due_on=MONDAY
    )

    shown = page(signed_in)

    assert "anise" not in shown
    assert "Every cake can still be saved by a delivery." in shown
