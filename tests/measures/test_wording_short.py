from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.packs import PackWord
from stock.measures.resolution import to_ledger
from stock.measures.units import Measure
from stock.measures.wording import System, say_short

# A pound, an ounce and a cup, by which the figures below were multiplied by hand.
LB_G, OZ_G = Decimal("453.59237"), Decimal("28.349523125")
QUART_ML, CUP_ML = Decimal("946.352946"), Decimal("236.5882365")
TBSP_ML, TSP_ML = Decimal("14.78676478125"), Decimal("4.92892159375")


def item(measure="mass", own_units="", **packs):
    words = [PackWord(called, holds) for called, holds in packs.items()]
    return compile_converter(
        read_item_measures("item", measure, own_units=own_units, packs=words)
    )


BUTTER = item(own_units="stick = 4 oz", case="36 lb")
SOUR_CREAM = item(tub="5 lb")
HAZELNUTS = item(bag="5 lb")
FLOUR = item(own_units="scoop = 1 lb", sack="50 lb")
CREAM_CHEESE = item(own_units="loaf = 3 lb", case="18 lb")
GANACHE = item()
MILK = item("volume", jug="1 gallon")
CREAM = item("volume", case="12 quart")
VANILLA = item("volume", bottle="1 quart")
EGGS = item("count", own_units="flat = 30 each", case="30 dozen")
BOARDS = item("count", bundle="50 each")
RIBBON = item("count", own_units="yard = 1 each", roll="50 yard")


@pytest.mark.parametrize(
    ("converter", "amount_base", "words"),
    [
        (BUTTER, 0, "0 g"),
        (BUTTER, 78 * LB_G, "2 cases + 6 lb"),
        (BUTTER, 36 * LB_G + 172 * OZ_G, "1 case + 10 3/4 lb"),
        (BUTTER, 36 * LB_G + 7 * OZ_G, "1 case + 1/2 lb"),
        (SOUR_CREAM, 5 * LB_G + 23 * OZ_G, "1 tub + 1 1/2 lb"),
        (HAZELNUTS, 5 * LB_G + 3 * OZ_G, "1 bag + 3 oz"),
        (MILK, 26 * CUP_ML, "1 jug + 2 1/2 quarts"),
        (MILK, 4 * QUART_ML + Decimal("4.5") * CUP_ML, "1 jug + 4 1/2 cups"),
        (CREAM, 15 * QUART_ML, "1 case + 3 quarts"),
        (VANILLA, 83 * TBSP_ML, "1 bottle + 1 1/4 cups"),
        (BOARDS, 90, "1 bundle + 40 each"),
        (RIBBON, 87, "1 roll + 37 yards"),
    ],
)
def test_whole_packs_come_first_then_the_largest_familiar_unit(
    converter, amount_base, words
):
    assert say_short(amount_base, converter) == words


@pytest.mark.parametrize(
    ("converter", "amount_base", "words"),
    [
        (BUTTER, 4 * OZ_G, "4 oz"),
        (BUTTER, 8 * OZ_G, "1/2 lb"),
        (BUTTER, 16 * OZ_G, "1 lb"),
        (BUTTER, 100 * OZ_G, "6 1/4 lb"),
        (BUTTER, 55 * OZ_G, "3 lb 7 oz"),
        (BUTTER, Decimal("22.5") * OZ_G, "1 lb 6 1/2 oz"),
        (MILK, 3 * QUART_ML, "3 quarts"),
        (MILK, 9 * CUP_ML, "2 quarts 1 cup"),
        (VANILLA, 59 * TBSP_ML, "3 2/3 cups"),
        (VANILLA, 3 * TSP_ML, "1 tbsp"),
        (VANILLA, TSP_ML / 4, "1/4 tsp"),
        (GANACHE, Decimal("239.75"), "240 g"),
        (GANACHE, 2512, "2.5 kg"),
    ],
)
def test_no_number_is_above_what_the_next_unit_holds(converter, amount_base, words):
    assert say_short(amount_base, converter) == words


@pytest.mark.parametrize(
    ("amount", "words"),
    [
        # Off by 0.5 of 79.5 oz, by 0.5 of 40.5, by 0.5 of 52.5; 0.1 and 0.2 of 36 lb.
        (Decimal("79.5") * OZ_G, "5 lb"),
        (Decimal("40.5") * OZ_G, "2 1/2 lb"),
        (Decimal("52.5") * OZ_G, "3 1/4 lb"),
        (Decimal("35.9") * LB_G, "1 case"),
        (Decimal("36.2") * LB_G, "1 case"),
        (Decimal("36.5") * LB_G, "1 case + 1/2 lb"),
    ],
)
def test_what_is_off_by_a_hundredth_or_two_is_said_plainly(amount, words):
    assert say_short(amount, BUTTER) == words


@pytest.mark.parametrize(
    ("converter", "amount_base", "words"),
    [
        # 9 3/8 tsp are 3 tbsp and a little, and half a teaspoon is near enough.
        (VANILLA, Decimal("9.375") * TSP_ML, "3 tbsp 1/2 tsp"),
        # 3.45 tsp; in millilitres it would be another unit than the rest of it
        (VANILLA, Decimal(17), "1 tbsp 1/2 tsp"),
        (VANILLA, Decimal("48.5") * TSP_ML, "1 cup"),
        (EGGS, Decimal("4.86"), "about 5 each"),
        (BUTTER, Decimal("3.87") * OZ_G, "about 4 oz"),
    ],
)
def test_it_says_about_only_where_it_is_further_off(converter, amount_base, words):
    assert say_short(amount_base, converter) == words


