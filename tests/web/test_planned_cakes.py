"""A cake is planned, and its page says what runs short because of it."""

from datetime import time, timedelta
from html import unescape

import pytest

from planning.models import PlannedCake
from stock.models import Item
from tests import build
from tests.build import MONDAY
from tests.web.planned_cakes import SATURDAY, Status, butter_cake, lemon_cake
from tests.web.reading import as_shown, page, told

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

ADD = "/bake-plan/add/"


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
        f"/bake-plan/{planned.pk}/change/",
        filled(size="", quantity="2") | as_shown(planned),
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
    assert "Layers contains itself" in told(signed_in, response)[1]


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
        "base size, 8 in round x 3."
    )
    assert not PlannedCake.objects.exists()


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("", "Blank: the recipe's base size, 3 layers of 8 in round."),
        ("8 in round x 3", "3 layers of 8 in round: the recipe's base size."),
        ("8 round", "is that in or cm?"),
        ("<b>8</b>", "'<b>8</b>' isn't a size"),
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
