"""Found orders hold while people act on them, and no longer than the kitchen does."""

from datetime import timedelta
from decimal import Decimal

import pytest

from planning.models import Order, OrderLine, OrderSearch, PlannedCake
from planning.orders.drafting import draft_found_orders, draft_what_is_needed
from planning.orders.orders import (
    Hand,
    approve_order,
    cancel_order,
    return_to_draft,
    send_order,
    set_packs,
)
from planning.plan.planner import make_plan
from planning.search.errors import SearchOutOfDateError
from planning.search.searching import SearchRequest, as_chosen, start_search, with_found
from planning.search.worker import look_for_orders
from stock.models import Item, Pack
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db

TUESDAY = MONDAY + timedelta(days=1)
WEDNESDAY, SATURDAY = MONDAY + timedelta(days=2), MONDAY + timedelta(days=5)
LATER = NOON + timedelta(minutes=5)
CUT_OFF = NOON + timedelta(hours=2)  # of Tuesday's trucks
PAST_CUT_OFF = CUT_OFF + timedelta(minutes=1)


@pytest.fixture
def kitchen():
    """By the usual rule two trucks of the dairy for $43, and one of the mill for $25.

    Found orders spare one of the dairy's: $28.
    """
    return build.dairy_and_mill_kitchen()


@pytest.fixture
def found(kitchen):
    """A search that has done its work."""
    search_id = start_search(SearchRequest("quick"), at=NOON)
    look_for_orders(search_id, now=lambda: LATER)
    return OrderSearch.objects.get(pk=search_id)


@pytest.fixture
def drafted(found, kitchen):
    """Found orders, drafted: one from the dairy and one from the mill."""
    draft_found_orders(search_id=found.pk, bakery=kitchen, at=LATER)
    assert set(suggested(kitchen)) == {("Dairy", Decimal(28)), ("Mill", Decimal(25))}
    return found


def chosen(kitchen, at=LATER):
    return as_chosen(make_plan(bakery=kitchen, as_of=at))


def suggested(kitchen, at=LATER):
    """Whom the plan would order from, and for how much."""
    planned = chosen(kitchen, at)
    return [
        (planned.kitchen.suppliers[order.supplier].name, order.total_cost)
        for order in planned.plan.purchasing.orders
    ]


def is_usual(kitchen, at=LATER):
    return chosen(kitchen, at).usual is None


def order_from(name):
    return Order.objects.exclude(state=Order.State.CANCELLED).get(supplier__name=name)


def step(take, name):
    order = order_from(name)
    take(Hand(order.pk, order.version, LATER))


def send(name):
    step(approve_order, name)
    step(send_order, name)


def edit(name, label, packs):
    order = order_from(name)
    pack = Pack.objects.get(label=label)
    set_packs(Hand(order.pk, order.version, LATER), {pack.pk: packs})


def receive_the_sack():
    OrderLine.objects.filter(pack__label="sack").update(received_packs=1)
    build.stock(Item.objects.get(name="flour"), 1000)


def test_sending_a_found_order_leaves_the_rest_of_what_was_found(drafted, kitchen):
    send("Mill")

    assert suggested(kitchen) == [("Dairy", Decimal(28))]
    assert not is_usual(kitchen)


def test_the_rest_is_told_beside_the_usual_rule_for_the_rest(drafted, kitchen):
    send("Mill")

    planned = chosen(kitchen)

    assert planned.plan.purchasing.total_cost == Decimal(28)
    assert planned.usual.total_cost == Decimal(43)
    assert planned.plan.purchasing.usual_total == Decimal(43)


def test_what_was_not_sent_can_be_drafted_again(drafted, kitchen):
    send("Mill")
    step(cancel_order, "Dairy")

    done = draft_what_is_needed(bakery=kitchen, at=LATER)

    assert len(done.added) == 1
    assert order_from("Dairy").lines.count() == 2


def test_when_all_is_sent_nothing_is_left_to_order(drafted, kitchen):
    send("Dairy")
    send("Mill")

    assert suggested(kitchen) == []
    assert not is_usual(kitchen)


@pytest.mark.parametrize("take", [approve_order, cancel_order])
def test_a_step_that_orders_nothing_changes_nothing(drafted, kitchen, take):
    step(take, "Dairy")

    assert set(suggested(kitchen)) == {("Dairy", Decimal(28)), ("Mill", Decimal(25))}


def test_a_draft_that_is_dropped_and_taken_back_changes_nothing(drafted, kitchen):
    dairy = order_from("Dairy")
    step(cancel_order, "Dairy")
    return_to_draft(Hand(dairy.pk, dairy.version + 1, LATER))

    assert not is_usual(kitchen)


def test_a_found_order_that_is_cancelled_once_sent_is_to_be_ordered_again(
    drafted, kitchen
):
    send("Dairy")
    step(cancel_order, "Dairy")

    assert set(suggested(kitchen)) == {("Dairy", Decimal(28)), ("Mill", Decimal(25))}


def test_a_draft_with_more_than_was_found_is_for_the_usual_rule(drafted, kitchen):
    edit("Dairy", "brick", 2)

    assert is_usual(kitchen)
    assert ("Mill", Decimal(25)) in suggested(kitchen)
    send("Dairy")

    assert is_usual(kitchen)
    assert suggested(kitchen) == [("Mill", Decimal(25))]


