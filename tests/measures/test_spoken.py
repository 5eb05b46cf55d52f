"""What people say at the shelf, against a list that was written by hand."""

import csv
import json
import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stock import errors
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.packs import PackWord
from stock.measures.reading.quantity import parse_quantity
from stock.measures.reading.spoken import (
    grammar_for_phone,
    read_spoken,
    stated_words,
    words_for_phone,
)
from stock.measures.reading.vocabulary import Notation
from stock.measures.resolution import to_ledger
from tests.measures.said import sayings

LB_G = Fraction("453.59237")  # exact, NIST
QUART_ML = Fraction("946.352946")  # exact, NIST

# The list gives each amount as a number of one of these.
WORTH_BASE = {
    "g": Fraction(1),
    "mL": Fraction(1),
    "each": Fraction(1),
    "lb": LB_G,
    "oz": LB_G / 16,
    "quart": QUART_ML,
    "loaf": Fraction(680),
}
KINDS = {
    "quantity": errors.QuantityError,
    "unknown unit": errors.UnknownUnitError,
    "no equivalent": errors.NoEquivalentError,
    "ambiguous": errors.AmbiguousWordError,
    "several": errors.SeveralReadingsError,
    "tare": errors.TareError,
    "too large": errors.QuantityTooLargeError,
}
TARES = {
    "bin": parse_quantity("2.15 lb"),
    "tub": parse_quantity("8 oz"),
    "tray": parse_quantity("1 lb"),
}


def kept(name, measure, *, packs=(), **texts):
    words = [PackWord(called, holds) for called, holds in packs]
    item = read_item_measures(name, measure, packs=words, **texts)
    return compile_converter(item)


ITEMS = {
    "butter": kept(
        "butter",
        "mass",
        equivalents="1 cup = 227 g; 1 tbsp = 14.2 g",
        own_units="stick = 4 oz",
        packs=[("case", "36 lb"), ("box", "12 lb")],
    ),
    "flour": kept(
        "flour",
        "mass",
        equivalents="1 cup = 125 g",
        own_units="scoop = 1 lb",
        packs=[("bag", "50 lb")],
    ),
    "sugar": kept("sugar", "mass", packs=[("sack", "50 lb"), ("bag", "25 lb")]),
    "eggs": kept(
        "eggs",
        "count",
        equivalents="1 each = 50 g",
        own_units="flat = 30 each",
        packs=[("case", "30 dozen")],
    ),
    "cream": kept(
        "cream",
        "volume",
        equivalents="1 cup = 238 g",
        own_units="carton = 1 quart",
        packs=[("case", "12 quart")],
    ),
    "boards": kept(
        "boards", "count", own_units="sleeve = 25 each", packs=[("case", "100 each")]
    ),
    "milk": kept(
        "whole milk",
        "volume",
        equivalents="1 cup = 244 g",
        packs=[("case", "4 gallon"), ("jug", "1 gallon")],
    ),
    "bread": kept(
        "brioche",
        "mass",
        equivalents="1 cup = 35 g",
        own_units="loaf = 680 g",
        packs=[("case", "12 loaf")],
    ),
    "cherries": kept("sour cherries", "mass", packs=[("can", "6 lb 10 oz")]),
    "lemons": kept(
        "lemons", "count", equivalents="1 each = 108 g", packs=[("case", "115 each")]
    ),
    "ribbon": kept(
        "white ribbon",
        "count",
        own_units="yard = 1 each",
        packs=[("spool", "100 each")],
    ),
    "boxes": kept(
        "cake boxes", "count", packs=[("box", "50 each"), ("pack", "10 each")]
    ),
}


def listed():
    path = Path(__file__).with_name("spoken_amounts.csv")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


SAID = listed()
UNDERSTOOD = [row for row in SAID if not row["refusal"]]
REFUSED = [row for row in SAID if row["refusal"]]


def test_the_list_is_long_and_a_third_of_it_is_not_clear():
    assert len(SAID) >= 390
    assert len(REFUSED) >= 130
    assert len({(row["item"], row["said"]) for row in SAID}) == len(SAID)


