"""The making list: what to make, one tap when it is made, and its undo."""

from datetime import timedelta
from decimal import Decimal

import pytest

from planning.models import Bake
from tests import build
from tests.build import MONDAY, NOON
from tests.planning.bakes import lots_of, make, on_hand
from tests.web.reading import as_shown, hidden_fields, page, told

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.usefixtures("at_noon", "ledger_stays_whole"),
]

TUESDAY = MONDAY + timedelta(days=1)


@pytest.fixture
def sugar():
    """A kilo, bought by the pound."""
    sunday = NOON - timedelta(days=1)
    place = build.place("rack")
    return build.item(
        "sugar", on_hand_base=1_000, place=place, at=sunday, allergens="sulfites"
    )


@pytest.fixture
def curd(sugar):
    return build.recipe(
        "curd", yield_base=500, batch_step=1, keeps_days=3, lines=[(sugar, 200)]
    )


@pytest.fixture
def tart(curd):
    """Due today; takes a batch and a half of curd, so two are made."""
    cake = build.cake("tart", lines=[(curd, 750)])
    return build.planned_cake(cake, due_on=MONDAY, reference="2201")


def hidden(browser, item):
    """What the button "Made" of the list sends."""
    return hidden_fields(browser, "/making/", action=f"/making/{item.pk}/")


def problem(response):
    assert response.status_code == 200
    return response.context["form"].problem.replace("\N{NO-BREAK SPACE}", " ")


def test_the_list_says_what_to_make_and_for_whom(signed_in, tart):
    text = page(signed_in, "/making/")

    assert "1 recipe, 2 batches." in text
    for words in ("Curd", "250 g left over", "400 g", "sulfites", "2201"):
        assert words in text


def test_what_goes_into_others_is_made_first(signed_in, curd):
    cream = build.recipe("a cream", yield_base=100, lines=[(curd, 100)])
    build.planned_cake(build.cake(lines=[(cream, 100)]), due_on=MONDAY)

    shown = signed_in.get("/making/").context["list"].recipes

    assert [row.name for row in shown] == ["Curd", "A cream"]


def test_a_tap_makes_the_planned_batches_and_says_so_with_an_undo(
    signed_in, curd, tart
):
    response = signed_in.post(f"/making/{curd.pk}/", hidden(signed_in, curd))

    bake = Bake.objects.get()
    text = page(signed_in, response.url)
    assert (
        f"2 batches of curd: made, use by Wed May 6, lot M{bake.pk}, in rack." in text
    )
    assert "Nothing is left to make." in text
    assert on_hand() == {"sugar": 600, "curd": 1_000}

    response = signed_in.post(f"/making/bakes/{bake.pk}/undo/")

    assert told(signed_in, response) == ["Undone: 2 batches of curd."]
    assert on_hand() == {"sugar": 1_000}


def test_a_double_tap_makes_it_once(signed_in, curd, tart):
    sent = hidden(signed_in, curd)

    for _ in range(2):
        assert signed_in.post(f"/making/{curd.pk}/", sent).status_code == 302

    assert Bake.objects.count() == 1


def test_a_double_tap_of_a_third_of_a_batch_makes_it_once(signed_in, sugar):
    curd = build.recipe("curd", yield_base=300, lines=[(sugar, 30)])
    build.planned_cake(build.cake(lines=[(curd, 100)]), due_on=MONDAY)
    sent = hidden(signed_in, curd)

    for _ in range(2):
        assert signed_in.post(f"/making/{curd.pk}/", sent).status_code == 302

    assert Bake.objects.count() == 1


def test_a_double_tap_of_twelve_batches_is_not_asked_about(signed_in, sugar):
    curd = build.recipe("curd", yield_base=300, lines=[(sugar, 30)])
    build.planned_cake(build.cake(lines=[(curd, 3_600)]), due_on=MONDAY)
    sent = hidden(signed_in, curd)

    for _ in range(2):
        assert signed_in.post(f"/making/{curd.pk}/", sent).status_code == 302

    assert Bake.objects.count() == 1


def test_a_tap_sent_again_after_the_undo_says_that_it_is_undone(signed_in, curd, tart):
    sent = hidden(signed_in, curd)
    signed_in.post(f"/making/{curd.pk}/", sent)
    signed_in.post(f"/making/bakes/{Bake.objects.get().pk}/undo/")

    response = signed_in.post(f"/making/{curd.pk}/", sent)

    text = page(signed_in, response.url)
    assert "2 batches of curd: made, then undone Mon May 4, noon." in text
    assert f"/making/bakes/{Bake.objects.get().pk}/undo/" not in text
    assert on_hand() == {"sugar": 1_000}


def test_a_tap_on_a_second_device_is_asked_about_first(signed_in, curd, tart):
    one, other = hidden(signed_in, curd), hidden(signed_in, curd)
    signed_in.post(f"/making/{curd.pk}/", one)

    response = signed_in.post(f"/making/{curd.pk}/", other)

    assert "marked it made already" in problem(response)
    assert Bake.objects.count() == 1

    signed_in.post(f"/making/{curd.pk}/", other | {"confirmed": other["batches"]})
    assert Bake.objects.count() == 2


