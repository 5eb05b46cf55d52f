"""Too late is only what planned cakes lack before any delivery that can still come."""

from datetime import timedelta
from html import unescape

import pytest

from planning.engine.scenarios.ways_out import Way
from planning.plan.planner import make_plan
from planning.wording.plan_text import plan_as_text
from tests import build
from tests.build import MONDAY, NOON

TUESDAY, WEDNESDAY, FRIDAY = (MONDAY + timedelta(days=days) for days in (1, 2, 4))

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def ways(**options):
    """What can be done about each shortfall, by the item's name."""
    planned = make_plan(bakery=build.bakery(), as_of=NOON, **options)
    names = planned.kitchen.nodes.names
    rows = planned.plan.shortfalls
    return {names[row.node]: planned.ways_out.of(row) for row in rows}


def uses(item, *days):
    cake = build.cake(f"{item.name} cake", lines=[(item, 100)])
    for day in days:
        build.planned_cake(cake, due_on=day)


def test_what_cakes_lack_before_the_first_delivery_is_too_late():
    milk = build.item("milk")
    build.pack(milk, build.supplier())  # Tuesday's truck can be used on Wednesday
    uses(milk, TUESDAY)

    out = ways()["milk"]

    assert (out.way, out.delivery) == (Way.TOO_LATE, None)


def test_what_is_below_safety_until_the_next_delivery_is_not_too_late():
    milk = build.item("milk", on_hand_base=300, safety_base=500)
    build.pack(milk, build.supplier())

    out = ways()["milk"]

    assert out.way is Way.NEXT_DELIVERY
    assert out.delivery.deliver_on == TUESDAY


def test_a_level_that_no_delivery_of_the_plan_restores_says_so():
    milk = build.item("milk", on_hand_base=300, safety_base=500)
    build.pack(milk, build.supplier(delivery_days="Fri"))

    assert ways(days=3)["milk"].way is Way.NO_DELIVERY


def test_what_nobody_sells_is_no_question_of_days():
    build.item("milk", on_hand_base=300, safety_base=500)
    uses(build.item("rose"), FRIDAY)

    found = ways()

    assert {out.way for out in found.values()} == {Way.NOT_SOLD}


def test_what_a_later_day_lacks_for_good_is_said_of_what_starts_in_time():
    # Tuesday's truck can be used on Wednesday, on that day alone: Thursday lacks it.
    berries = build.item("berries", keeps_days=2)
    build.pack(berries, build.supplier(delivery_days="Tue"))
    uses(berries, WEDNESDAY, WEDNESDAY + timedelta(days=1))

    out = ways()["berries"]

    assert (out.way, out.is_part_lost) == (Way.IN_TIME, True)
    assert out.delivery.deliver_on == TUESDAY


def test_goods_used_first_can_spare_what_keeps_longer():
    # Used on Wednesday, Tuesday's berries leave the undated ones for Thursday.
    berries = build.item("berries", keeps_days=2, on_hand_base=100)
    build.pack(berries, build.supplier(delivery_days="Tue"))
    uses(berries, WEDNESDAY, WEDNESDAY + timedelta(days=1))

    out = ways()["berries"]

    assert (out.way, out.is_part_lost) == (Way.IN_TIME, False)
    assert out.delivery.deliver_on == TUESDAY


def test_no_page_calls_too_late_what_another_orders(signed_in):
    milk = build.item("milk", on_hand_base=300, safety_base=500)
    build.pack(milk, build.supplier("Dairy"), size_base=1_000)

    pages = {
        address: " ".join(unescape(signed_in.get(address).content.decode()).split())
        for address in ("/", "/shortfalls/", "/rescue/", "/orders/")
    }
    text = plan_as_text(make_plan(bakery=build.bakery(), as_of=NOON))

    assert "Nothing has to be bought by hand." in pages["/rescue/"]
    assert "Dairy" in pages["/orders/"]
    assert "No delivery comes before then: order from Dairy by" in pages["/shortfalls/"]
    assert "below safety on Mon May 4, until Dairy comes on Tue May 5" in pages["/"]
    said = [*pages.values(), text]
    assert [words for words in said if "too late" in words.casefold()] == []