@pytest.mark.parametrize("row", UNDERSTOOD, ids=lambda row: row["said"])
def test_what_people_say_comes_to_what_they_mean(row):
    spoken = read_spoken(row["said"], ITEMS[row["item"]], TARES)

    meant_base = Fraction(row["number"]) * WORTH_BASE[row["unit"]]
    assert spoken.amount_base == meant_base


@pytest.mark.parametrize("row", REFUSED, ids=lambda row: row["said"])
def test_what_cannot_be_understood_is_refused_for_its_reason(row):
    with pytest.raises(errors.MeasureError) as refused:
        read_spoken(row["said"], ITEMS[row["item"]], TARES)

    assert type(refused.value) is KINDS[row["refusal"]]


def test_the_partials_of_a_bag_and_a_bin_on_the_scale():
    # Reference C-53: 3 full 50-lb bags + 0.4 bag; gross 18.64 lb, tare 2.15 lb.
    flour = ITEMS["flour"]

    bags = read_spoken("3 full bags + 0.4 bag", flour)
    scale = read_spoken("18.64 lb - bin", flour, TARES)

    assert bags.amount_base == 170 * LB_G
    assert scale.amount_base == Fraction("16.49") * LB_G
    assert scale.understood.startswith("18.64 lb less 2.15 lb = ")


@pytest.mark.parametrize(
    "said", ["1 case", "36 lb", "144 sticks", "1152 tbsp", "576 oz", "1ca", "144s"]
)
def test_a_case_of_butter_however_it_is_said(said):
    # Reference A-86: 36 x 1 lb = 144 sticks = 1,152 tbsp = 576 oz = 16.329325 kg.
    butter = kept(
        "butter",
        "mass",
        equivalents="1 tbsp = 1/2 oz",
        own_units="stick = 4 oz",
        packs=[("case", "36 lb")],
    )

    assert round(float(read_spoken(said, butter).amount_base) / 1000, 6) == 16.329325


@pytest.mark.parametrize("blank", ["", " ", "\t", "\N{NO-BREAK SPACE}"])
def test_blank_is_not_counted_and_never_zero(blank):
    assert read_spoken(blank, ITEMS["butter"]) is None


@pytest.mark.parametrize(
    ("said", "echo"),
    [
        ("2ca 6lb", "2 cases + 6 lb"),
        ("2c 6lb", "2 cases + 6 lb"),
        ("3s", "3 sticks = 12 oz"),
        ("none", "none"),
        ("1/2 ca", "1/2 case = 1 box + 6 lb"),
    ],
)
def test_an_entry_is_echoed_as_it_was_understood(said, echo):
    assert read_spoken(said, ITEMS["butter"]).understood == echo


def asked(said, item, **beside):
    with pytest.raises(errors.SeveralReadingsError) as question:
        read_spoken(said, item, **beside)
    return question.value.readings


def test_first_letters_of_two_words_name_both():
    assert asked("3 ca", ITEMS["cream"]) == ("3 cases", "3 cartons")


def test_first_letters_of_units_are_asked_about_where_no_own_word_begins_so():
    assert asked("2 p", ITEMS["butter"]) == ("2 lb", "2 pints", "2 pinches")


def test_an_item_whose_own_word_is_half_still_has_halves():
    eggs = kept("eggs", "count", packs=[("half", "15 dozen"), ("case", "30 dozen")])

    assert read_spoken("2 halfs", eggs).amount_base == 360
    assert read_spoken("a half", eggs).amount_base == 180
    assert read_spoken("half a case", eggs).amount_base == 180


def test_a_word_of_two_words_is_taken_whole():
    cake = kept("board", "count", own_units="half sheet = 2 each; sheet = 4 each")

    assert read_spoken("3 half sheets", cake).amount_base == 6
    assert read_spoken("half a sheet", cake).amount_base == 2


