"""Orders that somebody approved or changed, in the plan and in what was found."""

from datetime import timedelta

import pytest

from planning.models import Order, OrderSearch
from planning.orders.orders import (
    approve_order,
    cancel_order,
    return_to_draft,
    send_order,
    set_packs,
    start_order,
)
from planning.plan.plan_json import plan_as_json
from planning.plan.planner import make_plan
from planning.plan.snapshot import load_kitchen
from planning.scenarios.promise import AskedCake, can_take
from planning.search.searching import SearchRequest as SearchRequest
from planning.search.searching import start_search, with_found
from planning.search.worker import look_for_orders
from planning.wording.plan_text import plan_as_text
from stock.models import Bakery
from tests import build
from tests.build import NOON
from tests.planning.order_steps import (
    FRIDAY,
    TUESDAY,
    TWO_PM,
    cakes,
    draft,
    drafted,
    hand,
    sent,
)

pytestmark = pytest.mark.django_db


def decided():
    kitchen = load_kitchen(bakery=Bakery.objects.get(), as_of=NOON)
    return [
        (line.reference, line.is_approved, line.packs, line.deliver_on)
        for line in kitchen.decided
    ]


def plan(at=NOON, **kwargs):
    return make_plan(bakery=Bakery.objects.get(), as_of=at, **kwargs)


def bought(planned):
    return [
        (order.deliver_on, line.packs)
        for order in planned.plan.purchasing.orders
        for line in order.lines
    ]


def approved(flour, mill, packs=3, deliver_on=TUESDAY, **fields):
    fields = {"reference": "A-1", "order_by": TWO_PM} | fields
    return build.order(
        mill,
        deliver_on=deliver_on,
        state=Order.State.APPROVED,
        lines=[(flour, packs)],
        **fields,
    )


def test_approved_orders_and_changed_drafts_are_decided_and_no_others(flour, mill):
    approved(flour, mill)
    drafted(flour, mill)
    build.order(
        mill,
        reference="C-1",
        deliver_on=FRIDAY,
        state=Order.State.DRAFT,
        changed_by_hand=True,
        lines=[(flour, 2)],
    )
    sent(drafted(flour, mill))
    cancel_order(hand(drafted(flour, mill)))

    assert decided() == [("A-1", True, 3, TUESDAY), ("C-1", False, 2, FRIDAY)]


def test_a_draft_that_was_started_by_hand_is_decided_once_it_has_lines(flour, mill):
    order = start_order(
        supplier=mill, deliver_on=FRIDAY, bakery=Bakery.objects.get(), at=NOON
    )
    assert decided() == []

    set_packs(hand(order), {flour.pk: 2})

    assert decided() == [("2026-001", False, 2, FRIDAY)]


def test_what_an_approved_order_brings_is_not_suggested_for_another_day(flour, mill):
    # Saturday's flour comes by Friday's truck, but an approved order brings it before.
    cake = build.cake(lines=[(flour.item, 1_000)])
    build.planned_cake(cake, due_on=FRIDAY + timedelta(days=1), quantity=3)
    assert bought(plan()) == [(FRIDAY, 3)]

    approved(flour, mill)

    assert bought(plan()) == [(TUESDAY, 3)]


def test_a_draft_of_the_plan_itself_is_replaced_by_what_is_needed(flour):
    cakes(flour, 3)
    draft()

    cakes(flour, 1)

    assert bought(plan()) == [(TUESDAY, 4)]


def test_the_text_says_to_send_the_order_and_to_order_nothing(flour, mill):
    cakes(flour, 3)
    approved(flour, mill)

    text = plan_as_text(plan())

    assert text.count("Mill, send A-1 by Mon May 4, 2:00 pm for Tue May 5:") == 2
    assert "order by Mon" not in text.partition("What to order")[0]


def test_a_draft_is_approved_first(flour, mill):
    cakes(flour, 3)
    order = approved(flour, mill)
    return_to_draft(hand(order))
    Order.objects.update(changed_by_hand=True)

    assert "Mill, approve and send A-1 by Mon" in plan_as_text(plan())


