from datetime import date, time, timedelta
from html import unescape

import pytest

from planning.models import PlannedCake, Recipe, RecipeLine
from stock.models import Item
from tests import build
from tests.build import MONDAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

ADD = "/bake-plan/add/"
SATURDAY = date(2026, 5, 9)
Status = PlannedCake.Status


def page(browser, address):
    response = browser.get(address)
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\N{NO-BREAK SPACE}", " ")


def told(browser, response):
    """What is said after a change, on the page that it leads to."""
    assert response.status_code == 302
    followed = browser.get(response.url)
    messages = (str(message) for message in followed.context["messages"])
    return [words.replace("\N{NO-BREAK SPACE}", " ") for words in messages]


def lemon_cake(**fields):
    return build.cake("lemon cake", **fields)


def filled(**fields):
    """What a form sends for two lemon cakes on Saturday."""
    return {
        "cake": "lemon cake",
        "due": "2026-05-09",
        "due_time": "15:30",
        "quantity": "2",
        "size": "6 in round x 3 + 8 in round x 3",
        "reference": "2201",
        "status": "tentative",
        "note": "",
    } | fields


def butter_cake(*, on_hand_base):
    """A cake of 300 g butter; Tuesdays and Fridays it can be bought."""
    butter = build.item("butter", on_hand_base=on_hand_base)
    dairy = build.supplier("Valley Dairy")
    build.pack(butter, dairy)
    return lemon_cake(lines=[(butter, 300)])


def test_a_cake_is_planned_with_all_that_was_said(signed_in):
    cake = lemon_cake()

    response = signed_in.post(ADD, filled(note="ring first"))

    planned = PlannedCake.objects.get()
    assert response.url == f"/bake-plan/{planned.pk}/"
    assert (planned.reference, planned.cake, planned.quantity) == ("2201", cake, 2)
    assert (planned.due_on, planned.due_time) == (SATURDAY, time(15, 30))
    assert (planned.size, planned.status) == (
        "6 in round x 3 + 8 in round x 3",
        Status.TENTATIVE,
    )
    assert planned.note == "ring first"
    assert told(signed_in, response) == [
        "2201 is on the plan for Saturday. Nothing runs short because of it."
    ]


def test_after_saving_the_page_says_what_runs_short_and_how_to_save_it(signed_in):
    butter_cake(on_hand_base=500)

    response = signed_in.post(ADD, filled(size=""))

    # 2 x 300 g of 500 g; Friday's truck is ordered by Thursday and usable on Saturday
    assert told(signed_in, response) == [
        "2201 is on the plan for Saturday.",
        "This makes butter run out on Saturday, 100 g short. "
        "Order from Valley Dairy by Thu 2:00 pm for Friday.",
    ]


def test_of_many_shortfalls_three_are_named_and_the_page_of_all_is_linked(signed_in):
    items = [build.item(f"item {number}") for number in range(5)]
    lemon_cake(lines=[(item, 100) for item in items])

    response = signed_in.post(ADD, filled(size="", quantity="1"))

    sentences = told(signed_in, response)
    assert len(sentences) == 5  # that it is planned, three of five, and the rest
    assert sentences[-1] == (
        'It makes 2 more short. <a href="/shortfalls/">Shortfalls names them all</a>.'
    )


def test_what_is_short_already_is_only_said_by_how_much_more(signed_in):
    cake = butter_cake(on_hand_base=500)
    build.planned_cake(cake, due_on=SATURDAY, quantity=2, reference="first")

    response = signed_in.post(ADD, filled(size="", quantity="1"))

    assert told(signed_in, response)[1].startswith(
        "This makes butter another 300 g short: out on Saturday."
    )


def test_a_change_that_takes_less_makes_nothing_short(signed_in):
    cake = butter_cake(on_hand_base=500)
    planned = build.planned_cake(cake, due_on=SATURDAY, quantity=3, reference="2201")

    response = signed_in.post(
        f"/bake-plan/{planned.pk}/change/", filled(size="", quantity="2")
    )

    planned.refresh_from_db()
    assert planned.quantity == 2
    assert told(signed_in, response) == [
        "2201 is on the plan for Saturday. Nothing runs short because of it."
    ]