def test_a_sentence_quotes_what_was_typed():
    with pytest.raises(errors.QuantityError) as refused:
        read_spoken("3 lb 6 2 ca", ITEMS["butter"])

    assert str(refused.value) == (
        '"3 lb 6 2 ca" isn\'t a quantity: 6 has no unit. '
        "Write what it counts, such as 6 oz, 6 lb or 6 cases."
    )
    assert refused.value.position == len("3 lb 6 ")


def test_what_a_phone_needs_is_plain_json_with_exact_factors():
    words = json.loads(json.dumps(words_for_phone(ITEMS["butter"])))

    assert Fraction(words["units"]["lb"]) == LB_G
    assert [word["word"] for word in words["words"]] == ["case", "box", "stick"]
    assert Fraction(words["words"][1]["base"]) == 12 * LB_G
    assert words["words"][1]["forms"] == ["box", "boxes", "boxs"]
    grammar = json.loads(json.dumps(grammar_for_phone()))
    assert grammar["unit_by_form"]["pounds"] == "lb"
    assert Fraction(grammar["shares"]["half"]) == Fraction(1, 2)


@given(text=st.text(alphabet="0123456789 ./½+-,;&#abclotsuxhfn%=", max_size=30))
def test_any_text_is_read_or_refused_with_a_sentence(text):
    try:
        spoken = read_spoken(text, ITEMS["butter"], TARES)
    except errors.MeasureError as refused:
        sentence = str(refused)
    else:
        sentence = "." if spoken is None else f"{spoken.understood}."
        assert spoken is None or spoken.amount_base >= 0
    assert sentence.endswith((".", "?"))


@given(
    cases=st.integers(1, 40),
    pounds=st.integers(1, 35),
    joiner=st.sampled_from([" ", " + ", ", ", " and ", "; ", " & ", " plus ", ""]),
)
def test_however_it_is_joined_the_sum_is_the_same(cases, pounds, joiner):
    spoken = read_spoken(f"{cases} ca{joiner}{pounds} lb", ITEMS["butter"])

    assert spoken.amount_base == (36 * cases + pounds) * LB_G


@pytest.mark.parametrize(
    ("unit", "meant_g"), [("lb", 39 * LB_G), ("case", 39 * 36 * LB_G)]
)
def test_a_bare_number_means_the_counting_unit(unit, meant_g):
    butter = ITEMS["butter"]

    assert read_spoken("39", butter, counting_unit=unit).amount_base == meant_g


def test_without_a_counting_unit_a_bare_number_is_asked_about_smallest_first():
    assert asked("2 1/2", ITEMS["butter"]) == (
        *("2 1/2 oz", "2 1/2 sticks", "2 1/2 lb", "2 1/2 boxes", "2 1/2 cases"),
    )
    assert asked("5", kept("salt", "mass")) == ("5 g", "5 oz", "5 lb", "5 kg")


def test_what_was_said_of_a_bare_number_can_be_written_in_full():
    spoken = read_spoken("39", ITEMS["eggs"], counting_unit="flat")

    assert spoken.understood == "39 flats = 3 cases + 7 1/2 dozen"
    assert spoken.whole_text == "39 flats"


@pytest.mark.parametrize(
    ("said", "unit", "each"),
    [
        ("1 flat 5", "each", 35),
        ("1 flat 5", "flat", 35),  # five flats more would be six flats
        ("1 case 5", "flat", 510),
        ("1 case + 5", None, 365),
    ],
)
def test_a_rest_without_a_unit_counts_something_smaller(said, unit, each):
    spoken = read_spoken(said, ITEMS["eggs"], counting_unit=unit)

    assert spoken.amount_base == each


def test_a_counting_unit_settles_what_a_letter_means():
    butter = ITEMS["butter"]

    in_cases = read_spoken("2c", butter, counting_unit="case")
    in_cups = read_spoken("2c", butter, counting_unit="cup")

    assert (in_cases.amount_base, in_cups.amount_base) == (72 * LB_G, 454)


