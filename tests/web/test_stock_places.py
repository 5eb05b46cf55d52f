from html import unescape

import pytest

from stock.models import Place
from tests import build
from tests.web.reading import as_shown

pytestmark = pytest.mark.django_db


def page(browser, address="/shelves/places/"):
    response = browser.get(address)
    assert response.status_code == 200
    return unescape(response.content.decode())


def test_without_a_place_it_says_what_to_do_first(signed_in):
    assert "No place has a name yet." in page(signed_in)


def test_a_new_place_comes_last_on_the_walk(signed_in):
    build.place("walk-in", walk_order=4)

    assert 'value="5"' in page(signed_in, "/shelves/places/add/")


def test_a_place_is_added(signed_in):
    response = signed_in.post(
        "/shelves/places/add/", {"place": "Café  'cold' <1>", "walk_order": "2"}
    )

    assert response.url == "/shelves/places/"
    markup = signed_in.get(response.url).content.decode()
    assert "Café  &#x27;cold&#x27; &lt;1&gt;" in markup
    assert Place.objects.get().walk_order == 2


def test_a_place_whose_name_is_taken_is_not_added(signed_in):
    build.place("Walk-in")

    response = signed_in.post(
        "/shelves/places/add/", {"place": "walk-in", "walk_order": ""}
    )

    assert "already" in response.context["form"].errors["place"][0]
    assert Place.objects.count() == 1


def test_a_place_is_called_by_another_name(signed_in):
    place = build.place("walkin")

    signed_in.post(
        f"/shelves/places/{place.pk}/",
        {"place": "walk-in", "walk_order": "7"} | as_shown(place),
    )

    place.refresh_from_db()
    assert (place.name, place.walk_order) == ("walk-in", 7)


@pytest.mark.parametrize(
    ("moved", "to", "walk"),
    [
        ("bins", "earlier", ["bins", "rack", "freezer"]),
        ("bins", "later", ["rack", "freezer", "bins"]),
        ("rack", "earlier", ["rack", "bins", "freezer"]),
        ("freezer", "later", ["rack", "bins", "freezer"]),
    ],
)
def test_a_place_is_walked_earlier_or_later(signed_in, moved, to, walk):
    names = ("rack", "bins", "freezer")
    places = {
        name: build.place(name, walk_order=10 * number)
        for number, name in enumerate(names)
    }

    sent = {"to": to} | as_shown(places[moved])
    signed_in.post(f"/shelves/places/{places[moved].pk}/move/", sent)

    assert list(Place.objects.values_list("name", flat=True)) == walk


def test_places_of_one_number_can_be_told_apart_by_moving_them(signed_in):
    bins, rack = build.place("bins", walk_order=1), build.place("rack", walk_order=1)

    signed_in.post(f"/shelves/places/{bins.pk}/move/", {"to": "later"} | as_shown(bins))

    assert list(Place.objects.all()) == [rack, bins]


def test_moving_a_place_that_is_gone_changes_nothing(signed_in):
    build.place("rack")

    response = signed_in.post("/shelves/places/4711/move/", {"to": "later"})

    assert response.url == "/shelves/places/"


def test_retired_items_do_not_count_as_standing_there(signed_in):
    rack = build.place("rack")
    build.item("salt", place=rack)
    build.item("lard", place=rack, retired=True)

    assert 'data-label="Items">1</td>' in page(signed_in)


@pytest.mark.parametrize("places", [1, 20])
def test_the_queries_do_not_grow_with_the_places(
    signed_in, django_assert_num_queries, places
):
    for _ in range(places):
        build.item(place=build.place())

    # who is signed in (2), the bakery, the places
    with django_assert_num_queries(4):
        page(signed_in)