def test_what_should_have_been_made_by_now_is_said(signed_in):
    layers = build.recipe("layers", lead_days=3)
    lemon_cake(lines=[(layers, 100)])

    response = signed_in.post(ADD, filled(size="", due="2026-05-05"))

    # made 3 days before Tuesday the 5th is Saturday the 2nd; today is the 4th
    assert told(signed_in, response)[1] == (
        "To be in time, layers should have been made before today."
    )


def test_a_plan_that_cannot_be_worked_out_says_so_and_keeps_the_cake(signed_in):
    layers = build.recipe("layers")
    build.recipe_line(layers, layers.item)
    lemon_cake(lines=[(layers, 100)])

    response = signed_in.post(ADD, filled(size=""))

    assert PlannedCake.objects.count() == 1
    assert "layers contains itself" in told(signed_in, response)[1]


def test_what_cannot_be_read_stands_beside_its_field_and_nothing_is_stored(signed_in):
    lemon_cake()
    faulty = filled(
        cake="lemmon cake", due="2026-02-30", quantity="0", size="8 round", reference=""
    )

    response = signed_in.post(ADD, faulty)

    form = response.context["form"]
    assert response.status_code == 200
    assert set(form.errors) >= {"due", "quantity", "size", "reference"}
    assert "2026-02-30" in form.errors["due"][0]
    markup = unescape(response.content.decode())
    assert 'value="8 round"' in markup
    assert '<option value="lemmon cake" selected>' in markup
    assert markup.count("is that in or cm?") == 1
    assert not PlannedCake.objects.exists()


def test_an_unknown_cake_is_said_with_the_nearest_known_one(signed_in):
    lemon_cake()

    response = signed_in.post(ADD, filled(cake="lemmon cake"))

    assert "lemon cake?" in response.context["form"].errors["cake"][0]


def test_a_reference_that_is_taken_is_refused(signed_in):
    build.planned_cake(lemon_cake(), reference="2201")

    response = signed_in.post(ADD, filled())

    assert set(response.context["form"].errors) == {"reference"}
    assert PlannedCake.objects.count() == 1


def test_without_a_script_a_button_says_how_a_size_is_understood(signed_in):
    lemon_cake()

    response = signed_in.post(ADD, filled(look="yes"))

    # 8 in: 50.27 + 25.13 x 4.5 = 163.4; 6 in: 28.27 + 18.85 x 4.5 = 113.1 sq in
    assert response.context["echo"] == (
        "3 layers of 6 in round + 3 layers of 8 in round. That is 1.56 times the "
        "layers, 1.56 times the fillings and 1.69 times the outside of the recipe's "
        "own size, 8 in round x 3."
    )
    assert not PlannedCake.objects.exists()


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("", "Blank: the recipe's own size, 3 layers of 8 in round."),
        ("8 in round x 3", "3 layers of 8 in round: the recipe's own size."),
        ("8 round", "is that in or cm?"),
        ("<b>8</b>", "'<b>8</b>' is no size"),
    ],
)
def test_a_size_is_echoed_while_it_is_typed(signed_in, size, words):
    lemon_cake()

    response = signed_in.get("/bake-plan/size/", {"size": size, "cake": "lemon cake"})

    assert words in unescape(response.content.decode())
    assert b"<b>" not in response.content


def test_retired_cakes_are_not_offered(signed_in):
    lemon_cake()
    build.cake("old cake")
    Item.objects.filter(name="old cake").update(retired=True)

    markup = page(signed_in, ADD)

    assert "lemon cake" in markup
    assert "old cake" not in markup


def test_a_kitchen_without_cakes_is_led_to_the_recipes(signed_in):
    assert "/recipes/add/?cake=yes" in page(signed_in, ADD)


def test_a_cake_can_be_changed_and_keeps_its_name_in_quotes_and_accents(signed_in):
    build.cake('Éclair "<b>" & co')
    name = 'Éclair "<b>" & co'

    response = signed_in.post(ADD, filled(cake=name, reference='Zoë\'s "<i>"'))

    planned = PlannedCake.objects.get()
    assert planned.reference == 'Zoë\'s "<i>"'
    for address in (response.url, "/bake-plan/", "/bake-plan/list/"):
        markup = signed_in.get(address).content.decode()
        assert "&lt;b&gt;" in markup
        assert "<b>" not in markup
        assert "<i>" not in markup


