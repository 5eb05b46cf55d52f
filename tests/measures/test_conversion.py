from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stock.errors import (
    EquivalentError,
    MeasureError,
    NoEquivalentError,
    OwnWordError,
    QuantityTooLargeError,
    StockError,
    UnknownUnitError,
    WordClashError,
)
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.conversion import Converted
from stock.measures.resolution import round_half_up, to_ledger


def converter(measure="mass", equivalents="", own_units="", name="item"):
    return compile_converter(
        read_item_measures(name, measure, equivalents=equivalents, own_units=own_units)
    )


@pytest.mark.parametrize(
    ("measure", "equivalents", "quantity", "base"),
    [
        # Flour at 120 g a cup: a cup is 16 tablespoons of 7.5 g.
        ("mass", "1 cup = 120 g", "1 cup", "120"),
        ("mass", "120 g = 1 cup", "2 tbsp", "15"),
        ("mass", "1 cup = 120 g", "1 3/4 cup", "210"),
        # Molasses: the tablespoon has its own figure, the rest goes by the cup.
        ("mass", "1 cup = 337 g; 1 tbsp = 20 g", "1 tbsp", "20"),
        ("mass", "1 tbsp = 20 g; 1 cup = 337 g", "3 tsp", "21.0625"),
        ("mass", "1 cup = 337 g; 1 tbsp = 20 g", "1 gallon", "5392"),
        ("mass", "1 cup = 337 g; 1 tbsp = 20 g", "1 cup + 1 tbsp", "357"),
        # The unit counts as the largest, whatever its number.
        ("mass", "20 tbsp = 400 g; 1/4 cup = 80 g", "1 pint", "640"),
        ("mass", "2 tbsp = 32 g", "1 tbsp", "16"),
        ("mass", "1 each = 50 g", "1 dozen", "600"),
        ("mass", "1 each = 50 g; 1 dozen = 590 g", "2 dozen", "1180"),
        ("mass", "1 dozen = 590 g; 1 each = 50 g", "1 each", "50"),
        ("mass", "1 dozen = 600 g", "1 each", "50"),
        ("count", "1 each = 50 g", "1 kg", "20"),
        ("count", "1 dozen = 590 g; 1 each = 50 g", "1 kg", "20"),
        ("count", "1 cup = 5 each", "1 quart", "20"),
        ("volume", "100 mL = 140 g", "70 g", "50"),
        ("volume", "1 each = 30 mL", "1 dozen", "360"),
        # By volume the grams go through the cup, not through the tablespoon.
        ("volume", "1 L = 1400 g; 100 mL = 130 g", "14 kg", "10000"),
        ("volume", "100 mL = 130 g; 1 L = 1400 g", "14 kg", "10000"),
    ],
)
def test_a_unit_goes_through_the_item_s_own_factor(
    measure, equivalents, quantity, base
):
    assert converter(measure, equivalents).to_base(quantity) == Fraction(base)


def test_three_sticks_are_twenty_four_tablespoons():
    # Common practice, no source: a stick is 4 oz and half a cup.
    butter = converter(equivalents="1 cup = 8 oz", own_units="stick = 4 oz")

    assert butter.from_base(butter.to_base("3 sticks"), "tbsp") == 24


def test_an_own_word_may_be_given_in_any_measure_the_item_knows():
    cream = converter(equivalents="1 cup = 240 g", own_units="ladle = 1/2 cup")

    assert cream.to_base("2 ladles") == 240


def test_an_equivalent_may_be_given_in_an_own_word_of_the_item_s_measure():
    butter = converter(equivalents="1 cup = 2 stick", own_units="stick = 100 g")

    assert butter.to_base("1 cup") == 200


def test_words_are_compared_without_case_dots_and_plurals():
    item = converter(own_units="Half Sheet = 2 kg; box = 3 kg")

    assert item.to_base("2 half sheets") == 4_000
    assert item.to_base("2 boxes") == item.to_base("2 BOXS") == 6_000
    assert item.to_base("1 KG.") == 1_000


@pytest.mark.parametrize(
    ("measure", "quantity", "unit", "sentence"),
    [
        ("mass", "1 cup", "cup", "Enter the weight of one cup on its page."),
        ("mass", "2 each", "each", "Enter the weight of one, such as 1 each = 50 g"),
        ("volume", "3 oz", "oz", "Write fl oz if you mean the volume"),
        ("volume", "3 lb", "lb", "Enter the weight of one cup on its page."),
        ("volume", "3 each", "each", "Enter the volume of one"),
        ("count", "3 lb", "lb", "Enter the weight of one, such as 1 each = 50 g"),
        ("count", "3 cup", "cup", "Enter how many fill one cup on its page."),
    ],
)
def test_no_equivalent_no_conversion(measure, quantity, unit, sentence):
    milk = converter(measure, name="milk")

    with pytest.raises(NoEquivalentError) as caught:
        milk.to_base(quantity)

    assert str(caught.value).startswith("Milk: kept by ")
    assert sentence in str(caught.value)
    assert caught.value.unit == unit


def test_nothing_is_chained():
    eggs = converter("count", "1 each = 50 g")

    with pytest.raises(NoEquivalentError):
        eggs.to_base("1 cup")


def test_an_unknown_word_names_the_nearest():
    butter = converter(own_units="stick = 4 oz", name="butter")

    with pytest.raises(UnknownUnitError) as caught:
        butter.to_base("3 stiks")

    assert caught.value.nearest == "stick"
    assert "isn't a unit of butter" in str(caught.value)


def test_a_length_is_no_amount():
    with pytest.raises(UnknownUnitError):
        converter().to_base("3 in")


