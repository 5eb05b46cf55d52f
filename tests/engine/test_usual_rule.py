"""What a buyer's usual rule buys, on which day, from whom, and the words for it."""

from decimal import Decimal

import pytest

from tests.engine import shelves
from tests.engine.said import SaidAmounts
from tests.engine.usual_questions import bought, butter, day, lines_of

POUND_G = 453.59237


def test_par_less_on_hand_less_on_order_of_reference_c_08():
    # Par 9.5 x 9 + 12 = 97.5 lb; 31 on hand, 36 on order; cases of 36 lb: one case.
    par_lb = 9.5 * (7 + 2) + 12
    kitchen = butter(
        lots=[31 * POUND_G],
        orders=[(36 * POUND_G, 2)],
        packs=[shelves.pack(0, 36 * POUND_G, "118.80")],
        par=par_lb * POUND_G,
        safety=12 * POUND_G,
    )

    purchasing = bought(kitchen)

    assert lines_of(purchasing) == [(6, 0, 1)]
    assert purchasing.usual_total == Decimal("118.80")


def test_an_open_order_after_the_plan_counts_towards_par():
    kitchen = butter(
        lots=[31], orders=[(36, 9)], packs=[shelves.pack(0, 36, 1)], par=97
    )

    assert lines_of(bought(kitchen)) == [(6, 0, 1)]


@pytest.mark.parametrize(("can_split", "packs", "size_lb"), [(1, 4, 1), (0, 1, 36)])
def test_flour_and_butter_of_reference_c_63(can_split, packs, size_lb):
    # Flour 3,515.625 g used, 1,200 on hand, safety 1,000: short 3,315.625 g, one bag.
    # Butter 2,109.375 g used, 3.5 lb on hand, safety 2 lb: short 3.1504 lb.
    nodes = shelves.items(
        {"name": "butter", "safety": 2 * POUND_G}, {"name": "flour", "safety": 1000.0}
    )
    case = shelves.pack(0, 36 * POUND_G, "118.80", label="case 36 x 1 lb", pack_id=1)
    pound = shelves.pack(0, POUND_G, "3.60", label="1 lb", pack_id=2, preferred=True)
    bag = shelves.pack(1, 50 * POUND_G, "24.00", label="bag 50 lb", pack_id=3)
    kitchen = shelves.kitchen(
        nodes,
        lots=[(0, 3.5 * POUND_G, None), (1, 1200, None)],
        suppliers=[shelves.supplier()],
        packs=[case, bag, *([pound] if can_split else [])],
    )

    purchasing = bought(kitchen, {(0, 4): 2109.375, (1, 4): 3515.625})

    butter_line, flour_line = purchasing.orders[0].lines
    assert (butter_line.packs, butter_line.pack.size_base) == (packs, size_lb * POUND_G)
    assert (flour_line.packs, flour_line.pack) == (1, bag)
    assert "3,315.6 g needed" in flour_line.because[0]
    assert "1,429 g needed" in butter_line.because[0]


def test_an_item_that_keeps_is_bought_once_for_the_whole_plan():
    kitchen = butter(lots=[12], par=15)

    purchasing = bought(kitchen, {(0, 1): 5, (0, 3): 10, (0, 5): 20})

    # 12 - 5 - 10 is short by 3 on day 3; to end at par takes 23 + 15 = 38.
    assert lines_of(purchasing) == [(3, 0, 4)]


def test_a_perishable_is_bought_as_it_keeps():
    kitchen = butter(keeps=3)

    purchasing = bought(kitchen, {(0, number): 10 for number in range(1, 7)})

    # Day 1 covers days 1 to 3, day 4 covers days 4 to 6.
    assert lines_of(purchasing) == [(1, 0, 3), (4, 0, 3)]


def test_safety_is_kept_and_decides_the_day():
    kitchen = butter(lots=[12], safety=5)

    purchasing = bought(kitchen, {(0, 2): 8, (0, 5): 4})

    # Day 2 closes at 4, one below safety; by day 5 at 0, five below.
    assert lines_of(purchasing) == [(2, 0, 1)]


def test_a_next_day_delivery_comes_a_day_earlier_for_use():
    kitchen = butter(suppliers=[shelves.supplier(usable_next_day=True)])

    assert lines_of(bought(kitchen, {(0, 4): 1})) == [(3, 0, 1)]


