from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.packs import PackWord
from stock.measures.reading.quantity import LARGEST_NUMBER
from stock.measures.resolution import to_ledger
from stock.measures.units import Measure
from stock.measures.wording import System, say, say_plain


def item(measure="mass", own_units="", **packs):
    words = [PackWord(called, holds) for called, holds in packs.items()]
    return compile_converter(
        read_item_measures("item", measure, own_units=own_units, packs=words)
    )


BUTTER = item(own_units="stick = 4 oz", case="36 lb")
EGGS = item("count", case="30 dozen")
GANACHE = item()
MILK = item("volume", jug="1 gallon")
BOARDS = item("count", bundle="50 each")
# What a pound of 453.59237 g comes to, multiplied by hand: 36 lb, 6 lb, 4 oz.
CASE_G, FOUR_OZ_G = Decimal("16329.32532"), "113.3981"


@pytest.mark.parametrize(
    ("converter", "amount_base", "words"),
    [
        (BUTTER, "0", "0 g"),
        (BUTTER, "32658.6506", "2 cases"),
        (BUTTER, "35380.2049", "2 cases + 6 lb"),
        (BUTTER, "16329.3253", "1 case"),
        (BUTTER, "2721.5542", "6 lb"),
        (BUTTER, FOUR_OZ_G, "4 oz"),
        (BUTTER, "2834.9523", "6 lb 4 oz"),
        (BUTTER, "2948.3504", "6 1/2 lb"),
        (BUTTER, "500", "500 g"),
        (BUTTER, "0.0001", "0.0001 g"),
        (EGGS, "1109", "3 cases + 2 dozen 5 each"),
        (EGGS, "360", "1 case"),
        (EGGS, "24", "2 dozen"),
        (EGGS, "0.5", "1/2 each"),
        (EGGS, "4.86", "4.86 each"),
        (BOARDS, "90", "1 bundle + 40 each"),
        (GANACHE, "2500", "2.5 kg"),
        (GANACHE, "453.5924", "1 lb"),
        (MILK, "7570.8236", "2 jugs"),
        (MILK, "59.1471", "1/4 cup"),
        (MILK, "4.9289", "1 tsp"),
        (MILK, "1000", "1 L"),
    ],
)
def test_an_amount_is_said_as_people_say_it(converter, amount_base, words):
    assert say(Decimal(amount_base), converter) == words


def test_who_prefers_metric_hears_metric_after_the_packs():
    assert say(Decimal("2721.5542"), BUTTER, prefer=System.METRIC) == "2.7215542 kg"
    assert say(CASE_G + 1000, BUTTER, prefer=System.METRIC) == "1 case + 1 kg"


def test_a_negative_amount_is_not_said():
    with pytest.raises(ValueError, match="must not be negative"):
        say(-1, BUTTER)


def test_nobody_counts_a_million_sachets():
    yeast = item(sachet="7 g")

    assert say(7_000_000, yeast) == "7000 kg"
    assert say(700_000, yeast) == "100000 sachets"


def test_a_word_for_a_pound_or_less_is_no_word_to_count_in():
    flour = item(own_units="scoop = 1 lb; tub = 3 lb", sack="50 lb")

    assert say(Decimal("11113.0131"), flour) == "8 tubs + 1/2 lb"
    assert say(Decimal("907.1847"), flour) == "2 lb"


PACK_WORDS = st.sampled_from(["case", "bag", "box", "Half Sheet", "crème"])
HOLDS = {
    "mass": ["36 lb", "50 lb", "1.5 kg", "7 oz", "1/3 oz", "0.0001 g"],
    "volume": ["1 gallon", "2/3 cup", "750 mL", "1 pinch"],
    "count": ["30 dozen", "50 each", "1/3 each", "7 each"],
}


@st.composite
def items(draw):
    measure = draw(st.sampled_from(list(Measure)))
    packs = draw(st.dictionaries(PACK_WORDS, st.sampled_from(HOLDS[measure])))
    own = draw(st.sampled_from(["", *(f"tub = {holds}" for holds in HOLDS[measure])]))
    return item(measure, own_units=own, **packs)


AMOUNTS = st.one_of(
    st.integers(min_value=0, max_value=LARGEST_NUMBER),
    st.decimals(min_value=0, max_value=100_000, places=4),
    st.fractions(min_value=0, max_value=100_000),
    st.floats(min_value=0, max_value=100_000),
)


@given(items(), AMOUNTS, st.sampled_from([None, *System]))
def test_what_is_said_reads_back_as_the_same(converter, amount_base, prefer):
    words = say(amount_base, converter, prefer=prefer)

    assert to_ledger(converter.to_base(words)) == to_ledger(amount_base)


@given(items(), st.integers(min_value=1, max_value=500))
def test_whole_packs_are_said_in_whole_packs(converter, packs):
    assume(converter.own_words and converter.own_words[0].is_pack)
    largest = converter.own_words[0]
    assume(largest.holds_base >= 1)

    words = say(packs * largest.holds_base, converter)

    assert words.startswith(f"{packs} {largest.word}")
    assert "+" not in words


@pytest.mark.parametrize(
    ("amount_base", "measure", "words"),
    [
        (2_500, Measure.MASS, "2.5 kg"),
        (2_512, Measure.MASS, "2.512 kg"),
        (-2_500, Measure.MASS, "-2.5 kg"),
        (0, Measure.MASS, "0 g"),
        (Decimal("239.75"), Measure.MASS, "239.8 g"),
        (0.00001, Measure.MASS, "0 g"),
        (Fraction(1, 3), Measure.VOLUME, "0.3333 mL"),
        (1_500, Measure.VOLUME, "1.5 L"),
        (1_109, Measure.COUNT, "1109 each"),
    ],
)
def test_a_plain_saying_is_metric(amount_base, measure, words):
    assert say_plain(amount_base, measure) == words