# Where two meanings compete: both, the likelier first.
@pytest.mark.parametrize(
    ("item", "said", "readings"),
    [
        ("butter", "2c", ("2 cases", "2 cups")),
        ("butter", "2T", ("2 tbsp", "2 tsp")),
        ("butter", "2 t.", ("2 tsp", "2 tbsp")),
        ("butter", "500 G", ("500 g", "500 gallons")),
        ("butter", "12/32 oz", ("12 x 32 oz", "⅜ oz")),
        ("butter", "12\N{DIVISION SLASH}32 oz", ("12 x 32 oz", "⅜ oz")),
        ("butter", "12\N{FRACTION SLASH}32 oz", ("12 x 32 oz", "⅜ oz")),
        ("butter", "6/5 lb", ("6 x 5 lb", "1.2 lb")),
        ("butter", "4/5 lb", ("4 x 5 lb", "⅘ lb")),
        ("butter", "3/4 lb", ("¾ lb", "3 x 4 lb")),
        ("butter", "13\N{FRACTION SLASH}4 lb", ("1 3/4 lb", "3 1/4 lb")),
        ("butter", "2 half cases", ("2 1/2 cases", "1 case")),
        ("butter", "1 case 1/2", ("1 1/2 cases", "1 case + 1/2 oz")),
        ("butter", "2 lb - 3 oz", ("2 lb + 3 oz", "2 lb less 3 oz")),
        ("butter", "18.6 lb - 8 oz", ("18.6 lb less 8 oz", "18.6 lb + 8 oz")),
        ("butter", "1,200 g", ("1200 g", "1.2 g")),
        ("butter", "1,5 kg", ("1 1/2 kg",)),
        ("bread", "1c 2l", ("1 case + 2 loaves", "1 case + 2 liters")),
        ("bread", "2 L", ("2 loaves", "2 liters")),
        ("milk", "8 oz", ("8 fl oz", "8 oz weight")),
        ("milk", "1 G", ("1 gallon", "1 g")),
        ("cream", "3 c", ("3 cases", "3 cartons", "3 cups")),
        ("cream", "1 G", ("1 gallon", "1 g")),
        ("cherries", "1#10 can", ("1 #10 can", "1 lb + 10 cans")),
        ("cherries", "2 #10 oz", ("2 lb + 10 oz",)),
        ("lemons", "39", ("39 each", "39 cases")),
        ("eggs", "5 gr", ("5 g", "5 gross")),
        ("boxes", "2 boxes", ("2 box packs", "2 each")),
    ],
)
def test_two_meanings_are_asked_about_the_likelier_first(item, said, readings):
    assert asked(said, ITEMS[item]) == readings


def test_the_larger_unit_is_said_first():
    # A cup of butter is less than a pound: nobody says 2 cups 6 lb.
    assert read_spoken("2c 6lb", ITEMS["butter"]).understood == "2 cases + 6 lb"
    assert read_spoken("6lb 2c", ITEMS["butter"]).amount_base == 6 * LB_G + 454


def test_a_liquid_without_a_weight_can_only_be_meant_by_volume():
    water = kept("rose water", "volume")

    assert asked("8 oz", water) == ("8 fl oz",)
    assert asked("1 G", water) == ("1 gallon",)


def test_a_named_can_of_one_size_is_told_from_another():
    fruit = kept("cherries", "mass", own_units="#10 can = 6 lb; #5 can = 3 lb")

    assert read_spoken("2 #10 cans", fruit).amount_base == 12 * LB_G
    assert read_spoken("2 #5 can", fruit).amount_base == 6 * LB_G


def test_a_can_of_a_size_that_the_item_has_not_is_told_plainly():
    sugar = kept("sugar", "mass")

    with pytest.raises(errors.MeasureError) as refused:
        read_spoken("1 #10 can", sugar)

    assert "#10 is a can size. Write the can as the item's page names it" in str(
        refused.value
    )


def all_that_is_said():
    for item, text, unit in sayings():
        try:
            yield item, read_spoken(text, ITEMS[item], TARES, counting_unit=unit), ()
        except errors.SeveralReadingsError as several:
            yield item, None, several.readings
        except errors.MeasureError:
            continue