def test_what_runs_out_before_goods_are_usable_is_not_bought_for():
    # The order due on Tuesday is usable on Wednesday and ends Tuesday's lack of 10 g.
    # What Mill brings on Tuesday helps from Wednesday on: for Thursday's 3 g.
    kitchen = butter(
        orders=[(10, 1)],
        suppliers=[shelves.supplier(days=(1,), usable_next_day=True)],
        packs=[shelves.pack(0, 1, 5)],
    )

    assert lines_of(bought(kitchen, {(0, 1): 10, (0, 3): 3})) == [(1, 0, 3)]


def test_a_lack_that_ended_meanwhile_is_not_the_one_bought_for():
    # Out on Tuesday until Wednesday's order, and again on Thursday, when Mill comes.
    kitchen = butter(orders=[(5, 2)], suppliers=[shelves.supplier(days=(3,))])

    [order] = bought(kitchen, {(0, 1): 5, (0, 3): 4}).orders

    assert order.lines[0].because[0] == (
        "Butter: out on Thu May 7; 4 g needed by Sun May 10."
    )


def test_where_none_is_in_time_the_first_is_taken_and_said():
    # Needed Tuesday; trucks come Thursday and Saturday.
    kitchen = butter(suppliers=[shelves.supplier("Dairy", days=(3, 5))])

    purchasing = bought(kitchen, {(0, 1): 3})

    assert lines_of(purchasing) == [(3, 0, 1)]
    assert purchasing.orders[0].lines[0].because[3] == (
        "First that helps: Dairy on Thu May 7, late by 2 days; order by Wed May 6, "
        "2:00 pm."
    )
    assert purchasing.warnings == (
        "Butter: out on Tue May 5, and no delivery is in time: Dairy on Thu May 7, "
        "late by 2 days. Buy 3 g elsewhere and order that much less, or change the "
        "bake plan.",
    )


def test_the_next_pack_is_taken_where_the_preferred_one_is_late():
    kitchen = butter(
        suppliers=[shelves.supplier("Dairy", days=(4,)), shelves.supplier("Mill")],
        packs=[
            shelves.pack(0, 10, 5, preferred=True, label="case"),
            shelves.pack(0, 10, 8, supplier=1, label="tub"),
        ],
    )

    purchasing = bought(kitchen, {(0, 2): 3})

    (line,) = purchasing.orders[0].lines
    assert line.pack.label == "tub"
    assert line.because[2].startswith(
        "1 \N{MULTIPLICATION SIGN} tub at $8.00, the next best pack, is 10 g"
    )
    assert line.because[4] == (
        "case from Dairy would come first, but no delivery of it is in time."
    )


@pytest.mark.parametrize(
    ("terms", "packs"),
    [({}, 3), ({"minimum_packs": 5}, 5), ({"multiple": 4}, 4)],
)
def test_packs_are_bought_as_they_are_sold(terms, packs):
    kitchen = butter(packs=[shelves.pack(0, 10, 5, **terms)])

    assert lines_of(bought(kitchen, {(0, 3): 25})) == [(3, 0, packs)]


def test_the_sentences_say_day_figures_pack_and_supplier():
    kitchen = butter(
        lots=[12],
        orders=[(6, 1)],
        safety=4,
        par=20,
        packs=[shelves.pack(0, 10, 5, minimum_packs=4, multiple=3, label="case")],
    )

    purchasing = bought(kitchen, {(0, 3): 20})

    assert purchasing.orders[0].lines[0].because == (
        "Butter: out on Thu May 7; 22 g to reach par on Sun May 10.",
        "12 g on hand, 6 g on order, 20 g used by Sun May 10; safety 4 g, par 20 g.",
        "6 \N{MULTIPLICATION SIGN} case at $5.00 each, the only pack sold, are 60 g: "
        "38 g more than needed, at least 4 are sold, 3 at a time.",
        "Mill on Thu May 7 is the last delivery in time; order by Wed May 6, 2:00 pm.",
    )


