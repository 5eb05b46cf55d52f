from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import NO_LIMIT_DAYS, NodeKind
from planning.engine.plan_warnings import OverdueOrder
from planning.engine.shelves.leftovers import useful_leftover_base
from planning.engine.shelves.projection import project, shelf_days, used_by_day
from planning.engine.shelves.supplies import (
    bought_supplies,
    join,
    overdue_orders,
    read_shelf,
)
from tests.engine import shelves
from tests.engine.simulator import Truck, simulate

MON = date(2026, 5, 4)


def day(number):
    return MON + timedelta(days=number)


def projected(kitchen, days, used):
    window = shelves.window(MON, days)
    by_date = {(node, day(number)): amount for (node, number), amount in used.items()}
    return project(kitchen, window, shelves.demand(kitchen.nodes, by_date))


def one_item(days, used, *, lots=(), orders=(), next_day=False, **item):
    """Project one item: lots (amount, use-by day), orders (amount, due day)."""
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter", **item}),
        lots=[
            (0, amount, None if use_by is None else day(use_by))
            for amount, use_by in lots
        ],
        orders=[(0, amount, day(due), 0) for amount, due in orders],
        suppliers=[shelves.supplier(usable_next_day=next_day)],
    )
    return projected(kitchen, days, {(0, number): used[number] for number in used})


def row(values):
    return values[0].tolist()


def test_a_shelf_opens_receives_uses_and_closes():
    result = one_item(3, {0: 4, 2: 5}, lots=[(10, None)], orders=[(6, 1)])

    assert row(result.opening_base) == [10, 6, 12]
    assert row(result.received_base) == [0, 6, 0]
    assert row(result.used_base) == [4, 0, 5]
    assert row(result.expired_base) == [0, 0, 0]
    assert row(result.closing_base) == [6, 12, 7]
    assert not result.is_out.any()


def test_projected_on_hand_of_reference_c_39():
    # Weeks taken as days: 37 on hand, 230 due in week 1, then lots of 230 in 4 and 7.
    gross = [150, 0, 0, 120, 0, 150, 120, 0]
    due = [(230, 0), (230, 3), (230, 6)]

    result = one_item(8, dict(enumerate(gross)), lots=[(37, None)], orders=due)

    assert row(result.closing_base) == [117, 117, 117, 227, 227, 77, 187, 187]
    assert not result.is_out.any()


def test_projected_on_hand_of_reference_c_40():
    demand = [41, 44, 84, 42, 84, 86, 7, 18, 49, 30]
    net = [0, 0, 49, 42, 84, 86, 7, 18, 49, 30]

    bare = one_item(10, dict(enumerate(demand)), lots=[(120, None)])
    received = one_item(
        10,
        dict(enumerate(demand)),
        lots=[(120, None)],
        orders=[(amount, number) for number, amount in enumerate(net) if amount],
    )

    assert row(bare.closing_base)[:3] == [79, 35, -49]
    assert row(bare.is_out) == [False] * 2 + [True] * 8
    assert row(received.closing_base) == [79, 35, 0, 0, 0, 0, 0, 0, 0, 0]
    assert not received.is_out.any()


def test_earliest_use_by_first_of_reference_c_64():
    # Need 12 lb on 10 May; A 10 lb use-by 12 May, B 6 lb 9 May, C 20 lb 30 May.
    tenth = date(2026, 5, 10)
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        lots=[
            (0, 10, date(2026, 5, 12)),
            (0, 6, date(2026, 5, 9)),
            (0, 20, date(2026, 5, 30)),
        ],
    )
    demand = shelves.demand(kitchen.nodes, {(0, tenth): 12})

    result = project(kitchen, shelves.window(tenth, 4), demand)

    assert row(result.opening_base) == [36, 18, 18, 18]
    assert row(result.expired_base) == [6, 0, 0, 0]  # B: usable is 30, not 36
    # 10 from A and 2 from C: A is used up, so nothing goes out on 13 May.
    assert row(result.closing_base) == [18, 18, 18, 18]


