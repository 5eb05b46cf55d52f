"""Today says at a glance what is to be done: orders, deliveries, making, shortages."""

import re
from datetime import date, time, timedelta
from html import unescape

import pytest

from planning.models import Order
from stock.counts import counting
from stock.models import Movement
from tests import build
from tests.build import MONDAY, NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

TUESDAY, WEDNESDAY, FRIDAY, SATURDAY = (
    MONDAY + timedelta(days=days) for days in (1, 2, 4, 5)
)


def page(browser, address="/"):
    response = browser.get(address)
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).replace("\xa0", " ").split())


def words_of(browser):
    """What the page says, without its markup."""
    markup = page(browser).partition("<main")[2]
    return " ".join(re.sub(r"<[^>]+>", " ", markup).split()).replace(" ,", ",")


def short_item(name, *, needed_on, packs_from=None):
    """An item with nothing on hand, of which a cake takes 100 g on a day."""
    row = build.item(name)
    cake = build.cake(f"{name} cake", lines=[(row, 100)])
    build.planned_cake(cake, due_on=needed_on)
    if packs_from is not None:
        build.pack(row, packs_from)
    return row


def test_an_empty_kitchen_says_what_to_do_first(signed_in):
    markup = page(signed_in)

    assert "This kitchen is still empty." in markup
    assert 'href="/kitchen/"' in markup
    assert 'href="/shelves/add/"' in markup


def test_what_runs_short_is_said_with_its_figure_and_the_last_moment(signed_in):
    butter = build.item("butter", on_hand_base=1_000)
    build.pack(butter, build.supplier("Dairy"))
    cake = build.cake("Torte", lines=[(butter, 1_500)])
    build.planned_cake(cake, due_on=SATURDAY)

    said = words_of(signed_in)

    # 1,500 g on Saturday, 1,000 g there; Friday's delivery can be used on Saturday
    # and is ordered by 2 pm of the day before
    assert "Short by Sunday Shortfalls Sat Butter, 500 g short" in said
    assert "500 g short Order by Thu 2:00 pm." in said
    assert f'href="/ahead/{butter.pk}/#why"' in page(signed_in)


def test_what_is_short_stands_by_its_first_day_and_says_what_is_left_to_do(signed_in):
    # Tuesday's delivery is ordered by 2 pm today and can be used on Wednesday;
    # nothing brings vanilla.
    dairy = build.supplier("Dairy")
    short_item("vanilla", needed_on=WEDNESDAY)
    short_item("cream", needed_on=WEDNESDAY, packs_from=dairy)
    short_item("milk", needed_on=TUESDAY, packs_from=dairy)

    said = words_of(signed_in)

    rows = (
        "Tomorrow Milk, 100 g short Too late for all of it: buy elsewhere.",
        "Wed Vanilla, 100 g short No supplier sells it: buy by hand.",
        "Wed Cream, 100 g short Order by today 2:00 pm.",
        "Buy 2 by hand",
    )
    places = [said.index(words) for words in rows]
    assert places == sorted(places)


def test_what_is_left_of_a_larger_lack_is_said_to_be_a_part_of_it(signed_in):
    # Tuesday's delivery can be used on Wednesday: too late for the 100 g of Tuesday.
    milk = build.item("milk")
    build.pack(milk, build.supplier("Dairy", delivery_days="Tue"), size_base=1_000)
    cake = build.cake(lines=[(milk, 100)])
    build.planned_cake(cake, due_on=TUESDAY)
    build.planned_cake(cake, due_on=WEDNESDAY, quantity=2)

    said = words_of(signed_in)

    assert "Milk, 300 g short Too late for 100 g of it: buy elsewhere." in said


def test_three_of_a_kind_stand_before_the_way_to_all(signed_in):
    for number in range(5):
        short_item(f"spice {number}", needed_on=FRIDAY, packs_from=build.supplier())

    said = words_of(signed_in)

    assert said.count("100 g short") == 3
    assert "All 5 short" in said
    assert "All 5 orders" in said
    assert said.count("$") == 3


def test_the_count_of_what_is_short_is_that_of_the_page_it_leads_to(signed_in):
    dairy = build.supplier("Dairy")
    short_item("zest", needed_on=SATURDAY, packs_from=dairy)
    short_item("cream", needed_on=date(2026, 5, 16), packs_from=dairy)
    salt = build.item("salt", on_hand_base=100, safety_base=200)
    build.pack(salt, dairy)
    build.pack(build.item("flour", par_base=500), dairy)

    said = words_of(signed_in)

    assert "All 2 short" in said
    assert "1 below safety" in said
    assert "Runs out: 2" in page(signed_in, "/shortfalls/")
    below = page(signed_in, "/shortfalls/?kind=below+safety")
    assert "Falls below safety: 1" in below
    # zest, salt and flour are ordered: what is ordered is not what is short
    assert "Order by " in said
    assert "to order by" not in said


