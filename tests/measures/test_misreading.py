"""Nothing is read as something else without a question: numbers and units by hand.

Every number is put before every unit of an item. What comes of it is exactly the one
times the other, or a question, or an error; never another amount.
"""

from fractions import Fraction
from itertools import product

import pytest

from stock.errors import MeasureError, SeveralReadingsError
from stock.measures.reading.spoken import read_spoken
from tests.measures.said import NUMBERS, UNITS
from tests.measures.spoken_items import ITEMS, LB_G, QUART_ML

# What a number says; None where it has to be asked about, or is none.
VALUES = {
    **{text: Fraction(text) for text in ("1", "2", "12", "0", "2.5", ".4")},
    **{text: Fraction(text) for text in ("1/2", "3/4", "12/32", "6/5")},
    "1 3/4": Fraction(7, 4),
    "1-1/2": Fraction(3, 2),
    "½": Fraction(1, 2),
    "1¾": Fraction(7, 4),
    "1 and 2/3": Fraction(5, 3),
    "2 and a half": Fraction(5, 2),
    "two": Fraction(2),
    "a": Fraction(1),
    "an": Fraction(1),
    "twenty-five": Fraction(25),
    "no": Fraction(0),
    "ninety nine": Fraction(99),
    "half a": Fraction(1, 2),
    "half of a": Fraction(1, 2),
    "half": Fraction(1, 2),
    "three quarters of a": Fraction(3, 4),
    "a third of": Fraction(1, 3),
    "1/4 of a": Fraction(1, 4),
    "a couple of": Fraction(2),
    "a hundred": Fraction(100),
    "two hundred and fifty": Fraction(250),
    "hundred and a half": Fraction(201, 2),
    "36 x 1": Fraction(36),
    "2 \N{MULTIPLICATION SIGN} 5": Fraction(10),
    "about 6": Fraction(6),
    "~3": Fraction(3),
    "1,200": None,
    "1,5": None,
    "13\N{FRACTION SLASH}4": None,
    "\N{FULLWIDTH DIGIT TWO}": Fraction(2),
    "1 2/2": None,
    "1/0": None,
    "3 half": None,
}
GALLON_ML, CUP_ML = 4 * QUART_ML, QUART_ML / 4
ML_PER_G = CUP_ML / 244  # the milk's: 1 cup = 244 g
# What one of a unit is, in the base unit; None where it has to be asked, or is none.
BASES = {
    "butter": {
        **dict.fromkeys(("case", "cases", "cs", "full case", "cases left"), 36 * LB_G),
        **dict.fromkeys(("bx", "b"), 12 * LB_G),
        **dict.fromkeys(("stick", "s"), LB_G / 4),
        **dict.fromkeys(("lb", "lb.", "#", "lb of butter"), LB_G),
        "oz": LB_G / 16,
        "cup": 227,
        "pints": 2 * 227,
        **dict.fromkeys(("Tbl", "tblsp"), Fraction("14.2")),
        **dict.fromkeys(("gr", "gm"), 1),
        "kg": 1000,
        # A deciliter through the cup of 227 g, which has 236.5882365 mL.
        "dl": Fraction(100) / Fraction("236.5882365") * 227,
        **dict.fromkeys(("c", "T", "t", "G", "", "caes", "each", "pc")),
    },
    "eggs": {
        **dict.fromkeys(("eggs", "ct", "pcs", "count", "e"), 1),
        **dict.fromkeys(("flat", "flats", "f", "fl"), 30),
        **dict.fromkeys(("case", "c"), 360),
        **dict.fromkeys(("dozen", "doz", "d", "dozen eggs"), 12),
        "gross": 144,
        **dict.fromkeys(("gr", "", "t", "large eggs")),
    },
    "milk": {
        "fl oz": QUART_ML / 32,
        "g": ML_PER_G,
        "oz weight": LB_G / 16 * ML_PER_G,
        **dict.fromkeys(("gal", "gallon", "jug", "j"), GALLON_ML),
        "case": 4 * GALLON_ML,
        "cup": CUP_ML,
        "qt": QUART_ML,
        "pt": QUART_ML / 2,
        **dict.fromkeys(("l", "L", "ltr"), 1000),
        "cc": 1,
        "cl": 10,
        **dict.fromkeys(("oz", "G", "c", "", "T", "p")),
    },
    "bread": {
        **dict.fromkeys(("loaf", "loaves", "lf"), 680),
        "case": 12 * 680,
        "liters": 1000 / CUP_ML * 35,
        "g": 1,
        **dict.fromkeys(("c", "l", "L", "ls", "")),
    },
    "cherries": {
        **dict.fromkeys(("#10 can", "can", "cans", "#10", "cn"), 106 * LB_G / 16),
        "lb": LB_G,
        **dict.fromkeys(("cherries",)),
    },
    "boxes": {
        **dict.fromkeys(("each", "cake boxes"), 1),
        **dict.fromkeys(("pk", "pack"), 10),
        **dict.fromkeys(("box", "boxes", "bx", "")),
    },
    "ribbon": {
        **dict.fromkeys(("yd", "yds", "yard"), 1),
        **dict.fromkeys(("spool", "sp"), 100),
        **dict.fromkeys(('"', "\N{RIGHT DOUBLE QUOTATION MARK}")),
    },
}
# Read as so many of that size, or as a fraction: a question beside weights and volumes.
RATIOS = ("3/4", "12/32", "6/5")


def outcome(item, said):
    """What a saying comes to; the error where it is a question or refused."""
    try:
        return read_spoken(said, ITEMS[item]).amount_base
    except MeasureError as error:
        return error


def test_every_number_and_unit_of_the_list_is_known_by_hand():
    assert set(VALUES) == set(NUMBERS)
    assert {item: set(bases) for item, bases in BASES.items()} == {
        item: set(units) for item, units in UNITS.items()
    }


@pytest.mark.parametrize("item", list(UNITS))
def test_whatever_is_said_is_exact_or_asked_about(item):
    for number, unit in product(NUMBERS, UNITS[item]):
        value, unit_base = VALUES[number], BASES[item][unit]
        for said in (f"{number} {unit}", f"{number}{unit}"):
            got = outcome(item, said)
            if value is None or unit_base is None:
                assert isinstance(got, MeasureError) or value == got == 0, said
            else:
                assert isinstance(got, MeasureError) or got == value * unit_base, said


@pytest.mark.parametrize("item", list(UNITS))
def test_what_is_clear_is_never_asked_about(item):
    clear = [
        (number, unit)
        for number, unit in product(NUMBERS, UNITS[item])
        if VALUES[number] is not None
        and BASES[item][unit] is not None
        and number not in RATIOS
    ]

    assert len(clear) > 60
    for number, unit in clear:
        said = f"{number} {unit}"
        assert outcome(item, said) == VALUES[number] * BASES[item][unit], said


def test_a_word_of_its_own_is_no_size_of_a_pack():
    assert outcome("butter", "12/32 case") == Fraction(3, 8) * 36 * LB_G
    assert isinstance(outcome("butter", "12/32 lb"), SeveralReadingsError)