def test_a_lot_is_used_on_its_last_day_and_out_of_date_the_day_after():
    used = one_item(3, {1: 5}, lots=[(5, 1)])
    kept = one_item(3, {2: 5}, lots=[(5, 1)])

    assert row(used.expired_base) == [0, 0, 0]
    assert row(used.closing_base) == [5, 0, 0]
    assert row(kept.expired_base) == [0, 0, 5]
    assert row(kept.closing_base) == [5, 5, -5]
    assert row(kept.is_out) == [False, False, True]


def test_goods_received_keep_from_the_day_they_come():
    # Keeps 2 days: received on day 1, usable on days 1 and 2, out of date on day 3.
    result = one_item(4, {2: 1}, orders=[(3, 1)], keeps=2)

    assert row(result.expired_base) == [0, 0, 0, 2]
    assert row(result.closing_base) == [0, 3, 2, 0]


def test_a_next_day_delivery_does_not_serve_its_own_day():
    result = one_item(3, {1: 4}, orders=[(10, 1)], next_day=True)

    assert row(result.closing_base) == [0, 6, 6]
    assert row(result.outstanding_base) == [0, 4, 0]
    assert row(result.is_out) == [False, True, False]


def test_a_next_day_delivery_that_keeps_one_day_is_never_usable():
    result = one_item(3, {2: 4}, orders=[(10, 1)], next_day=True, keeps=1)

    assert row(result.expired_base) == [0, 0, 10]
    assert row(result.outstanding_base) == [0, 0, 4]


def test_what_was_short_is_taken_from_the_next_delivery():
    result = one_item(3, {0: 7, 2: 2}, lots=[(4, None)], orders=[(8, 1)])

    assert row(result.closing_base) == [-3, 5, 3]
    assert row(result.outstanding_base) == [3, 0, 0]
    assert row(result.is_out) == [True, False, False]


def test_a_longer_keeping_lot_is_left_for_later():
    # The delivery of day 1 keeps 2 days and is used before the undated stock.
    result = one_item(4, {2: 3}, lots=[(10, None)], orders=[(5, 1)], keeps=2)

    assert row(result.expired_base) == [0, 0, 0, 2]
    assert row(result.closing_base) == [10, 15, 12, 10]


def test_less_than_nothing_on_record_is_owed():
    result = one_item(3, {1: 1}, lots=[(-2, None)], orders=[(5, 1)])

    assert row(result.closing_base) == [-2, 2, 2]
    assert row(result.is_out) == [True, False, False]


@pytest.mark.parametrize(("lack", "is_out"), [(0.0009, False), (0.0011, True)])
def test_a_lack_under_a_thousandth_is_none(lack, is_out):
    result = one_item(1, {0: 10 + lack}, lots=[(10, None)])

    assert bool(result.is_out[0, 0]) == is_out


def test_an_overdue_order_is_not_counted_and_is_a_warning():
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        orders=[(0, 5, day(-2), 0), (0, 5, day(9), 0)],
        suppliers=[shelves.supplier("Dairy")],
    )

    result = projected(kitchen, 3, {})
    overdue = overdue_orders(kitchen, shelves.window(MON, 3))

    assert row(result.closing_base) == [0, 0, 0]
    assert overdue == (OverdueOrder("O-1", 0, 0, due_on=day(-2), days_late=2),)


def test_an_order_due_today_comes_today_and_is_not_overdue():
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        orders=[(0, 5, day(0), 0)],
        suppliers=[shelves.supplier("Dairy")],
    )

    assert row(projected(kitchen, 3, {}).closing_base) == [5, 5, 5]
    assert overdue_orders(kitchen, shelves.window(MON, 3)) == ()


def test_every_bought_item_in_use_has_a_row_by_name():
    nodes = shelves.items(
        {"name": "sugar"},
        {"name": "Butter"},
        {"name": "lard", "retired": True},
        {"name": "white", "kind": NodeKind.PART},
    )
    kitchen = shelves.kitchen(nodes, lots=[(2, 5, None), (3, 5, None), (0, 1, None)])

    result = projected(kitchen, 2, {(2, 0): 1, (0, 1): 1})

    assert list(result.nodes) == [1, 0]
    assert list(result.days) == [day(0), day(1)]
    assert result.closing_base.tolist() == [[0, 0], [1, 0]]


