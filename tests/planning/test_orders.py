"""Orders from draft to sent: what each step keeps, and what it refuses."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from planning.errors import (
    EmptyOrderError,
    NoSuchOrderError,
    OrderMovedOnError,
    OrderStateError,
    TruckTakenError,
)
from planning.models import Order, OrderStep
from planning.orders.order_book import booked_order
from planning.orders.order_sheets import suggested_sheets
from planning.orders.orders import (
    approve_order,
    cancel_order,
    return_to_draft,
    send_order,
    set_packs,
)
from planning.plan.planner import make_plan
from stock.models import Bakery, Supplier
from tests import build
from tests.build import NOON
from tests.planning.order_steps import (
    LATER,
    TUESDAY,
    State,
    cakes,
    draft,
    drafted,
    hand,
    packs,
    sent,
    suggested,
)

pytestmark = pytest.mark.django_db


def test_an_order_goes_from_draft_to_approved_to_sent(flour, mill):
    order, rosa = drafted(flour, mill), build.user(first_name="Rosa")

    sent(order, by=rosa)

    order.refresh_from_db()
    assert order.state == "sent"
    assert list(order.steps.values_list("state", "by__first_name")) == [
        ("approved", "Rosa"),
        ("sent", "Rosa"),
    ]


def test_what_is_sent_is_on_order(flour):
    cakes(flour, 3)
    draft()
    assert suggested()

    sent(Order.objects.get())

    assert suggested() == ()


def test_the_fee_of_a_sent_order_stays_what_it_was(flour, mill):
    order, bakery = drafted(flour, mill), Bakery.objects.get()
    sent(order)
    mill.delivery_fee = Decimal(99)
    mill.save()

    stored = Order.objects.select_related("supplier").get()

    # 3 bags at 10.00, and the 15.00 that a delivery cost on that day.
    assert booked_order(stored, bakery=bakery).sheet.total_cost == Decimal("45.00")


def test_an_order_carries_the_day_it_was_approved_on_before_and_after_it_is_sent(
    flour, mill
):
    bakery = build.bakery(time_zone="Pacific/Auckland")
    order = drafted(flour, mill)
    draft_sheet = booked_order(order, bakery=bakery).sheet

    # 1 pm on Saturday in UTC is 1 am on Sunday in Auckland.
    approve_order(hand(order, at=datetime(2026, 5, 2, 13, tzinfo=UTC)))
    order.refresh_from_db()
    approved_sheet = booked_order(order, bakery=bakery).sheet
    send_order(hand(order, at=datetime(2026, 5, 3, 13, tzinfo=UTC)))
    order.refresh_from_db()
    sent_sheet = booked_order(order, bakery=bakery).sheet

    assert (draft_sheet.is_draft, draft_sheet.ordered_on) == (True, None)
    assert approved_sheet.ordered_on == date(2026, 5, 3)
    assert not approved_sheet.is_draft
    assert sent_sheet == approved_sheet


def test_an_order_says_whom_to_ask_for_and_whose_account_it_is(flour, mill):
    facts = {"account": "K-42", "contact": "Orla"}
    facts |= {"email": "orders@mill.example", "phone": "555 0142"}
    Supplier.objects.update(**facts)
    cakes(flour, 3)
    bakery = Bakery.objects.get()
    [suggestion] = suggested_sheets(make_plan(bakery=bakery, as_of=NOON))

    draft()
    stored = booked_order(Order.objects.get(), bakery=bakery).sheet

    for sheet in (suggestion, stored):
        assert (sheet.account, sheet.contact) == ("K-42", "Orla")
        assert sheet.supplier_email == "orders@mill.example"
        assert sheet.supplier_phone == "555 0142"
    assert (suggestion.reference, stored.reference) == ("", "2026-001")


STEPS = {
    "draft": return_to_draft,
    "approved": approve_order,
    "sent": send_order,
    "cancelled": cancel_order,
}


@pytest.mark.parametrize(
    ("state", "to"),
    [
        ("draft", "sent"),
        ("sent", "draft"),
        ("sent", "approved"),
        ("part received", "sent"),
        ("received", "cancelled"),
        ("received", "draft"),
        ("cancelled", "approved"),
        ("cancelled", "sent"),
    ],
)
def test_no_step_leaves_one_out_or_goes_back(flour, mill, state, to):
    order = build.order(mill, deliver_on=TUESDAY, state=state, lines=[(flour, 3)])

    with pytest.raises(OrderStateError, match="so it cannot be"):
        STEPS[to](hand(order))
    order.refresh_from_db()
    assert order.state == state


def test_a_sent_order_is_never_changed(flour, mill):
    order = build.order(mill, deliver_on=TUESDAY, lines=[(flour, 3)])

    with pytest.raises(OrderStateError, match="is sent, so it cannot be changed"):
        set_packs(hand(order), {flour.pk: 4})


def test_an_order_is_not_sent_twice_by_two_people(flour, mill):
    order = drafted(flour, mill)
    rosa, ada = build.user("rosa", first_name="Rosa"), build.user("ada")
    approve_order(hand(order))
    order.refresh_from_db()
    seen = order.version
    two_past_two = datetime(2026, 5, 4, 14, 4, tzinfo=UTC)
    send_order(hand(order, by=rosa, at=two_past_two, version=seen))

    with pytest.raises(OrderMovedOnError) as refusal:
        send_order(
            hand(order, by=ada, at=two_past_two + timedelta(hours=1), version=seen)
        )

    assert f"Rosa has sent {order.reference} already, at 2:04 pm" in str(refusal.value)
    assert order.steps.filter(state="sent").count() == 1


def test_the_moment_of_another_day_is_told_with_its_day_on_the_bakerys_clock(
    flour, mill
):
    build.bakery(time_zone="America/Chicago")
    order, rosa = drafted(flour, mill), build.user(first_name="Rosa")
    approve_order(hand(order, by=rosa, at=datetime(2026, 5, 4, 23, 30, tzinfo=UTC)))

    with pytest.raises(OrderMovedOnError, match="on Mon May 4 at 6:30 pm"):
        approve_order(hand(order, version=1, at=datetime(2026, 5, 5, 12, tzinfo=UTC)))


def test_the_same_tap_twice_is_one_step(flour, mill):
    order, rosa = drafted(flour, mill), build.user()
    first = hand(order, by=rosa)

    approve_order(first)
    approve_order(first)

    order.refresh_from_db()
    assert (order.state, order.version, order.steps.count()) == ("approved", 2, 1)


@pytest.mark.django_db(transaction=True)
def test_of_two_people_at_once_one_sends(flour, mill, at_once):
    order = drafted(flour, mill)
    rosa, ada = build.user("rosa"), build.user("ada")
    approve_order(hand(order))
    hands = [hand(order, by=person) for person in (rosa, ada)]
    refused = []

    def send_as(whose):
        def job(_number):
            try:
                send_order(whose)
            except OrderMovedOnError:
                refused.append(whose.by_id)

        return job

    at_once(*map(send_as, hands), times=1)

    [step] = OrderStep.objects.filter(state="sent")
    assert refused == [({rosa.pk, ada.pk} - {step.by_id}).pop()]


def test_an_order_that_asks_for_nothing_is_not_approved(mill):
    order = build.order(mill, deliver_on=TUESDAY, state=State.DRAFT)

    with pytest.raises(EmptyOrderError, match="Nothing is on"):
        approve_order(hand(order))


def test_an_approval_can_be_taken_back(flour, mill):
    order = drafted(flour, mill)
    approve_order(hand(order))

    return_to_draft(hand(order))

    order.refresh_from_db()
    assert order.state == "draft"


def test_a_dropped_draft_can_be_brought_back(flour):
    cakes(flour, 3)
    draft()
    order = Order.objects.get()
    cancel_order(hand(order))

    return_to_draft(hand(order))

    order.refresh_from_db()
    assert (order.state, packs(order)) == ("draft", {"1 kg bag": 3})


def test_a_dropped_draft_does_not_come_back_beside_another(flour):
    cakes(flour, 3)
    draft()
    order = Order.objects.get()
    cancel_order(hand(order))
    draft(at=LATER)

    with pytest.raises(TruckTakenError, match="2026-002 waits for this delivery of"):
        return_to_draft(hand(order))


def test_a_cancelled_order_that_was_sent_is_no_longer_on_order_and_stays_so(flour):
    cakes(flour, 3)
    draft()
    order = Order.objects.get()
    sent(order)

    cancel_order(hand(order))

    assert suggested()
    with pytest.raises(OrderStateError, match="cannot be a draft again"):
        return_to_draft(hand(order))


def test_a_cancelled_order_from_a_workbook_was_sent_too(flour, mill):
    order = build.order(mill, deliver_on=TUESDAY, lines=[(flour, 3)])
    cancel_order(hand(order))

    with pytest.raises(OrderStateError):
        return_to_draft(hand(order))


def test_an_order_that_is_gone_says_so(flour, mill):
    order = drafted(flour, mill)
    gone = hand(order)
    order.delete()

    with pytest.raises(NoSuchOrderError, match="drafted again"):
        approve_order(gone)
