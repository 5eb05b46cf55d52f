"""Kitchens that nobody wants: a plan all the same, with the sentence that explains it.

Each is planned by the usual rule and by the search for better orders.
"""

import re
from decimal import Decimal

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import PriceBreak
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.instance.wishes import Wishes
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import MON, day
from tests.engine.said import said

DAYS = 6


def by_the_rule(kitchen, used):
    window = shelves.window(MON, DAYS)
    demand = shelves.demand(
        kitchen.nodes, {(node, day(number)): g for (node, number), g in used.items()}
    )
    deliveries = possible_deliveries(kitchen, window)
    return said(kitchen, usual_rule(kitchen, window, demand, deliveries))


def by_the_search(kitchen, used, **options):
    window = shelves.window(MON, DAYS)
    demand = shelves.demand(
        kitchen.nodes, {(node, day(number)): g for (node, number), g in used.items()}
    )
    deliveries = possible_deliveries(kitchen, window)
    asked = kitchen, window, demand, deliveries
    return said(kitchen, best_orders(*asked, effort=QUICK, **options))


both_ways = pytest.mark.parametrize("bought", [by_the_rule, by_the_search])


def egg_whites(*packs, suppliers=(), **item):
    return shelves.kitchen(
        shelves.items({"name": "egg whites", **item}), suppliers=suppliers, packs=packs
    )


def lines_of(purchasing):
    """What is bought, as (delivery day, place of the supplier, packs)."""
    return [
        ((order.deliver_on - MON).days, order.supplier, line.packs)
        for order in purchasing.orders
        for line in order.lines
    ]


def reasons_of(purchasing):
    [[line]] = [order.lines for order in purchasing.orders]
    return " ".join(line.because)


@both_ways
def test_what_nobody_sells_is_said(bought):
    purchasing = bought(egg_whites(), {(0, 3): 20})

    assert purchasing.orders == ()
    assert purchasing.warnings == (
        "Egg whites: out on Thu May 7, and no supplier sells it. Buy it by hand, or "
        "give it a pack on its page.",
    )


@both_ways
def test_a_supplier_that_does_not_come_within_the_plan_is_no_help(bought):
    # Monday to Saturday; the Mill comes on Sundays.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5), suppliers=[shelves.supplier("Mill", days=(6,))]
    )

    purchasing = bought(kitchen, {(0, 3): 20})

    assert purchasing.orders == ()
    assert purchasing.warnings == (
        "Egg whites: out on Thu May 7, and no delivery that can still be ordered "
        "helps. Buy it by hand, or change the bake plan.",
    )


def test_a_buyer_who_leaves_every_supplier_out_gets_the_same_sentence():
    kitchen = egg_whites(shelves.pack(0, 10, 5), suppliers=[shelves.supplier("Mill")])

    purchasing = by_the_search(
        kitchen, {(0, 3): 20}, wishes=Wishes(forbidden_suppliers=frozenset({0}))
    )

    assert purchasing.orders == ()
    assert [sentence[:32] for sentence in purchasing.warnings] == [
        "Egg whites: out on Thu May 7, an"
    ]


@both_ways
def test_what_is_needed_today_is_said_and_the_rest_is_bought(bought):
    # 5 g on Monday, 20 g on Thursday; the Mill comes from Tuesday on.
    kitchen = egg_whites(shelves.pack(0, 10, 5), suppliers=[shelves.supplier("Mill")])

    purchasing = bought(kitchen, {(0, 0): 5, (0, 3): 20})

    assert sum(packs for _, _, packs in lines_of(purchasing)) == 3
    assert [sentence[:29] for sentence in purchasing.warnings] == [
        "Egg whites: out on Mon May 4,"
    ]
    assert purchasing.warnings[0].endswith("or change the bake plan.")


@both_ways
def test_a_minimum_order_that_no_need_reaches_is_filled_where_nobody_else_sells(bought):
    # 20 g for 10 against a minimum of 500: 100 packs at 5.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(1,), minimum_order=500)],
    )

    purchasing = bought(kitchen, {(0, 3): 20})

    assert lines_of(purchasing) == [(1, 0, 100)]
    assert "to reach the minimum order of $500.00" in reasons_of(purchasing)
    assert "98" in reasons_of(purchasing)


