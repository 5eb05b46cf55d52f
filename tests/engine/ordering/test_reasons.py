"""Every line that is found says why it is there, in sentences with their figures."""

from decimal import Decimal

import pytest

from planning.engine.kitchen import PriceBreak
from planning.engine.ordering.explain.found_reasons import Surplus, SurplusFor
from planning.engine.ordering.explain.reasons import Surpluses
from planning.engine.ordering.instance.selections import Selector
from planning.engine.ordering.instance.wishes import FixedLine, Wishes
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import day, problem_of
from tests.engine.ordering.reasoned import because, egg_whites, found
from tests.engine.said import SaidAmounts


def test_a_line_says_what_would_run_out_for_whom_and_what_the_next_best_costs():
    # 20 g: 2 x 5 and a fee of 3 against 12 and a fee of 4.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5, label="tub"),
        shelves.pack(0, 20, 12, supplier=1, label="jug"),
        suppliers=[
            shelves.supplier("Mill", days=(1,), delivery_fee=3),
            shelves.supplier("Dairy", days=(2,), delivery_fee=4),
        ],
    )

    reasons = because(kitchen, {(0, 3): 20}, cakes_behind=lambda node, days: ["A", "B"])

    assert reasons == {
        ("Mill", 1, "egg whites"): (
            "Without it: egg whites out on Thu May 7, up to 20 g short, for 2 cakes, "
            "first Fri May 8.",
            "Nothing on hand, nothing on order, 20 g used by Sat May 9.",
            "2 \N{MULTIPLICATION SIGN} tub hold 20 g for a need of 20 g.",
            "Mill on Tue May 5: goods $10.00, fee $3.00 for this line alone; order by "
            "Mon May 4, 2:00 pm.",
            "Next best: 1 \N{MULTIPLICATION SIGN} jug from Dairy on Wed May 6, $3.00 "
            "more, all else the same.",
        )
    }


def test_what_is_expired_and_still_there_is_on_hand_and_named():
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(1,))],
        lots=[(0, 4, day(-2)), (0, 6, None)],
    )

    [reasons] = because(kitchen, {(0, 3): 20}).values()

    # 4 g were out of date two days before the plan; 20 less 6 are short
    assert reasons[1] == (
        "10 g on hand, nothing on order, 20 g used and 4 g expired by Sat May 9."
    )


def test_a_fee_that_several_lines_share_is_said_of_all_of_them():
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}, {"name": "sugar"}),
        suppliers=[shelves.supplier("Mill", days=(1,), delivery_fee=3)],
        packs=[shelves.pack(0, 10, 10), shelves.pack(1, 10, 6)],
    )

    for reasons in because(kitchen, {(0, 3): 10, (1, 3): 10}).values():
        assert any(", fee $3.00 shared by all lines;" in words for words in reasons)


def test_all_lines_of_an_item_on_a_delivery_are_bought_otherwise_together():
    # 35 g: a tub and a pail for 5 + 10, and from the Dairy a jug for 30.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5, label="tub", pack_id=1),
        shelves.pack(0, 25, 10, label="pail", pack_id=2),
        shelves.pack(0, 35, 30, supplier=1, label="jug", pack_id=3),
        suppliers=[
            shelves.supplier("Mill", days=(1,)),
            shelves.supplier("Dairy", days=(2,)),
        ],
    )

    [order] = found(kitchen, {(0, 3): 35}).orders

    assert [line.packs for line in order.lines] == [1, 1]
    assert {line.because[-1] for line in order.lines} == {
        "Next best for all of it on this delivery: 1 \N{MULTIPLICATION SIGN} jug from "
        "Dairy on Wed May 6, $15.00 more, all else the same."
    }


def test_the_same_packs_on_another_day_are_not_named_again():
    # On Wednesday as on Tuesday 2 tubs for 10, but the fee is 3 higher.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(1, 2), delivery_fee=3)],
    )

    [reasons] = because(kitchen, {(0, 3): 20}).values()

    assert reasons[-1].endswith(", at the same cost, all else the same.")
    assert reasons[-1].startswith("Next best: from Mill on ")


def test_where_no_other_delivery_is_in_time_that_is_said():
    kitchen = egg_whites(
        shelves.pack(0, 10, 5), suppliers=[shelves.supplier("Mill", days=(1, 4))]
    )

    [reasons] = because(kitchen, {(0, 3): 20}).values()

    assert reasons[-1] == "No other delivery that is still in time can bring it."


def test_where_the_others_ask_for_too_much_that_is_said():
    # The Dairy's 20 g cost 12; nothing else comes from there to reach 50, and more
    # than 20 g go out of date.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        shelves.pack(0, 20, 12, supplier=1),
        suppliers=[
            shelves.supplier("Mill", days=(1,)),
            shelves.supplier("Dairy", days=(2,), minimum_order=50),
        ],
        keeps=3,
    )

    [reasons] = because(kitchen, {(0, 3): 20}).values()

    assert reasons[-1] == (
        "Any other way leaves a delivery under its minimum order, with all else bought "
        "as it is."
    )


def test_what_the_rest_would_need_for_its_minimum_order_is_named():
    # Without the butter for 10, the sugar for 6 lacks 10 to 16: 2 bags more. With the
    # butter from the Dairy that is 12 + 18 against 10 + 6.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}, {"name": "sugar"}),
        suppliers=[
            shelves.supplier("Mill", days=(1,), minimum_order=16),
            shelves.supplier("Dairy", days=(2,)),
        ],
        packs=[
            shelves.pack(0, 10, 10, label="brick"),
            shelves.pack(1, 10, 6, label="bag"),
            shelves.pack(0, 10, 12, supplier=1, label="brick"),
        ],
        leftover_worth=0.0,
    )

    reasons = because(kitchen, {(0, 3): 10, (1, 3): 10})

    assert reasons["Mill", 1, "butter"][-2:] == (
        "Next best: 1 \N{MULTIPLICATION SIGN} brick from Dairy on Wed May 6, $14.00 "
        "more.",
        "For its minimum order that adds 2 \N{MULTIPLICATION SIGN} bag more of sugar "
        "from Mill on Tue May 5.",
    )


