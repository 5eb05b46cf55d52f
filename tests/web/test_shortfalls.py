"""Shortfalls says what will be missing, for which cakes, and what still saves it."""

from datetime import timedelta
from html import unescape

import pytest
from django.utils.text import capfirst

from planning.models import PlannedCake
from stock.ledger.verifying import verify_ledger
from tests import build
from tests.build import MONDAY
from tests.stock import counts

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

SATURDAY = MONDAY + timedelta(days=5)


@pytest.fixture
def short_kitchen():
    """Butter runs out on Saturday, eggs fall below safety, salt falls below par."""
    dairy = build.supplier("Dairy")
    butter = build.item("butter", on_hand_base=1_000)
    eggs = build.item("eggs", measure="count", on_hand_base=20, safety_base=12)
    salt = build.item("salt", on_hand_base=300, par_base=2_000)
    for item in (butter, eggs):
        build.pack(item, dairy)
    torte = build.cake("Torte", lines=[(butter, 750), (eggs, 5), (salt, 100)])
    for reference, due_on in (("C-1", MONDAY), ("C-2", SATURDAY)):
        build.planned_cake(torte, due_on=due_on, reference=reference)


def page(browser, address="/shortfalls/"):
    response = browser.get(address)
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def rows(markup, item_name):
    """The markup of an item's row."""
    return [part for part in markup.split("<tr") if f">{capfirst(item_name)}<" in part]


def test_every_kind_is_said_in_a_sentence_with_its_figure(signed_in, short_kitchen):
    markup = page(signed_in)

    # butter 1,000 - 750 - 750; eggs 20 - 5 - 5 = 10, two under 12; salt 300 - 200
    assert "Runs out Saturday, 500 g short." in rows(markup, "butter")[0]
    assert "Falls below safety Saturday, by up to 2 eggs." in rows(markup, "eggs")[0]
    assert (
        "Falls below par Sun May 17, up to 1.9 kg to reach it."
        in rows(markup, "salt")[0]
    )
    assert "1 runs out, 1 falls below safety, 1 falls below par." in markup


def test_what_a_lack_is_made_of_is_one_tap_away(signed_in, short_kitchen):
    salt = rows(page(signed_in), "salt")[0]

    href = salt.partition('class="figure-link" href="')[2].partition('"')[0]
    assert href.endswith("#why")
    assert '<section class="section" id="why">' in page(signed_in, href)
    assert "1,900 g</span>" in page(signed_in, href)


def test_the_last_moment_that_saves_it_or_that_nothing_does(signed_in, short_kitchen):
    markup = page(signed_in)

    # usable on Saturday is Friday's truck, ordered by 2 pm of Thursday
    assert "Order from Dairy by Thu 2:00 pm for Friday." in rows(markup, "butter")[0]
    assert "No supplier sells it: give it a pack" in rows(markup, "salt")[0]


def test_the_cakes_are_named_and_lead_to_the_bake_plan(signed_in, short_kitchen):
    butter = rows(page(signed_in), "butter")[0]

    planned = PlannedCake.objects.get(reference="C-2")
    assert f'<a href="/bake-plan/{planned.pk}/">C-2</a> Torte, due Saturday' in butter
    assert "C-1" not in butter  # there was enough for it


def test_the_shelf_line_stands_in_the_row(signed_in, short_kitchen):
    butter = rows(page(signed_in), "butter")[0]

    assert '<svg class="shelf-line shelf-line-row"' in butter
    assert "shelf-hatch" in butter


def test_one_kind_alone_can_be_shown(signed_in, short_kitchen):
    markup = page(signed_in, "/shortfalls/?kind=below+safety")

    assert rows(markup, "eggs")
    assert not rows(markup, "butter")
    assert not rows(markup, "salt")


def test_fewer_days_end_before_it_runs_out(signed_in, short_kitchen):
    markup = page(signed_in, "/shortfalls/?days=5")  # Monday to Friday

    assert not rows(markup, "butter")
    assert (
        "Falls below par Friday, up to 1.8 kg to reach it." in rows(markup, "salt")[0]
    )  # 300 - 100


def test_links_keep_the_days_that_were_asked_for(signed_in, short_kitchen):
    salt = rows(page(signed_in, "/shortfalls/?days=5&tentative=leave-out"), "salt")[0]

    assert "?days=5&tentative=leave-out" in salt


def test_tentative_cakes_can_be_left_out(signed_in, short_kitchen):
    PlannedCake.objects.filter(reference="C-2").update(status="tentative")

    assert rows(page(signed_in), "butter")
    assert not rows(page(signed_in, "/shortfalls/?tentative=leave-out"), "butter")


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ("400", "A plan looks at most 366 days ahead."),
        ("0", "A plan looks 1 day ahead or more."),
        ("soon", "Write a whole number of days, such as 14."),
    ],
)
def test_days_that_cannot_be_read_are_said_beside_the_field(
    signed_in, short_kitchen, days, words
):
    markup = page(signed_in, f"/shortfalls/?days={days}")

    assert words in markup
    assert f'value="{days}"' in markup
    assert rows(markup, "butter")  # the usual days are shown


def test_nothing_short_says_so(signed_in):
    build.item("salt", on_hand_base=300)

    markup = page(signed_in)

    assert "Nothing runs short up to Sun May 17." in markup  # 14 days from Monday
    assert "See what to order" not in markup


