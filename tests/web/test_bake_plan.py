"""The bake plan by weeks and as a list."""

from datetime import date, time, timedelta
from html import unescape

import pytest

from planning.models import Recipe, RecipeLine
from tests import build
from tests.build import MONDAY
from tests.web.planned_cakes import SATURDAY, Status, lemon_cake
from tests.web.reading import page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_the_week_begins_on_the_bakerys_day_and_marks_closed_days(signed_in):
    build.bakery(week_starts="Sun", closed_days="Mon", closed_on="2026-05-07")
    build.planned_cake(due_on=SATURDAY)

    response = signed_in.get(f"/bake-plan/?week={SATURDAY}")

    days = response.context["week"].days
    assert [day.on for day in days] == [
        date(2026, 5, 3) + timedelta(days=n) for n in range(7)
    ]
    assert [day.on for day in days if day.is_closed] == [MONDAY, date(2026, 5, 7)]
    markup = unescape(response.content.decode())
    assert "?week=2026-04-26" in markup
    assert "?week=2026-05-10" in markup
    assert markup.count('<span class="day-word">today</span>') == 1


@pytest.mark.parametrize(
    ("week_starts", "before", "after"),
    [
        ("Tue", "2026-04-28", "2026-05-05"),  # the week of a Monday ends on it
        ("Sat", "2026-05-02", "2026-05-09"),
        ("Mon", "2026-04-27", "2026-05-11"),
    ],
)
def test_it_opens_on_the_next_seven_days_and_leaves_none_out_beside_them(
    signed_in, week_starts, before, after
):
    build.bakery(week_starts=week_starts)
    build.planned_cake(due_on=SATURDAY)

    response = signed_in.get("/bake-plan/")

    days = [day.on for day in response.context["week"].days]
    assert days == [MONDAY + timedelta(days=n) for n in range(7)]
    markup = unescape(response.content.decode())
    assert f"?week={before}" in markup
    assert f"?week={after}" in markup
    assert "Next 7 days" not in markup
    assert "Next 7 days" in page(signed_in, f"/bake-plan/?week={after}")


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
    assert "9:00 am Lemon cake, 2 of them" in markup
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
def test_a_week_that_is_none_is_the_next_seven_days(signed_in, week):
    response = signed_in.get("/bake-plan/", {"week": week})

    assert response.context["week"].first_on == MONDAY


def test_recipes_that_cannot_be_worked_out_leave_the_week_readable(signed_in):
    layers = build.recipe("layers")
    build.recipe_line(layers, layers.item)
    build.planned_cake(lemon_cake(lines=[(layers, 100)]), due_on=SATURDAY)

    markup = page(signed_in, "/bake-plan/")

    assert "Layers contains itself" in markup
    assert "Lemon cake" in markup
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
