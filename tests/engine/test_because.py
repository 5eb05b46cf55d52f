from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import PriceBreak
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.said import SaidAmounts, said

MON = date(2026, 5, 4)
THU, FRI, SAT = (MON + timedelta(days=days) for days in (3, 4, 5))
CAKES = [("9", THU, 1), ("B", FRI, 1), ("A", SAT, 1)]  # a Torte each


def because(
    *packs,
    used_g=25,
    on_hand_g=0,
    behind=(),
    mill=None,
    amounts=None,
    **item,
):
    """The sentences of the one line that butter gets for Thursday."""
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter", **item}, {"name": "Torte"}),
        cakes=CAKES,
        lots=[(0, on_hand_g, None)] if on_hand_g else [],
        suppliers=[shelves.supplier(**mill or {})],
        packs=packs,
    )
    window = shelves.window(MON, 7)
    purchasing = usual_rule(
        kitchen,
        window,
        shelves.demand(kitchen.nodes, {(0, THU): used_g}),
        possible_deliveries(kitchen, window),
        cakes_behind=lambda node, days: behind if THU in days else (),
    )
    return said(kitchen, purchasing, amounts).orders[0].lines[0].because


def pack(price=5, called="case", **terms):
    return replace(shelves.pack(0, 10, price, **terms), called=called)


def test_the_cakes_of_the_first_short_day_are_named_by_the_first_to_be_due():
    one = because(pack(), behind=("9",))
    two = because(pack(), behind=("A", "B"))

    assert one[0] == (
        "Butter: out on Thu May 7, for Torte, Thu May 7 (#9); 25 g needed by Sun May "
        "10."
    )
    assert ", for 2 cakes, first Fri May 8; " in two[0]


def test_the_cakes_of_all_short_days_that_a_line_covers_are_counted():
    # 30 g are short from Thursday on, and cream keeps for three days.
    cream = {"name": "cream", "keeps": 3}
    kitchen = shelves.kitchen(
        shelves.items(cream, {"name": "Torte"}),
        cakes=CAKES,
        suppliers=[shelves.supplier()],
        packs=[shelves.pack(0, 10, 5)],
    )
    window = shelves.window(MON, 7)
    days = {THU: "9", FRI: "B", SAT: "A", SAT + timedelta(days=1): "C"}

    purchasing = usual_rule(
        kitchen,
        window,
        shelves.demand(kitchen.nodes, {(0, day): 10 for day in days}),
        possible_deliveries(kitchen, window),
        lambda node, asked: [days[day] for day in asked],
    )

    needs = [order.lines[0].because[0] for order in purchasing.orders]
    assert [need.cakes for need in needs] == [("9", "B", "A"), ("C",)]


def test_the_packs_say_what_they_come_to_and_what_stays_over():
    lines = because(pack()), because(pack(), used_g=9), because(pack(), used_g=20)

    assert [line[2] for line in lines] == [
        "3 cases at $5.00 each, the only pack sold, are 30 g: 5 g more than needed.",
        "1 case at $5.00, the only pack sold, is 10 g: 1 g more than needed.",
        "2 cases at $5.00 each, the only pack sold, are 20 g: just what is needed.",
    ]


def test_what_is_in_the_packs_is_said_in_its_own_words():
    sentences = because(
        pack(),
        amounts=SaidAmounts(
            lambda amount: f"{amount / 10:g} cases",
            lambda amount: f"{amount:g} lb",
            size_base=10,
        ),
        par=20,
    )

    # 25 are used, and 20 are to stand at the end: 45, in 5 packs of 10.
    assert sentences[0].endswith("; 45 lb to reach par on Sun May 10.")
    assert sentences[1] == (
        "Nothing on hand, nothing on order, 25 lb used by Sun May 10; par 20 lb."
    )
    assert sentences[2] == (
        "5 cases at $5.00 each, the only pack sold, are 50 lb: 5 lb more than needed."
    )


def test_the_pack_is_liked_for_a_reason():
    preferred = because(pack(9, preferred=True), pack(5, pack_id=2))
    cheapest = because(pack(9, "tub"), pack(5, pack_id=2))

    assert "3 cases at $9.00 each, the preferred pack, are" in preferred[2]
    assert "3 cases at $5.00 each, the cheapest per unit, are" in cheapest[2]


def test_the_next_best_pack_says_what_it_would_cost_for_the_same_need():
    # 25 g: 3 cases of 10 at 5, or 2 tubs of 20 at 11.
    tub = replace(shelves.pack(0, 20, 11, pack_id=2), called="tub")

    sentences = because(pack(), tub)

    assert sentences[4] == (
        "Next best: 2 tubs from Mill on Thu May 7, $22.00 instead of $15.00."
    )


def test_a_preferred_pack_says_what_it_costs_more():
    sentences = because(pack(9, preferred=True), pack(5, pack_id=2))

    assert sentences[4] == (
        "Cheaper: 3 cases from Mill on Thu May 7, $15.00 instead of $27.00; the usual "
        "rule takes the preferred pack."
    )