def test_never_counted_is_not_silently_taken_for_none(signed_in, short_kitchen):
    build.planned_cake(build.cake(lines=[(build.item("saffron"), 2)]), due_on=SATURDAY)

    markup = page(signed_in)

    assert "Never counted" in rows(markup, "saffron")[0]
    assert "Never counted" not in rows(markup, "butter")[0]


def test_counted_as_none_is_counted(signed_in, short_kitchen):
    saffron = build.item("saffron", place=build.place())
    build.planned_cake(build.cake(lines=[(saffron, 2)]), due_on=SATURDAY)
    count = counts.opened()
    counts.enter(count, saffron, "none")
    counts.posted(count)

    on_pages = [rows(page(signed_in), "saffron")[0], page(signed_in, "/")]

    assert "saffron" in on_pages[1]
    assert [markup for markup in on_pages if "Never counted" in markup] == []


def test_said_by_hand_to_be_none_is_said(signed_in, short_kitchen):
    place = build.place()
    saffron = build.item("saffron", place=place)
    build.planned_cake(build.cake(lines=[(saffron, 2)]), due_on=SATURDAY)
    entry = {
        "place": place.name,
        "quantity": "none",
        "use_by": "",
        "lot": "",
        "why": "",
    }

    saved = signed_in.post(f"/shelves/{saffron.pk}/set/", entry)

    assert saved.status_code == 302
    assert "Never counted" not in rows(page(signed_in), "saffron")[0]
    assert verify_ledger().is_whole


def test_an_empty_kitchen_says_what_to_do_first(signed_in):
    markup = page(signed_in)

    assert "No items yet, so nothing can run short." in markup
    assert 'href="/shelves/add/"' in markup


def test_a_size_that_cannot_be_read_is_a_sentence(signed_in):
    salt = build.item("salt")
    torte = build.cake("Torte")
    build.recipe_line(torte, salt, 10, scales_with="volume")
    build.planned_cake(torte, size="8 in blob x 3")

    for address in ("/", "/shortfalls/", "/shortfalls/days/", f"/ahead/{salt.pk}/"):
        markup = page(signed_in, address)
        assert "The plan cannot be made yet" in markup
        assert "'8 in blob x 3' isn't a size" in markup


def test_all_items_by_day_say_when_each_gets_low(signed_in, short_kitchen):
    markup = page(signed_in, "/shortfalls/days/?days=6")

    # Monday to Saturday: 250 g are left for five days, then 500 g are missing
    butter, eggs = rows(markup, "butter")[0], rows(markup, "eggs")[0]
    assert butter.count("250 g") == 5
    assert butter.count("500 g short") == 1
    assert eggs.count("15 eggs") == 5
    assert "10 eggs left, below safety" in eggs
    assert "Sat May 9" in markup
    assert "as of today noon" in markup


def test_an_items_days_are_compared_in_one_kind_of_unit(signed_in):
    flour = build.item("flour", on_hand_base=30_000)
    build.pack(flour, holds="10 kg", size_base=10_000, called="sack")
    cake = build.cake(lines=[(flour, 1)])
    build.planned_cake(cake, due_on=MONDAY, quantity=1_000)

    row = rows(page(signed_in, "/shortfalls/days/?days=2"), "flour")[0]

    assert row.count("29 kg") == 2
    assert "sack" not in row


def test_a_substitute_on_the_shelf_is_said_where_no_delivery_saves(
    signed_in, short_kitchen, django_assert_num_queries
):
    rose = build.item("rose petals", allergens="lupin")
    build.planned_cake(build.cake("Rose cake", lines=[(rose, 40)]), due_on=MONDAY)
    pearls = build.item("sugar pearls", on_hand_base=30, allergens="milk; soy")
    build.substitute(rose, pearls)

    # and the substitutes
    with django_assert_num_queries(14):
        markup = page(signed_in)

    assert (
        "Rose petals: 30 g of sugar pearls from the shelf, in date and free, for 30 g "
        "of the 40 g that no delivery brings. Adds milk and soy, from the labels "
        "entered."
    ) in markup
    assert 'href="/rescue/#instead"' in markup


def test_a_substitute_of_which_nothing_is_free_is_not_spoken_of(
    signed_in, short_kitchen
):
    rose = build.item("rose petals")
    build.planned_cake(build.cake("Rose cake", lines=[(rose, 40)]), due_on=MONDAY)
    build.substitute(rose, build.item("sugar pearls"))

    markup = page(signed_in)

    assert 'href="/rescue/"' in markup
    assert "sugar pearls" not in markup


@pytest.mark.parametrize("many", [1, 12])
@pytest.mark.parametrize(
    ("address", "queries"),
    # who is signed in 2, the bakery 1, the plan 7; the cakes behind what is short 1,
    # and whether it was ever counted 1; whether found orders are gone by 1
    [("/shortfalls/", 13), ("/shortfalls/days/", 11)],
)
def test_the_queries_do_not_grow_with_the_kitchen(
    signed_in, django_assert_num_queries, many, address, queries
):
    for number in range(many):
        item = build.item(f"item {number}")
        build.pack(item)
        build.planned_cake(build.cake(lines=[(item, 5)]), due_on=SATURDAY)

    with django_assert_num_queries(queries):
        page(signed_in, address)