def test_what_is_short_after_the_weekend_is_only_counted(signed_in):
    short_item("zest", needed_on=date(2026, 5, 16), packs_from=build.supplier())

    said = words_of(signed_in)

    assert "Short by Sunday All 1 short Nothing." in said
    assert "g short" not in said


def test_the_next_order_has_its_moment_its_sum_and_the_way_to_it(signed_in):
    dairy = build.supplier("Dairy", delivery_fee=12)
    butter = short_item("butter", needed_on=SATURDAY)
    build.pack(butter, dairy, size_base=1_000, price="8.25")

    markup, said = page(signed_in), words_of(signed_in)

    # one pack at 8.25 and 12.00 for the delivery
    assert "Order by Thu 2:00 pm $20.25 Dairy, 1 line, arrives Fri." in said
    anchor, *_ = re.findall(r'href="/orders/#(order-[^"]*)">Review order</a>', markup)
    assert f'id="{anchor}"' in page(signed_in, "/orders/")


def test_a_cut_off_on_a_closed_day_says_so(signed_in):
    build.bakery(time_zone="UTC", closed_days="Thu")
    butter = short_item("butter", needed_on=SATURDAY)
    build.pack(butter, build.supplier("Dairy"))

    assert "arrives Fri. You are closed Thu: order before." in words_of(signed_in)


def test_a_cut_off_today_while_closed_is_not_said_of_the_day_of_delivery(signed_in):
    build.bakery(time_zone="UTC", closed_days="Mon")
    butter = short_item("butter", needed_on=SATURDAY)
    build.pack(butter, build.supplier("Dairy", delivery_days="Tue", cutoff_days=1))

    assert "arrives tomorrow. You are closed today." in words_of(signed_in)


@pytest.mark.parametrize(
    ("state", "to_do"), [(Order.State.DRAFT, "Approve"), (Order.State.APPROVED, "Send")]
)
def test_an_order_that_waits_leads_to_its_own_page(signed_in, state, to_do):
    dairy = build.supplier("Dairy")
    butter = short_item("butter", needed_on=SATURDAY)
    pack = build.pack(butter, dairy, size_base=1_000)
    waits = build.order(
        dairy,
        deliver_on=FRIDAY,
        state=state,
        reference="PO-9",
        lines=[(pack, 1)],
        changed_by_hand=True,
    )

    markup, said = page(signed_in), words_of(signed_in)

    assert f"{to_do} by Thu 2:00 pm" in said
    assert f"{to_do} PO-9 by Thu 2:00 pm." in said
    assert f'href="/orders/{waits.pk}/">Review order</a>' in markup


def test_without_anything_to_order_it_says_so(signed_in):
    build.item("salt", on_hand_base=100)

    assert "Nothing to order" in words_of(signed_in)


def test_what_is_made_is_said_in_batches_and_mixes(signed_in):
    sugar = build.item("sugar", on_hand_base=9_000)
    icing = build.recipe(
        "Icing", yield_base=1_000, largest_batch=1, lead_days=1, lines=[(sugar, 700)]
    )
    torte = build.cake("Torte", lines=[(icing, 1_500)])
    build.planned_cake(torte, due_on=TUESDAY, quantity=1, reference="C-7")

    said = words_of(signed_in)

    # 1,500 g of icing today for the cake of tomorrow; the mixer takes one batch
    assert "Make today Making list Icing 1 1/2 batches, in 2 mixes" in said
    assert "Tomorrow 1 cake" in said


def test_what_should_have_been_made_is_late_and_comes_first(signed_in):
    sugar = build.item("sugar", on_hand_base=9_000)
    icing = build.recipe("Icing", lead_days=3, lines=[(sugar, 700)])
    build.planned_cake(build.cake(lines=[(icing, 100)]), due_on=TUESDAY)
    build.planned_cake(build.cake("Angel cake", lines=[(sugar, 100)]), due_on=MONDAY)

    said = words_of(signed_in)

    assert "Make today Making list Icing late" in said
    assert said.index("Icing late") < said.index("Angel cake")


