"""The page of orders: what the plan suggests, and what is on its way."""

from datetime import time, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from planning.models import Order
from stock.models import Item, Pack
from tests import build
from tests.web.orders.drafts import FRIDAY, MONDAY_NOON, State
from tests.web.orders.pages import page, post, text
from tests.web.orders.wishing import WEDNESDAY, content

pytestmark = pytest.mark.django_db

TRUCK = '<div class="truck" id='  # one suggested order, in full


def test_an_empty_kitchen_needs_no_order(site, mill):
    shown = page(site, "orders")

    assert "The plan asks for nothing" in shown
    assert "Nothing is on its way." in shown


def test_the_page_says_what_to_buy_from_whom_by_when_and_why(site, cakes):
    shown = page(site, "orders")

    assert "Mill, Sons & Co , tomorrow Order by today 2:00 pm" in shown
    assert "3 \N{MULTIPLICATION SIGN} 1 kg bag" in shown
    assert "Mill, Sons & Co on Tue May 5 is the last delivery in time" in shown
    assert "Goods $30.00 Delivery is free Total $30.00" in shown
    assert "1 order for $30.00 in all" in shown
    assert "By the usual rule." in shown


def test_drafting_stores_what_was_suggested(site, cakes):
    response = post(site, "draft_orders")

    assert "Drafted: 2026-001." in text(response)
    assert "All of it is drafted: review it below." in text(response)
    assert "Draft these orders" not in text(response)
    [line] = Order.objects.get(reference="2026-001").lines.all()
    assert (line.packs, line.price) == (3, Decimal(10))


def test_a_draft_that_somebody_changed_is_shown_beside_what_is_suggested(site, cakes):
    post(site, "draft_orders")
    order = Order.objects.get()
    field = f"packs_{order.lines.get().pack_id}"
    post(site, "order", order.pk, version=1, **{field: "2"})

    shown = page(site, "orders")

    assert "2026-001 was changed by hand, so it stays as it is." in shown
    assert "Changed today noon by Rosa" in shown


def test_a_draft_that_the_plan_would_change_is_from_an_earlier_plan(site, cakes):
    post(site, "draft_orders")
    assert "As the plan suggested" in page(site, "orders")
    Pack.objects.update(price=Decimal(11))

    shown = page(site, "orders")

    assert "2026-001 is from an earlier plan; drafting brings" in shown
    assert "From an earlier plan" in shown
    assert "As the plan suggested" not in shown


def test_drafts_stand_by_their_cut_off(site, flour):
    for reference, deliver_days, cut_off_hours in (
        ("D-1", 2, 30),
        ("D-2", 3, 5),
        ("D-3", 1, None),
    ):
        build.order(
            flour.supplier,
            reference=reference,
            deliver_on=MONDAY_NOON.date() + timedelta(days=deliver_days),
            order_by=cut_off_hours and MONDAY_NOON + timedelta(hours=cut_off_hours),
            state=State.DRAFT,
            changed_by_hand=True,
        )

    shown = page(site, "orders").split("Drafts to review")[1]

    places = [shown.index(reference) for reference in ("D-2", "D-1", "D-3")]
    assert places == sorted(places)


def test_a_plan_that_cannot_be_made_says_why_and_keeps_the_orders(site, flour, cakes):
    first, second = build.recipe("Dough"), build.recipe("Starter")
    build.recipe_lines(first, [(second, 10)])
    build.recipe_lines(second, [(first, 10)])
    build.order(flour.supplier, reference="PO-7", lines=[(flour, 1)])

    shown = page(site, "orders")

    assert "contains itself" in shown
    assert "PO-7" in shown


def test_what_is_late_is_said_plainly(site, flour):
    build.order(
        flour.supplier,
        reference="PO-7",
        deliver_on=MONDAY_NOON.date() - timedelta(days=3),
        lines=[(flour, 2)],
    )

    shown = page(site, "orders")

    assert "1 order should have come by now." in shown
    assert "Was due last Friday, 3 days late" in shown


