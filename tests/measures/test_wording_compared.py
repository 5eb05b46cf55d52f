"""Two amounts and their difference, in words that add up."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stock.measures.amount_words import say_compared
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.packs import PackWord
from stock.measures.reading.sayings import System, system_in
from stock.measures.wording import say_short


def item(measure, *packs):
    words = [PackWord(called, holds) for called, holds in packs]
    return compile_converter(read_item_measures("it", measure, packs=words))


CREAM = item("volume", ("case", "12 quart"))
SALT = item("mass", ("bag", "5 lb"))
COCOA = item("mass", ("case", "6 kg"))
EGGS = item("count", ("case", "30 dozen"))
QUART = Fraction("946.352946")


@pytest.mark.parametrize(
    ("converter", "counted", "recorded", "said"),
    [
        # 5 1/4 quarts but for a step of the ledger, said as everywhere else
        (
            *(CREAM, 60 * QUART, "4968.3529"),
            "5 cases; about 1 gallon 1 quart; 4 cases + 1 gallon 3 quarts",
        ),
        (
            *(SALT, 20, "10432.6246"),  # 20 g beside 23 lb
            "about 3/4 oz; 4 bags + 3 lb; 4 bags + 2 lb 15 1/4 oz",
        ),
        (CREAM, 0, "236.5882", "none; 1 cup; 1 cup"),
        (SALT, "2721.5542", "1348", "1 bag + 1 lb; 3 lb; 3 lb"),
        (EGGS, 243, 247, "20 dozen 3 each; 20 dozen 7 each; 4 each"),
        (SALT, 0, "907.1847", "none; 2 lb; 2 lb"),
        (SALT, "907.1847", "907.1847", "2 lb; 2 lb; none"),
        (COCOA, 6_000, 6_700, "1 case; 1 case + 700 g; 700 g"),
    ],
)
def test_figures_are_said_in_the_item_s_own_units(converter, counted, recorded, said):
    compared = say_compared(Fraction(counted), Fraction(recorded), converter)

    assert compared.adds_up
    assert "; ".join(compared[:3]) == said


@pytest.mark.parametrize(
    ("converter", "counted", "recorded", "said"),
    [
        # two bags are 4,535.9237 g, and 35.9237 g are 1.27 oz
        (SALT, "4535.9237", 4_500, "2 bags; 2 bags; 1 1/4 oz"),
        (SALT, 4_500, "4535.9237", "2 bags; 2 bags; 1 1/4 oz"),
    ],
)
def test_what_rounding_hides_is_said_as_it_is(converter, counted, recorded, said):
    compared = say_compared(Fraction(counted), Fraction(recorded), converter)

    assert not compared.adds_up
    assert "; ".join(compared[:3]) == said


@given(
    st.sampled_from([CREAM, SALT, COCOA, EGGS]),
    st.integers(1, 500_000_000),
    st.integers(1, 500_000_000),
)
def test_an_amount_is_said_the_same_whatever_it_is_compared_with(converter, one, other):
    bases = [Fraction(each, 10_000) for each in (one, other)]

    compared = say_compared(*bases, converter)

    assert list(compared[:2]) == [say_short(base, converter) for base in bases]


@given(
    st.sampled_from([CREAM, SALT, COCOA, EGGS]),
    st.integers(0, 500_000_000),
    st.integers(0, 500_000_000),
)
def test_figures_add_up_as_they_are_said_or_say_that_they_do_not(converter, one, other):
    step = 10_000 if converter is EGGS else 1
    one_base, other_base = (
        Fraction(each // step * step, 10_000) for each in (one, other)
    )

    *words, adds_up = say_compared(one_base, other_base, converter)

    bases = [
        Fraction(0)
        if each == "none"
        else converter.to_base(each.removeprefix("about "))
        for each in words
    ]
    size = abs(bases[0] - bases[1])
    if adds_up:
        assert abs(bases[2] - size) < 1e-9
    else:
        apart = abs(one_base - other_base)
        assert abs(bases[2] - apart) <= apart / 10
    if converter in (CREAM, SALT) and min(one_base, other_base) > 10:
        assert System.METRIC not in map(system_in, words)
