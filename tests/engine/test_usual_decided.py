"""What the usual rule buys beside orders that somebody has decided on."""

from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from planning.engine.decided import not_counted
from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import PriceBreak
from planning.engine.plan_warnings import WhyNot
from tests.engine import shelves
from tests.engine.decisions import decided
from tests.engine.usual_questions import MON, bought, butter, day, lines_of

WINDOW = shelves.window(MON, 7)
MON_WED_FRI = shelves.supplier(days=(0, 2, 4))


def packs(count):
    return f"{count} \N{MULTIPLICATION SIGN} pack of 10"


def test_what_an_approved_order_brings_is_not_bought_again_for_another_day():
    # 30 g are used on Friday; the rule alone would bring three packs of 10 g that day.
    kitchen = butter(suppliers=[MON_WED_FRI])
    approved = decided(kitchen, (1, 3, day(2)))

    assert lines_of(bought(kitchen, {(0, 4): 30})) == [(4, 0, 3)]
    assert lines_of(bought(approved, {(0, 4): 30})) == [(2, 0, 3)]


def test_only_the_rest_is_bought_and_joins_the_decided_line_of_the_same_delivery():
    # 30 g on Wednesday, 25 g on Friday: 55 g less 30 g is 25 g, three packs.
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(2)))

    later = bought(kitchen, {(0, 2): 30, (0, 4): 25})
    sooner = bought(kitchen, {(0, 2): 45})

    assert lines_of(later) == [(2, 0, 3), (4, 0, 3)]
    assert lines_of(sooner) == [(2, 0, 5)]


def test_decided_packs_count_for_how_the_pack_is_sold():
    # From three on and two at a time: 3 are 4; four decided on and one more are six.
    case = shelves.pack(0, 10, 5, minimum_packs=3, multiple=2)
    kitchen = butter(suppliers=[MON_WED_FRI], packs=[case])

    assert lines_of(bought(kitchen, {(0, 2): 30})) == [(2, 0, 4)]
    approved = decided(kitchen, (1, 4, day(2)))
    assert lines_of(bought(approved, {(0, 2): 45})) == [(2, 0, 6)]


def test_decided_packs_count_for_the_break_the_minimum_and_the_free_delivery():
    # Two packs decided on and two more needed: four packs at 4.00 instead of 5.00.
    case = shelves.pack(0, 10, 5, breaks=(PriceBreak(4, Decimal(4)),))
    mill = shelves.supplier(
        days=(2,), minimum_order=15, delivery_fee=7, free_delivery_from=16
    )
    kitchen = decided(butter(suppliers=[mill], packs=[case]), (1, 2, day(2)))

    [order] = bought(kitchen, {(0, 3): 40}).orders

    assert [line.packs for line in order.lines] == [4]
    assert order.lines[0].price == Decimal(4)
    assert (order.goods_cost, order.fee) == (Decimal("16.00"), Decimal("0.00"))


def test_a_decided_line_is_not_moved_to_reach_a_minimum_order():
    # Wednesday's line alone is under the minimum; Friday's approved one stays there.
    mill = shelves.supplier(days=(2, 4), minimum_order=10)
    kitchen = decided(butter(suppliers=[mill]), (1, 2, day(4)))

    assert lines_of(bought(kitchen, {(0, 2): 10})) == [(2, 0, 2), (4, 0, 2)]


def test_a_decided_order_under_its_minimum_joins_no_earlier_one():
    # Wednesday's goods reach the minimum; Friday's approved line stays on its day.
    mill = shelves.supplier(days=(2, 4), minimum_order=15)
    kitchen = decided(butter(suppliers=[mill]), (1, 2, day(4)))

    lines = lines_of(bought(kitchen, {(0, 2): 30}))

    assert [(on, packs) for on, _, packs in lines] == [(2, 3), (4, 3)]


def test_an_order_under_its_minimum_gets_more_of_what_it_carries():
    mill = shelves.supplier(days=(2,), minimum_order=25)
    kitchen = decided(butter(suppliers=[mill]), (1, 2, day(2)))

    [order] = bought(kitchen).orders

    assert order.goods_cost == Decimal("25.00")
    assert "3 of the 5 are there only to reach the minimum order of $25.00" in " ".join(
        order.lines[0].because
    )


def test_an_order_that_nothing_brings_to_its_minimum_still_comes_and_says_so():
    free = shelves.pack(0, 10, 0)
    mill = shelves.supplier(days=(2,), minimum_order=25)
    kitchen = decided(butter(suppliers=[mill], packs=[free]), (1, 2, day(2)))

    found = bought(kitchen)

    assert lines_of(found) == [(2, 0, 2)]
    assert found.warnings == (
        "Mill on Wed May 6: what was decided on stays under the minimum order of "
        "$25.00. Add something, or ask Mill whether it comes all the same.",
    )