def test_a_pack_that_is_cheaper_for_what_it_holds_says_where_it_costs_more():
    # 25 g: 1 sack of 100 at 40, or 3 cases of 10 at 5.
    sack = replace(shelves.pack(0, 100, 40, pack_id=2), called="sack")

    sentences = because(pack(), sack)

    assert sentences[4] == (
        "Cheaper: 3 cases from Mill on Thu May 7, $15.00 instead of $40.00; the usual "
        "rule goes by price per unit."
    )


def test_the_only_pack_has_no_next_best():
    assert not any("Next best" in sentence for sentence in because(pack()))


def test_a_price_break_is_named_with_the_price_it_saves():
    breaks = (PriceBreak(3, Decimal("4.50")), PriceBreak(30, Decimal(4)))

    sentences = because(pack(breaks=breaks))

    assert "3 cases at $4.50 each (from 3 on, else $5.00), the" in sentences[2]


def test_what_is_sold_together_is_named_where_it_makes_the_order_larger():
    at_least, by_the, neither = (
        because(pack(minimum_packs=5)),
        because(pack(multiple=2)),
        because(pack(minimum_packs=2, multiple=3)),
    )

    assert at_least[2].endswith(": 25 g more than needed, at least 5 are sold.")
    assert by_the[2].endswith(": 15 g more than needed, sold 2 at a time.")
    assert neither[2].endswith(": 5 g more than needed.")
    thousands = because(pack(minimum_packs=1200))
    assert thousands[2].endswith("g more than needed, at least 1,200 are sold.")


def test_an_item_below_par_names_the_par_day():
    sentences = because(pack(), used_g=0, par=12)

    assert sentences[0] == "Butter: 12 g to reach par on Sun May 10."


def test_safety_is_said_to_be_counted_where_it_asks_for_more():
    sentences = because(pack(), safety=4)

    assert sentences[0].endswith("; 29 g needed by Sun May 10, safety counted.")


@pytest.mark.parametrize(
    ("on_hand_g", "used_g", "need", "used"),
    [
        # 2,096 less 944 are 1,152, said 1,150: what is used is 1,150 + 940.
        (944, 2_096, "1,150 lb", "2,090 lb"),
        (944, 2_094, "1,150 lb", "2,090 lb"),  # adds up as it is
    ],
)
def test_what_is_said_adds_up_as_it_is_said(on_hand_g, used_g, need, used):
    sentences = because(pack(), used_g=used_g, on_hand_g=on_hand_g, **SAID_IN_TENS)

    assert f"; {need} needed by Sun May 10." in sentences[0]
    assert sentences[1] == (
        f"940 lb on hand, nothing on order, {used} used by Sun May 10."
    )


def test_what_is_more_than_needed_is_the_difference_of_what_is_said():
    # 34 less 20 on hand are 14: said 10; two packs of 10 are 20: 10 more, not 6.
    # 26 less 0 are 26: said 30 as are 3 packs: just what is needed.
    whole, none = (
        because(
            pack(),
            used_g=used_g,
            on_hand_g=on_hand_g,
            **SAID_IN_TENS,
        )
        for used_g, on_hand_g in ((34, 20), (26, 0))
    )

    assert whole[2].endswith(" are 20 lb: 10 lb more than needed.")
    assert none[2].endswith(" are 30 lb: just what is needed.")


def test_par_counts_among_what_adds_up():
    # 2,096 and 204 less 944 are 1,356, said 1,360: 2,100 and 200 less 940.
    sentences = because(pack(), used_g=2_096, on_hand_g=944, par=204, **SAID_IN_TENS)

    assert "; 1,360 lb to reach par on Sun May 10." in sentences[0]
    assert sentences[1] == (
        "940 lb on hand, nothing on order, 2,100 lb used by Sun May 10; par 200 lb."
    )


def test_figures_that_no_small_rounding_brings_together_are_said_to_be_rounded():
    # 36 less 14 are 22, said 20: 10 on hand and 30 used would be far off 36.
    sentences = because(pack(), used_g=36, on_hand_g=14, **SAID_IN_TENS)

    assert sentences[1] == (
        "10 lb on hand, nothing on order, 40 lb used by Sun May 10 (rounded)."
    )


def test_a_sum_that_is_finer_than_what_is_said_is_said_exactly():
    # 2,105 less 995 are 1,110; in tens, 2,105 used would be 2,100.
    sentences = because(
        pack(),
        used_g=2_105,
        on_hand_g=995,
        amounts=SaidAmounts(exactly_lb, in_tens, exact=exactly_lb),
    )

    assert sentences[1].startswith("995 lb on hand, nothing on order, 2,105 lb used")


def in_tens(amount):
    return f"{10 * round(amount / 10):,} lb"


def exactly_lb(amount):
    return f"{amount:,g} lb"


SAID_IN_TENS = {"amounts": SaidAmounts(in_tens)}


def test_a_delivery_that_is_usable_the_next_day_is_late_by_that_day():
    sentences = because(pack(), mill={"usable_next_day": True, "days": (3,)})

    # out on Thursday, delivered on Thursday, usable on Friday
    assert (
        "First that helps: Mill on Thu May 7, usable on Fri May 8, late by 1 day; "
        "order by Wed May 6, 2:00 pm."
    ) in sentences