def test_a_page_of_a_cake_says_what_runs_short_for_it(signed_in):
    cake = butter_cake(on_hand_base=500)
    planned = build.planned_cake(cake, due_on=SATURDAY, quantity=2)

    markup = page(signed_in, f"/bake-plan/{planned.pk}/")

    assert "Butter: out on Saturday, 100 g short." in markup
    assert "Order from Valley Dairy by Thu 2:00 pm for Friday." in markup
    href = markup.partition('#why">')[0].rpartition('"')[2]
    assert "600 g<br>" in page(signed_in, href)  # 2 x 300 g are used


def test_far_ahead_a_figure_leads_to_days_that_reach_it(signed_in):
    cake = butter_cake(on_hand_base=500)
    far_on = MONDAY + timedelta(days=40)
    planned = build.planned_cake(cake, due_on=far_on, quantity=2)

    cake_page = page(signed_in, f"/bake-plan/{planned.pk}/")
    week_page = page(signed_in, f"/bake-plan/?week={far_on}")

    assert '?days=41#why">' in cake_page
    assert f'href="/ahead/{cake.pk}/?days=42">' in week_page  # to its Sunday


def test_cancelling_can_be_undone(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, status=Status.TENTATIVE)
    status_url = f"/bake-plan/{planned.pk}/status/"

    response = signed_in.post(status_url, {"status": "cancelled"})

    planned.refresh_from_db()
    assert planned.status == Status.CANCELLED
    assert "Undo: set it back to tentative" in page(signed_in, response.url)

    signed_in.post(status_url, {"status": "tentative"})

    planned.refresh_from_db()
    assert planned.status == Status.TENTATIVE


def test_setting_back_says_what_runs_short_again(signed_in):
    cake = butter_cake(on_hand_base=100)
    planned = build.planned_cake(
        cake, due_on=SATURDAY, status=Status.CANCELLED, reference="2201"
    )

    response = signed_in.post(
        f"/bake-plan/{planned.pk}/status/", {"status": "confirmed"}
    )

    assert told(signed_in, response)[1].startswith(
        "This makes butter run out on Saturday, 200 g short."
    )


def test_a_tentative_cake_is_confirmed(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, status=Status.TENTATIVE)

    signed_in.post(f"/bake-plan/{planned.pk}/status/", {"status": "confirmed"})

    planned.refresh_from_db()
    assert planned.status == Status.CONFIRMED


def test_baked_is_asked_for_first_and_stays(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, reference="2201")
    status_url = f"/bake-plan/{planned.pk}/status/"

    assert "Yes, it is baked" in page(signed_in, f"/bake-plan/{planned.pk}/baked/")
    signed_in.post(status_url, {"status": "baked"})
    response = signed_in.post(status_url, {"status": "confirmed"})

    planned.refresh_from_db()
    assert planned.status == Status.BAKED
    assert told(signed_in, response)[-1] == (
        "2201 is baked already. Copy it to plan the same cake again."
    )


def test_a_status_that_there_is_not_changes_nothing(signed_in):
    planned = build.planned_cake(due_on=SATURDAY)

    response = signed_in.post(f"/bake-plan/{planned.pk}/status/", {"status": "eaten"})

    planned.refresh_from_db()
    assert planned.status == Status.CONFIRMED
    assert told(signed_in, response) == ["“eaten” is nothing that a cake can be."]


def test_changes_are_never_made_by_looking(signed_in):
    planned = build.planned_cake(due_on=SATURDAY)

    assert signed_in.get(f"/bake-plan/{planned.pk}/status/").status_code == 405
    assert signed_in.get(f"/bake-plan/{planned.pk}/copy/").status_code == 405
    assert signed_in.get("/bake-plan/copy/undo/").status_code == 405


def test_a_cake_is_copied_to_another_day(signed_in):
    planned = build.planned_cake(
        due_on=SATURDAY, reference="2201", quantity=3, size="6 in round x 3"
    )

    response = signed_in.post(f"/bake-plan/{planned.pk}/copy/", {"due": "2026-05-16"})

    copied = PlannedCake.objects.exclude(pk=planned.pk).get()
    assert response.url == f"/bake-plan/{copied.pk}/"
    assert copied.due_on == date(2026, 5, 16)
    assert (copied.reference, copied.quantity, copied.size) == (
        "2201 (2)",
        3,
        "6 in round x 3",
    )