def test_what_comes_later_counts_for_the_par_of_an_earlier_day():
    # Par of 20 g on Thursday and at the end; the approved order comes on Friday.
    kitchen = butter(suppliers=[shelves.supplier(days=(2, 4))], par=20)
    kitchen = replace(kitchen, bakery=replace(kitchen.bakery, par_weekdays={3}))

    approved = decided(kitchen, (1, 2, day(4)))

    assert lines_of(bought(kitchen)) == [(2, 0, 2)]
    assert lines_of(bought(approved)) == [(4, 0, 2)]


def test_what_comes_after_the_plan_counts_for_its_par():
    kitchen = butter(suppliers=[shelves.supplier(days=(2,))], par=20)

    assert lines_of(bought(decided(kitchen, (1, 2, day(9))))) == []


def test_reasons_say_which_order_brings_what_and_do_not_ask_for_it():
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(2)))

    found = bought(kitchen, {(0, 2): 30, (0, 4): 25})

    wednesday, friday = (order.lines[0].because for order in found.orders)
    brings = f"Approved order D-1 brings {packs(3)} of it on Wed May 6."
    assert wednesday == (
        brings,
        "Nothing on hand, nothing on order, 55 g used by Sun May 10.",
        "Mill comes on Wed May 6; order by Tue May 5, 2:00 pm.",
    )
    assert friday[0] == "Butter: out on Fri May 8; 25 g needed by Sun May 10."
    assert friday[2] == brings


def test_of_a_line_that_was_decided_on_in_part_only_the_rest_is_for_the_need():
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(2)))

    [order] = bought(kitchen, {(0, 2): 45}).orders

    because = order.lines[0].because
    assert because[0] == "Butter: out on Wed May 6; 15 g needed by Sun May 10."
    assert f"Approved order D-1 brings {packs(3)} of it on Wed May 6." in because
    assert (
        f"{packs(5)} at $5.00 each, the only pack sold, are 50 g: 5 g more than needed."
        in because
    )


def uncounted(kitchen, window=WINDOW):
    """Which order cannot come, why, and which cut-off of its is past."""
    found = not_counted(kitchen, window, possible_deliveries(kitchen, window))
    return [
        (each.reference, each.is_approved, each.deliver_on, each.why, each.cut_off)
        for each in found
    ]


@pytest.mark.parametrize("is_approved", [True, False])
def test_an_order_past_its_cut_off_counts_for_nothing(is_approved):
    kitchen = decided(
        butter(suppliers=[shelves.supplier(cutoff_days=3)]), (1, 3, day(2))
    )
    [line] = kitchen.decided
    kitchen = replace(kitchen, decided=(replace(line, is_approved=is_approved),))

    assert lines_of(bought(kitchen, {(0, 4): 30})) == [(4, 0, 3)]
    cut_off = datetime(2026, 5, 3, 14, tzinfo=ZoneInfo("America/New_York"))
    assert uncounted(kitchen) == [
        ("D-1", is_approved, day(2), WhyNot.PAST_CUT_OFF, cut_off)
    ]


def test_an_order_for_a_day_without_delivery_cannot_come():
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(3)))

    assert lines_of(bought(kitchen, {(0, 4): 30})) == [(4, 0, 3)]
    assert uncounted(kitchen) == [("D-1", True, day(3), WhyNot.NO_DELIVERY, None)]


def test_a_line_of_a_pack_that_is_sold_no_more_is_not_counted_on():
    kitchen = butter(suppliers=[MON_WED_FRI])
    kitchen = decided(kitchen, (1, 3, day(2)))
    kitchen = replace(kitchen, packs=())

    assert uncounted(kitchen) == [("D-1", True, day(2), WhyNot.NOT_SOLD, None)]


def test_two_lines_of_one_order_that_cannot_come_are_told_once():
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(3)))
    [line] = kitchen.decided
    kitchen = replace(kitchen, decided=(line, replace(line, packs=2)))

    assert uncounted(kitchen) == [("D-1", True, day(3), WhyNot.NO_DELIVERY, None)]


def test_an_order_that_was_never_sent_and_one_beyond_the_plan():
    kitchen = butter(suppliers=[MON_WED_FRI])
    past = decided(kitchen, (1, 3, date(2026, 5, 1)))

    assert uncounted(decided(kitchen, (1, 3, day(9)))) == []
    assert uncounted(past) == [("D-1", True, date(2026, 5, 1), WhyNot.NEVER_SENT, None)]


@pytest.mark.parametrize(
    ("on", "bought_packs", "is_told"),
    [(9, 0, False), (10, 2, True), (3, 2, True)],
    ids=["Wednesday after the plan", "Thursday after the plan", "Thursday within it"],
)
def test_a_decided_order_for_a_day_without_a_delivery_never_counts(
    on, bought_packs, is_told
):
    # Wednesdays only; par is 20 g, two packs.
    kitchen = butter(suppliers=[shelves.supplier(days=(2,))], par=20)
    approved = decided(kitchen, (1, 2, day(on)))

    assert sum(packs for *_, packs in lines_of(bought(approved))) == bought_packs
    assert [why for *_, why, _ in uncounted(approved)] == (
        [WhyNot.NO_DELIVERY] if is_told else []
    )