def test_whatever_is_understood_reads_the_same_when_written_in_full():
    said = [(item, spoken) for item, spoken, _ in all_that_is_said() if spoken]

    assert len(said) > 3_000
    wrong = [
        (item, spoken.whole_text)
        for item, spoken in said
        if read_spoken(spoken.whole_text, ITEMS[item], TARES).amount_base
        != spoken.amount_base
    ]
    assert wrong == []


def test_every_reading_that_is_offered_is_one_reading_and_no_two_are_the_same():
    offered = {(item, texts) for item, _, texts in all_that_is_said() if texts}

    assert len(offered) > 1_000
    for item, texts in sorted(offered):
        amounts = {read_spoken(text, ITEMS[item], TARES).amount_base for text in texts}
        assert len(amounts) == len(texts)


def examples_in(sentence):
    """The amounts that a sentence tells one to write."""
    if told := re.search(r"such as (.+?)\.(?: |$)", sentence):
        return re.split(r", | or ", told[1])
    return []


@pytest.mark.parametrize("item", list(ITEMS))
@pytest.mark.parametrize(
    "said",
    [
        *("five", "two cases six", "half", "1-1/2", "?", "-2 lb", "about", "no", "x y"),
        *("2 crates +", "1 case,", "2 ; ; 3", "3 2 lb", "eggs", "lb", "case"),
    ],
)
@pytest.mark.parametrize("notation", [Notation.COUNT, Notation.RECIPE])
def test_an_error_gives_an_example_that_the_item_can_take(item, said, notation):
    converter = ITEMS[item]

    try:
        converter.read(said, notation)
    except errors.MeasureError as refused:
        for example in examples_in(str(refused)):
            assert converter.to_base(converter.read(example, Notation.STOCK)) > 0


@pytest.mark.parametrize(
    ("item", "said", "sentence"),
    [
        ("eggs", "eggs", "{} write a number before eggs, such as 2 eggs."),
        (
            "eggs",
            "five",
            "{} five has no unit. Write what it counts, such as 5 each, 5 flats or "
            "5 cases.",
        ),
        (
            "butter",
            "1-1/2",
            "{} 1-1/2 has no unit. Write what it counts, such as 1 1/2 oz, 1 1/2 lb or "
            "1 1/2 cases.",
        ),
        ("eggs", "", "{} it is empty. Write a number and a unit, such as 2 cases."),
        (
            "butter",
            "about 6 lb",
            "{} it has to be exact. Write one number, such as 2 cases.",
        ),
    ],
)
def test_what_is_typed_wrong_is_told_in_the_item_s_own_words(item, said, sentence):
    with pytest.raises(errors.QuantityError) as refused:
        ITEMS[item].read(said, Notation.RECIPE)

    assert str(refused.value) == sentence.format(f'"{said}" isn\'t a quantity:')


def test_an_unknown_unit_names_those_that_the_item_has():
    with pytest.raises(errors.UnknownUnitError) as refused:
        ITEMS["eggs"].read("2 boxes")

    assert str(refused.value) == (
        '"boxes" isn\'t a unit of eggs. Write each, flat or case, or enter what one '
        "box holds on its page."
    )


@given(
    name=st.sampled_from(sorted(ITEMS)),
    amount_base=st.decimals(min_value="0.0001", max_value=500_000, places=4),
)
def test_an_echo_says_what_is_stored_whatever_it_is(name, amount_base):
    converter = ITEMS[name]

    words = stated_words(Fraction(amount_base), converter)

    assert to_ledger(converter.to_base(parse_quantity(words))) == amount_base


@pytest.mark.parametrize(
    ("item", "typed", "echo"),
    [
        ("butter", "8 kg", "8 kg"),  # not 17 3/4 lb, which is 51 g more
        ("flour", "18.64 lb", "18.64 lb"),
        ("butter", "1 kg 3 g", "1 kg + 3 g = 1.003 kg"),
        ("butter", "2 cases 6 lb", "2 cases + 6 lb"),
    ],
)
def test_an_echo_is_not_rounded(item, typed, echo):
    assert read_spoken(typed, ITEMS[item]).understood == echo