def test_where_more_is_needed_the_text_says_to_order(flour, mill):
    cakes(flour, 4)
    approved(flour, mill)

    text = plan_as_text(plan())

    assert "Mill, order by Mon May 4, 2:00 pm for Tue May 5:" in text
    assert "Approved order A-1 brings 3" in text


def test_an_order_is_to_be_sent_though_more_comes_with_another_delivery(flour, mill):
    # Bread flour keeps three days: Tuesday's serves Wednesday, Friday's Saturday.
    flour.item.keeps_days = 3
    flour.item.save()
    cake = build.cake(lines=[(flour.item, 1_000)])
    for ahead in (1, 4):
        build.planned_cake(cake, due_on=TUESDAY + timedelta(days=ahead))
    approved(flour, mill, packs=1)

    planned = plan()

    assert bought(planned) == [(TUESDAY, 1), (FRIDAY, 1)]
    lacks, orders = plan_as_text(planned).split("What to order")
    assert "Mill, send A-1 by Mon May 4, 2:00 pm for Tue May 5:" in lacks
    assert "order by" not in lacks
    assert "Mill, order by Thu May 7, 2:00 pm for Fri May 8:" in orders


def test_an_order_past_its_cut_off_is_warned_of_and_bought_again(flour, mill):
    cakes(flour, 3)
    approved(flour, mill)

    planned = plan(at=TWO_PM + timedelta(minutes=1))

    assert bought(planned) == [(FRIDAY, 3)]
    assert (
        "Approved order A-1, from Mill for Tue May 5, was not sent by its cut-off, Mon "
        "May 4, 2:00 pm. The plan does not count on it. If it was sent, mark it as "
        "sent; else cancel it."
    ) in plan_as_json(planned)["warnings"]


def test_can_we_take_it_counts_on_what_was_decided_for_after_the_plan(flour, mill):
    cake = build.cake("Plain cake", lines=[(flour.item, 1_000)])
    due_on = FRIDAY + timedelta(days=28)
    short = plan(days=7)
    before = can_take(short, AskedCake(cake.item.name, "", due_on, 3)).promise
    approved(flour, mill, deliver_on=due_on - timedelta(days=3))

    after = can_take(plan(days=7), AskedCake(cake.item.name, "", due_on, 3)).promise

    [wanted] = before.orders
    assert [line.more_packs for line in wanted.lines] == [3]
    assert [line.more_packs for order in after.orders for line in order.lines] == [0]


def search_from():
    search_id = start_search(SearchRequest("quick"), at=NOON)
    look_for_orders(search_id, now=lambda: NOON)
    return OrderSearch.objects.get(pk=search_id)


def holds(search):
    found = with_found(plan(), OrderSearch.objects.get(pk=search.pk))
    return found and bought(found)


def test_what_was_found_holds_while_its_decided_order_is_there_or_sent(flour, mill):
    cakes(flour, 4)
    order = approved(flour, mill, packs=4)
    search = search_from()
    assert holds(search) == [(TUESDAY, 4)]

    send_order(hand(order))

    assert holds(search) == []


@pytest.mark.parametrize("take", [return_to_draft, cancel_order])
def test_what_was_found_around_an_order_is_out_of_date_without_it(flour, mill, take):
    cakes(flour, 3)
    order = approved(flour, mill)
    search = search_from()

    take(hand(order))

    assert holds(search) is None


def test_what_was_found_is_out_of_date_with_an_order_that_it_does_not_hold(flour, mill):
    cakes(flour, 4)
    search = search_from()
    assert holds(search) == [(TUESDAY, 4)]

    approved(flour, mill, packs=2)
    assert holds(search) == [(TUESDAY, 4)]
    approved(flour, mill, deliver_on=FRIDAY, reference="A-2")

    assert holds(search) is None


def test_a_returned_order_is_decided_on_no_more_unless_somebody_changed_it(flour, mill):
    order = drafted(flour, mill)
    approve_order(hand(order))
    assert len(decided()) == 1

    return_to_draft(hand(order))

    assert decided() == []