def test_packs_that_only_reach_a_minimum_order_say_so():
    # 10 g are needed; 3 tubs at 5 reach the 12 that the Mill asks for.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5, label="tub"),
        suppliers=[shelves.supplier("Mill", days=(1,), minimum_order=12)],
    )

    [reasons] = because(kitchen, {(0, 3): 10}).values()

    assert reasons[2:4] == (
        "3 \N{MULTIPLICATION SIGN} tub hold 30 g for a need of 10 g.",
        "2 more than needed, to reach the minimum order of $12.00, else $7.00 short of "
        "it.",
    )


def test_packs_that_make_a_delivery_free_say_so():
    # One tub and the fee are 11; two tubs come free for 10.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5, label="tub"),
        suppliers=[
            shelves.supplier("Mill", days=(1,), delivery_fee=6, free_delivery_from=10)
        ],
    )

    [reasons] = because(kitchen, {(0, 3): 10}).values()

    assert reasons[3] == (
        "1 more than needed, to reach free delivery from $10.00, which saves $6.00."
    )


def test_packs_of_a_price_break_say_so():
    # Five at 1 instead of two at 5.
    kitchen = egg_whites(
        shelves.pack(0, 10, 5, label="tub", breaks=(PriceBreak(5, Decimal(1)),)),
        suppliers=[shelves.supplier("Mill", days=(1,))],
    )

    [reasons] = because(kitchen, {(0, 3): 20}).values()

    assert reasons[2].endswith(" hold 50 g for a need of 20 g.")
    assert reasons[3:5] == (
        "So many cost $1.00 each instead of $5.00.",
        "3 more than needed, as so few alone would cost $5.00 more.",
    )


def surplus_of(packs, fewest, **mill):
    """What the packs of a line are good for of which 10 g are needed."""
    kitchen = egg_whites(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(1,), **mill)],
        leftover_worth=0.9,
    )
    problem = problem_of(kitchen, {(0, day(3)): 10})
    selector = Selector(problem)
    [truck] = range(len(problem.trucks))
    selection = selector.of_counts({(truck, 0): packs})
    return Surpluses(problem, selection, selector).of((truck, 0), fewest)


def test_packs_for_later_say_what_they_are_worth():
    # 10 g in 6 days, and so 46.7 in four weeks: 20 g more are worth 0.9 x 10.
    surplus = surplus_of(3, 1)

    assert surplus.good_for is SurplusFor.LATER_USE
    assert surplus.money == pytest.approx(9)


def test_packs_of_no_use_are_said_to_be_left_from_a_search_cut_short():
    # Of the 8 packs 1 is used, 4.67 in the four weeks to come, and the rest never.
    assert surplus_of(8, 7) == Surplus(SurplusFor.NOTHING)


def test_what_is_sold_together_is_named_where_it_makes_the_order_larger():
    mill = [shelves.supplier("Mill", days=(1,))]

    def packs_words(**terms):
        pack = shelves.pack(0, 10, 5, label="tub", **terms)
        [reasons] = because(egg_whites(pack, suppliers=mill), {(0, 3): 20}).values()
        return reasons[3]

    assert packs_words(minimum_packs=5) == "3 more than needed, at least 5 are sold."
    assert packs_words(multiple=3) == "1 more than needed, sold 3 at a time."
    assert packs_words(minimum_packs=4, multiple=3) == (
        "4 more than needed, at least 4 are sold, 3 at a time."
    )


def test_many_packs_are_said_in_thousands():
    pack = shelves.pack(0, 10, 5, label="tub", minimum_packs=1200)
    kitchen = egg_whites(pack, suppliers=[shelves.supplier("Mill", days=(1,))])

    [reasons] = because(kitchen, {(0, 3): 20}).values()

    assert reasons[3] == "1,198 more than needed, at least 1,200 are sold."


def test_a_line_that_the_buyer_has_fixed_says_so():
    kitchen = egg_whites(
        shelves.pack(0, 10, 5, pack_id=7),
        suppliers=[shelves.supplier("Mill", days=(1, 2))],
    )
    wishes = Wishes(fixed_lines=(FixedLine(7, day(1), 3),))

    [reasons] = because(kitchen, {(0, 3): 20}, wishes=wishes).values()

    assert reasons[2].endswith(" hold 30 g for a need of 20 g.")
    assert reasons[3] == "1 more than needed, as you have fixed it."
    assert reasons[-1] == "You have fixed how much of it comes with this delivery."


def test_what_is_in_the_packs_is_said_in_its_own_words():
    kitchen = egg_whites(
        shelves.pack(0, 10, 5), suppliers=[shelves.supplier("Mill", days=(1,))]
    )

    [reasons] = because(
        kitchen,
        {(0, 3): 20},
        amounts=SaidAmounts(
            lambda amount: f"{amount / 10:g} cases",
            lambda amount: f"{amount:g} lb",
            size_base=10,
        ),
    ).values()

    assert "up to 20 lb short." in reasons[0]
    assert reasons[1] == "Nothing on hand, nothing on order, 20 lb used by Sat May 9."
    assert reasons[2].endswith(" hold 20 lb for a need of 20 lb.")