@pytest.mark.parametrize(
    ("amount_each", "words"),
    [
        (5, "5 each"),
        (24, "2 dozen"),
        (30, "1 flat"),
        (67, "5 dozen 7 each"),
        (90, "3 flats"),
        (132, "11 dozen"),
        (247, "20 dozen 7 each"),
        (379, "1 case + 19 each"),
        (378, "1 case + 1 1/2 dozen"),
        (1099, "3 cases + 19 each"),
        (361, "1 case"),
        (1104, "3 cases + 2 dozen"),
    ],
)
def test_eggs_that_come_by_the_dozen_are_said_in_dozens(amount_each, words):
    assert say_short(amount_each, EGGS) == words


def test_a_word_of_the_items_own_is_said_where_it_comes_out_even():
    assert say_short(15 * LB_G, CREAM_CHEESE) == "5 loaves"
    assert say_short(Decimal("5.5") * LB_G, CREAM_CHEESE) == "5 1/2 lb"
    assert say_short(Decimal("24.5") * LB_G, FLOUR) == "24 1/2 lb"


def test_only_the_preferred_pack_is_counted_in():
    packs = [PackWord("box", "30 lb"), PackWord("case", "36 lb", preferred=True)]
    butter = compile_converter(read_item_measures("butter", "mass", packs=packs))

    assert say_short(30 * LB_G, butter) == "30 lb"
    assert say_short(72 * LB_G, butter) == "2 cases"


def test_what_is_in_the_packs_can_be_asked_for():
    assert say_short(72 * LB_G, BUTTER, in_packs=False) == "72 lb"
    assert say_short(360, EGGS, in_packs=False) == "30 dozen"
    assert say_short(8 * QUART_ML, MILK, in_packs=False) == "2 gallons"


def test_who_prefers_metric_hears_metric_after_the_packs():
    assert say_short(37000, BUTTER, prefer=System.METRIC) == "2 cases + 4.3 kg"


def test_a_negative_amount_and_a_million_sachets_are_not_said():
    with pytest.raises(ValueError, match="must not be negative"):
        say_short(-1, BUTTER)

    assert say_short(7_000_000, item(sachet="7 g")) == "7000 kg"


@pytest.mark.parametrize(
    ("converter", "amount_base", "words"),
    [
        (VANILLA, Decimal("5.31"), "about 1 tsp"),  # 1.08 tsp
        (VANILLA, TSP_ML / 8, "1/8 tsp"),
        (VANILLA, Decimal("0.37"), "about 0.4 mL"),
        (BUTTER, OZ_G / 4, "1/4 oz"),
        (BUTTER, 7, "7 g"),  # 0.247 oz
        (BUTTER, OZ_G / 8, "3.5 g"),  # 3.544 g
        (BUTTER, 1, "1 g"),  # 0.0353 oz
        (BUTTER, Decimal("1.54"), "about 1.5 g"),  # off by 1 in 38
        (BUTTER, Decimal("0.2126"), "about 0.2 g"),  # 0.0075 oz
        (BUTTER, Decimal("0.0375"), "about 0.04 g"),
        (RIBBON, Decimal("0.03"), "0.03 yard"),
        (GANACHE, Decimal("0.37"), "about 0.4 g"),
    ],
)
def test_what_is_little_is_said_as_it_is_weighed_or_spooned(
    converter, amount_base, words
):
    assert say_short(amount_base, converter) == words


@pytest.mark.parametrize(
    ("held_in", "words"), [("", "56.7 g"), ("customary", "2 oz"), ("metric", "56.7 g")]
)
def test_the_kitchens_own_levels_say_more_than_a_pack(held_in, words):
    chocolate = replace(item(box="5 kg"), held_in=held_in)

    assert say_short(2 * OZ_G, chocolate) == words


HOLDS = {
    "mass": ["36 lb", "50 lb", "1.5 kg", "7 oz", "1/3 oz", "0.0001 g"],
    "volume": ["1 gallon", "2/3 cup", "750 mL", "1 pinch"],
    "count": ["30 dozen", "50 each", "1/3 each", "7 each"],
}


@st.composite
def items(draw):
    measure = draw(st.sampled_from(list(Measure)))
    words = st.sampled_from(["case", "bag", "half", "Half Sheet"])
    packs = draw(st.dictionaries(words, st.sampled_from(HOLDS[measure])))
    own = draw(st.sampled_from(["", *(f"loaf = {holds}" for holds in HOLDS[measure])]))
    return item(measure, own_units=own, **packs)


AMOUNTS = st.one_of(
    st.decimals(min_value=0, max_value=100_000, places=4),
    st.integers(min_value=0, max_value=10**9),
)


@given(items(), AMOUNTS, st.sampled_from([None, *System]), st.booleans())
def test_it_is_near_or_says_about_and_has_two_terms_at_most(
    converter, amount_base, prefer, in_packs
):
    words = say_short(amount_base, converter, prefer=prefer, in_packs=in_packs)

    said_base = converter.to_base(words.removeprefix("about "))
    exact_base = Fraction(to_ledger(amount_base))
    off_base = abs(said_base - exact_base)
    most_off = 20 if converter.measure is Measure.COUNT else 10
    assert off_base <= exact_base / most_off
    assert (off_base <= exact_base / 50) == (not words.startswith("about "))
    assert words.count("+") <= 1
