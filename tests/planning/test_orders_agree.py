"""No page and no line of text says to buy by hand what an order brings."""

import random
import re
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest

from planning.engine.ordering.column_generation.efforts import QUICK
from planning.interchange.loading import load_kitchen
from planning.models import Order
from planning.orders.drafting import draft_orders
from planning.plan.plan_json import plan_as_json
from planning.plan.planner import make_plan, with_better_orders
from planning.wording.plan_text import plan_as_text
from stock.models import Bakery
from tests import build
from tests.build import MONDAY, NOON
from tests.reference.random_kitchens import random_sheets

TUESDAY, WEDNESDAY, FRIDAY = (MONDAY + timedelta(days=days) for days in (1, 2, 4))
PAGES = ("/", "/shortfalls/", "/rescue/", "/orders/")

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def uses(item, *days, quantity_base=100):
    cake = build.cake(f"{item.name} cake", lines=[(item, quantity_base)])
    for day in days:
        build.planned_cake(cake, due_on=day)


@pytest.fixture
def berries():
    """100 g without a date; Tuesday's keep to Wednesday and can be used on that day.

    Wednesday and Thursday take 100 g each: fresh ones on Wednesday spare the others.
    """
    build.bakery(time_zone="UTC")
    row = build.item("berries", keeps_days=2, on_hand_base=100)
    build.pack(row, build.supplier("Dairy", delivery_days="Tue"), size_base=100)
    uses(row, WEDNESDAY, WEDNESDAY + timedelta(days=1))
    return row


@pytest.fixture
def milk():
    """100 g are needed on Tuesday; Tuesday's truck can be used on Wednesday."""
    build.bakery(time_zone="UTC")
    row = build.item("milk")
    build.pack(row, build.supplier("Dairy", delivery_days="Tue"), size_base=1_000)
    uses(row, TUESDAY)
    return row


def plans():
    """The plan with the usual rule's orders, and with those of a search."""
    planned = make_plan(bakery=build.bakery(), as_of=NOON)
    return planned, with_better_orders(planned, effort=QUICK)


def said(browser):
    """Everything that is said, by where it is said."""
    found = {
        address: " ".join(unescape(browser.get(address).content.decode()).split())
        for address in PAGES
    }
    for name, planned in zip(("usual", "best"), plans(), strict=True):
        found[f"{name} text"] = " ".join(plan_as_text(planned).split())
        warnings = plan_as_json(planned)["warnings"]
        found[f"{name} warnings"] = " ".join(warnings)
    return found


def test_what_fresh_goods_spare_is_ordered_and_never_bought_by_hand(signed_in, berries):
    for planned in plans():
        [order] = planned.plan.purchasing.orders
        assert (order.deliver_on, order.lines[0].packs) == (TUESDAY, 1)

    found = said(signed_in)

    assert found.pop("/rescue/").count("Nothing has to be bought by hand.") == 1
    for words in found.values():
        assert "buy it by hand" not in words.casefold()
        assert "too late" not in words.casefold()
    for where in ("/", "/shortfalls/", "/orders/", "usual text", "best text"):
        assert "Dairy" in found[where]


def test_what_comes_too_late_is_said_to_be_ordered(signed_in, milk):
    found = said(signed_in)

    assert (
        "Dairy is too late, tomorrow, usable Wednesday: buy 100 g elsewhere and order "
        "that much less"
    ) in found["/shortfalls/"].replace("3.5 oz", "100 g")
    ordered = (
        "Milk: also ordered from Dairy for tomorrow, usable Wednesday. Order that much "
        "less."
    )
    assert ordered in found["/rescue/"]
    for where in ("usual text", "best text"):
        assert "Too late, though ordered:" in found[where]
        assert "by hand" not in found[where]
    for where in ("usual warnings", "best warnings"):
        late = "Dairy on Tue May 5, usable on Wed May 6, late by 1 day."
        assert late in found[where]


def test_what_no_delivery_brings_beside_an_order_is_told_with_its_figure(signed_in):
    # Dairy's berries of Tuesday serve Wednesday; 100 g are still missing on Friday.
    build.bakery(time_zone="UTC")
    row = build.item("berries", keeps_days=2)
    dairy = build.supplier("Dairy", delivery_days="Tue")
    build.pack(row, dairy, size_base=100)
    uses(row, TUESDAY, WEDNESDAY, FRIDAY)

    planned = make_plan(bakery=build.bakery(), as_of=NOON, days=7)

    [sentence] = [
        words
        for words in planned.order_sentences.warnings(planned.plan.purchasing)
        if "Fri" in words
    ]
    assert "with all that is ordered" in sentence
    assert "by hand" not in plan_as_text(planned)


@pytest.mark.parametrize("seed", range(25))
def test_random_kitchens_are_never_told_to_buy_by_hand_what_is_ordered(seed):
    at = datetime(MONDAY.year, MONDAY.month, MONDAY.day, 6, tzinfo=UTC)
    load_kitchen(random_sheets(random.Random(seed), size=9), at=at - timedelta(days=1))
    planned = make_plan(bakery=Bakery.objects.get(), as_of=at)

    plan = plan_as_json(planned)
    text = plan_as_text(planned)

    ordered = {line["item"] for order in plan["orders"] for line in order["lines"]}
    warned = {
        words.partition(":")[0] for words in plan["warnings"] if "by hand" in words
    }
    assert not ordered & (warned | by_hand_in(text))
    lost = {row["item"] for row in plan["shortfalls"] if row["remedy"] is None}
    assert lost <= {words.partition(":")[0] for words in plan["warnings"]}


@pytest.mark.parametrize("seed", range(25))
def test_random_kitchens_are_not_told_to_order_what_was_approved(seed):
    at = datetime(MONDAY.year, MONDAY.month, MONDAY.day, 6, tzinfo=UTC)
    load_kitchen(random_sheets(random.Random(seed), size=9), at=at - timedelta(days=1))
    bakery = Bakery.objects.get()
    draft_orders(make_plan(bakery=bakery, as_of=at), at=at)
    drafts = Order.objects.filter(state=Order.State.DRAFT)
    drafts.update(state=Order.State.APPROVED)
    stored = {
        (order.supplier.name, order.deliver_on.isoformat()): {
            (line.pack.item.name, line.pack.label): line.packs
            for line in order.lines.select_related("pack__item")
        }
        for order in Order.objects.filter(state=Order.State.APPROVED)
    }

    planned = make_plan(bakery=bakery, as_of=at)

    plan = plan_as_json(planned)
    assert stored == {
        (order["supplier"], order["deliver_on"]): {
            (line["item"], line["pack"]): line["packs"] for line in order["lines"]
        }
        for order in plan["orders"]
    }
    lines = plan_as_text(planned).splitlines()
    headings = [
        line for line in lines if re.fullmatch(r".*, (order|send .*) by .*:", line)
    ]
    assert not [heading for heading in headings if ", order by " in heading]
    assert len(headings) >= len(stored)


def named_in(warnings):
    return {words.partition(":")[0] for words in warnings}


def by_hand_in(text):
    """The items that stand under a heading which says to buy them by hand."""
    found, is_by_hand = set(), False
    for line in text.partition("What to order")[0].splitlines():
        if line.startswith("  ") and not line.startswith("   "):
            is_by_hand = "buy it by hand" in line
        elif is_by_hand and line.startswith("    ") and line[4] != " ":
            found.add(line[4:].partition("  ")[0])
    return found
