"""Orders come to be: drafted from the plan, or started by hand."""

from decimal import Decimal

import pytest

from planning.errors import TruckTakenError
from planning.models import Order
from planning.orders.numbers import number_after
from planning.orders.orders import approve_order, set_packs, start_order
from planning.plan.planner import make_plan
from stock.models import Bakery
from tests import build
from tests.build import NOON
from tests.planning.order_steps import (
    FRIDAY,
    LATER,
    TUESDAY,
    TWO_PM,
    cakes,
    draft,
    drafted,
    hand,
    packs,
    suggested,
)

pytestmark = pytest.mark.django_db


def said_of_the_first_line():
    planned = make_plan(bakery=Bakery.objects.get(), as_of=NOON)
    [line, *_] = planned.plan.purchasing.orders[0].lines
    return list(planned.order_sentences.because(line))


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
    assert line.because == said_of_the_first_line() != []
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
    assert line.because == said_of_the_first_line() != before
    assert Order.objects.get().reasons_at == LATER


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


def test_the_number_of_a_draft_that_is_gone_is_never_another_orders(flour, mill):
    cake = cakes(flour, 3)
    draft()
    cake.delete()
    assert draft().dropped == ("2026-001",)

    cakes(flour, 2)

    assert draft().added == ("2026-002",)
    by_hand = start_order(
        supplier=mill, deliver_on=FRIDAY, bakery=Bakery.objects.get(), at=NOON
    )
    assert by_hand.reference == "2026-003"


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