def test_a_minimum_order_that_no_need_reaches_sends_the_search_elsewhere():
    # The Mill's 20 g are 10, but it comes for 500; the Dairy's are 12.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        shelves.pack(0, 20, 12, supplier=1),
        suppliers=[
            shelves.supplier("Mill", days=(1,), minimum_order=500),
            shelves.supplier("Dairy", days=(2,)),
        ],
    )

    purchasing = by_the_search(kitchen, {(0, 3): 20})

    assert lines_of(purchasing) == [(2, 1, 1)]
    assert purchasing.warnings == (
        "Mill: cheaper for egg whites, but all that it could bring comes to "
        "$10.00, under its minimum order of $500.00. Bought elsewhere.",
    )


def test_a_supplier_that_would_not_be_cheaper_is_not_spoken_of():
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        shelves.pack(0, 20, 9, supplier=1),
        suppliers=[
            shelves.supplier("Mill", days=(1,), minimum_order=500),
            shelves.supplier("Dairy", days=(2,)),
        ],
    )

    assert by_the_search(kitchen, {(0, 3): 20}).warnings == ()


@both_ways
def test_a_pack_far_too_large_for_what_keeps_three_days_is_bought_all_the_same(bought):
    # 10 g on Tuesday and 10 g on Friday; a tub of 5,000 g keeps from Tuesday to
    # Thursday, so it takes two.
    kitchen = egg_whites(
        shelves.pack(0, 5_000, 40), suppliers=[shelves.supplier("Mill")], keeps=3
    )

    purchasing = bought(kitchen, {(0, 1): 10, (0, 4): 10})

    assert [packs for _, _, packs in lines_of(purchasing)] == [1, 1]
    first = " ".join(purchasing.orders[0].lines[0].because)
    assert "What comes on Tue May 5 keeps until Thu May 7" in first
    assert re.search("4,990 g (more than needed|of it will expire)", first)


@both_ways
@pytest.mark.parametrize("delivery_fee", [0, 3])
@pytest.mark.parametrize("keeps", [-1, 3])
def test_of_free_goods_no_more_is_ordered_than_is_needed(bought, delivery_fee, keeps):
    kitchen = egg_whites(
        shelves.pack(0, 10, 0),
        suppliers=[shelves.supplier("Mill", delivery_fee=delivery_fee)],
        keeps=keeps,
    )

    purchasing = bought(kitchen, {(0, 3): 20, (0, 5): 10})

    assert [packs for _, _, packs in lines_of(purchasing)] == [3]
    assert purchasing.total_cost == delivery_fee


@pytest.mark.parametrize("delivery_fee", [0, 3])
def test_a_price_break_to_nothing_is_used_once(delivery_fee):
    # 3 packs are 15; 10 are free.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5, breaks=(PriceBreak(10, Decimal(0)),)),
        suppliers=[shelves.supplier("Mill", delivery_fee=delivery_fee)],
    )

    purchasing = by_the_search(kitchen, {(0, 3): 20, (0, 5): 10})

    assert [packs for _, _, packs in lines_of(purchasing)] == [10]
    assert purchasing.total_cost == delivery_fee
    assert "as so few alone would cost $15.00 more" in reasons_of(purchasing)


@both_ways
def test_free_goods_that_reach_no_minimum_order_are_said(bought):
    kitchen = egg_whites(
        shelves.pack(0, 10, 5, breaks=(PriceBreak(2, Decimal(0)),)),
        suppliers=[shelves.supplier("Mill", days=(1,), minimum_order=12)],
    )

    purchasing = bought(kitchen, {(0, 3): 20})

    assert purchasing.orders == ()
    [sentence] = purchasing.warnings
    assert "gg whites" in sentence
    assert "$12.00" in sentence
    assert sentence.endswith("dd something to the order, or buy elsewhere.")


@both_ways
def test_an_empty_kitchen_has_a_plan(bought):
    purchasing = bought(shelves.kitchen(shelves.items()), {})

    assert (purchasing.orders, purchasing.warnings) == ((), ())
    assert purchasing.proof.status == "proven"


def test_a_minimum_far_above_any_need_is_said_to_be_bought_for_nothing():
    # 1,000 packs at 1 for the minimum; the cake takes one, and nothing the others.
    kitchen = egg_whites(
        shelves.pack(0, 100, 1),
        suppliers=[shelves.supplier("Dairy", days=(1,), minimum_order=1000)],
        keeps=3,
    )

    purchasing = by_the_search(kitchen, {(0, 2): 100.0})

    assert purchasing.goods_cost == 1000
    assert [words for words in purchasing.warnings if "expire" in words] == [
        "Of $1,000.00 for goods $999.00 is for what will expire: minimum "
        "orders or packs are far larger than the need. Buy by hand or elsewhere, or "
        "leave the delivery out."
    ]
    assert not by_the_search(egg_whites(), {}).warnings