def test_more_batches_and_what_really_went_in(signed_in, curd, sugar):
    honey = build.item("honey", on_hand_base=900, place=sugar.place)
    build.substitute(sugar, honey, quantity_base=3, for_base=4)

    signed_in.post(
        f"/making/{curd.pk}/",
        {"batches": "1.5", "key": "a", f"instead_{sugar.pk}": honey.pk},
    )
    signed_in.post(
        f"/making/{curd.pk}/",
        {"batches": "1", "key": "b", f"went_in_{sugar.pk}": "190 g"},
    )

    assert on_hand() == {"sugar": 810, "honey": 675, "curd": 1_250}


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"batches": "two"}, "enter batches above 0"),
        ({"batches": "0"}, "enter batches above 0"),
        ({"batches": "20"}, "but the plan asks for 2 batches"),
        ({"went_in": "190"}, "unit"),
        ({"went_in": "much"}, "much"),
    ],
)
def test_what_cannot_be_read_is_said_and_kept(
    signed_in, curd, tart, sugar, typed, words
):
    sent = {"batches": "2", "key": "a"} | typed
    sent[f"went_in_{sugar.pk}"] = sent.pop("went_in", "")

    response = signed_in.post(f"/making/{curd.pk}/", sent)

    assert words in problem(response)
    assert response.context["form"].batches == sent["batches"]
    assert not Bake.objects.exists()


def test_what_goes_below_nothing_is_said_plainly(signed_in, curd):
    response = signed_in.post(f"/making/{curd.pk}/", {"batches": "6", "key": "a"})

    text = page(signed_in, response.url)
    assert "Sugar: the record is 200 g below zero. Count it." in text


def test_what_stands_in_the_way_of_an_undo_is_said(signed_in, curd, tart):
    bake = make(curd, 2)
    signed_in.post(
        f"/bake-plan/{tart.pk}/status/", {"status": "baked"} | as_shown(tart)
    )

    assert "No undo: curd in rack was used or moved since." in page(
        signed_in, f"/making/?done={bake.pk}"
    )
    response = signed_in.post(f"/making/bakes/{bake.pk}/undo/")
    (said,) = told(signed_in, response)
    assert said.startswith("2 batches of curd can't be undone: curd in rack was used")


def test_a_baked_cake_takes_what_it_is_made_of_and_can_be_set_back(signed_in, tart):
    signed_in.post(
        f"/bake-plan/{tart.pk}/status/", {"status": "baked"} | as_shown(tart)
    )

    assert on_hand() == {"sugar": 600, "curd": 250}
    assert "Undo: not baked" in page(signed_in, f"/bake-plan/{tart.pk}/")

    response = signed_in.post(f"/making/bakes/{Bake.objects.get().pk}/undo/")

    assert response.url == f"/bake-plan/{tart.pk}/"
    tart.refresh_from_db()
    assert tart.status == "confirmed"
    assert on_hand() == {"sugar": 1_000}


def test_what_a_baked_cake_takes_below_nothing_is_said(signed_in, sugar):
    cake = build.cake("cake", lines=[(sugar, 1_500)])
    planned = build.planned_cake(cake, due_on=MONDAY, reference="2202")

    response = signed_in.post(
        f"/bake-plan/{planned.pk}/status/", {"status": "baked"} | as_shown(planned)
    )

    assert "Sugar: the record is 500 g below zero. Count it." in told(
        signed_in, response
    )


def test_a_later_day_is_chosen_and_one_that_is_over_is_today(signed_in, curd):
    build.planned_cake(build.cake("pie", lines=[(curd, 100)]), due_on=TUESDAY)

    assert "Make Tue May 5" in page(signed_in, "/making/?day=2026-05-05")
    assert "Make Mon May 4" in page(signed_in, "/making/?day=2026-05-03")
    assert "Make Mon May 4" in page(signed_in, "/making/?day=soon")


def test_from_the_shelf_is_said_where_it_differs(signed_in, sugar):
    lemons = build.item("lemons", on_hand_base=500, place=sugar.place)
    eggs = build.item("eggs", measure="count", on_hand_base=9, place=sugar.place)
    white = build.part("egg white", whole=eggs, yields_base=30)
    curd = build.recipe("curd", yield_base=100, lines=[(white, 60)])
    build.recipe_line(curd, lemons, 100, yield_percent=Decimal(40))
    build.planned_cake(build.cake(lines=[(curd, 100)]), due_on=MONDAY)

    (row,) = signed_in.get("/making/").context["list"].recipes

    shelf = [line.shelf.replace("\N{NO-BREAK SPACE}", " ") for line in row.lines]
    assert sorted(shelf) == ["2 eggs", "250 g"]


def test_the_item_page_tells_what_was_made_and_leads_to_it(signed_in, curd, sugar):
    bake = make(curd)

    text = page(signed_in, f"/shelves/{sugar.pk}/")

    assert f"/making/?done={bake.pk}" in text
    assert "Used" in text


def test_a_list_of_forty_recipes_is_read_in_a_fixed_number_of_queries(
    signed_in, sugar, django_assert_max_num_queries
):
    made = [
        build.recipe(f"curd {number}", yield_base=100, lines=[(sugar, 10)])
        for number in range(40)
    ]
    build.planned_cake(build.cake(lines=[(row, 50) for row in made]), due_on=MONDAY)

    with django_assert_max_num_queries(40):
        shown = signed_in.get("/making/")

    assert len(shown.context["list"].recipes) == 40
    assert lots_of(sugar) == [(None, 1_000)]
