"""Fees, price breaks and minimum orders under the usual rule."""

from decimal import Decimal

from planning.engine.kitchen import NO_LIMIT_DAYS, PriceBreak
from tests.engine import shelves
from tests.engine.usual_questions import bought, butter, lines_of


def test_the_fee_is_paid_unless_the_goods_reach_the_limit():
    terms = {"delivery_fee": 15, "free_delivery_from": 100}
    kitchen = butter(
        suppliers=[shelves.supplier(**terms)], packs=[shelves.pack(0, 1, 5)]
    )

    paying = bought(kitchen, {(0, 3): 19})
    free = bought(kitchen, {(0, 3): 20})

    assert (paying.goods_cost, paying.fees, paying.usual_total) == (95, 15, 110)
    assert (free.goods_cost, free.fees, free.usual_total) == (100, 0, 100)


def test_breaks_count_for_all_packs_of_a_line():
    breaks = (PriceBreak(10, Decimal("4.50")),)
    kitchen = butter(packs=[shelves.pack(0, 10, 5, breaks=breaks)])

    (order,) = bought(kitchen, {(0, 3): 100}).orders

    assert (order.lines[0].price, order.goods_cost) == (
        Decimal("4.50"),
        Decimal("45.00"),
    )


def two_items(
    minimum, *, keeps=(NO_LIMIT_DAYS, NO_LIMIT_DAYS), prices=(10, 10), **kwargs
):
    nodes = shelves.items(
        {"name": "butter", "keeps": keeps[0]}, {"name": "flour", "keeps": keeps[1]}
    )
    return shelves.kitchen(
        nodes,
        suppliers=[shelves.supplier("Mill", minimum_order=minimum)],
        packs=[
            shelves.pack(node, 10, price, label=f"bag {node}")
            for node, price in enumerate(prices)
        ],
        **kwargs,
    )


def test_a_minimum_is_met_with_what_is_needed_next():
    purchasing = bought(two_items(20), {(0, 2): 10, (1, 5): 10})

    assert lines_of(purchasing) == [(2, 0, 1), (2, 1, 1)]
    assert purchasing.orders[0].lines[1].because[-1] == (
        "Moved up from Sat May 9, so that this delivery of Mill reaches its minimum "
        "order of $20.00."
    )


def test_a_delivery_that_meets_its_minimum_takes_nothing_forward():
    purchasing = bought(two_items(10), {(0, 2): 10, (1, 5): 10})

    assert lines_of(purchasing) == [(2, 0, 1), (5, 1, 1)]


def test_what_would_not_keep_is_not_brought_forward():
    kitchen = two_items(20, keeps=(NO_LIMIT_DAYS, 2))

    purchasing = bought(kitchen, {(0, 2): 10, (1, 5): 10})

    # The flour for day 5 cannot come on day 2: each truck takes more of its own.
    assert lines_of(purchasing) == [(2, 0, 2), (5, 1, 2)]


def test_the_last_small_delivery_joins_an_earlier_one():
    purchasing = bought(two_items(20), {(0, 2): 20, (1, 5): 10})

    assert lines_of(purchasing) == [(2, 0, 2), (2, 1, 1)]
    assert purchasing.orders[0].lines[1].because[-1] == (
        "Moved up from Sat May 9, when Mill would not reach its minimum order of "
        "$20.00."
    )


def test_an_earlier_delivery_that_a_break_makes_cheaper_reaches_its_minimum_again():
    # Tuesday's butter at $10.00 and flour at $5.00 are the minimum. The next week's
    # butter alone joins them: 2 packs at $4.00, $13.00 in all. A third makes it $17.00.
    nodes = shelves.items({"name": "butter", "par": 10.0}, {"name": "flour"})
    kitchen = shelves.kitchen(
        nodes,
        lots=[(0, 10, None)],
        suppliers=[shelves.supplier("Mill", days=(1,), minimum_order=15)],
        packs=[
            shelves.pack(0, 10, 10, breaks=(PriceBreak(2, Decimal(4)),)),
            shelves.pack(1, 10, 5),
        ],
    )

    purchasing = bought(kitchen, {(0, 1): 10, (1, 1): 10, (0, 8): 10}, days=14)

    assert lines_of(purchasing) == [(1, 0, 3), (1, 1, 1)]
    assert (purchasing.goods_cost, purchasing.warnings) == (17, ())


