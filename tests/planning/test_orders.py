"""Orders from draft to sent: what each step keeps, and what it refuses."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from planning.drafting import draft_what_is_needed
from planning.errors import (
    EmptyOrderError,
    NoSuchOrderError,
    OrderMovedOnError,
    OrderPackError,
    OrderStateError,
    TruckTakenError,
)
from planning.models import Order, OrderStep
from planning.order_book import booked_order
from planning.orders import (
    Hand,
    approve_order,
    cancel_order,
    number_after,
    return_to_draft,
    send_order,
    set_packs,
    start_order,
)
from planning.planner import make_plan
from stock.models import Bakery
from tests import build
from tests.build import NOON

pytestmark = pytest.mark.django_db

State = Order.State
TUESDAY, FRIDAY = date(2026, 5, 5), date(2026, 5, 8)
TWO_PM = datetime(2026, 5, 4, 14, tzinfo=UTC)  # the cut-off of Tuesday's truck
LATER = NOON + timedelta(minutes=5)


@pytest.fixture
def mill():
    """Tuesdays and Fridays by 2 pm of the day before; usable the next day."""
    build.bakery(time_zone="UTC")
    return build.supplier("Mill", delivery_fee=Decimal(15))


@pytest.fixture
def flour(mill):
    """1 kg bags at 10.00; from 4 on 9.00 each."""
    return build.pack(
        build.item("flour"), mill, label="1 kg bag", price="10", price_breaks="4: 9"
    )


def cakes(flour, quantity, **fields):
    """Cakes for Friday that take 1,000 g of flour each."""
    cake = build.cake(lines=[(flour.item, 1_000)])
    return build.planned_cake(cake, due_on=FRIDAY, quantity=quantity, **fields)


def draft(at=NOON, by=None):
    return draft_what_is_needed(
        bakery=Bakery.objects.get(), at=at, by_id=by.pk if by else None
    )


def suggested():
    return make_plan(bakery=Bakery.objects.get(), as_of=NOON).plan.purchasing.orders


def hand(order, *, by=None, at=NOON, version=None):
    order.refresh_from_db()
    return Hand(order.pk, version or order.version, at, by.pk if by else None)


def packs(order):
    return {line.pack.label: line.packs for line in order.lines.select_related("pack")}


def drafted(flour, mill, packs=3):
    return build.order(
        mill, deliver_on=TUESDAY, state=State.DRAFT, lines=[(flour, packs)]
    )


def sent(order, by=None):
    approve_order(hand(order, by=by))
    return send_order(hand(order, by=by))


# Drafting


def test_what_the_plan_suggests_becomes_a_draft_for_each_truck(flour, mill):
    ada = build.user()
    cakes(flour, 3)

    done = draft(by=ada)

    # Friday's truck can be used on Saturday: Tuesday's is the last in time.
    [order] = Order.objects.all()
    assert done.added == ("2026-001",)
    assert (order.reference, order.state) == ("2026-001", "draft")
    assert (order.supplier, order.deliver_on, order.order_by) == (mill, TUESDAY, TWO_PM)
    [line] = order.lines.all()
    assert (line.pack, line.packs, line.price) == (flour, 3, Decimal(10))
    assert line.due_on == TUESDAY
    assert line.because == list(suggested()[0].lines[0].because) != []
    [step] = order.steps.all()
    assert (step.state, step.at, step.by) == ("draft", NOON, ada)


def test_a_draft_is_not_on_order(flour):
    cakes(flour, 3)
    before = suggested()

    draft()

    assert [order.goods_cost for order in before] == [Decimal("30.00")]
    assert suggested() == before


def test_drafting_again_changes_nothing(flour):
    cakes(flour, 3)
    draft()

    again = draft(at=LATER)

    assert again.unchanged == ("2026-001",)
    assert (again.added, again.changed, again.dropped) == ((), (), ())
    [order] = Order.objects.all()
    assert (order.version, order.steps.count()) == (1, 1)


def test_a_draft_that_nobody_touched_follows_the_plan(flour):
    cakes(flour, 3)
    draft()
    cakes(flour, 2)

    again = draft(at=LATER)

    # 5 bags reach the break at 4.
    assert again.changed == ("2026-001",)
    [order] = Order.objects.all()
    [line] = order.lines.all()
    assert (order.reference, line.packs, line.price) == ("2026-001", 5, Decimal(9))
    assert order.version == 2


def test_the_reasons_of_an_unchanged_draft_follow_the_plan(flour):
    cakes(flour, 3)
    draft()
    before = Order.objects.get().lines.get().because
    # 250 g more needed and on hand: still 3 bags, but for other figures.
    build.planned_cake(
        build.cake(lines=[(flour.item, 250)]), due_on=FRIDAY, reference="small"
    )
    build.stock(flour.item, 250, at=NOON)

    again = draft(at=LATER)

    [line] = Order.objects.get().lines.all()
    assert again.unchanged == ("2026-001",)
    assert (line.packs, Order.objects.get().version) == (3, 1)
    assert line.because == list(suggested()[0].lines[0].because) != before


def test_a_draft_that_nothing_asks_for_any_more_is_dropped(flour):
    planned = cakes(flour, 3)
    draft()
    planned.status = "cancelled"
    planned.save()

    again = draft(at=LATER)

    assert again.dropped == ("2026-001",)
    assert not Order.objects.exists()


@pytest.mark.parametrize("touch", ["changed", "approved"])
def test_what_a_person_touched_stays_and_is_not_drafted_twice(flour, touch):
    cakes(flour, 3)
    draft()
    order = Order.objects.get()
    if touch == "changed":
        set_packs(hand(order), {flour.pk: 2})
    else:
        approve_order(hand(order))
    cakes(flour, 2)

    again = draft(at=LATER)

    assert again.left == ("2026-001",)
    assert Order.objects.count() == 1
    assert packs(order) == {"1 kg bag": 2 if touch == "changed" else 3}


def test_a_persons_draft_stays_even_when_nothing_asks_for_it(flour, mill):
    start_order(supplier=mill, deliver_on=FRIDAY, bakery=Bakery.objects.get(), at=NOON)

    assert draft().dropped == ()
    assert Order.objects.count() == 1


@pytest.mark.parametrize(
    ("taken", "number"),
    [
        ([], "2026-001"),
        (["2026-009", "2026-013", "A-99"], "2026-014"),
        (["2025-500"], "2026-001"),
        (["2026-999"], "2026-1000"),
        (["2026-x", "2026-", "2026-²"], "2026-001"),
    ],
)
def test_numbers_follow_the_highest_of_the_year(taken, number):
    assert number_after(taken, 2026) == number


def test_a_number_that_came_in_with_a_workbook_is_not_used_again(flour, mill):
    build.order(mill, reference="2026-013", deliver_on=FRIDAY)
    cakes(flour, 3)

    assert draft().added == ("2026-014",)


# Changing a draft


def test_a_person_changes_how_many_packs_and_the_price_follows(flour, mill):
    order, rosa = drafted(flour, mill), build.user(first_name="Rosa")

    set_packs(hand(order, by=rosa), {flour.pk: 4})

    order.refresh_from_db()
    [line] = order.lines.all()
    assert (line.packs, line.price) == (4, Decimal(9))
    assert line.because[-1] == "Rosa made it 4 instead of 3."
    assert (order.version, order.changed_by, order.changed_at) == (2, rosa, NOON)


def test_no_packs_take_a_line_off_and_another_pack_is_added(flour, mill):
    sugar = build.pack(build.item("sugar"), mill, label="2 kg bag", price="4.1439")
    order = drafted(flour, mill)

    set_packs(hand(order), {flour.pk: 0, sugar.pk: 7})

    assert packs(order) == {"2 kg bag": 7}
    sheet = booked_order(order, bakery=Bakery.objects.get()).sheet
    # 7 x 4.1439 = 29.0073
    assert sheet.goods_cost == Decimal("29.01")
    assert sheet.total_cost == Decimal("44.01")


def test_the_same_packs_again_are_no_change(flour, mill):
    order, seen = drafted(flour, mill), 1
    set_packs(hand(order, version=seen), {flour.pk: 4})

    set_packs(hand(order, version=seen), {flour.pk: 4})

    order.refresh_from_db()
    assert order.version == 2


def test_saving_takes_the_price_of_today(flour, mill):
    order = drafted(flour, mill)
    flour.price = Decimal(11)
    flour.save()

    set_packs(hand(order), {flour.pk: 3})

    [line] = order.lines.all()
    assert line.price == Decimal(11)


@pytest.mark.parametrize("count", [-1, 100_001])
def test_a_number_of_packs_nobody_buys_is_refused(flour, mill, count):
    order = drafted(flour, mill)

    with pytest.raises(OrderPackError, match="order from 1 to 100,000 packs"):
        set_packs(hand(order), {flour.pk: count})
    assert packs(order) == {"1 kg bag": 3}


def test_another_suppliers_pack_is_refused(flour, mill):
    foreign = build.pack(build.item("eggs"), build.supplier("Farm"), label="tray")
    order = drafted(flour, mill)

    with pytest.raises(OrderPackError, match="Mill does not sell tray of eggs"):
        set_packs(hand(order), {flour.pk: 9, foreign.pk: 1})
    assert packs(order) == {"1 kg bag": 3}


def test_a_retired_pack_can_be_taken_off_but_not_added(flour, mill):
    old = build.pack(build.item("rye"), mill, label="old bag", retired=True)
    order = build.order(
        mill, deliver_on=TUESDAY, state=State.DRAFT, lines=[(old, 2), (flour, 1)]
    )

    set_packs(hand(order), {old.pk: 0})

    with pytest.raises(OrderPackError, match="old bag of rye is not sold any more"):
        set_packs(hand(order), {old.pk: 1})


def test_nobody_writes_over_what_somebody_else_changed(flour, mill):
    order, rosa = drafted(flour, mill), build.user(first_name="Rosa")
    set_packs(hand(order, by=rosa, version=1), {flour.pk: 4})

    with pytest.raises(OrderMovedOnError, match=r"Rosa has changed .* at 12:00 pm"):
        set_packs(hand(order, version=1, at=LATER), {flour.pk: 5})
    assert packs(order) == {"1 kg bag": 4}


# From draft to sent


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

    with pytest.raises(TruckTakenError, match="2026-002 waits for this truck of Mill"):
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


# By hand


def test_an_order_is_started_by_hand_with_its_cut_off(flour, mill):
    order = start_order(
        supplier=mill, deliver_on=TUESDAY, bakery=Bakery.objects.get(), at=NOON
    )

    assert (order.reference, order.order_by) == ("2026-001", TWO_PM)
    set_packs(hand(order), {flour.pk: 2})
    assert packs(order) == {"1 kg bag": 2}


def test_a_second_order_for_one_truck_is_not_started(flour, mill):
    other = drafted(flour, mill)

    with pytest.raises(TruckTakenError, match=other.reference):
        start_order(
            supplier=mill, deliver_on=TUESDAY, bakery=Bakery.objects.get(), at=NOON
        )
