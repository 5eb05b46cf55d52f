from fractions import Fraction

import pytest

from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.definitions import parse_own_words
from stock.measures.household import (
    BelongsIn,
    equivalents_for,
    reference_foods,
    search,
    text_for,
)
from stock.measures.units import UNITS, Measure

ALL_PURPOSE, BUTTER, BROWN_SUGAR, EGG, LEMON_JUICE, DRIED_CHERRIES = (
    "20081",
    "01001",
    "19334",
    "01123",
    "09152",
    "09044",
)


def said(ndb_no, measure=Measure.MASS):
    return {
        s.measure_words: (s.text, s.belongs_in)
        for s in equivalents_for(ndb_no, measure)
    }


def test_every_row_names_its_source_and_number():
    for food in reference_foods().values():
        assert len(food.ndb_no) == 5
        for weight in food.weights:
            assert weight.source.startswith("USDA SR28")
            assert food.ndb_no in weight.source
            assert Fraction(weight.grams) > 0


def test_the_table_has_every_published_row_once():
    keys = [
        (food.ndb_no, weight.amount, weight.measure_words)
        for food in reference_foods().values()
        for weight in food.weights
    ]

    assert len(keys) == len(set(keys)) == 229


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("bread flour", "Wheat flour, white, bread, enriched"),
        ("BUTTER", "Butter, salted"),
        ("eggs", "Egg, whole, raw, fresh"),
        ("heavy cream", "Cream, fluid, heavy whipping"),
        ("powdered sugar", "Sugars, powdered"),
        ("confectioners sugar", "Sugars, brown"),
    ],
)
def test_a_food_is_found_by_what_people_call_it(text, first):
    assert search(text)[0].description == first


@pytest.mark.parametrize("text", ["", "  ", "quinoa", "!?"])
def test_what_is_not_there_is_not_found(text):
    assert search(text) == []


def test_a_suggestion_shows_the_words_it_was_published_with():
    assert said(BROWN_SUGAR) == {
        "cup packed": ("1 cup = 220 g", BelongsIn.EQUIVALENTS),
        "cup unpacked": ("1 cup = 145 g", BelongsIn.EQUIVALENTS),
        "tsp packed": ("1 tsp = 4.6 g", BelongsIn.EQUIVALENTS),
    }


def test_a_stick_is_a_word_of_its_own():
    assert said(BUTTER)["stick"] == ("stick = 113 g", BelongsIn.OWN_UNITS)


# USDA SR28, table WEIGHT: rows that bakers asked for.
@pytest.mark.parametrize(
    ("ndb_no", "words", "text"),
    [
        ("02047", "dash", "1 dash = 0.4 g"),
        ("19087", "tbsp", "1 tbsp = 14.0 g"),
        ("12023", "cup", "1 cup = 144 g"),
        ("12023", "tbsp", "1 tbsp = 9.0 g"),
        ("19908", "tsp", "1 tsp = 4.6 g"),
        ("12220", "tsp, ground", "1 tsp = 2.5 g"),
        ("12118", "tbsp", "1 tbsp = 15.0 g"),
        ("12117", "tbsp", "1 tbsp = 15.0 g"),
        ("01053", "cup, whipped", "1 cup = 120 g"),
        ("02035", "tbsp", "1 tbsp = 5.6 g"),
    ],
)
def test_what_was_published_is_suggested(ndb_no, words, text):
    assert said(ndb_no)[words] == (text, BelongsIn.EQUIVALENTS)


@pytest.mark.parametrize(("ndb_no", "grams"), [("09302", 312), ("09316", 357)])
def test_a_pint_of_berries_is_a_word_of_their_own(ndb_no, grams):
    words = "pint as purchased, yields"

    assert said(ndb_no)[words] == (f"pint = {grams} g", BelongsIn.OWN_UNITS)


def test_the_juice_of_a_lemon_is_no_equivalent():
    assert said(LEMON_JUICE)["lemon yields"] == ("", BelongsIn.NOWHERE)


def test_a_quarter_cup_stays_a_quarter_cup():
    assert said(DRIED_CHERRIES) == {"cup": ("1/4 cup = 40 g", BelongsIn.EQUIVALENTS)}


def test_eggs_kept_by_count_take_the_weight_of_one_but_not_of_a_cup():
    by_count = said(EGG, Measure.COUNT)

    assert by_count["large"] == ("1 each = 50 g", BelongsIn.EQUIVALENTS)
    assert by_count["cup (4.86 large eggs)"] == ("", BelongsIn.NOWHERE)


def test_butter_kept_by_volume_takes_cups_but_no_sticks():
    by_volume = said(BUTTER, Measure.VOLUME)

    assert by_volume["cup"] == ("1 cup = 227 g", BelongsIn.EQUIVALENTS)
    assert by_volume["stick"] == ("", BelongsIn.NOWHERE)


def test_an_unknown_number_suggests_nothing():
    assert equivalents_for("99999") == ()


def test_the_chosen_suggestions_serve_as_equivalents():
    text = text_for(BelongsIn.EQUIVALENTS, equivalents_for(ALL_PURPOSE))

    flour = compile_converter(read_item_measures("flour", "mass", equivalents=text))

    assert flour.to_base("3 cups") == 375


@pytest.mark.parametrize("measure", list(Measure))
def test_every_single_suggestion_can_be_entered_as_it_stands(measure):
    for ndb_no in reference_foods():
        for suggestion in equivalents_for(ndb_no, measure):
            if suggestion.belongs_in is BelongsIn.EQUIVALENTS:
                compile_converter(
                    read_item_measures("it", measure, equivalents=suggestion.text)
                )
            elif suggestion.belongs_in is BelongsIn.OWN_UNITS:
                (word,) = parse_own_words(suggestion.text)
                assert word == "pint" or word not in UNITS
                compile_converter(
                    read_item_measures("it", measure, own_units=suggestion.text)
                )
