"""How far from the best the usual rule says its orders can be, worked out by hand."""

import pytest

from tests.engine import shelves
from tests.engine.usual_questions import bought, butter


def gap(kitchen, used=()):
    return bought(kitchen, used).proof.gap


def test_nine_tenths_of_par_are_enough_for_the_bound():
    # 100 g are bought for $50.00; 90 g at $0.50 would keep par.
    assert gap(butter(par=100.0)) == pytest.approx(5 / 50)


def test_the_cheapest_pack_counts_though_another_is_preferred():
    packs = [
        shelves.pack(0, 10, 5, preferred=True, pack_id=1),
        shelves.pack(0, 10, 4, pack_id=2),
    ]

    assert gap(butter(packs=packs), {(0, 3): 10}) == pytest.approx(1 / 5)


def test_what_no_delivery_brings_in_date_at_the_end_need_not_be_bought():
    # Monday's keep to Tuesday. Whether Tuesday's 10 g could be done without is not
    # asked, so that all of the $5.00 might be saved.
    kitchen = butter(suppliers=[shelves.supplier(days=(0,), cutoff_days=0)], keeps=2)

    assert gap(kitchen, {(0, 1): 10}) == 1


def test_stock_of_other_items_is_worth_as_much_in_the_bound_as_in_the_orders():
    # Butter: 93 g are left, 28 of them used in four weeks at 1 g a day, worth
    # 0.9 x 28 x $0.50 = $12.60. Flour: 20 g for $10.00 and a fee of $2.00, all used.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}, {"name": "flour"}),
        lots=[(0, 100, None)],
        suppliers=[shelves.supplier(delivery_fee=2)],
        packs=[shelves.pack(0, 10, 5), shelves.pack(1, 10, 5)],
    )

    assert gap(kitchen, {(0, 3): 7, (1, 3): 20}) == pytest.approx(2 / 12)


def test_goods_that_rounding_makes_cheaper_than_they_are_worth_are_in_the_bound():
    # A pack at $0.014 is charged $0.01. The bound takes $0.009 for it, and $0.0126 for
    # what is used later, 40 g in four weeks: 50 g cost it less than nothing. What is
    # said is never above the whole.
    kitchen = butter(packs=[shelves.pack(0, 10, "0.014")])

    assert gap(kitchen, {(0, 3): 10}) == 1