def test_a_small_delivery_joins_an_earlier_one_only_as_a_whole():
    # The sugar of day 5 would keep from day 2 on, the butter would not: both come on
    # day 5, for $20.00, and more sugar brings it up to the minimum of $25.00.
    nodes = shelves.items(
        {"name": "butter", "keeps": 2}, {"name": "flour"}, {"name": "sugar"}
    )
    kitchen = shelves.kitchen(
        nodes,
        suppliers=[shelves.supplier("Mill", minimum_order=25)],
        packs=[shelves.pack(node, 10, 10) for node in range(3)],
    )

    purchasing = bought(kitchen, {(1, 2): 30, (0, 5): 10, (2, 5): 10})

    assert lines_of(purchasing) == [(2, 1, 3), (5, 0, 1), (5, 2, 2)]


def test_a_minimum_of_reference_c_66_is_never_padded_with_perishables():
    # Goods of 231.40 are 18.60 short of 250.00: 113.40 of cream, 118.00 of flour.
    kitchen = two_items(250, keeps=(5, NO_LIMIT_DAYS), prices=("113.40", "11.80"))

    purchasing = bought(kitchen, {(0, 3): 10, (1, 3): 100})

    (order,) = purchasing.orders
    assert lines_of(purchasing) == [(3, 0, 1), (3, 1, 12)]
    assert order.goods_cost == Decimal("255.00")
    assert order.lines[1].because[-1] == (
        "2 of the 12 are there only to reach the minimum order of $250.00: the goods "
        "were $18.60 short of it."
    )


def test_padding_takes_what_will_be_used_up_soonest():
    # Of flour 30 are left for 70 used, of butter 9 for 1: flour is nearer its end.
    kitchen = two_items(60, lots=[(1, 5, None)])

    purchasing = bought(kitchen, {(0, 3): 1, (1, 3): 35})

    assert lines_of(purchasing) == [(3, 0, 1), (3, 1, 5)]


def test_padding_takes_turns_as_more_of_one_is_left():
    purchasing = bought(two_items(60), {(0, 3): 10, (1, 3): 10})

    assert lines_of(purchasing) == [(3, 0, 3), (3, 1, 3)]


def test_what_stands_for_par_is_not_left_for_padding():
    # Of butter nothing is left above its par of 50, of flour 3 for a use of 7.
    nodes = shelves.items({"name": "butter", "par": 50.0}, {"name": "flour"})
    kitchen = shelves.kitchen(
        nodes,
        lots=[(0, 50, None)],
        suppliers=[shelves.supplier(minimum_order=30)],
        packs=[shelves.pack(node, 10, 10) for node in range(2)],
    )

    purchasing = bought(kitchen, {(0, 6): 10, (1, 6): 7})

    assert lines_of(purchasing) == [(6, 0, 2), (6, 1, 1)]


def test_padding_ends_with_what_is_left_of_a_shelf_life_on_the_last_day():
    # Both come on day 3 of days 0 to 6. Butter keeps through day 12, 6 days after the
    # plan: at 16 in 7 days it would use 13.7 of them up, and a third pack of 10 leaves
    # 14. So neither is used up, and flour, which keeps longer, pads the order.
    kitchen = two_items(20, keeps=(10, 12), prices=(5, 5))

    purchasing = bought(kitchen, {(0, 3): 16, (1, 3): 1})

    assert lines_of(purchasing) == [(3, 0, 2), (3, 1, 2)]


def test_a_lone_perishable_still_reaches_the_minimum():
    kitchen = butter(suppliers=[shelves.supplier(minimum_order=12)], keeps=2)

    assert lines_of(bought(kitchen, {(0, 3): 10})) == [(3, 0, 3)]


def test_free_goods_never_reach_a_minimum_and_that_is_said():
    kitchen = butter(
        suppliers=[shelves.supplier("Mill", minimum_order=12)],
        packs=[shelves.pack(0, 10, 0)],
    )

    purchasing = bought(kitchen, {(0, 3): 10})

    assert purchasing.orders == ()
    assert purchasing.warnings == (
        "Mill does not come on Thu May 7: butter cannot reach the minimum order of "
        "$12.00. Add something to the order, or buy elsewhere.",
    )


def test_a_minimum_far_above_the_goods_is_reached_in_strides():
    kitchen = butter(
        suppliers=[shelves.supplier(minimum_order=1_000_000)],
        packs=[shelves.pack(0, 10, "0.01")],
    )

    (order,) = bought(kitchen, {(0, 3): 10}).orders

    assert Decimal(1_000_000) <= order.goods_cost < Decimal(1_000_001)