def test_past_orders_are_behind_a_link(site, mill):
    build.order(mill, reference="OLD-1", state=State.RECEIVED)
    build.order(mill, reference="OLD-2", state=State.CANCELLED)

    assert "OLD-1" not in page(site, "orders")
    assert "Orders that came, were closed or cancelled" in page(site, "orders")
    assert "OLD-1" in page(site, "past_orders")
    assert "OLD-2" in page(site, "past_orders")


@pytest.mark.parametrize("more_orders", [0, 12])
def test_the_page_reads_with_as_many_queries_however_many_orders(
    site, cakes, flour, django_assert_num_queries, more_orders
):
    for number in range(1 + more_orders):
        order = build.order(
            flour.supplier,
            deliver_on=FRIDAY + timedelta(days=number),
            state=State.DRAFT,
            lines=[(flour, 1)],
        )
        order.steps.create(state=State.DRAFT, at=MONDAY_NOON)
    page(site, "orders")

    # session, user, bakery; the plan's 7; searches 2; what waits 2; the orders 3;
    # any past one
    with django_assert_num_queries(18):
        page(site, "orders")


def test_reasons_lead_on_to_the_items_days(site, dairy):
    butter = Item.objects.get(name="butter")

    html = content(site, "orders")

    assert (
        f'<a href="{reverse("planning:ahead", args=[butter.pk])}">Butter, day' in html
    )


def test_warnings_are_counted_and_one_tap_away(site, dairy):
    lines = [(build.item(f"spice {number}"), 5) for number in range(7)]
    build.planned_cake(build.cake(lines=lines), due_on=WEDNESDAY)

    shown = page(site, "orders")

    before, after = shown.split("7 warnings")
    assert "Spice 0: out" not in before
    assert "Spice 0: out" in after
    assert "Spice 6: out" in after


def test_what_is_ordered_later_is_folded_away_with_its_sum(site, flour):
    cake = build.cake("Plain cake", lines=[(flour.item, 1_000)])
    Item.objects.filter(pk=flour.item_id).update(keeps_days=2)
    for days in (1, 4, 8, 11):  # the mill comes on Tuesdays and Fridays
        build.planned_cake(
            cake, due_on=MONDAY_NOON.date() + timedelta(days=days), quantity=3
        )

    html = content(site, "orders")

    # Four orders of one line fit in the six lines that are shown in full.
    [soon] = html.split('<details class="later on-paper"')
    assert soon.count(TRUCK) == 4
    assert soon.index(TRUCK) < soon.index("How long may it take?")


def test_of_many_lines_only_the_next_orders_are_shown_in_full(site):
    build.bakery(time_zone="UTC")
    item_names = [f"spice {number}" for number in range(5)]
    lines = [(build.item(name, keeps_days=2), 100) for name in item_names]
    for number, (item, _) in enumerate(lines):
        build.pack(item, build.supplier(f"Mill {number}"), price="10")
    cake = build.cake("Plain cake", lines=lines)
    for days in (1, 4, 8):
        build.planned_cake(cake, due_on=MONDAY_NOON.date() + timedelta(days=days))

    soon, *later = content(site, "orders").split('<details class="later on-paper"')

    # Five orders of a line each day: the first day's, and one more, have six lines.
    assert soon.count(TRUCK) == 6
    assert [day.count(TRUCK) for day in later] == [4, 5]
    assert "To order by Thursday: 4 orders, $40.00" in later[0]


def test_of_one_day_what_is_to_be_ordered_sooner_stands_first(site):
    build.bakery(time_zone="UTC")
    lines = [(build.item("butter"), 100), (build.item("salt"), 100)]
    for (item, _), name, hour in zip(lines, ("Aster", "Mill"), (16, 13), strict=True):
        build.pack(item, build.supplier(name, cutoff_time=time(hour)), price="10")
    build.planned_cake(build.cake(lines=lines), due_on=WEDNESDAY)

    shown = page(site, "orders")

    assert shown.index("Mill , tomorrow") < shown.index("Aster , tomorrow")
