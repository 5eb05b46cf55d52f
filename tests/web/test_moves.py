"""Moves: the page, the form of an item, and undoing."""

from datetime import timedelta
from decimal import Decimal

import pytest

from stock.ledger import levels
from stock.models import Move
from stock.moving.moving import MoveEntry, move_stock
from stock.wasting.wasting import WasteEntry, waste
from tests import build
from tests.build import MONDAY, NOON
from tests.on_hand import on_hand_base_by_item
from tests.stock import counts
from tests.web.reading import page, told

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.usefixtures("at_noon", "ledger_stays_whole"),
]

EARLIER = NOON - timedelta(days=3)


@pytest.fixture
def butter():
    """5 kg of butter in the walk-in; 2 kg of it are to be used first."""
    item = build.item("butter", place=build.place("walk-in"))
    build.stock(item, 3_000, at=EARLIER)
    build.stock(item, 2_000, lot="A", use_by=MONDAY, at=EARLIER)
    return item


@pytest.fixture(autouse=True)
def freezer():
    return build.place("freezer")


def send(browser, item, to_place, **typed):
    entry = {
        "key": "k1",
        "quantity": "3 kg",
        "unit": "",
        "source": f"{item.place_id}-any",
        "to": to_place.pk,
    }
    return browser.post(f"/move/{item.pk}/", entry | typed)


def refused(response):
    assert response.status_code == 200
    return response.context["form"].problem.replace("\N{NO-BREAK SPACE}", " ")


def on_hand(item, place):
    lots = levels.lots_on_hand(item=item, place=place)
    return {lot.code: lot.amount_base for lot in lots}


def test_a_usual_move_is_recorded_and_said_with_an_undo(signed_in, butter, freezer):
    response = send(signed_in, butter, freezer)

    row = Move.objects.get()
    assert (row.by.username, row.amount_base) == ("ada", 3_000)
    assert response.url == f"/move/?done={row.pk}"
    markup = page(signed_in, response.url)
    assert "3 kg of butter moved from walk-in to freezer; 2 kg left there." in markup
    assert f'action="/move/{row.pk}/undo/"' in markup
    assert on_hand(butter, freezer) == {"A": 2_000, "": 1_000}


def test_the_same_form_twice_records_once_and_says_the_same(signed_in, butter, freezer):
    whole = {"quantity": "5 kg"}
    first = send(signed_in, butter, freezer, **whole)
    again = send(signed_in, butter, freezer, **whole)

    assert first.url == again.url
    assert Move.objects.count() == 1


def test_another_entry_in_a_form_that_was_sent_is_asked_about(
    signed_in, butter, freezer
):
    send(signed_in, butter, freezer)

    response = send(signed_in, butter, freezer, quantity="1 kg")

    assert "recorded already: 3 kg of butter moved" in refused(response)
    assert response.context["form"].key != "k1"


def test_undo_brings_it_back_and_says_so(signed_in, butter, freezer):
    send(signed_in, butter, freezer)
    row = Move.objects.get()

    said = told(signed_in, signed_in.post(f"/move/{row.pk}/undo/"))

    assert said == ["Undone: 3 kg of butter back in walk-in."]
    assert on_hand(butter, butter.place) == {"": 3_000, "A": 2_000}
    assert "3 kg of butter moved" not in page(signed_in, f"/move/?done={row.pk}")


def test_a_form_that_is_sent_again_after_its_undo_says_so(signed_in, butter, freezer):
    send(signed_in, butter, freezer)
    told(signed_in, signed_in.post(f"/move/{Move.objects.get().pk}/undo/"))

    said = told(signed_in, send(signed_in, butter, freezer))

    assert said == ["This was recorded and undone since. Nothing else was recorded."]
    assert on_hand(butter, butter.place) == {"": 3_000, "A": 2_000}


def test_undo_is_offered_only_where_it_can_be_done(signed_in, butter, freezer):
    send(signed_in, butter, freezer)
    row = Move.objects.get()
    waste(WasteEntry(butter.pk, freezer.pk, Decimal(500), "staff"), key="w")

    markup = page(signed_in, f"/move/?done={row.pk}")
    [said] = told(signed_in, signed_in.post(f"/move/{row.pk}/undo/"))

    assert ">Undo</button>" not in markup
    sentence = "Butter in freezer was used, wasted or moved on since, so this move"
    assert sentence in markup
    assert said.startswith(sentence)


def test_a_move_that_is_not_there_cannot_be_undone(signed_in, butter):
    [said] = told(signed_in, signed_in.post("/move/999/undo/"))

    assert said == "This move is not here any more. Look again."
    assert signed_in.get("/move/1/undo/").status_code == 405


