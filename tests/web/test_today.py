"""Today says what cannot wait, the gravest first, and what there is to do."""

from datetime import date, time, timedelta
from html import unescape

import pytest

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
    return " ".join(unescape(response.content.decode()).split())


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
    planned = build.planned_cake(cake, due_on=SATURDAY, reference="C-7")

    markup = page(signed_in)

    # 1,500 g on Saturday, 1,000 g there; Friday's truck can be used on Saturday
    # and is ordered by 2 pm of the day before
    assert "Runs out Saturday, 500 g short." in markup
    assert "Order from Dairy by Thu 2:00 pm for Friday." in markup
    assert f'<a href="/bake-plan/{planned.pk}/">C-7</a> Torte, due Saturday' in markup
    assert f'href="/ahead/{butter.pk}/"' in markup


def test_the_gravest_comes_first(signed_in):
    # Tuesday's truck is ordered by 2 pm today and can be used on Wednesday;
    # Friday's is ordered by Thursday; nothing brings vanilla.
    dairy = build.supplier("Dairy")
    short_item("zest", needed_on=SATURDAY, packs_from=dairy)
    short_item("cream", needed_on=WEDNESDAY, packs_from=dairy)
    short_item("milk", needed_on=TUESDAY, packs_from=dairy)
    short_item("vanilla", needed_on=FRIDAY)

    markup = page(signed_in)

    places = [
        markup.index(words)
        for words in (
            "<h2>Too late for any delivery</h2>",
            ">Milk</a>",
            "<h2>No supplier sells these</h2>",
            ">Vanilla</a>",
            "Runs short: order today",
            ">Cream</a>",
            "Order from Dairy by today 2:00 pm for tomorrow.",
            "Runs short: order by Sunday",
            ">Zest</a>",
        )
    ]
    assert places == sorted(places)
    assert (
        "1 item too late for any delivery; 1 item that no supplier sells; "
        "1 item to order today; 1 item to order by Sunday."
    ) in markup


def test_what_can_still_be_ordered_next_week_is_only_counted(signed_in):
    # For Saturday of next week Friday's truck is in time, ordered on Thursday the 14th.
    short_item("zest", needed_on=date(2026, 5, 16), packs_from=build.supplier())

    markup = page(signed_in)

    assert "Nothing runs short that has to be ordered by Sunday." in markup
    assert "1 more can wait until after Sunday." in markup
    assert "Runs out" not in markup


def test_what_only_ends_below_par_does_not_stand_here(signed_in):
    build.pack(build.item("salt", par_base=500))

    markup = page(signed_in)

    assert "below par." not in markup
    assert "Nothing runs short that has to be ordered by Sunday." in markup


def test_each_truck_has_its_moment_and_its_sum(signed_in):
    dairy = build.supplier("Dairy", delivery_fee=12)
    butter = short_item("butter", needed_on=SATURDAY)
    build.pack(butter, dairy, size_base=1_000, price="8.25")

    markup = page(signed_in)

    # one pack at 8.25 and 12.00 for the truck
    assert "<strong>Order by Thu 2:00 pm</strong> from Dairy, for Friday: $20.25" in (
        markup
    )
    lines = markup.partition("<summary>butter</summary>")[2].partition("</details>")[0]
    assert "Butter</a>, 1 \N{MULTIPLICATION SIGN} " in lines
    assert ": $8.25</li>" in lines
    assert "Delivery: $12.00" in lines


def test_what_is_made_is_said_in_batches_and_mixes(signed_in):
    sugar = build.item("sugar", on_hand_base=9_000)
    icing = build.recipe(
        "Icing", yield_base=1_000, largest_batch=1, lead_days=1, lines=[(sugar, 700)]
    )
    torte = build.cake("Torte", lines=[(icing, 1_500)])
    build.planned_cake(torte, due_on=TUESDAY, quantity=1, reference="C-7")

    markup = page(signed_in)

    # 1,500 g of icing today for the cake of tomorrow; the mixer takes one batch
    today, tomorrow = markup.index(">Today</h3>"), markup.index(">Tomorrow</h3>")
    assert today < markup.index(">Icing</a>: 1 1/2 batches, in 2 mixes,") < tomorrow
    assert "<summary>1.5 kg</summary><span>1,500 g</span>" in markup
    assert tomorrow < markup.index(">Torte</a>: 1") < markup.index(">C-7</a>")


def test_what_should_have_been_made_is_late(signed_in):
    sugar = build.item("sugar", on_hand_base=9_000)
    icing = build.recipe("Icing", lead_days=3, lines=[(sugar, 700)])
    build.planned_cake(build.cake(lines=[(icing, 100)]), due_on=TUESDAY)

    assert "Late: it should have been made before today." in page(signed_in)


def test_a_cake_that_was_due_and_is_still_open_is_named(signed_in):
    planned = build.planned_cake(
        build.cake("Torte"), due_on=MONDAY - timedelta(days=2), reference="C-1"
    )

    markup = page(signed_in)

    assert (
        f'Still open: <a href="/bake-plan/{planned.pk}/">C-1</a> Torte, '
        "due last Saturday" in markup
    )


def test_what_arrives_is_named_and_what_is_overdue_said_plainly(signed_in):
    dairy = build.supplier("Dairy")
    butter = build.item("butter")
    cases = build.pack(butter, dairy, size_base=2_000)
    build.order(dairy, deliver_on=FRIDAY, lines=[(cases, 3)], reference="PO-2")
    build.order(
        dairy,
        deliver_on=MONDAY - timedelta(days=3),
        lines=[(cases, 1)],
        reference="PO-1",
    )

    markup = page(signed_in)

    assert ">PO-1</a> from Dairy was due last Friday and is late by 3 days." in markup
    assert "<strong>Friday</strong>: Dairy, order <a href=" in markup
    assert "<summary>6 kg</summary><span>6,000 g</span>" in markup  # 3 packs of 2 kg


def test_what_must_be_used_first_and_what_is_out_of_date(signed_in):
    fridge = build.place("fridge")
    cream = build.item("cream", place=fridge)
    build.stock(cream, 400, use_by=MONDAY - timedelta(days=1), lot="A")
    build.stock(cream, 900, use_by=WEDNESDAY, lot="B")
    build.stock(cream, 700, use_by=FRIDAY, lot="C")  # four days off: not yet near

    markup = page(signed_in)

    assert ": take it off the shelf, expired as of today." in markup
    assert ": use by Wednesday." in markup
    assert "Fridge, lot B" in markup
    assert "lot C" not in markup
    assert "local codes" in markup.lower()


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
    assert ": use by today." in markup


def test_on_friday_evening_a_truck_of_monday_is_not_before_the_weekend(
    signed_in, monkeypatch
):
    # On Saturday the next weekend ends on Sunday the 17th: eight days ahead.
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON + timedelta(days=5))
    dairy = build.supplier("Dairy", cutoff_time=time(9))
    short_item("zest", needed_on=date(2026, 5, 16), packs_from=dairy)

    assert "Runs short: order by Sun May 17" in page(signed_in)


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
    # orders on their way 1
    with django_assert_num_queries(22):
        page(signed_in)
