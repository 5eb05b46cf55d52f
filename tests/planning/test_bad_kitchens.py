"""Kitchens that nobody wants, as stored: `plan --json` gives a plan all the same."""

import io
import json
from datetime import timedelta

import pytest
from django.core.management import call_command

from tests import build
from tests.build import MONDAY

pytestmark = pytest.mark.django_db

THURSDAY = MONDAY + timedelta(days=3)
both_ways = pytest.mark.parametrize("effort", [(), ("--effort", "quick")])


@pytest.fixture(autouse=True)
def crumb():
    build.bakery(name="Crumb", currency="USD", time_zone="UTC")


def whites(**fields):
    """Egg whites, 500 g of which go into a cake for Thursday."""
    item = build.item("egg whites", **fields)
    build.planned_cake(build.cake(lines=[(item, 500)]), due_on=THURSDAY)
    return item


def plan_of(effort):
    out = io.StringIO()
    call_command("plan", "--json", "--at", "2026-05-04T12:00", *effort, stdout=out)
    return json.loads(out.getvalue())


def because(plan):
    return " ".join(
        sentence
        for order in plan["orders"]
        for line in order["lines"]
        for sentence in line["because"]
    )


@both_ways
def test_what_nobody_sells_is_said(effort):
    whites()

    plan = plan_of(effort)

    assert plan["orders"] == []
    assert plan["warnings"] == [
        "Egg whites: out on Thu May 7, and no supplier sells it. Buy it by hand, or "
        "give it a pack on its page."
    ]


@both_ways
def test_a_supplier_that_does_not_come_within_the_plan_is_no_help(effort):
    closed = [(MONDAY + timedelta(days=n)).isoformat() for n in range(40)]
    mill = build.supplier("Mill", closed_on="; ".join(closed))
    build.pack(whites(), mill, price="5")

    plan = plan_of(effort)

    assert plan["orders"] == []
    assert plan["warnings"] == [
        "Egg whites: out on Thu May 7, and no delivery that can still be ordered "
        "helps. Buy it by hand, or change the bake plan."
    ]


@both_ways
def test_a_minimum_order_that_no_need_reaches_is_filled_where_nobody_else_sells(effort):
    # One pack of 1,000 g for 5 is enough; 500 takes 100 of them.
    mill = build.supplier("Mill", minimum_order=500)
    build.pack(whites(), mill, price="5", label="jug")

    plan = plan_of(effort)

    [order] = plan["orders"]
    assert (order["goods"], order["lines"][0]["packs"]) == ("500.00", 100)
    assert "99" in because(plan)
    assert "to reach the minimum order of $500.00" in because(plan)


def test_a_minimum_order_that_no_need_reaches_sends_the_search_elsewhere():
    item = whites()
    build.pack(item, build.supplier("Mill", minimum_order=500), price="5")
    build.pack(item, build.supplier("Dairy"), price="6")

    plan = plan_of(("--effort", "quick"))

    assert [order["supplier"] for order in plan["orders"]] == ["Dairy"]
    assert plan["warnings"] == [
        "Mill: cheaper for egg whites, but all that it could bring comes to "
        "$5.00, under its minimum order of $500.00. Bought elsewhere."
    ]


@both_ways
def test_a_pack_far_too_large_for_what_keeps_three_days_is_bought_all_the_same(effort):
    # 500 g out of a tub of 90 kg.
    build.pack(whites(keeps_days=3), build.supplier("Mill"), size_base=90_000)

    plan = plan_of(effort)

    [order] = plan["orders"]
    assert order["lines"][0]["packs"] == 1
    assert "keeps until " in because(plan)
    spare = "expire" if effort else " more"
    assert spare in because(plan)


@both_ways
def test_what_is_needed_today_is_said_and_the_rest_is_bought(effort):
    item = whites()
    build.planned_cake(build.cake(lines=[(item, 300)]), due_on=MONDAY)
    build.pack(item, build.supplier("Mill"), size_base=500)

    plan = plan_of(effort)

    assert sum(line["packs"] for o in plan["orders"] for line in o["lines"]) == 2
    [sentence] = plan["warnings"]
    assert sentence.startswith("Egg whites: out on Mon May 4,")
    assert sentence.endswith("or change the bake plan.")


def test_what_is_needed_the_day_it_comes_is_late_from_a_truck_used_the_day_after():
    butter = build.item("butter")
    build.pack(butter, build.supplier("Dairy", usable_next_day=True))
    tuesday = MONDAY + timedelta(days=1)  # the truck of that day can still be ordered
    build.planned_cake(build.cake(lines=[(butter, 500)]), due_on=tuesday)

    warnings = " ".join(plan_of(("--effort", "quick"))["warnings"])

    assert "Dairy on Tue May 5, usable on Wed May 6, late by 1 day." in warnings
