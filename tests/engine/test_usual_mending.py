"""The usual rule leaves nothing short that a delivery could help; the rest is told."""

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.mended import by_the_search, cream
from tests.engine.said import said
from tests.engine.usual_questions import MON, bought, day, lines_of


def test_fresh_goods_used_first_spare_what_keeps_longer():
    # 20 g keep all week, Dairy comes on Monday alone, with cream that keeps to Tuesday.
    # 15 g are used on Tuesday, 15 g on Friday: 10 g too little, and nothing fresh can
    # come for Friday. 10 g on Monday are used first on Tuesday, and 15 g stay.
    kitchen = cream([(20, day(6))])

    purchasing = bought(kitchen, {(0, 1): 15, (0, 4): 15})

    assert lines_of(purchasing) == [(0, 0, 1)]
    assert purchasing.warnings == ()
    assert purchasing.orders[0].lines[0].because == (
        "Cream: out on Fri May 8; 10 g of that spared by what is used first.",
        "20 g on hand, nothing on order, 30 g used by Sun May 10.",
        "1 \N{MULTIPLICATION SIGN} pack of 10 at $5.00, the only pack sold, is 10 g: "
        "used first, which spares older stock.",
        "What comes on Mon May 4 keeps until Tue May 5.",
        "Dairy comes on Mon May 4; order by Mon May 4, 2:00 pm.",
    )


def test_no_more_is_bought_than_can_be_spared():
    # Tuesday uses 5 g of the 20 g: so much can be spared for Friday, who lacks 10 g.
    kitchen = cream([(20, day(6))], packs=[shelves.pack(0, 1, 1)])

    purchasing = bought(kitchen, {(0, 1): 5, (0, 4): 25})

    assert lines_of(purchasing) == [(0, 0, 5)]
    spared = [
        words for words in purchasing.orders[0].lines[0].because if "spared by" in words
    ]
    assert spared == [
        "Cream: out on Fri May 8; 5 g of that spared by what is used first."
    ]
    assert purchasing.warnings == (
        "Cream: out on Fri May 8, 5 g short with all that is ordered, and no other "
        "delivery helps. Buy that much elsewhere, or change the bake plan.",
    )


def test_what_spares_comes_on_the_last_day_that_helps():
    kitchen = cream(
        [(20, day(6))], suppliers=[shelves.supplier(days=(0, 1, 2), cutoff_days=0)]
    )

    assert lines_of(bought(kitchen, {(0, 1): 15, (0, 4): 15})) == [(1, 0, 1)]


def test_safety_is_kept_by_sparing_too():
    # After Tuesday's 10 g 10 g are left, 5 below safety from Wednesday on, when what
    # Monday brings is out of date.
    kitchen = cream([(20, day(6))], safety=15)

    purchasing = bought(kitchen, {(0, 1): 10})

    assert lines_of(purchasing) == [(0, 0, 1)]


def test_a_line_moved_up_for_a_minimum_is_made_up_for():
    # Saturday's bag of flour joins Tuesday's order for the minimum of $20.00. Nothing
    # lacks by that; the rule looks once more and buys nothing.
    nodes = shelves.items({"name": "butter"}, {"name": "flour"})
    kitchen = shelves.kitchen(
        nodes,
        suppliers=[shelves.supplier("Mill", minimum_order=20)],
        packs=[shelves.pack(0, 10, 10), shelves.pack(1, 10, 10)],
    )

    assert lines_of(bought(kitchen, {(0, 2): 10, (1, 5): 10})) == [(2, 0, 1), (2, 1, 1)]


def test_what_a_delivery_cannot_bring_for_its_minimum_comes_from_another():
    # Mill gives samples away and never reaches its minimum; Dairy sells the same.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[
            shelves.supplier("Mill", minimum_order=20),
            shelves.supplier("Dairy"),
        ],
        packs=[
            shelves.pack(0, 10, 0, preferred=True),
            shelves.pack(0, 10, 5, supplier=1),
        ],
    )

    purchasing = bought(kitchen, {(0, 3): 10})

    assert [(order.supplier, order.goods_cost) for order in purchasing.orders] == [
        (1, 5)
    ]
    assert purchasing.warnings == ()


def test_a_delivery_that_mends_meets_its_minimum_too():
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[
            shelves.supplier("Mill", minimum_order=20),
            shelves.supplier("Dairy", minimum_order=12),
        ],
        packs=[
            shelves.pack(0, 10, 0, preferred=True),
            shelves.pack(0, 10, 5, supplier=1),
        ],
    )

    purchasing = bought(kitchen, {(0, 3): 10})

    assert [(order.supplier, order.goods_cost) for order in purchasing.orders] == [
        (1, 15)
    ]


@pytest.mark.parametrize("buy", [usual_rule, by_the_search])
def test_free_goods_alone_are_no_delivery(buy):
    # Whatever is ordered costs nothing and stays under the minimum of $20.00.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[shelves.supplier("Mill", minimum_order=20)],
        packs=[shelves.pack(0, 10, 0)],
    )
    window = shelves.window(MON, 7)
    demand = shelves.demand(kitchen.nodes, {(0, day(3)): 10})

    asked = kitchen, window, demand, possible_deliveries(kitchen, window)
    purchasing = said(kitchen, buy(*asked))

    [sentence] = purchasing.warnings
    assert purchasing.orders == ()
    assert "butter" in sentence.casefold()


