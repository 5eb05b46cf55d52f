"""What a search buys beside orders that somebody has decided on."""

from decimal import Decimal

from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import PriceBreak
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.instance.wishes import FixedLine, Wishes
from tests.engine import shelves
from tests.engine.decisions import decided
from tests.engine.said import said
from tests.engine.usual_questions import MON, butter, day, lines_of

WINDOW = shelves.window(MON, 7)
MON_WED_FRI = shelves.supplier(days=(0, 2, 4))


def ordered(kitchen, used=(), **kwargs):
    used = {
        (node, day(number)): amount for (node, number), amount in dict(used).items()
    }
    orders = best_orders(
        kitchen,
        WINDOW,
        shelves.demand(kitchen.nodes, used),
        possible_deliveries(kitchen, WINDOW),
        effort=QUICK,
        **kwargs,
    )
    return said(kitchen, orders)


def packs(count):
    return f"{count} \N{MULTIPLICATION SIGN} pack of 10"


def test_what_an_approved_order_brings_is_not_bought_again():
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(2)))

    found = ordered(kitchen, {(0, 4): 30})

    assert lines_of(found) == [(2, 0, 3)]
    assert found.proof.status == "proven"


def test_a_decided_line_grows_where_nothing_else_is_in_time():
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(2)))

    found = ordered(kitchen, {(0, 2): 45})

    assert lines_of(found) == [(2, 0, 5)]
    because = found.orders[0].lines[0].because
    assert because[0] == (
        "Without more of it: butter out on Wed May 6, up to 15 g short."
    )
    assert because[2:4] == (
        f"Approved order D-1 brings {packs(3)} of it on Wed May 6.",
        f"{packs(5)} hold 50 g, 3 of them decided on and the rest for a need of 15 g.",
    )


def test_decided_packs_count_for_the_break_and_the_free_delivery():
    # Two packs come on Wednesday in any case. Two more there make four at 4.00, and
    # 16.00 come free: 16.00 for all four, where Friday's would be 10.00 + 10.00 + fees.
    case = shelves.pack(0, 10, 5, breaks=(PriceBreak(4, Decimal(4)),))
    mill = shelves.supplier(days=(2, 4), delivery_fee=7, free_delivery_from=16)
    kitchen = decided(butter(suppliers=[mill], packs=[case]), (1, 2, day(2)))

    found = ordered(kitchen, {(0, 5): 40})

    assert lines_of(found) == [(2, 0, 4)]
    assert found.total_cost == Decimal("16.00")


def test_a_delivery_that_is_left_out_brings_what_was_decided_on_alone():
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(2)))
    left_out = Wishes(forbidden_deliveries=frozenset({(0, day(2))}))

    found = ordered(kitchen, {(0, 2): 20, (0, 4): 25}, wishes=left_out)

    assert lines_of(found) == [(2, 0, 3), (4, 0, 2)]


def test_a_wish_for_fewer_packs_is_one_for_just_those_decided_on():
    kitchen = decided(butter(suppliers=[MON_WED_FRI]), (1, 3, day(2)))
    fewer = Wishes(fixed_lines=(FixedLine(1, day(2), 1),))

    found = ordered(kitchen, {(0, 2): 20, (0, 4): 25}, wishes=fewer)

    assert lines_of(found) == [(2, 0, 3), (4, 0, 2)]


def test_an_order_that_nothing_brings_to_its_minimum_still_comes():
    free = shelves.pack(0, 10, 0)
    mill = shelves.supplier(days=(2,), minimum_order=25)
    kitchen = decided(butter(suppliers=[mill], packs=[free]), (1, 2, day(2)))

    found = ordered(kitchen, {(0, 3): 15})

    assert lines_of(found) == [(2, 0, 2)]
    assert found.warnings == (
        "Mill on Wed May 6: what was decided on stays under the minimum order of "
        "$25.00. Add something, or ask Mill whether it comes all the same.",
    )
