"""A form that leaves a thing's name out changes the rest, and says its name."""

import pytest

from tests import build
from tests.web.reading import as_shown, told

pytestmark = pytest.mark.django_db


def changed_without_its_name(client, address, row, **typed):
    return told(client, client.post(address, {**as_shown(row), **typed}))


def test_a_pack_a_place_and_an_item_keep_the_name_that_is_not_sent(signed_in):
    item = build.item("flour", place=build.place("walk-in"))
    pack = build.pack(item, label="50 lb sack")

    said = [
        changed_without_its_name(
            signed_in, f"/suppliers/packs/{pack.pk}/", pack, price="77"
        ),
        changed_without_its_name(
            signed_in, f"/shelves/places/{item.place_id}/", item.place, walk_order="4"
        ),
        changed_without_its_name(
            signed_in, f"/shelves/{item.pk}/change/", item, par="9 lb"
        ),
    ]

    assert said == [
        ["Saved: 50 lb sack."],
        ["walk-in is saved."],
        ["Saved: flour."],
    ]
    pack.refresh_from_db()
    assert pack.price == 77


def test_a_recipe_keeps_the_name_that_is_not_sent(signed_in):
    cream = build.recipe("cream")

    said = changed_without_its_name(
        signed_in, f"/recipes/{cream.pk}/change/", cream, lead_days="2"
    )

    assert said == ["Saved: cream."]
    cream.refresh_from_db()
    assert cream.lead_days == 2
