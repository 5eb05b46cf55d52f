"""What is said in two meanings, and what is wrong, told in an item's own words."""

import re
from fractions import Fraction

import pytest

from stock import errors
from stock.measures.reading.spoken import (
    read_spoken,
)
from stock.measures.reading.vocabulary import Notation
from tests.measures.said import sayings
from tests.measures.spoken_items import ITEMS, LB_G, TARES, asked, kept


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

    assert spoken.understood == "39 flats = 1170 each"
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


@pytest.mark.parametrize("item", ITEMS)
@pytest.mark.parametrize("share", ["1/2", "1/3", "1/4"])
def test_one_part_of_any_counting_unit_needs_no_question(item, share):
    converter = ITEMS[item]
    for own in converter.own_words:
        spoken = read_spoken(share, converter, counting_unit=own.word)

        assert spoken.amount_base == Fraction(share) * own.holds_base


# Packs are written 6/5 by those who mean six of five pounds, unit or none.
@pytest.mark.parametrize(
    ("item", "unit", "said", "readings"),
    [
        ("flour", "bag", "6/5", ("6 x 5 oz", "6 x 5 lb", "1.2 bags")),
        ("flour", "bag", "12/32", ("12 x 32 oz", "12 x 32 lb", "3/8 bag")),
        ("flour", "bag", "3/2", ("3 x 2 oz", "3 x 2 lb", "1 1/2 bags")),
        ("flour", "bag", "3/4", ("3/4 bag", "3 x 4 oz", "3 x 4 lb")),
        ("flour", "bag", "2/6", ("2 x 6 oz", "2 x 6 lb", "1/3 bag")),
        ("eggs", "flat", "1 case 6/5", ("1 case + 6 x 5 each", "1 case + 1.2 flats")),
        ("flour", "lb", "6/5", ("6 x 5 lb", "1.2 lb")),
        ("eggs", "flat", "2/15", ("2 x 15 each", "2/15 flat")),
        ("lemons", None, "2/25", ("2 x 25 each", "0.08 each", "0.08 case")),
        ("ribbon", "yard", "2/25", ("2 x 25 each", "0.08 yard")),
    ],
)
def test_a_bare_fraction_may_be_a_pack(item, unit, said, readings):
    assert asked(said, ITEMS[item], counting_unit=unit) == readings


@pytest.mark.parametrize("said", ["1/2", "1/4", "½", "1 3/4", "1.2", "3/4 of a"])
def test_a_bare_half_is_only_a_half(said):
    spoken = read_spoken(said, ITEMS["flour"], counting_unit="bag")

    whole = read_spoken(f"{said} bag", ITEMS["flour"])
    assert spoken.amount_base == whole.amount_base


def test_the_larger_unit_is_said_first():
    # A cup of butter is less than a pound: nobody says 2 cups 6 lb.
    assert read_spoken("2c 6lb", ITEMS["butter"]).understood == "2 cases + 6 lb = 78 lb"
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
            "{} five has no unit. Write what it counts, such as 5 eggs, 5 flats or "
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
