from decimal import Decimal

import pytest

from planning.engine.costing import (
    PackCount,
    best_price_per_base,
    delivery_fee,
    goods_cost,
    lacking_to_minimum,
    line_cost,
    packs_to_buy,
    price_per_base,
)
from planning.engine.kitchen import PriceBreak
from tests.engine import shelves

POUND_G = 453.59237
LADDER = (PriceBreak(10, Decimal("92.50")), PriceBreak(20, Decimal("90.00")))


@pytest.mark.parametrize(
    ("need", "size", "minimum", "multiple", "expected"),
    [
        (0, 10, 1, 1, PackCount(0, 0, 0, 0)),
        (-5, 10, 4, 1, PackCount(0, 0, 0, 0)),
        (10, 10, 1, 1, PackCount(1, 1, 0, 0)),
        (20.00000001, 10, 1, 1, PackCount(2, 2, 0, 0)),  # float noise
        (20.001, 10, 1, 1, PackCount(3, 3, 0, 0)),
        (1, 10, 4, 1, PackCount(4, 1, 3, 0)),
        (41, 10, 4, 3, PackCount(6, 5, 0, 1)),
        (1, 10, 4, 3, PackCount(6, 1, 3, 2)),
        (36.0000000001 * POUND_G, 36 * POUND_G, 1, 1, PackCount(1, 1, 0, 0)),
        (89.286 * 16, 16, 1, 1, PackCount(90, 90, 0, 0)),  # B-45: buy 90 lb
    ],
)
def test_packs_are_whole_and_as_the_supplier_sells_them(
    need, size, minimum, multiple, expected
):
    pack = shelves.pack(0, size, 1, minimum_packs=minimum, multiple=multiple)

    assert packs_to_buy(need, pack) == expected


@pytest.mark.parametrize(
    ("packs", "cost"),
    [
        (9, "855.00"),
        (10, "925.00"),  # a break counts from its number on, for all packs
        (19, "1757.50"),
        (20, "1800.00"),
    ],
)
def test_a_break_sets_the_price_of_all_packs(packs, cost):
    pack = shelves.pack(0, 1000, "95.00", breaks=LADDER)

    assert line_cost(pack, packs) == Decimal(cost)


@pytest.mark.parametrize(
    ("price", "packs", "cost"),
    [
        ("0.559375", 1, "0.56"),  # B-47: 4 fl oz of an $8.95 half gallon of cream
        ("0.20", 3, "0.60"),  # B-46: three eggs
        ("0.005", 1, "0.01"),  # half a cent goes up
        ("0.0049", 1, "0.00"),
        ("1.005", 1, "1.01"),  # and is not lost to binary fractions
        ("0.0025", 3, "0.01"),  # rounded once, at the line
    ],
)
def test_a_line_is_rounded_half_up_once(price, packs, cost):
    assert line_cost(shelves.pack(0, 1, price), packs) == Decimal(cost)


def test_catch_weight_of_reference_c_52():
    # 97.35 lb at $4.129 is 401.95815: sold by the hundredth of a pound.
    pack = shelves.pack(0, POUND_G / 100, "0.04129")

    assert line_cost(pack, 9735) == Decimal("401.96")


def test_price_ladder_of_reference_c_51():
    # 36 x 1 lb of butter at $118.80: $3.30 a pound, $0.20625 an ounce.
    by_the_ounce = shelves.pack(0, 36 * 16, "118.80")

    assert price_per_base(by_the_ounce) == Decimal("0.20625")
    assert price_per_base(by_the_ounce) * 4 == Decimal("0.825")  # a stick


def test_price_of_an_egg_of_reference_b_46():
    case = shelves.pack(0, 360, "72.00")

    assert price_per_base(case) == Decimal("0.20")
    assert price_per_base(case) * 12 == Decimal("2.40")


def test_price_of_strawberries_of_reference_b_48():
    flat = shelves.pack(0, 8, "24.00")

    as_purchased = price_per_base(flat)

    assert as_purchased == Decimal("3.00")
    assert round(as_purchased / Decimal("0.94"), 5) == Decimal("3.19149")


def test_the_best_price_looks_at_breaks_and_all_packs():
    bag = shelves.pack(0, 1000, "95.00", breaks=LADDER)
    sack = shelves.pack(0, 500, "46.00")

    assert best_price_per_base([bag, sack], shelves.window()) == Decimal("0.09")
    assert best_price_per_base([], shelves.window()) is None


def test_goods_are_the_sum_of_rounded_lines():
    lines = [(shelves.pack(0, 1, "0.005"), 1), (shelves.pack(1, 1, "0.005"), 1)]

    assert goods_cost(lines) == Decimal("0.02")


@pytest.mark.parametrize(
    ("goods", "fee"), [("299.99", "15.00"), ("300.00", "0.00"), ("300.01", "0.00")]
)
def test_goods_equal_to_the_limit_come_free(goods, fee):
    supplier = shelves.supplier(delivery_fee=15, free_delivery_from=300)

    assert delivery_fee(supplier, Decimal(goods)) == Decimal(fee)


def test_without_a_limit_a_delivery_is_never_free():
    supplier = shelves.supplier(delivery_fee=15)

    assert delivery_fee(supplier, Decimal(1_000_000)) == Decimal(15)


@pytest.mark.parametrize(
    ("goods", "lacking"), [("231.40", "18.60"), ("250.00", "0"), ("260.00", "0")]
)
def test_a_minimum_order_of_reference_c_66(goods, lacking):
    supplier = shelves.supplier(minimum_order=250)

    assert lacking_to_minimum(supplier, Decimal(goods)) == Decimal(lacking)
