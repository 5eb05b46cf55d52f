"""Items with words of their own, and the list of what is said of them."""

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from stock import errors
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.packs import PackWord
from stock.measures.reading.quantity import parse_quantity
from stock.measures.reading.spoken import (
    read_spoken,
)

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


def asked(said, item, **beside):
    with pytest.raises(errors.SeveralReadingsError) as question:
        read_spoken(said, item, **beside)
    return question.value.readings
