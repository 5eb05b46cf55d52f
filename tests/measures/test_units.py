from fractions import Fraction

import pytest
from scipy import constants

from stock.measures.units import (
    COUNT_WORDS,
    MASS_WORDS,
    REGISTRY,
    UNIT_BY_WORD,
    UNITS,
    VOLUME_WORDS,
    Measure,
    plural,
    units_of,
    word_forms,
)

BASE_PINT_NAMES = {
    Measure.MASS: "gram",
    Measure.VOLUME: "milliliter",
    Measure.COUNT: "each",
}


@pytest.mark.parametrize(
    ("word", "per_unit_base"),
    [
        ("lb", constants.pound * 1_000),
        ("oz", constants.oz * 1_000),
        ("gallon", constants.gallon * 1_000_000),
        ("fl oz", constants.fluid_ounce * 1_000_000),
        ("L", constants.liter * 1_000_000),
        ("kg", constants.kilo),
    ],
)
def test_a_factor_is_that_of_scipy(word, per_unit_base):
    assert float(UNIT_BY_WORD[word.casefold()].per_unit_base) == pytest.approx(
        per_unit_base, rel=1e-15
    )


@pytest.mark.parametrize(
    ("shown", "pint_name"),
    [row[:2] for row in (*MASS_WORDS, *VOLUME_WORDS, *COUNT_WORDS)],
)
def test_pint_agrees_with_the_compiled_table(shown, pint_name):
    unit = UNIT_BY_WORD[shown.casefold()]

    by_pint = REGISTRY.Quantity(Fraction(1), pint_name).to(
        BASE_PINT_NAMES[unit.measure]
    )

    assert unit.per_unit_base == by_pint.magnitude
    assert isinstance(unit.per_unit_base, Fraction)


@pytest.mark.parametrize(
    ("word", "shown"),
    [
        ("grams", "g"),
        ("pounds", "lb"),
        ("lbs", "lb"),
        ("ounces", "oz"),
        ("teaspoons", "tsp"),
        ("tablespoon", "tbsp"),
        ("pt", "pint"),
        ("qts", "quart"),
        ("gal", "gallon"),
        ("floz", "fl oz"),
        ("fluid ounces", "fl oz"),
        ("ml", "mL"),
        ("litres", "L"),
        ("ea", "each"),
        ("doz", "dozen"),
        ("pinches", "pinch"),
        ("dashes", "dash"),
        ("c", "cup"),
        ("gr", "g"),
        ("gms", "g"),
        ("tbl", "tbsp"),
        ("tblsp", "tbsp"),
        ("ltr", "L"),
        ("cc", "mL"),
        ("dl", "dL"),
        ("cl", "cL"),
        ("pcs", "each"),
        ("pieces", "each"),
        ("ct", "each"),
        ("count", "each"),
        ("gross", "gross"),
        ("dry pints", "dry pint"),
    ],
)
def test_people_write_a_unit_in_many_ways(word, shown):
    assert UNIT_BY_WORD[word].word == shown


def test_an_ounce_is_a_weight_and_a_fluid_ounce_a_volume():
    assert UNIT_BY_WORD["oz"].measure is Measure.MASS
    assert UNIT_BY_WORD["fl oz"].measure is Measure.VOLUME


# t and T are told apart by case alone, and not by everybody.
@pytest.mark.parametrize("word", ["t", "bushel", "in", "cm", ""])
def test_what_is_ambiguous_or_no_amount_is_no_unit(word):
    assert word not in UNIT_BY_WORD


def test_no_word_stands_for_two_units():
    rows = (*MASS_WORDS, *VOLUME_WORDS, *COUNT_WORDS)
    forms = [
        form
        for word, _, names, short_names in rows
        for form in frozenset().union(*map(word_forms, (word, *names, *short_names)))
    ]

    assert len(forms) == len(set(forms))


@pytest.mark.parametrize(
    ("word", "base"),
    [
        ("gross", 144),
        ("dL", 100),
        ("cL", 10),
        # Half a dry quart of 67.200625 cubic inches (NIST Handbook 44, Appendix C), an
        # inch being 2.54 cm: 33.6003125 x 16.387064 mL.
        ("dry pint", Fraction("550.6104713575")),
        ("dry quart", Fraction("1101.220942715")),
    ],
)
def test_units_of_the_trade_come_to_what_is_published(word, base):
    assert UNITS[word].per_unit_base == base


def test_units_are_listed_from_the_smallest():
    words = [unit.word for unit in units_of(Measure.MASS)]

    assert words == ["g", "oz", "lb", "kg"]


def test_each_measure_has_its_base_unit():
    assert [measure.base_unit for measure in Measure] == ["g", "mL", "each"]


@pytest.mark.parametrize(
    ("word", "many"),
    [
        ("case", "cases"),
        ("box", "boxes"),
        ("loaf", "loaves"),
        ("lb", "lb"),
        ("cups", "cups"),
    ],
)
def test_a_plural_is_what_people_say(word, many):
    assert plural(word) == many