def test_a_copy_to_no_day_is_refused(signed_in):
    planned = build.planned_cake(due_on=SATURDAY, reference="2201")

    response = signed_in.post(f"/bake-plan/{planned.pk}/copy/", {"due": "2026-02-30"})

    assert PlannedCake.objects.count() == 1
    assert told(signed_in, response)[0].startswith("2201 was not copied: ")


def test_a_weekend_is_copied_with_its_days_and_undone(signed_in):
    cake = lemon_cake()
    friday = build.planned_cake(cake, due_on=date(2026, 5, 8), reference="F")
    sunday = build.planned_cake(cake, due_on=date(2026, 5, 10), reference="S")
    left_out = build.planned_cake(cake, due_on=date(2026, 5, 9), reference="no")
    days = {"from": "2026-05-08", "to": "2026-05-10"}

    shown = page(signed_in, "/bake-plan/copy/?from=2026-05-08&to=2026-05-10")
    assert shown.count('name="cake"') == 3
    response = signed_in.post(
        "/bake-plan/copy/",
        days | {"onto": "2026-05-22", "cake": [friday.pk, sunday.pk]},
    )

    originals = [friday.pk, sunday.pk, left_out.pk]
    copies = PlannedCake.objects.exclude(pk__in=originals)
    assert [(each.reference, each.due_on) for each in copies] == [
        ("F (2)", date(2026, 5, 22)),
        ("S (2)", date(2026, 5, 24)),
    ]
    assert "Undo: cancel the 2 new cakes" in page(signed_in, response.url)

    signed_in.post(
        "/bake-plan/copy/undo/",
        {"cake": [each.pk for each in copies], "week": "2026-05-22"},
    )

    assert {each.status for each in copies.all()} == {Status.CANCELLED}
    friday.refresh_from_db()
    assert friday.status == Status.CONFIRMED


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"cake": []}, "Tick at least one cake to copy."),
        ({"onto": ""}, "Say which day the first of these days becomes."),
        ({"to": "2026-05-01"}, "The last day comes before the first."),
        ({"to": "2026-09-01"}, "Copy at most 31 days at once."),
    ],
)
def test_a_copy_of_days_that_cannot_be_is_refused(signed_in, changed, words):
    planned = build.planned_cake(due_on=date(2026, 5, 8))
    sent = {
        "from": "2026-05-08",
        "to": "2026-05-10",
        "onto": "2026-05-22",
        "cake": [planned.pk],
    }

    response = signed_in.post("/bake-plan/copy/", sent | changed)

    assert response.status_code == 200
    assert words in unescape(response.content.decode())
    assert PlannedCake.objects.count() == 1


def test_the_week_begins_on_the_bakerys_day_and_marks_closed_days(signed_in):
    build.bakery(week_starts="Sun", closed_days="Mon", closed_on="2026-05-07")
    build.planned_cake(due_on=SATURDAY)

    response = signed_in.get("/bake-plan/")

    days = response.context["week"].days
    assert [day.on for day in days] == [
        date(2026, 5, 3) + timedelta(days=n) for n in range(7)
    ]
    assert [day.on for day in days if day.is_closed] == [MONDAY, date(2026, 5, 7)]
    markup = unescape(response.content.decode())
    assert "?week=2026-04-26" in markup
    assert "?week=2026-05-10" in markup
    assert markup.count('<span class="day-word">today</span>') == 1


def test_a_day_shows_what_is_due_and_what_is_made(signed_in):
    curd = build.recipe("lemon curd", yield_base=200, lead_days=1)
    cake = lemon_cake(lines=[(curd, 300)])
    build.planned_cake(
        cake, due_on=SATURDAY, due_time=time(9), reference="2201", quantity=2
    )

    response = signed_in.get("/bake-plan/")

    by_day = {day.on: day for day in response.context["week"].days}
    friday, saturday = by_day[date(2026, 5, 8)], by_day[SATURDAY]
    # 2 cakes take 600 g: 3 batches of 200 g, the day before
    assert [(made.recipe_name, made.words) for made in friday.making] == [
        ("lemon curd", "3 batches: 600 g")
    ]
    assert [(made.recipe_name, made.words) for made in saturday.making] == [
        ("lemon cake", "2 cakes")
    ]
    markup = unescape(response.content.decode())
    assert "9:00 am lemon cake, 2 of them" in markup
    assert "<strong>Confirmed</strong> · 2201 · 8 in round x 3" in markup