def test_more_than_is_there_leads_to_all_of_it_in_one_tap(signed_in, butter, freezer):
    response = send(signed_in, butter, freezer, quantity="6 kg")

    assert refused(response).startswith("Butter: 5 kg on record in walk-in, less than")
    markup = response.content.decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "Move all 5 kg</button>" in markup
    answer = {"to": "", "asked_to": freezer.pk, "exact": "5000.0000"}
    assert send(signed_in, butter, freezer, **answer).status_code == 302
    assert on_hand_base_by_item(place=freezer) == {butter.pk: 5_000}


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"quantity": ""}, "enter how much is moved, more than nothing"),
        ({"quantity": "0"}, "enter how much is moved"),
        ({"quantity": "-3 kg"}, "it cannot be negative"),
        ({"quantity": "2 crates"}, '"crates" isn\'t a unit of butter.'),
        ({"quantity": "2"}, "could be"),
        ({"quantity": "7" * 5_000}, ""),
        ({"to": ""}, "Choose where it goes"),
        ({"to": "999"}, "Choose where it goes"),
        ({"to": "x" * 400}, "Choose where it goes"),
        ({"source": ""}, "Choose where it was"),
        ({"source": "999-any"}, "Choose where it was"),
        ({"exact": "999999999999"}, "more than any bakery"),
    ],
)
def test_what_cannot_be_read_stands_beside_the_field_and_nothing_moves(
    signed_in, butter, freezer, typed, words
):
    problem = refused(send(signed_in, butter, freezer, **typed))

    assert problem
    assert words in problem
    assert not Move.objects.exists()


def test_to_the_place_where_it_is_is_refused(signed_in, butter):
    assert "is in walk-in already" in refused(send(signed_in, butter, butter.place))


def test_a_lot_of_another_item_is_none_of_this_one(signed_in, butter, freezer):
    lot = build.stock(build.item("milk"), 10, place=butter.place)

    response = send(signed_in, butter, freezer, source=f"{butter.place_id}-{lot}")

    assert "Choose where it was" in refused(response)


def test_a_lot_can_be_chosen_where_there_are_several(signed_in, butter, freezer):
    [_, undated] = levels.lots_on_hand(item=butter)
    chosen = f"{butter.place_id}-{undated.lot_id}"

    markup = page(signed_in, f"/move/{butter.pk}/")
    send(signed_in, butter, freezer, source=chosen)

    assert "walk-in: 2 kg, by today, lot A" in markup
    assert on_hand(butter, freezer) == {"": 3_000}


def test_only_other_places_are_offered_until_it_stands_in_two(
    signed_in, butter, freezer
):
    alone = page(signed_in, f"/move/{butter.pk}/")
    send(signed_in, butter, freezer)
    both = page(signed_in, f"/move/{butter.pk}/")

    assert "Freezer</button>" in alone
    assert "Walk-in</button>" not in alone
    assert "Walk-in</button>" in both


def test_items_that_stand_somewhere_are_offered(signed_in, butter, freezer):
    build.item("salt", place=butter.place)
    build.item("eggs", place=butter.place, on_hand_base=9)

    first = signed_in.get("/move/").context
    send(signed_in, butter, freezer)
    then = signed_in.get("/move/").context
    found = signed_in.get("/move/?words=EG").context

    assert [item.name for item in first["items"]] == ["butter", "eggs"]
    assert [item.name for item in then["lately"]] == ["butter"]
    assert [item.name for item in found["items"]] == ["eggs"]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"retired": True, "on_hand_base": 5}, "It is retired."),
        ({}, "None of it is on record in any place."),
    ],
)
def test_what_cannot_be_moved_says_so_and_the_way_on(signed_in, fields, words):
    item = build.item("salt", place=build.place("rack"), **fields)

    assert words in page(signed_in, f"/move/{item.pk}/")


def test_with_one_place_alone_another_is_to_be_added_first(signed_in, butter, freezer):
    freezer.delete()

    assert "There is no other place yet." in page(signed_in, f"/move/{butter.pk}/")


def test_shelves_and_the_items_page_lead_there(signed_in, butter):
    assert 'href="/move/"' in page(signed_in, "/shelves/")
    assert f'href="/move/{butter.pk}/"' in page(signed_in, f"/shelves/{butter.pk}/")


def test_a_count_that_is_open_says_what_moved_meanwhile(signed_in, butter, freezer):
    count = counts.opened(
        butter.place, freezer, counted_at=NOON - timedelta(minutes=30)
    )
    counts.enter(count, butter, "5 kg")
    counts.enter(count, butter, "none", place=freezer)
    send(signed_in, butter, freezer)

    markup = page(signed_in, f"/count/{count.pk}/review/")

    for words in ("2 kg moved to another place today", "2 kg moved here today"):
        assert f"{words} 12:00 pm, after the count's moment" in markup.replace(
            "noon", "12:00 pm"
        )


@pytest.mark.parametrize("rows", [1, 8])
def test_queries_do_not_grow_with_rows(
    signed_in, freezer, django_assert_max_num_queries, rows
):
    for number in range(rows):
        item = build.item(f"item {number}", place=build.place(), on_hand_base=900)
        move_stock(
            MoveEntry(item.pk, item.place_id, freezer.pk, Decimal(5)), key=str(number)
        )
    signed_in.get("/move/")

    with django_assert_max_num_queries(34):
        signed_in.get("/move/")
    with django_assert_max_num_queries(10):
        signed_in.get(f"/move/{item.pk}/")