def test_demand_outside_the_window_is_left_out():
    result = one_item(2, {-1: 3, 0: 1, 2: 4}, lots=[(10, None)])

    assert row(result.used_base) == [1, 0]


def test_a_kitchen_without_items_has_no_rows():
    result = projected(shelves.kitchen(shelves.items()), 3, {})

    assert result.closing_base.shape == (0, 3)


AMOUNTS = st.integers(0, 40).map(lambda tenths: tenths / 4)
DAYS = 9
NODES = range(3)


@st.composite
def random_kitchens(draw):
    keeps = st.one_of(st.just(NO_LIMIT_DAYS), st.integers(1, 5))
    nodes = shelves.items(
        *(
            {"name": f"item {node}", "keeps": draw(keeps), "par": draw(AMOUNTS)}
            for node in NODES
        )
    )
    node = st.sampled_from(NODES)
    use_by = st.one_of(st.none(), st.integers(-2, DAYS + 3).map(day))
    suppliers = [
        shelves.supplier("same day"),
        shelves.supplier("next day", usable_next_day=True),
    ]
    arrival = st.tuples(
        node, AMOUNTS, st.integers(-1, DAYS).map(day), st.integers(0, 1)
    )
    kitchen = shelves.kitchen(
        nodes,
        lots=draw(st.lists(st.tuples(node, AMOUNTS, use_by), max_size=8)),
        orders=draw(st.lists(arrival, max_size=8)),
        suppliers=suppliers,
        packs=[
            shelves.pack(node, 2.5, 1, supplier=who, pack_id=2 * node + who)
            for node in NODES
            for who in (0, 1)
        ],
    )
    cell = st.tuples(node, st.integers(0, DAYS - 1).map(day))
    used = draw(st.dictionaries(cell, AMOUNTS, max_size=20))
    truck = st.builds(
        Truck,
        st.just(0),
        st.integers(0, DAYS - 1).map(day),
        st.dictionaries(st.sampled_from([0, 2, 4]), st.integers(1, 5), max_size=3),
    )
    return kitchen, used, draw(st.lists(truck, max_size=3))


@settings(max_examples=300, deadline=None)
@given(random_kitchens())
def test_the_projection_agrees_with_a_plain_simulation(case):
    kitchen, used, _ = case
    window = shelves.window(MON, DAYS)

    result = project(kitchen, window, shelves.demand(kitchen.nodes, used))
    expected = simulate(kitchen, window, used)

    for place, node in enumerate(result.nodes):
        for number in range(DAYS):
            found = (
                result.opening_base[place, number],
                result.received_base[place, number],
                result.used_base[place, number],
                result.expired_base[place, number],
                result.closing_base[place, number],
                result.outstanding_base[place, number],
            )
            wanted = expected.days[node, day(number)]
            assert found == pytest.approx(
                (
                    wanted.opening,
                    wanted.received,
                    wanted.used,
                    wanted.expired,
                    wanted.closing,
                    wanted.outstanding,
                ),
                abs=1e-9,
            )


@settings(max_examples=200, deadline=None)
@given(random_kitchens())
def test_suggested_trucks_and_their_leftovers_agree_with_the_simulation(case):
    kitchen, used, trucks = case
    window = shelves.window(MON, DAYS)
    shelf = read_shelf(kitchen, window)
    used_base = used_by_day(shelf, window, shelves.demand(kitchen.nodes, used))
    bought = [
        (
            kitchen.packs[place],
            packs,
            PossibleDelivery(0, truck.deliver_on, None, truck.deliver_on),
        )
        for truck in trucks
        for place, packs in truck.packs.items()
    ]
    supplies = join(shelf.supplies, bought_supplies(kitchen, window, shelf, bought))

    closing = shelf_days(supplies, used_base).ends_base[-1]
    useful = useful_leftover_base(supplies, used_base, kitchen.nodes.par_base)
    expected = simulate(kitchen, window, used, trucks)

    assert closing.tolist() == pytest.approx(
        [expected.days[node, window.to_on].closing for node in shelf.nodes], abs=1e-9
    )
    # Every pack of 2.5 costs 1 and leftovers count at 0.9 of that.
    worth = float(np.sum(useful)) / 2.5 * 0.9
    assert worth == pytest.approx(expected.worth, abs=1e-9)
