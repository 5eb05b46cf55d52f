"""What has to be used soon or taken off, on Today and beside the making list."""

import re
from datetime import timedelta

import pytest

from planning.web.today.use_first_items import items_to_use_first
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
    return [
        (f"{row.use_by}: {row.quantity} {row.item_name}", row.more, row.could)
        for row in items_to_use_first(MONDAY)
    ]


def test_each_item_is_said_once_with_what_expires_first(mascarpone, cream):
    milk = build.item("milk", place=mascarpone.place)
    build.stock(milk, 100, use_by=MONDAY)

    rows = [row.replace("\N{NO-BREAK SPACE}", " ") for each in said() for row in each]

    assert rows == [
        *("today: 100 g milk", "", "No recipe takes it."),
        *("tomorrow: 500 g mascarpone", "Also 200 g by Wed."),
        "Could go into cream.",
    ]


def test_planned_cakes_come_before_recipes(mascarpone, cream):
    cake = build.cake("sheet cake", lines=[(cream.item, 50)], lead_days=1)
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


def test_a_cake_that_is_made_after_the_last_day_is_not_named(mascarpone, cream):
    cake = build.cake("sheet cake", lines=[(cream.item, 50)], lead_days=1)
    build.planned_cake(cake, due_on=WEDNESDAY + timedelta(days=1))

    ((_, _, could),) = said()

    assert could == "Could go into cream."


def test_a_whole_could_go_where_its_part_goes():
    build.bakery(time_zone="UTC")
    egg = build.item("eggs", measure="count", place=build.place())
    build.stock(egg, 12, use_by=TUESDAY)
    build.recipe(
        "meringue", lines=[(build.part("white", whole=egg, yields_base=30), 60)]
    )

    ((_, _, could),) = said()

    assert could == "Could go into meringue."


def test_an_item_that_is_expired_on_hold_and_in_date_is_one_row(mascarpone, cream):
    hold_lot(mascarpone.lots.get(code="C").pk, reason="recall")
    sunday = MONDAY - timedelta(days=1)
    build.stock(mascarpone, 50, lot="Z", use_by=sunday)
    build.stock(mascarpone, 900, lot="Y", use_by=MONDAY + timedelta(days=4))

    (row,) = items_to_use_first(MONDAY)

    assert (row.is_out, row.on_hold, row.where) == (True, False, "Walk-in, lot Z")
    assert (row.use_by, row.quantity) == ("yesterday", "50\N{NO-BREAK SPACE}g")
    assert (
        row.more.replace("\N{NO-BREAK SPACE}", " ")
        == "Also 500 g by tomorrow and 200 g on hold."
    )
    assert row.could == "Could go into cream."


def test_what_is_all_expired_or_on_hold_could_go_into_nothing(mascarpone, cream):
    for lot in mascarpone.lots.all():
        hold_lot(lot.pk, reason="recall")
    old = build.item("old milk", place=mascarpone.place)
    build.recipe("sponge", lines=[(old, 10)])
    build.stock(old, 100, use_by=MONDAY - timedelta(days=1))

    rows = items_to_use_first(MONDAY)

    assert [(row.item_name, row.on_hold, row.could) for row in rows] == [
        ("old milk", False, ""),
        ("mascarpone", True, ""),
    ]


def test_today_shows_three_and_leads_to_all(signed_in, mascarpone, cream):
    for number in range(3):
        build.stock(build.item(f"fruit {number}"), 10, use_by=WEDNESDAY)

    today = page(signed_in, "/")

    assert "Tomorrow Mascarpone, 500 g Walk-in and reach-in, lots A and B." in (
        plain(today)
    )
    assert '<a href="/making/#use-first">All 4</a>' in today
    assert "Fruit 1" in today
    assert "Fruit 2" not in today
    assert plain(page(signed_in, "/making/")).count("fruit 2") == 1


def test_the_making_list_says_it(signed_in, mascarpone, cream):
    making = plain(page(signed_in, "/making/"))

    assert (
        "Use by tomorrow: 500 g mascarpone. Walk-in and reach-in, lots A and B. "
        "Also 200 g by Wed. Could go into cream." in making
    )


@pytest.mark.parametrize("more", [0, 5])
def test_more_items_take_no_more_queries(
    mascarpone, cream, more, django_assert_num_queries
):
    for number in range(more):
        item = build.item(f"fruit {number}", place=mascarpone.place)
        build.stock(item, 10, use_by=TUESDAY)

    with django_assert_num_queries(6):
        items_to_use_first(MONDAY)
