"""The unit beside a count's field, and a bare number that is given it."""

import pytest

from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.counting_units import (
    counting_unit,
    smallest_whole,
    unit_choices,
    with_unit,
)
from stock.measures.packs import PackWord
from stock.measures.reading.quantity import parse_quantity


def item(measure, *, own="", packs=(), equivalents=""):
    return compile_converter(
        read_item_measures(
            "it",
            measure,
            equivalents=equivalents,
            own_units=own,
            packs=[PackWord(called, holds) for called, holds in packs],
        )
    )


LEMONS = item("count", packs=[("case", "115 each")])
BUTTER = item("mass", own="stick = 4 oz", packs=[("case", "36 lb")])
FLOUR = item("mass", own="scoop = 1 lb", packs=[("sack", "50 lb")])
SUGAR = item("mass")


@pytest.mark.parametrize(
    ("converter", "unit"),
    [
        (LEMONS, "each"),
        (BUTTER, "stick"),
        (FLOUR, None),  # 15 beside 15 lb on record would be 15 sacks
        (item("mass", packs=[("tub", "5 lb"), ("case", "20 lb")]), "tub"),
        (item("volume", packs=[("case", "12 quart")]), None),
        (item("volume", packs=[("carton", "1/2 gallon")]), "carton"),
        (SUGAR, None),
        (item("volume", own="jug = 1 gallon", packs=[("case", "4 gallon")]), "jug"),
        (item("count", own="yard = 1 each; roll = 100 each"), "yard"),
        (item("mass", equivalents="1 each = 120 g", packs=[("case", "20 kg")]), "each"),
        (item("volume", own="ladle = 120 mL"), None),
    ],
)
def test_the_smallest_whole_thing_that_an_item_comes_in(converter, unit):
    assert smallest_whole(converter) == unit


@pytest.mark.parametrize(
    ("known", "unit"),
    [
        ({"chosen": "case", "counted_last": "3 sticks"}, "case"),
        ({"chosen": "tub", "counted_last": "3 lb"}, "lb"),  # there is no tub now
        ({"counted_last": "14.5 lb"}, "lb"),
        ({"counted_last": "14.5 lb + 3 lb"}, "lb"),  # two figures, added up
        ({"counted_last": "1 case + 3 lb"}, "stick"),
        ({"counted_last": "none"}, "stick"),
        ({"counted_last": "7 tubs"}, "stick"),
        ({}, "stick"),
    ],
)
def test_what_was_chosen_goes_first_then_the_last_count(known, unit):
    assert counting_unit(BUTTER, **known) == unit


def test_units_to_choose_from_are_smallest_first():
    assert unit_choices(BUTTER) == ("oz", "stick", "lb", "case")
    assert unit_choices(LEMONS) == ("each", "case")


@pytest.mark.parametrize(
    ("text", "unit", "whole"),
    [
        ("39", "each", "39 each"),
        (" 1 1/2 ", "case", "1 1/2 case"),
        ("39", None, "39"),
        ("2 cases", "each", "2 cases"),
        ("none", "each", "none"),
        ("", "each", ""),
        ("what", "each", "what"),
        ("1 case 5", "each", "1 case 5"),
    ],
)
def test_a_bare_number_is_given_its_unit_and_nothing_else_is(text, unit, whole):
    assert with_unit(text, LEMONS, {}, unit) == whole


@pytest.mark.parametrize(
    ("text", "unit", "whole"),
    [
        ("2c", "case", "2 cases"),  # else a question: cups or cases?
        ("1 case 5", "stick", "1 case 5 stick"),
        ("18.64 - bin", "lb", "18.64 lb less 2 lb"),
        ("2c", "lb", "2c"),  # still a question
    ],
)
def test_what_a_unit_settles_is_written_in_full(text, unit, whole):
    cupped = item(
        "mass",
        own="stick = 4 oz",
        packs=[("case", "36 lb")],
        equivalents="1 cup = 227 g",
    )

    assert with_unit(text, cupped, {"bin": parse_quantity("2 lb")}, unit) == whole