def test_a_lack_too_small_for_any_pack_is_not_told():
    # A hundredth of a gram is less than a millionth of a pack of 20 kg.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        lots=[(0, 10, None)],
        suppliers=[shelves.supplier(days=())],
        packs=[shelves.pack(0, 20_000, 5)],
    )

    assert bought(kitchen, {(0, 3): 10.01}).warnings == ()


def test_packs_reach_par_on_the_next_par_day_and_no_further():
    # Tuesday's 15 g leave 5 g short; on Sunday 20 g are to stand there: 25 g, 3 packs.
    # After the 15 g of the next Tuesday 10 g are left for the Sunday after: one more.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter", "par": 20}),
        lots=[(0, 10, None)],
        suppliers=[shelves.supplier(cutoff_days=0)],
        packs=[shelves.pack(0, 10, 5)],
    )

    purchasing = bought(kitchen, {(0, 1): 15, (0, 8): 15}, days=14)

    assert lines_of(purchasing) == [(1, 0, 3), (13, 0, 1)]
    [monday, sunday] = [order.lines[0].because[0] for order in purchasing.orders]
    assert monday == "Butter: out on Tue May 5; 25 g to reach par on Sun May 10."
    assert sunday == "Butter: 10 g to reach par on Sun May 17."


def test_par_is_bought_in_full_once_something_is_bought():
    # Out by 1 g until Saturday's 19.5 g; Sunday closes at 18.5 g, more than nine tenths
    # of 20 g, yet 1.5 g below par.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter", "par": 20}),
        lots=[(0, 10, None)],
        orders=[(0, 19.5, day(5), 0)],
        suppliers=[shelves.supplier()],
        packs=[shelves.pack(0, 1, 1)],
    )

    assert lines_of(bought(kitchen, {(0, 1): 11})) == [(1, 0, 2)]


def test_what_lacks_until_a_delivery_comes_is_told_as_that():
    # 2 g of 5 g safety until Thursday's truck.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter", "safety": 5}),
        lots=[(0, 2, None)],
        suppliers=[shelves.supplier("Dairy", days=(3,))],
        packs=[shelves.pack(0, 10, 5)],
    )

    assert bought(kitchen).warnings == (
        "Butter: below safety on Mon May 4, until Dairy comes on Thu May 7.",
    )


def test_a_late_delivery_says_the_day_it_can_be_used():
    # Needed on Tuesday; Dairy comes on Thursday, to be used on Friday, three days late.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[shelves.supplier("Dairy", days=(3,), usable_next_day=True)],
        packs=[shelves.pack(0, 10, 5)],
    )

    purchasing = bought(kitchen, {(0, 1): 3})

    assert purchasing.orders[0].lines[0].because[3] == (
        "First that helps: Dairy on Thu May 7, usable on Fri May 8, late by 3 days; "
        "order by Wed May 6, 2:00 pm."
    )
    assert purchasing.warnings == (
        "Butter: out on Tue May 5, and no delivery is in time: Dairy on Thu May 7, "
        "usable on Fri May 8, late by 3 days. Buy 3 g elsewhere and order that much "
        "less, or change the bake plan.",
    )


def test_days_that_lack_again_are_told_together():
    # Dairy comes on Tuesdays with cream for that day; two Mondays have none.
    kitchen = cream([], keeps=1, suppliers=[shelves.supplier("Dairy", days=(1,))])

    purchasing = bought(
        kitchen, {(0, 1): 10, (0, 3): 4, (0, 8): 10, (0, 10): 6}, days=14
    )

    assert lines_of(purchasing) == [(1, 0, 1), (8, 0, 2)]
    assert purchasing.warnings == (
        "Cream: out on Thu May 7, and no delivery is in time: Dairy on Tue May 12, "
        "late by 5 days. Buy 4 g elsewhere and order that much less, or change the "
        "bake plan.",
        "Cream: out on Thu May 14, 6 g short with all that is ordered, and no other "
        "delivery helps. Buy that much elsewhere, or change the bake plan.",
    )


def butter_and_corner(**shop):
    """10 g of butter are needed on Tuesday; Dairy comes on Thursday, Corner is open."""
    corner = {"days": (0, 1), "cutoff_days": 0, "is_shop": True, "delivery_fee": 3}
    return shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[
            shelves.supplier("Dairy", days=(3,)),
            shelves.supplier("Corner", **{**corner, **shop}),
        ],
        packs=[shelves.pack(0, 10, 5)],
        shop_packs=[shelves.pack(0, 10, 9, supplier=1)],
    )


def test_the_rule_costs_a_trip_for_what_nobody_delivers_in_time():
    # Corner's 10 g at $9.00 and $3.00 for the trip; then Thursday's truck has nothing
    # to bring. The orders know nothing of shops.
    purchasing = bought(butter_and_corner(), {(0, 1): 10})

    assert lines_of(purchasing) == [(3, 0, 1)]
    assert (purchasing.total_cost, purchasing.usual_total) == (5, 12)


def test_a_shop_is_not_gone_to_for_what_a_delivery_brings_in_time():
    purchasing = bought(butter_and_corner(), {(0, 4): 10})

    assert (purchasing.total_cost, purchasing.usual_total) == (5, 5)


def test_a_shop_that_opens_after_the_delivery_costs_nothing():
    purchasing = bought(butter_and_corner(days=(4,)), {(0, 1): 10})

    assert (purchasing.total_cost, purchasing.usual_total) == (5, 5)
