"""Waste: the page, the form of an item, and undoing."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from stock.ledger import levels
from stock.models import Movement, Waste
from stock.wasting.wasting import WasteEntry, waste
from tests import build
from tests.build import MONDAY, NOON
from tests.on_hand import on_hand_base_by_item
from tests.web.reading import page, told

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.usefixtures("at_noon", "ledger_stays_whole"),
]

YESTERDAY = MONDAY - timedelta(days=1)


@pytest.fixture
def butter():
    """5 kg of butter in the walk-in; 2 kg of it are to be used first."""
    item = build.item("butter", place=build.place("walk-in"))
    build.stock(item, 3_000, at=NOON - timedelta(days=3))
    build.stock(item, 2_000, lot="A", use_by=MONDAY, at=NOON - timedelta(days=3))
    return item


def send(browser, item, **typed):
    entry = {
        "key": "k1",
        "quantity": "1 kg",
        "unit": "",
        "source": f"{item.place_id}-any",
        "reason": "spoiled",
    }
    return browser.post(f"/waste/{item.pk}/", entry | typed)


def refused(response):
    assert response.status_code == 200
    return response.context["form"].problem.replace("\N{NO-BREAK SPACE}", " ")


def on_hand(item):
    return {lot.code: lot.amount_base for lot in levels.lots_on_hand(item=item)}


def test_a_usual_waste_is_recorded_and_said_with_an_undo(signed_in, butter):
    response = send(signed_in, butter)

    row = Waste.objects.get()
    assert (row.by.username, row.reason, row.amount_base) == ("ada", "spoiled", 1_000)
    assert response.url == f"/waste/?done={row.pk}"
    markup = page(signed_in, response.url)
    assert "1 kg of butter wasted, spoiled, from walk-in; 4 kg left there." in markup
    assert f'action="/waste/{row.pk}/undo/"' in markup
    assert on_hand(butter) == {"": 3_000, "A": 1_000}


def test_the_same_form_twice_records_once_and_says_the_same(signed_in, butter):
    first, again = send(signed_in, butter), send(signed_in, butter)

    assert first.url == again.url
    assert Waste.objects.count() == 1


def test_another_entry_in_a_form_that_was_sent_is_asked_about(signed_in, butter):
    send(signed_in, butter)

    response = send(signed_in, butter, quantity="2 kg")

    assert "recorded already: 1 kg of butter wasted" in refused(response)
    assert response.context["form"].key != "k1"
    assert Waste.objects.count() == 1


def test_undo_puts_it_back_and_says_so(signed_in, butter):
    send(signed_in, butter)
    row = Waste.objects.get()

    said = told(signed_in, signed_in.post(f"/waste/{row.pk}/undo/"))

    assert said == ["Undone: 1 kg of butter back in walk-in."]
    assert on_hand(butter) == {"": 3_000, "A": 2_000}
    assert "1 kg of butter wasted" not in page(signed_in, f"/waste/?done={row.pk}")


def test_a_form_that_is_sent_again_after_its_undo_says_so(signed_in, butter):
    send(signed_in, butter)
    told(signed_in, signed_in.post(f"/waste/{Waste.objects.get().pk}/undo/"))

    said = told(signed_in, send(signed_in, butter))

    assert said == ["This was recorded and undone since. Nothing else was recorded."]
    assert on_hand(butter) == {"": 3_000, "A": 2_000}


def test_what_was_counted_since_cannot_be_undone_and_that_is_said(signed_in, butter):
    send(signed_in, butter)
    build.stock(butter, 5, kind=Movement.Kind.CORRECTED, at=NOON)
    row = Waste.objects.get()

    [said] = told(signed_in, signed_in.post(f"/waste/{row.pk}/undo/"))

    assert said.startswith("Butter in walk-in was set by hand since, so this waste")


def test_undo_is_offered_only_where_it_can_be_done(
    signed_in, butter, django_assert_max_num_queries
):
    sugar = build.item("sugar", place=butter.place, on_hand_base=9_000)
    send(signed_in, butter)
    send(signed_in, sugar, key="k2")
    build.stock(butter, 5, kind=Movement.Kind.CORRECTED, at=NOON)
    of_butter, of_sugar = Waste.objects.order_by("pk")

    with django_assert_max_num_queries(30):
        shown = page(signed_in, f"/waste/?done={of_butter.pk}")

    assert f'action="/waste/{of_sugar.pk}/undo/"' in shown
    assert f'action="/waste/{of_butter.pk}/undo/"' not in shown
    assert "Butter in walk-in was set by hand since, so this waste cannot" in shown


def test_a_waste_that_is_not_there_cannot_be_undone(signed_in, butter):
    [said] = told(signed_in, signed_in.post("/waste/999/undo/"))

    assert said == "This waste is not here any more. Look again."
    assert signed_in.get("/waste/1/undo/").status_code == 405


def test_the_counting_unit_stands_beside_the_field(signed_in):
    eggs = build.item("eggs", measure="count", place=build.place(), on_hand_base=60)

    markup = page(signed_in, f"/waste/{eggs.pk}/")
    send(signed_in, eggs, quantity="3", unit="each")

    assert "<option selected>each</option>" in markup
    assert on_hand(eggs) == {"": 57}


def test_a_bare_number_without_a_unit_is_asked_about(signed_in, butter):
    assert "could be" in refused(send(signed_in, butter, quantity="2"))
    assert on_hand(butter) == {"": 3_000, "A": 2_000}


def test_more_than_on_record_is_asked_about_with_two_answers(signed_in, butter):
    response = send(signed_in, butter, quantity="6 kg")

    assert refused(response).startswith("Butter: 5 kg on record in walk-in, less than")
    markup = response.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "Waste all 5 kg</button>" in markup
    assert "It was 6 kg</button>" in markup
    assert not Waste.objects.exists()


def test_all_of_it_is_one_answer(signed_in, butter):
    response = send(
        signed_in,
        butter,
        quantity="6 kg",
        reason="",
        asked_reason="dropped",
        exact="5000.0000",
    )

    assert response.status_code == 302
    assert Waste.objects.get().reason == "dropped"
    assert on_hand(butter) == {}


def test_it_was_more_is_the_other_and_the_record_is_below_nothing(signed_in, butter):
    asked = send(signed_in, butter, quantity="6 kg").context["form"].more["beyond"]

    response = send(
        signed_in,
        butter,
        quantity="6 kg",
        reason="",
        asked_reason="dropped",
        beyond=asked,
    )

    assert "below zero until it is counted" in page(signed_in, response.url)
    assert on_hand_base_by_item() == {butter.pk: -1_000}


def test_it_was_more_is_true_of_what_was_asked_alone(signed_in, butter):
    asked = send(signed_in, butter, quantity="6 kg").context["form"].more["beyond"]

    response = send(signed_in, butter, quantity="60 kg", beyond=asked)

    assert "less than 60 kg" in refused(response)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"quantity": ""}, "enter how much is wasted, more than nothing"),
        ({"quantity": "none"}, "enter how much is wasted"),
        ({"quantity": "0"}, "enter how much is wasted"),
        ({"quantity": "-3 kg"}, "it cannot be negative"),
        ({"quantity": "2 crates"}, '"crates" isn\'t a unit of butter.'),
        ({"quantity": "NaN kg"}, "isn't a quantity"),
        ({"quantity": "1e99 kg"}, ""),
        ({"quantity": "900000000000 kg"}, "more than"),
        ({"quantity": "7" * 5_000}, ""),
        ({"reason": ""}, "Choose why: spoiled, dropped"),
        ({"reason": "stolen"}, "Choose why: spoiled, dropped"),
        ({"source": ""}, "Choose where it was"),
        ({"source": "999-any"}, "Choose where it was"),
        ({"source": "1-2-3"}, "Choose where it was"),
        ({"source": "x-any"}, "Choose where it was"),
        ({"source": "9" * 400}, "Choose where it was"),
        ({"quantity": "", "exact": "-5"}, "enter how much is wasted"),
        ({"quantity": "", "exact": "Infinity"}, "enter how much is wasted"),
        ({"quantity": "", "exact": "0"}, "enter how much is wasted"),
        ({"exact": "999999999999"}, "more than any bakery"),
    ],
)
def test_what_cannot_be_read_stands_beside_the_field_and_nothing_moves(
    signed_in, butter, typed, words
):
    problem = refused(send(signed_in, butter, **typed))

    assert problem
    assert words in problem
    assert on_hand(butter) == {"": 3_000, "A": 2_000}


def test_a_lot_of_another_item_is_none_of_this_one(signed_in, butter):
    lot = build.stock(build.item("milk"), 10, place=butter.place)

    response = send(signed_in, butter, source=f"{butter.place_id}-{lot}")

    assert "Choose where it was" in refused(response)


def test_a_lot_can_be_chosen_where_there_are_several(signed_in, butter):
    [_, undated] = levels.lots_on_hand(item=butter)

    markup = page(signed_in, f"/waste/{butter.pk}/")
    send(signed_in, butter, source=f"{butter.place_id}-{undated.lot_id}")

    assert "walk-in: 5 kg on record</option>" in markup
    assert "walk-in: 2 kg, by today, lot A" in markup
    assert on_hand(butter) == {"": 2_000, "A": 2_000}


def test_what_is_out_of_date_stands_on_top_with_one_button(signed_in, butter):
    cream = build.item("cream", place=butter.place)
    lot = build.stock(cream, 750, lot="C", use_by=YESTERDAY)

    markup = page(signed_in, "/waste/")

    assert markup.index("<h2>Expired</h2>") < markup.index("What is it?")
    assert "Waste all 750 g</button>" in markup
    assert "Local codes and licensed practice decide" in markup
    key = re.search(r'name="key" value="([^"]+)"', markup)[1]
    once = {
        "key": key,
        "source": f"{cream.place_id}-{lot}",
        "exact": "750.0000",
        "reason": "expired",
    }
    first = signed_in.post(f"/waste/{cream.pk}/", once)
    again = signed_in.post(f"/waste/{cream.pk}/", once)
    assert first.url == again.url
    assert Waste.objects.get().amount_base == Decimal(750)
    assert "Out of date" not in page(signed_in, "/waste/")


def test_the_second_hand_on_what_is_out_of_date_is_told(signed_in, butter):
    cream = build.item("cream", place=butter.place)
    lot = build.stock(cream, 750, use_by=YESTERDAY)
    tap = {"source": f"{cream.place_id}-{lot}", "exact": "750", "reason": "expired"}
    signed_in.post(f"/waste/{cream.pk}/", tap | {"key": "ada"})

    response = signed_in.post(f"/waste/{cream.pk}/", tap | {"key": "ben"})

    assert refused(response).startswith("Cream: none on record in walk-in")


def test_the_last_day_of_use_is_not_out_of_date(signed_in, butter):
    assert "Out of date" not in page(signed_in, "/waste/")


def test_what_was_wasted_last_is_offered_first(signed_in, butter):
    for name in ("eggs", "flour"):
        item = build.item(name, place=butter.place, on_hand_base=1_000)
        entry = WasteEntry(item.pk, item.place_id, Decimal(5), "staff")
        waste(entry, key=name)

    response = signed_in.get("/waste/")

    assert [item.name for item in response.context["lately"]] == ["flour", "eggs"]


def test_items_are_found_by_their_name(signed_in, butter):
    build.item("eggs", place=butter.place)

    found = page(signed_in, "/waste/?words=BUT")
    nothing = page(signed_in, "/waste/?words=%3Cb%3E")

    assert f'href="/waste/{butter.pk}/"' in found
    assert "Eggs" not in found
    assert "No item has that in its name." in nothing


def test_three_wastes_are_shown_and_the_rest_on_demand(signed_in, butter):
    for number in range(5):
        send(signed_in, butter, key=f"k{number}", quantity=f"{number + 1} g")

    few, every = page(signed_in, "/waste/"), page(signed_in, "/waste/?lately=all")

    assert few.count(">Undo</button>") == 3
    assert "Show what was wasted before" in few
    assert every.count(">Undo</button>") == 5


def test_history_names_it_with_its_reason_and_its_undoing(signed_in, butter):
    send(signed_in, butter)
    signed_in.post(f"/waste/{Waste.objects.get().pk}/undo/")

    markup = page(signed_in, f"/shelves/{butter.pk}/")

    assert "Wasted, spoiled" in markup
    assert "Waste undone, spoiled" in markup
    assert f'href="/waste/{butter.pk}/"' in markup


def test_today_leads_from_what_is_out_of_date(signed_in, butter):
    cream = build.item("cream", place=butter.place)
    build.stock(cream, 750, use_by=YESTERDAY)

    markup = page(signed_in, "/")

    assert 'href="/waste/"' in markup
    assert 'aria-label="Waste Cream"' in markup


def test_a_lot_that_an_address_names_is_chosen(signed_in, butter):
    [dated, _] = levels.lots_on_hand(item=butter)
    chosen = f"{butter.place_id}-{dated.lot_id}"

    form = signed_in.get(f"/waste/{butter.pk}/?source={chosen}").context["form"]

    assert form.chosen == chosen


def test_a_place_stands_for_its_only_lot(signed_in, butter):
    freezer = build.place("freezer")
    lot = build.stock(butter, 10, place=freezer, lot="F")

    form = signed_in.get(f"/waste/{butter.pk}/?source={freezer.pk}-{lot}").context[
        "form"
    ]

    assert form.chosen == f"{freezer.pk}-any"


def test_without_any_place_the_first_one_is_to_be_added(signed_in):
    item = build.item("salt")

    assert "Add the first place" in page(signed_in, f"/waste/{item.pk}/")


@pytest.mark.parametrize("rows", [1, 8])
def test_queries_do_not_grow_with_rows(signed_in, django_assert_num_queries, rows):
    for number in range(rows):
        item = build.item(f"item {number}", place=build.place(), on_hand_base=900)
        build.stock(item, 100, use_by=YESTERDAY, lot="old")
        waste(WasteEntry(item.pk, item.place_id, Decimal(5), "staff"), key=str(number))
    signed_in.get("/waste/")

    with django_assert_num_queries(15):
        signed_in.get("/waste/?lately=all")
    with django_assert_num_queries(9):
        signed_in.get(f"/waste/{item.pk}/")
