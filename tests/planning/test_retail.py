"""What to ask for in a shop: never less than is needed, in steps that are sold."""

import pytest

from planning.plan.retail import to_buy
from stock.measures.compiling import compile_converter, read_item_measures


def words_for(needed_base, measure, own_units):
    item = read_item_measures("thing", measure, own_units=own_units)
    retail = to_buy(needed_base, compile_converter(item))
    assert float(retail.amount_base) >= needed_base * (1 - 1e-6)
    return retail.words


# 1 oz is 28.35 g, 1 lb 453.59 g, 1 cup 236.59 mL, 1 quart 946.35 mL
@pytest.mark.parametrize(
    ("needed_base", "measure", "own_units", "words"),
    [
        (0.5, "mass", "tub = 5 lb", "1 oz"),
        (28.35, "mass", "tub = 5 lb", "4 oz"),
        (113.398, "mass", "tub = 5 lb", "4 oz"),  # 4 oz are 113.398 g: noise is none
        (300, "mass", "tub = 5 lb", "1 lb"),
        (454, "mass", "tub = 5 lb", "2 lb"),
        (30, "mass", "", "50 g"),
        (300, "mass", "", "500 g"),
        (501, "mass", "", "1,000 g"),
        (20, "volume", "jug = 1 gallon", "1 fl oz"),
        (200, "volume", "jug = 1 gallon", "1 cup"),
        (240, "volume", "jug = 1 gallon", "1 pint"),
        (1_000, "volume", "jug = 1 gallon", "2 quarts"),
        (1_200, "volume", "", "2 L"),
        (1, "count", "case = 30 dozen", "1 dozen"),
        (13, "count", "case = 30 dozen", "2 dozen"),
        (12.5, "count", "", "13"),
        (2.5, "count", "yard = 1 each", "3 yards"),
    ],
)
def test_amounts_go_up_to_what_shops_sell(needed_base, measure, own_units, words):
    assert words_for(needed_base, measure, own_units) == words