def test_more_than_a_bakery_can_hold_is_refused():
    with pytest.raises(QuantityTooLargeError, match="Check the number"):
        converter(name="flour").to_base("99999999 kg")


@pytest.mark.parametrize(
    ("equivalents", "advice"),
    [
        ("1 cup = 2 pint", "neither side is"),
        ("1 kg = 2 lb", "both sides are"),
        ("1 scoop = 30 g", "belongs among its own units"),
        ("1 cup + 1 tbsp = 140 g", "in one unit"),
        ("1 cup = 100 g + 1 mL", "mixes two measures"),
        ("1 cup = 125 g; 1 cup = 130 g", "Keep one of them"),
        ("1 cup = 125 g; 2 cups = 260 g", "Keep one of them"),
        ("0 cup = 125 g", "one side is nothing"),
        ("1 cup = 0 g", "one side is nothing"),
        ("1 cup 125 g", "two sides and one ="),
        ("1 cup = 125 g = 1 pint", "two sides and one ="),
        ("1 cup = 125", "125 has no unit"),
        ("cup = 125 g", "write a number before cup"),
        ("1 cup = -125 g", "cannot be negative"),
    ],
)
def test_an_equivalent_that_cannot_serve_says_why(equivalents, advice):
    with pytest.raises(EquivalentError, match="cannot be used") as caught:
        converter(equivalents=equivalents)

    assert advice in str(caught.value)


def test_saying_an_equivalent_twice_is_no_contradiction():
    item = converter(equivalents="1 cup = 125 g; 2 cups = 250 g")

    assert item.to_base("1 cup") == 125


@pytest.mark.parametrize(
    ("own_units", "error", "advice"),
    [
        ("lbs = 3 g", WordClashError, "already means the unit lb"),
        ("Lbs = 3 g", WordClashError, "already means the unit lb"),
        ("case = 3 g; cases = 4 g", WordClashError, "already means 3 g"),
        ("tub = 3 g; Tub = 4 g", OwnWordError, "is there twice"),
        ("tub = 2 stick; stick = 4 oz", OwnWordError, "not in stick"),
        ("tub = 2 tubs", OwnWordError, "not in tubs"),
        ("tub = 0 g", OwnWordError, "more than nothing"),
        ("2 tub = 3 g", OwnWordError, "a word of letters"),
        ("tub 3 g", OwnWordError, "one ="),
        ("= 3 g", OwnWordError, "a word of letters"),
        ("tub = 3", OwnWordError, "3 has no unit"),
        ("tub = 1 vat", UnknownUnitError, '"vat" isn\'t a unit of'),
        ("tub = 1 cup", NoEquivalentError, "the weight of one cup"),
        (f"{'a' * 41} = 1 g", OwnWordError, "at most 40 letters"),
    ],
)
def test_an_own_word_that_cannot_serve_says_why(own_units, error, advice):
    with pytest.raises(error) as caught:
        converter(own_units=own_units)

    assert advice in str(caught.value)


def test_own_words_may_stand_on_lines_of_their_own():
    item = converter(own_units="stick = 4 oz;\n tub=5 lb ;\nbag = 1 kg")

    assert [own.word for own in item.own_words] == ["tub", "bag", "stick"]


def test_every_error_of_measures_is_one_of_the_app():
    assert issubclass(MeasureError, StockError)
    for error in (
        EquivalentError,
        NoEquivalentError,
        OwnWordError,
        QuantityTooLargeError,
        UnknownUnitError,
        WordClashError,
    ):
        assert issubclass(error, MeasureError)


def test_a_conversion_explains_itself():
    flour = converter(equivalents="1 cup = 125 g", own_units="scoop = 100 g")

    converted = flour.converted(flour.read("2 scoops + 1 3/4 cup + 1 oz"))

    # An ounce is 28.349523125 g exactly (NIST).
    assert converted == (
        Converted("2 scoops", Fraction(200), "1 scoop = 100 g"),
        Converted("1 3/4 cups", Fraction("218.75"), "1 cup = 125 g"),
        Converted("1 oz", Fraction("28.349523125"), None),
    )


def test_an_exact_unit_goes_through_nothing():
    assert converter().through("lb") is None


@given(
    st.fractions(min_value=0, max_value=1_000, max_denominator=64),
    st.sampled_from(["cup", "tbsp", "gallon", "mL", "lb", "stick", "each", "dozen"]),
)
def test_there_and_back_is_the_same(number, unit):
    item = converter(
        equivalents="1 cup = 227 g; 1 tbsp = 14.2 g; 1 each = 50 g",
        own_units="stick = 4 oz",
    )

    amount_base = item.unit_base(unit) * number

    assert item.from_base(amount_base, unit) == number


@pytest.mark.parametrize(
    ("amount", "stored"),
    [
        (Fraction(1, 3), "0.3333"),
        (Fraction("0.00005"), "0.0001"),
        (Fraction("-0.00005"), "-0.0001"),
        (Fraction("0.00004999"), "0"),
        (Decimal("2.5"), "2.5"),
        (Decimal("41.66665"), "41.6667"),
        (Decimal("-41.66665"), "-41.6667"),
        (Decimal("-0.00001"), "0"),
        (0.1, "0.1"),
        (0, "0"),
    ],
)
def test_what_is_stored_is_rounded_half_up_once(amount, stored):
    assert to_ledger(amount) == Decimal(stored)


def test_halves_are_rounded_away_from_zero():
    assert round_half_up(Fraction(5, 2), 0) == 3
    assert round_half_up(Fraction(-5, 2), 0) == -3
