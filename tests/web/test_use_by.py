"""What has to be used soon, beside the making list."""

import re
from datetime import timedelta

import pytest

from planning.web.today.use_by import use_by_rows
from stock.holding.holding import hold_lot
from tests import build
from tests.build import MONDAY
from tests.web.reading import page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

TUESDAY, WEDNESDAY = (MONDAY + timedelta(days=n) for n in (1, 2))


@pytest.fixture
def mascarpone():
    """500 g for Tuesday in two places, 200 g for Wednesday, all in date."""
    build.bakery(time_zone="UTC")
    item = build.item("mascarpone", place=build.place("walk-in"))
    build.stock(item, 300, lot="A", use_by=TUESDAY)
    build.stock(item, 200, lot="B", use_by=TUESDAY, place=build.place("reach-in"))
    build.stock(item, 200, lot="C", use_by=WEDNESDAY)
    return item


@pytest.fixture
def cream(mascarpone):
    return build.recipe("cream", lines=[(mascarpone, 100)])


def plain(markup):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", markup))


def said():
    return [(row.words, row.later, row.could) for row in use_by_rows(MONDAY)]


def test_each_item_is_said_once_with_what_expires_first(mascarpone, cream):
    milk = build.item("milk", place=mascarpone.place)
    build.stock(milk, 100, use_by=MONDAY)

    rows = [row.replace("\N{NO-BREAK SPACE}", " ") for each in said() for row in each]

    assert rows == [
        *("Use by Mon May 4: 100 g milk", "", "No recipe takes it."),
        *("Use by Tue May 5: 500 g mascarpone", "200 g more by Wed May 6"),
        "Could go into cream.",
    ]


def test_planned_cakes_come_before_recipes(mascarpone, cream):
    cake = build.cake("sheet cake", lines=[(cream.item, 50)])
    build.cake("other cake", lines=[(mascarpone, 50)])
    build.planned_cake(cake, reference="2110", due_on=WEDNESDAY)
    build.planned_cake(cake, reference="2113", due_on=WEDNESDAY)
    build.planned_cake(cake, reference="2111", due_on=WEDNESDAY, status="cancelled")
    build.planned_cake(cake, reference="2112", due_on=MONDAY - timedelta(days=1))
    retired = build.recipe("old mousse", lines=[(mascarpone, 10)])
    retired.item.retired = True
    retired.item.save()

    ((_, _, could),) = said()

    assert could == "Could go into sheet cake (2110, Wed May 6), cream and 1 more."


def test_a_whole_could_go_where_its_part_goes():
    build.bakery(time_zone="UTC")
    egg = build.item("eggs", measure="count", place=build.place())
    build.stock(egg, 12, use_by=TUESDAY)
    build.recipe(
        "meringue", lines=[(build.part("white", whole=egg, yields_base=30), 60)]
    )

    ((_, _, could),) = said()

    assert could == "Could go into meringue."


def test_what_is_expired_or_on_hold_or_keeps_is_left_out(mascarpone):
    for lot in mascarpone.lots.all():
        hold_lot(lot.pk, reason="recall")
    old = build.item("old milk", place=mascarpone.place)
    build.stock(old, 100, use_by=MONDAY - timedelta(days=1))
    build.stock(old, 100, use_by=MONDAY + timedelta(days=4))

    assert said() == []


def test_the_making_list_says_it(signed_in, mascarpone, cream):
    making = plain(page(signed_in, "/making/"))

    assert (
        "Use by Tue May 5: 500 g mascarpone; 200 g more by Wed May 6. Could go into "
        "cream." in making
    )


@pytest.mark.parametrize("more", [0, 5])
def test_more_items_take_no_more_queries(
    mascarpone, cream, more, django_assert_num_queries
):
    for number in range(more):
        item = build.item(f"fruit {number}", place=mascarpone.place)
        build.stock(item, 10, use_by=TUESDAY)

    with django_assert_num_queries(6):
        use_by_rows(MONDAY)