def test_a_cake_that_was_due_and_is_still_open_is_named(signed_in):
    planned = build.planned_cake(
        build.cake("Torte"), due_on=MONDAY - timedelta(days=2), reference="C-1"
    )

    assert f'<a href="/bake-plan/{planned.pk}/">C-1</a> Torte, due last Saturday' in (
        page(signed_in)
    )
    assert "due last Saturday still open" in words_of(signed_in)


def test_what_is_late_has_its_button_and_what_comes_later_one_line(signed_in):
    dairy = build.supplier("Dairy")
    cases = build.pack(build.item("butter"), dairy, size_base=2_000)
    build.order(dairy, deliver_on=FRIDAY, lines=[(cases, 3)], reference="PO-2")
    late = build.order(
        dairy,
        deliver_on=MONDAY - timedelta(days=3),
        lines=[(cases, 1)],
        reference="PO-1",
    )

    said = words_of(signed_in)

    assert "Receive On order Late by 3 days Dairy PO-1 Receive PO-1" in said
    assert "Later Fri Dairy" in said
    assert f'href="/orders/{late.pk}/receive/"' in page(signed_in)


def test_what_must_be_used_first_and_what_is_out_of_date(signed_in):
    fridge = build.place("fridge")
    cream = build.item("cream", place=fridge)
    build.stock(cream, 400, use_by=MONDAY - timedelta(days=1), lot="A")
    build.stock(cream, 900, use_by=WEDNESDAY, lot="B")
    build.stock(cream, 700, use_by=FRIDAY, lot="C")  # four days off: not yet near

    said = words_of(signed_in)

    assert (
        "Expired yesterday Cream, 400 g Fridge, lot A. Take it off. "
        "Also 900 g by Wed. No recipe takes it. Waste"
    ) in said
    assert "lot C" not in said
    assert "local codes" in said.lower()


def test_a_count_that_nobody_closed_is_spoken_of(signed_in):
    build.item("salt", on_hand_base=100, at=NOON - timedelta(days=20))
    nine_days_ago = NOON - timedelta(days=9)
    count = counting.open_count(counted_at=nine_days_ago, at=nine_days_ago)
    place = count.places.get().name

    assert (
        f"The count of {place}: open for 9 days: post it, or discard it and start anew."
    ) in page(signed_in)
    counting.discard(count.pk, at=NOON)
    assert "open for 9 days" not in page(signed_in)


def test_how_old_the_count_is(signed_in):
    build.item("salt", on_hand_base=100, at=NOON - timedelta(days=6))
    build.item("flour", on_hand_base=100, at=NOON - timedelta(days=2))
    yeast = build.item("yeast")
    build.stock(yeast, 5, kind=Movement.Kind.RECEIVED)

    markup = page(signed_in)

    assert "Last counted 2 days ago." in markup
    assert "Longest ago: salt, 6 days ago." in markup
    assert "Never: 1 item." in markup


def test_a_recipe_in_itself_is_a_sentence_and_the_shelves_are_still_shown(signed_in):
    syrup = build.recipe("Syrup")
    build.recipe_line(syrup, syrup)
    build.planned_cake(build.cake(lines=[(syrup, 10)]))
    build.stock(build.item("cream"), 400, use_by=MONDAY)

    markup = page(signed_in)

    assert "Syrup contains itself: Syrup -> Syrup." in markup
    assert ">Today</span>" in markup
    assert "Cream</a>, 400 g" in markup


def test_on_a_saturday_the_weekend_is_the_next_one(signed_in, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON + timedelta(days=5))
    dairy = build.supplier("Dairy", cutoff_time=time(9))
    short_item("zest", needed_on=date(2026, 5, 16), packs_from=dairy)

    assert "Short by Sun May 17" in words_of(signed_in)


@pytest.mark.parametrize("many", [1, 12])
def test_the_queries_do_not_grow_with_the_kitchen(
    signed_in, django_assert_num_queries, many
):
    dairy = build.supplier("Dairy")
    for number in range(many):
        item = short_item(f"item {number}", needed_on=TUESDAY)
        pack = build.pack(item, dairy, size_base=10)
        build.order(dairy, deliver_on=TUESDAY, lines=[(pack, 1)])
        build.stock(item, 5, use_by=TUESDAY)
        build.planned_cake(due_on=MONDAY - timedelta(days=2))

    # who is signed in 2, the bakery 1, the age of the count 2, lots 3, the plan 7,
    # whether found orders are gone by 1, and the bake plan's lines: behind what is
    # short, made, and still open 3; whether what is short was ever counted 1; the
    # orders on their way 1, what suppliers answered 1, and orders to be sent 1; what
    # could be made of what expires: recipes and their lines 2, cakes 1
    with django_assert_num_queries(27):
        page(signed_in)
