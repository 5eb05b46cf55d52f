"""Joint replenishment in its integer form, beside every plan there is.

Several items share the fee of each period's delivery. Units come in whole packs, and
holding is paid for every unit at the end of each period, as in `test_published`.
"""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import MON, day

PERIODS = 4
SIZES = (10, 4, 1)
HOLDING = (1, 2, 3)  # a unit and period


def joint_kitchen(demand, fees, sizes, holding):
    """A unit that period n brings is paid for standing until the end."""
    suppliers = [
        shelves.supplier(
            f"period {number}",
            delivery_fee=fee,
            closed_on=frozenset(day(n) for n in range(PERIODS + 1) if n != number + 1),
        )
        for number, fee in enumerate(fees)
    ]
    packs = [
        shelves.pack(
            item,
            size,
            size * cost * (PERIODS - number),
            supplier=number,
            pack_id=PERIODS * item + number + 1,
        )
        for item, (size, cost) in enumerate(zip(sizes, holding, strict=True))
        for number in range(PERIODS)
    ]
    kitchen = shelves.kitchen(
        shelves.items(*({"name": f"item {item}"} for item in range(len(sizes)))),
        suppliers=suppliers,
        packs=packs,
        leftover_worth=0.0,
    )
    used = {
        (item, day(number + 1)): float(amount)
        for item, amounts in enumerate(demand)
        for number, amount in enumerate(amounts)
    }
    return kitchen, used


def best_of_all(demand, fees, sizes, holding):
    """The least of set-ups and holding over every plan of every item."""
    schedules = [
        every_schedule(*item) for item in zip(demand, sizes, holding, strict=True)
    ]
    least = float("inf")
    for is_open in itertools.product((False, True), repeat=len(fees)):
        cost = sum(fee for fee, is_in in zip(fees, is_open, strict=True) if is_in)
        for mine in schedules:
            cost += min(
                (
                    held
                    for packs, held in mine
                    if all(
                        is_in or not count
                        for is_in, count in zip(is_open, packs, strict=True)
                    )
                ),
                default=float("inf"),
            )
        least = min(least, cost)
    return least


def every_schedule(demand, size, holding):
    """Every number of packs in every period that is never short, and its holding."""
    most = -(-sum(demand) // size)
    found = []
    for packs in itertools.product(range(most + 1), repeat=len(demand)):
        stock, held = 0, 0
        for count, needed in zip(packs, demand, strict=True):
            stock += count * size - needed
            if stock < 0:
                break
            held += holding * stock
        else:
            found.append((packs, held))
    return found


def ordered(demand, fees, sizes, holding):
    kitchen, used = joint_kitchen(demand, fees, sizes, holding)
    window = shelves.window(MON, PERIODS + 1)
    purchasing = best_orders(
        kitchen,
        window,
        shelves.demand(kitchen.nodes, used),
        possible_deliveries(kitchen, window),
    )
    in_all = sum(
        cost * sum(itertools.accumulate(amounts))
        for cost, amounts in zip(holding, demand, strict=True)
    )
    paid = float(purchasing.total_cost)
    return purchasing, paid - in_all


def per_item(most):
    return st.lists(st.integers(0, most), min_size=PERIODS, max_size=PERIODS)


@settings(max_examples=30, deadline=None)
@given(st.tuples(per_item(15), per_item(6), per_item(2)), per_item(60))
def test_items_that_share_a_fee_are_ordered_as_in_the_best_plan_of_all(demand, fees):
    least = best_of_all(demand, fees, SIZES, HOLDING)

    purchasing, cost = ordered(demand, fees, SIZES, HOLDING)

    paid = float(purchasing.total_cost)
    assert cost >= least - 1e-6
    assert cost - purchasing.proof.gap * paid <= least + 1e-6
    if purchasing.proof.status == "proven":
        assert cost <= least + 1e-4 * max(paid, 1) + 1e-6


def test_a_shared_fee_is_paid_less_often_than_two_fees_apart():
    # Each period 10 of one and 4 of the other; a fee of 20; holding 1 and 2, so that
    # what is bought a period early costs 10 or 8. Together: in periods 1 and 3 two fees
    # and 2 x 18 held, 76; in three periods 60 + 18 = 78; in all four 80; in the first
    # alone 20 + 6 x 18 = 128. Apart, the two would pay 40 + 20 and 40 + 16.
    demand, fees = [[10] * 4, [4] * 4], [20] * 4

    purchasing, cost = ordered(demand, fees, (10, 4), (1, 2))

    assert cost == pytest.approx(40 + 20 + 16)
    assert [
        ((order.deliver_on - MON).days, [line.packs for line in order.lines])
        for order in purchasing.orders
    ] == [(1, [2, 2]), (3, [2, 2])]
    assert purchasing.proof.status == "proven"
