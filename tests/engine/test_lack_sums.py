from datetime import date, timedelta

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.shelves.projection import project
from planning.engine.shortfalls.after_orders import lack_sum
from planning.engine.shortfalls.shortfalls import find_shortfalls
from tests.engine import shelves

MON = date(2026, 5, 4)


def day(number):
    return MON + timedelta(days=number)


def sum_of(kitchen, used, *, days=7):
    window = shelves.window(MON, days)
    demand = shelves.demand(
        kitchen.nodes, {(0, day(number)): amount for number, amount in used.items()}
    )
    projection = project(kitchen, window, demand)
    deliveries = possible_deliveries(kitchen, window)
    [lack] = find_shortfalls(
        kitchen, window, projection, lambda node, on: (), deliveries
    )
    return lack_sum(kitchen, projection, lack)


def butter(*, on_hand=10, orders=(), lots=None, next_day=False, packs=(), **item):
    return shelves.kitchen(
        shelves.items({"name": "butter", **item}),
        lots=lots or [(0, on_hand, None)],
        orders=[(0, amount, day(due), 0) for amount, due in orders],
        suppliers=[shelves.supplier(usable_next_day=next_day)],
        packs=packs,
    )


def test_a_lack_runs_from_its_first_day_to_the_day_of_most():
    found = sum_of(butter(orders=[(1, 3), (5, 4)]), {1: 8, 2: 6, 3: 3, 5: 1})

    # 2 are left on day 1; day 2 is 4 short, day 3 is 6 short; 5 come on day 4.
    assert (found.from_on, found.to_on) == (day(2), day(3))
    assert (found.opening_base, found.used_base, found.received_base) == (2, 9, 1)
    assert found.short_base == 6
    assert added_up(found) == pytest.approx(6)


def test_what_comes_but_cannot_be_used_that_day_is_set_apart():
    found = sum_of(butter(orders=[(5, 2)], next_day=True), {2: 12})

    # 10 are there and 5 come, but may be used from day 3 on: 2 short on day 2
    assert found.waits_base == 5
    assert found.short_base == 2
    assert added_up(found) == pytest.approx(2)


def test_what_goes_out_of_date_is_wanted_too():
    found = sum_of(butter(lots=[(0, 4, day(2)), (0, 3, None)], safety=2), {1: 1, 3: 2})

    # 3 of the 4 are never used; on day 3 there is 1, which is 1 below safety
    assert found.kept_base == 2
    assert found.short_base == 1
    assert added_up(found) == pytest.approx(1)


def test_par_counts_all_days_and_what_comes_after_them():
    found = sum_of(butter(orders=[(4, 9)], par=20), {1: 3, 6: 2})

    # 10 - 5 = 5 when the last day is over; 4 come later: 11 below par
    assert (found.from_on, found.to_on) == (day(0), day(6))
    assert (found.kept_base, found.used_base, found.later_base) == (20, 5, 4)
    assert found.short_base == 11
    assert added_up(found) == pytest.approx(11)


def test_par_counts_up_to_the_par_day_that_lacks_most():
    kitchen = butter(orders=[(4, 8)], par=20, packs=[shelves.pack(0, 5, 3)])

    found = sum_of(kitchen, {1: 3, 5: 2}, days=9)

    # Sunday, day 6: 10 - 5 = 5, and 4 come later: 11 below. At the end 9: 11 too.
    assert (found.from_on, found.to_on) == (day(0), day(6))
    assert (found.used_base, found.received_base, found.later_base) == (5, 0, 4)
    assert added_up(found) == pytest.approx(11)


def added_up(found):
    wanted = found.used_base + found.expired_base + found.kept_base + found.waits_base
    return wanted - found.opening_base - found.received_base - found.later_base