def test_a_line_that_somebody_takes_off_and_sends_is_for_the_usual_rule(
    drafted, kitchen
):
    edit("Dairy", "bag", 0)
    send("Dairy")

    assert is_usual(kitchen)
    assert set(suggested(kitchen)) == {("Dairy", Decimal(18)), ("Mill", Decimal(25))}


def test_a_change_that_is_taken_back_before_it_is_sent_is_none(drafted, kitchen):
    edit("Dairy", "brick", 2)
    edit("Dairy", "brick", 1)
    send("Dairy")

    assert not is_usual(kitchen)
    assert suggested(kitchen) == [("Mill", Decimal(25))]


@pytest.mark.parametrize(
    "change",
    [
        lambda: build.stock(Item.objects.get(name="butter"), 100),
        lambda: PlannedCake.objects.filter(due_on=WEDNESDAY).update(quantity=2),
        lambda: Pack.objects.filter(label="bag").update(price="3.10"),
        lambda: Pack.objects.filter(label="sack").update(retired=True),
        lambda: OrderLine.objects.update(due_on=WEDNESDAY),
        receive_the_sack,
    ],
    ids=["on hand", "a cake", "a price", "not sold", "later", "received"],
)
def test_any_other_change_after_sending_brings_the_usual_rule_back(
    drafted, kitchen, change
):
    send("Mill")

    change()

    assert is_usual(kitchen)


def test_an_order_that_no_search_found_is_another_kitchen(drafted, kitchen):
    sack = Pack.objects.get(label="sack")

    build.order(sack.supplier, deliver_on=WEDNESDAY, lines=[(sack, 1)])

    assert is_usual(kitchen)


def test_an_order_that_was_open_before_the_search_is_none_of_what_it_found(kitchen):
    # Two sacks are needed, one is on its way: what is found is its very twin.
    PlannedCake.objects.filter(due_on=SATURDAY).update(quantity=2)
    usual = make_plan(bakery=kitchen, as_of=NOON)
    mill = next(
        order
        for order in usual.plan.purchasing.orders
        if usual.kitchen.suppliers[order.supplier].name == "Mill"
    )
    sack = Pack.objects.get(label="sack")
    build.order(sack.supplier, deliver_on=mill.deliver_on, lines=[(sack, 1)])
    search_id = start_search(SearchRequest("quick"), at=NOON)
    look_for_orders(search_id, now=lambda: LATER)
    draft_found_orders(search_id=search_id, bakery=kitchen, at=LATER)

    assert ("Mill", Decimal(25)) in suggested(kitchen)
    order = Order.objects.get(supplier__name="Mill", state=Order.State.DRAFT)
    approve_order(Hand(order.pk, order.version, LATER))
    send_order(Hand(order.pk, order.version + 1, LATER))

    assert not is_usual(kitchen)
    assert [name for name, _ in suggested(kitchen)] == ["Dairy"]


def test_the_gap_of_the_rest_is_the_same_money(drafted, kitchen):
    # 1 % of $53 are 53 cents, and these are 53/28 % of $28.
    outcome = drafted.outcome | {"gap": 0.01}
    OrderSearch.objects.update(outcome=outcome)
    send("Mill")

    gap = chosen(kitchen).plan.purchasing.proof.gap

    assert gap == pytest.approx(0.53 / 28)


def test_found_orders_hold_up_to_the_cut_off_of_what_they_need(drafted, kitchen):
    assert not is_usual(kitchen, CUT_OFF)
    assert is_usual(kitchen, PAST_CUT_OFF)


def test_a_cut_off_that_was_met_does_not_end_what_was_found(drafted, kitchen):
    trucks = {order.supplier.name: order.deliver_on for order in Order.objects.all()}
    assert trucks["Dairy"] == TUESDAY
    send("Dairy")
    if trucks["Mill"] == TUESDAY:
        send("Mill")

    assert not is_usual(kitchen, PAST_CUT_OFF)


def test_another_day_is_another_kitchen(drafted, kitchen):
    assert is_usual(kitchen, NOON + timedelta(days=1))


def test_before_the_search_more_deliveries_could_be_had(kitchen):
    search_id = start_search(SearchRequest("quick"), at=PAST_CUT_OFF)
    look_for_orders(search_id, now=lambda: PAST_CUT_OFF)
    search = OrderSearch.objects.get(pk=search_id)

    assert with_found(make_plan(bakery=kitchen, as_of=PAST_CUT_OFF), search)
    assert with_found(make_plan(bakery=kitchen, as_of=NOON), search) is None


def test_what_is_left_of_found_orders_can_be_drafted_from_the_search(found, kitchen):
    draft_found_orders(search_id=found.pk, bakery=kitchen, at=LATER)
    send("Mill")
    step(cancel_order, "Dairy")

    done = draft_found_orders(search_id=found.pk, bakery=kitchen, at=LATER)

    assert len(done.added) == 1


def test_found_orders_past_their_cut_off_are_not_drafted(found, kitchen):
    with pytest.raises(SearchOutOfDateError):
        draft_found_orders(search_id=found.pk, bakery=kitchen, at=PAST_CUT_OFF)