def test_a_made_amount_is_said_in_the_units_of_its_recipe(signed_in):
    curd = build.recipe("lemon curd", yield_base=907.18474)
    Recipe.objects.update(yields="2 lb")
    build.planned_cake(lemon_cake(lines=[(curd, 453.59237)]), due_on=SATURDAY)

    response = signed_in.get("/bake-plan/")

    saturday = response.context["week"].days[5]
    assert [made.words for made in saturday.making] == ["1/2 batch: 1 lb", "1 cake"]


def test_a_week_further_than_the_usual_horizon_shows_what_is_made(signed_in):
    build.bakery(horizon_days=7)
    build.planned_cake(lemon_cake(), due_on=date(2026, 7, 4))

    response = signed_in.get("/bake-plan/?week=2026-07-04")

    made = [made.words for day in response.context["week"].days for made in day.making]
    assert made == ["1 cake"]


@pytest.mark.parametrize("week", ["nonsense", "2026-02-30", "0001-01-01", "9999-12-31"])
def test_a_week_that_is_none_is_this_week(signed_in, week):
    response = signed_in.get("/bake-plan/", {"week": week})

    assert response.context["week"].first_on == MONDAY


def test_recipes_that_cannot_be_worked_out_leave_the_week_readable(signed_in):
    layers = build.recipe("layers")
    build.recipe_line(layers, layers.item)
    build.planned_cake(lemon_cake(lines=[(layers, 100)]), due_on=SATURDAY)

    markup = page(signed_in, "/bake-plan/")

    assert "layers contains itself" in markup
    assert "lemon cake" in markup
    assert RecipeLine.objects.count() == 2


def test_an_empty_plan_says_what_to_do_first(signed_in):
    assert "No cake is planned yet." in page(signed_in, "/bake-plan/")


def rows(response):
    return [row.record.reference for row in response.context["table"].rows]


def test_the_list_shows_what_is_coming_and_the_past_behind_a_link(signed_in):
    cake = lemon_cake()
    build.planned_cake(cake, due_on=MONDAY, reference="today")
    build.planned_cake(cake, due_on=date(2026, 5, 3), reference="yesterday")
    build.planned_cake(cake, due_on=date(2026, 4, 1), reference="in April")

    assert rows(signed_in.get("/bake-plan/list/")) == ["today"]
    assert "Show what is past" in page(signed_in, "/bake-plan/list/")
    assert rows(signed_in.get("/bake-plan/list/?past=yes")) == ["yesterday", "in April"]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"words": "LEMON"}, ["a", "b"]),
        ({"words": "smith"}, ["b"]),
        ({"status": "tentative"}, ["b"]),
        ({"status": "unheard of"}, ["a", "b", "c"]),
        ({"words": "%"}, []),
    ],
)
def test_the_list_is_searched_and_filtered(signed_in, asked, found):
    lemon, plain = lemon_cake(), build.cake("plain cake")
    build.planned_cake(lemon, due_on=MONDAY, reference="a")
    build.planned_cake(
        lemon, due_on=SATURDAY, reference="b", note="Smith", status=Status.TENTATIVE
    )
    build.planned_cake(plain, due_on=SATURDAY, reference="c")

    assert rows(signed_in.get("/bake-plan/list/", asked)) == found


@pytest.mark.parametrize("cakes", [1, 12])
def test_the_queries_do_not_grow_with_the_plan(
    signed_in, django_assert_num_queries, cakes
):
    for number in range(cakes):
        curd = build.recipe(f"curd {number}")
        cake = build.cake(f"cake {number}", lines=[(curd, 10)])
        build.planned_cake(cake, due_on=SATURDAY)

    # who is signed in (2) and the bakery (1); then the week's cakes, the kitchen (5)
    # and the yields of what is made
    with django_assert_num_queries(10):
        page(signed_in, "/bake-plan/")
    with django_assert_num_queries(4):
        page(signed_in, "/bake-plan/list/")


def test_a_stranger_is_asked_to_sign_in(client, db):
    assert client.get("/bake-plan/").url.startswith("/sign-in/")
