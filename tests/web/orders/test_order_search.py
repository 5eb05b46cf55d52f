"""Better orders on their page: asked for, on the way, found, out of date, drafted."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from planning.engine.ordering.instance.wishes import KeptWishes
from planning.models import Order, OrderSearch
from planning.search.searching import LOST, LOST_AFTER
from planning.search.worker import look_for_orders
from stock.models import Supplier
from tests import build
from tests.build import MONDAY, NOON
from tests.web.orders.pages import page, post, text, words

pytestmark = pytest.mark.django_db

State = OrderSearch.State
SATURDAY = MONDAY + timedelta(days=5)


def start(site):
    post(site, "start_order_search", effort="quick")
    return OrderSearch.objects.get()


def found(site):
    """A search that has done its work."""
    search = start(site)
    look_for_orders(search.pk, now=timezone.now)
    search.refresh_from_db()
    return search


def test_the_orders_are_the_usual_rules_until_somebody_looks(site, dairy):
    shown = page(site, "orders")

    assert "2 orders for $43.00 in all" in shown
    assert "By the usual rule." in shown
    assert "How long may it take? A few seconds Up to a minute Up to four" in shown


def test_a_search_is_started_from_the_page_and_says_how_far_it_is(site, dairy):
    response = post(site, "start_order_search", effort="quick")

    assert "Starting." in text(response)
    search = OrderSearch.objects.get()
    assert (search.state, search.started_by.first_name) == (State.RUNNING, "Rosa")
    assert "Best orders are being looked for just now." in page(site, "orders")


def test_progress_shows_stage_money_and_gap(site, dairy, clock):
    search = start(site)
    clock["now"] = NOON + timedelta(seconds=12)
    OrderSearch.objects.update(
        stage="pricing", paid="28.00", gap=0.0125, heartbeat_at=clock["now"]
    )

    shown = page(site, "order_search")

    assert "Working out what each item could do." in shown
    assert "At work for 12 s" in shown
    assert "Best so far $28.00 delivery included" in shown
    assert "Above the best possible 1.3 % at most" in shown
    assert search.state == State.RUNNING


def test_the_page_asks_again_by_itself_with_a_script_or_without(site, dairy):
    start(site)

    content = site.get(reverse("planning:order_search")).content.decode()

    assert 'hx-trigger="every 2s"' in content
    assert '<noscript><meta http-equiv="refresh"' in content


def test_when_the_work_is_over_a_page_that_asks_again_is_shown_anew(site, dairy):
    found(site)

    response = site.get(
        reverse("planning:order_search"), headers={"HX-Request": "true"}
    )

    assert response.headers["HX-Refresh"] == "true"


def test_a_search_is_stopped_and_keeps_its_best_so_far(site, dairy):
    search = start(site)

    stopping = post(site, "stop_order_search", search.pk)
    look_for_orders(search.pk, now=timezone.now)

    assert "Stopping: the best so far comes in a moment." in text(stopping)
    assert "Stopped early, best so far of today noon:" in page(site, "order_search")
    again = post(site, "stop_order_search", search.pk)
    assert "That search was over already." in text(again)


def test_a_second_search_is_refused_while_one_runs(site, dairy):
    start(site)

    response = post(site, "start_order_search", effort="quick")

    assert OrderSearch.objects.count() == 1
    assert "Best orders are being looked for already." in text(response)
    assert "A search that was started today noon has not ended yet" in text(response)
    assert "The kitchen has changed" not in text(response)


def test_a_search_that_runs_has_nothing_to_be_drafted_yet(site, dairy):
    search = start(site)

    response = post(site, "draft_found_orders", search.pk)

    assert "has not ended yet: stop it, or wait for what it finds." in text(response)
    assert "a new day has begun" not in text(response)
    assert not Order.objects.exists()


def test_a_search_without_a_sign_of_life_can_be_started_again(site, dairy, clock):
    lost = start(site)
    OrderSearch.objects.update(stage="pricing")
    clock["now"] = NOON + LOST_AFTER + timedelta(seconds=1)

    shown = page(site, "order_search")

    assert "The search stopped unexpectedly" in shown
    assert "The search stopped unexpectedly" in page(site, "orders")
    assert start(site).pk != lost.pk


def test_a_search_whose_worker_died_can_be_started_again(site, dairy):
    lost = start(site)
    OrderSearch.objects.update(state=State.FAILED, problem=LOST)

    shown = page(site, "order_search")

    assert "The search failed. It ended unexpectedly, and what it had" in shown
    assert start(site).pk != lost.pk


def test_a_search_that_failed_says_why(site, dairy):
    start(site)
    OrderSearch.objects.update(state=State.FAILED, problem="The oven is out.")

    assert "The search failed. The oven is out." in page(site, "order_search")


def test_what_was_found_stands_beside_the_usual_rule(site, dairy):
    found(site)

    shown = page(site, "order_search")

    better = "$15.00 less than the usual rule, one delivery fewer; no better ones are"
    assert f"Found today noon: {better} possible." in shown
    assert "Goods and delivery $28.00 $43.00" in shown
    assert "and will be used: $28.00, by the usual rule $43.00." in shown
    assert "Delivery alone $15.00 $30.00" in shown
    assert "Deliveries 1 2" in shown
    assert "1 \N{MULTIPLICATION SIGN} brick" in shown
    assert "Goods $13.00 Delivery $15.00 Total $28.00" in shown
    assert better in page(site, "orders")


def test_found_orders_are_drafted_and_gone_by(site, dairy):
    search = found(site)

    response = post(site, "draft_found_orders", search.pk)

    assert "Drafted: 2026-001." in text(response)
    assert "1 order for $28.00 in all" in text(response)
    assert "$15.00 less than the usual rule" in text(response)
    assert "Draft these orders" not in text(response)
    assert Order.objects.get().lines.count() == 2
    assert "All of it is drafted" in page(site, "order_search")


def test_drafts_of_found_orders_are_not_called_a_persons(site, dairy):
    post(site, "draft_found_orders", found(site).pk)

    shown = page(site, "order_search")

    assert "2026-001 is drafted just so. Review 2026-001" in shown
    assert "by hand" not in shown


def test_of_found_orders_those_that_were_sent_are_left_out(site, dairy):
    mill = build.supplier("Mill")
    build.pack(flour := build.item("flour"), mill, price="20", label="sack")
    build.planned_cake(build.cake(lines=[(flour, 500)]), due_on=SATURDAY)
    search = found(site)
    assert "Worth of what is left over" in page(site, "order_search")
    post(site, "draft_found_orders", search.pk)
    for name in ("approve_order", "send_order"):
        order = Order.objects.get(supplier=mill)
        post(site, name, order.pk, version=order.version)

    shown = page(site, "order_search")

    assert "no better ones are possible. One of its orders is sent already" in shown
    assert "Goods and delivery $28.00 $43.00" in shown
    # What is left over at the end is known for all of it alone.
    assert "Worth of what is left over" not in shown


def test_today_says_what_to_order_by_when_as_the_drafts_do(site, dairy):
    assert "Order by Thu 2:00 pm." in page(site, "today")

    post(site, "draft_found_orders", found(site).pk)

    shown = page(site, "today")
    assert "Approve by today 2:00 pm $28.00" in shown
    assert "2 lines, arrives tomorrow." in shown
    assert "Thu 2:00 pm" not in shown


def test_the_usual_rule_can_be_gone_by_again(site, dairy):
    post(site, "draft_found_orders", found(site).pk)

    response = post(site, "leave_found_orders")

    assert "2 orders for $43.00 in all" in text(response)
    assert "Draft these orders again" in text(response)


def test_orders_found_for_another_kitchen_are_not_drafted(site, dairy):
    search = found(site)
    Supplier.objects.update(delivery_fee=14)

    shown = page(site, "order_search")
    response = post(site, "draft_found_orders", search.pk)

    assert "The kitchen has changed since best orders were looked for" in shown
    assert "Draft these orders" not in shown
    assert "so they were not drafted" in text(response)
    assert not Order.objects.exists()
    assert "The kitchen has changed since" in page(site, "orders")


def test_drafted_orders_that_no_longer_hold_do_not_give_way_in_silence(site, dairy):
    post(site, "draft_found_orders", found(site).pk)
    assert "The kitchen has changed since" not in page(site, "orders")

    Supplier.objects.update(delivery_fee=14)

    shown = page(site, "orders")
    assert "2 orders for $41.00 in all" in shown  # the usual rule's, at $14 a truck
    assert "The kitchen has changed since best orders were looked for" in shown


def test_when_one_found_order_is_cancelled_the_next_step_is_another_search(site, dairy):
    mill = build.supplier("Mill")
    build.pack(flour := build.item("flour"), mill, price="20", label="sack")
    build.planned_cake(build.cake(lines=[(flour, 500)]), due_on=SATURDAY)
    post(site, "draft_found_orders", found(site).pk)
    for name in ("approve_order", "send_order", "cancel_order"):
        order = Order.objects.get(supplier=mill)
        post(site, name, order.pk, version=order.version)
    # Found again as it was: the cancelled order is suggested anew.
    assert "no longer fit" not in page(site, "orders")
    Supplier.objects.filter(pk=dairy.pk).update(delivery_fee=14)

    html = site.get(reverse("planning:orders")).content.decode()

    shown = words(html)
    assert "The best orders no longer fit" in shown.split("What to buy now")[0]
    [main] = re.findall(r'class="button button-main"[^>]*>([^<]+)<', html)
    assert main == "Find best orders again"
    assert "Draft the usual rule's orders instead That changes or discards" in shown
    assert shown.count("Draft these orders again") == 1
    assert shown.count("The kitchen has changed since") == 1
    assert "How long may it take?" in shown


def test_a_search_that_somebody_replaced_is_not_drafted(site, dairy):
    search = found(site)
    post(site, "start_order_search", effort="quick")

    response = post(site, "draft_found_orders", search.pk)

    assert "This search is no longer there" in text(response)


def test_a_number_that_no_search_has_is_no_search_seen(site, dairy):
    search = found(site)

    refused = post(site, "start_order_search", effort="quick", seen="9" * 5_000)

    assert "has looked for orders since you opened this page" in text(refused)
    assert OrderSearch.objects.get() == search


def test_what_was_found_on_another_day_is_put_down_to_the_day(site, dairy, clock):
    search = found(site)
    clock["now"] += timedelta(days=1)

    shown = page(site, "order_search")
    refused = text(post(site, "draft_found_orders", search.pk))

    assert "Best orders were looked for yesterday noon" in shown
    assert "a new day has begun since, and what was found then no longer fits" in shown
    assert "The kitchen has changed" not in shown + refused
    assert "so they were not drafted" in refused


def test_suppliers_are_left_out_and_preferred_by_what_is_ticked(site, dairy):
    far = build.supplier("Far Dairy")
    build.pack(build.item("salt"), far)

    post(
        site,
        "start_order_search",
        effort="usual",
        left_out=[far.pk],
        preferred=[dairy.pk],
    )

    search = OrderSearch.objects.get()
    assert search.effort == "usual"
    assert search.kept_wishes == KeptWishes(left_out=(far.pk,), preferred=(dairy.pk,))


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"effort": ""}, "Choose how long to look."),
        ({"effort": "heroic"}, "Choose one from the list."),
        ({"left_out": ["999"]}, "Choose suppliers from the list."),
        ({"left_out": ["9" * 5_000]}, "Choose suppliers from the list."),
        ({"preferred": ["9" * 5_000]}, "Choose suppliers from the list."),
        ({"left_out": ["dairy"]}, "Leave somebody to order from."),
        (
            {"left_out": ["dairy"], "preferred": ["dairy"]},
            "Dairy: nothing is ordered from them.",
        ),
    ],
)
def test_what_cannot_be_looked_for_is_refused_beside_its_field(
    site, dairy, fields, sentence
):
    ids = {
        field: [dairy.pk if value == "dairy" else value for value in values]
        for field, values in fields.items()
        if field != "effort"
    }

    response = post(site, "start_order_search", **{"effort": "quick", **fields, **ids})

    assert sentence in text(response)
    assert not OrderSearch.objects.exists()


def test_without_a_plan_there_is_nothing_to_look_for(site, dairy):
    first, second = build.recipe("Dough"), build.recipe("Starter")
    build.recipe_lines(first, [(second, 10)])
    build.recipe_lines(second, [(first, 10)])

    response = post(site, "start_order_search", effort="quick")

    assert "contains itself" in text(response)
    assert "The plan cannot be made yet" in text(response)
    assert not OrderSearch.objects.exists()


def test_looking_at_a_step_takes_none(site, dairy):
    search = start(site)
    for name, args in (
        ("start_order_search", ()),
        ("leave_found_orders", ()),
        ("stop_order_search", (search.pk,)),
        ("draft_found_orders", (search.pk,)),
    ):
        url = reverse(f"planning:{name}", args=args)
        assert site.get(url).status_code == 405


def test_a_page_that_asks_again_reads_little(site, dairy, django_assert_num_queries):
    start(site)
    page(site, "order_search")

    # session, user, bakery; the search
    with django_assert_num_queries(4):
        page(site, "order_search")


def test_what_was_found_reads_with_few_queries(site, dairy, django_assert_num_queries):
    found(site)
    page(site, "order_search")

    # session, user, bakery; the search; the plan's 5; what waits
    with django_assert_num_queries(10):
        page(site, "order_search")