def test_what_goes_out_of_date_is_part_of_the_reckoning():
    kitchen = shelves.kitchen(
        shelves.items({"name": "cream", "keeps": 9}),
        lots=[(0, 4, day(-2)), (0, 6, day(2)), (0, 7, None)],
        suppliers=[shelves.supplier()],
        packs=[shelves.pack(0, 10, 5)],
    )

    purchasing = bought(kitchen, {(0, 1): 1, (0, 5): 20})

    # 4 were out of date before and still there; 5 of the 6 go out on day 3; 7 + 13 are
    # used on day 5.
    because = purchasing.orders[0].lines[0].because
    assert because[0].endswith("; 13 g needed by Sun May 10.")
    assert because[1] == (
        "17 g on hand, nothing on order, 21 g used and 9 g expired by Sun May 10."
    )


def test_amounts_are_said_in_the_words_that_are_given():
    purchasing = bought(
        butter(),
        {(0, 3): 25},
        amounts=SaidAmounts(lambda amount: f"{amount / 5:g} sticks"),
    )

    assert "5 sticks needed" in purchasing.orders[0].lines[0].because[0]


def test_retired_items_are_not_bought_and_unsold_ones_are_said():
    nodes = shelves.items({"name": "lard", "retired": True}, {"name": "cocoa"})
    kitchen = shelves.kitchen(
        nodes, suppliers=[shelves.supplier()], packs=[shelves.pack(0, 10, 5)]
    )

    purchasing = bought(kitchen, {(0, 3): 5, (1, 3): 5})

    assert purchasing.orders == ()
    assert purchasing.usual_total == 0
    assert (purchasing.proof.status, purchasing.proof.gap) == ("proven", 0)
    assert purchasing.warnings == (
        "Cocoa: out on Thu May 7, and no supplier sells it. Buy it by hand, or give it "
        "a pack on its page.",
    )


def test_an_item_that_no_delivery_can_bring_is_said():
    kitchen = butter(suppliers=[shelves.supplier(days=())])

    purchasing = bought(kitchen, {(0, 3): 5})

    assert purchasing.warnings == (
        "Butter: out on Thu May 7, and no delivery that can still be ordered helps. "
        "Buy it by hand, or change the bake plan.",
    )


def test_a_millionth_of_a_pack_is_forgiven_without_a_word():
    kitchen = butter(lots=[10], packs=[shelves.pack(0, 20_000, 5)])

    purchasing = bought(kitchen, {(0, 3): 10.01})

    assert (purchasing.orders, purchasing.warnings) == ((), ())


def test_orders_come_by_day_then_by_supplier():
    nodes = shelves.items({"name": "butter"}, {"name": "flour"}, {"name": "eggs"})
    kitchen = shelves.kitchen(
        nodes,
        suppliers=[shelves.supplier("Zest"), shelves.supplier("apples")],
        packs=[
            shelves.pack(0, 10, 5),
            shelves.pack(1, 10, 5, supplier=1),
            shelves.pack(2, 10, 5, supplier=1),
        ],
    )

    purchasing = bought(kitchen, {(0, 3): 1, (1, 3): 1, (2, 2): 1})

    assert [(order.deliver_on, order.supplier) for order in purchasing.orders] == [
        (day(2), 1),
        (day(3), 1),
        (day(3), 0),
    ]


def test_the_gap_is_nothing_where_whole_packs_are_just_enough():
    # 20 needed, 20 bought, nothing left over: the bound is the cost.
    assert bought(butter(), {(0, 3): 20}).proof.gap == pytest.approx(0)


def test_the_gap_counts_fees_and_packs_not_used_up():
    # Needed 35: 4 packs at 5 and a fee of 2. Of the 5 left, all are used within 28
    # days at 5 a day, so they are worth 0.9 x 5 x 0.50 = 2.25. Bound 35 x 0.50 = 17.50.
    kitchen = butter(suppliers=[shelves.supplier(delivery_fee=2)])

    proof = bought(kitchen, {(0, 3): 35}).proof

    assert proof.status == "best found"
    assert proof.gap == pytest.approx((22 - 2.25 - 17.50) / 22)


def test_the_bound_knows_that_a_line_may_be_rounded_down_to_the_cent():
    # One pack at $0.333 is charged $0.33; the bound takes off the half cent that
    # rounding can save at most: $0.328.
    kitchen = butter(packs=[shelves.pack(0, 10, "0.333")])

    proof = bought(kitchen, {(0, 3): 10}).proof

    assert proof.gap == pytest.approx((0.33 - 0.328) / 0.33, abs=1e-6)
