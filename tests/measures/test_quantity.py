from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stock.errors import QuantityError
from stock.measures.quantity import (
    Quantity,
    Term,
    finite_decimal,
    format_number,
    parse_quantity,
)


@pytest.mark.parametrize(
    ("text", "terms"),
    [
        ("2 case + 3 1/2 lb", [("2", "case"), ("7/2", "lb")]),
        ("¾ cup", [("3/4", "cup")]),
        ("1½ dozen", [("3/2", "dozen")]),
        ("1 ½ dozen", [("3/2", "dozen")]),
        ("12 each", [("12", "each")]),
        ("0.4 bag", [("2/5", "bag")]),
        (".5 kg", [("1/2", "kg")]),
        ("1 lb 4 oz", [("1", "lb"), ("4", "oz")]),
        ("1lb4oz", [("1", "lb"), ("4", "oz")]),
        ("2c 6lb", [("2", "c"), ("6", "lb")]),
        ("500g", [("500", "g")]),
        ("1 3/4 cup", [("7/4", "cup")]),
        ("7/4 cup", [("7/4", "cup")]),
        ("1 3\N{FRACTION SLASH}4 cup", [("7/4", "cup")]),
        ("⅓ cup", [("1/3", "cup")]),
        ("⅞ tsp", [("7/8", "tsp")]),
        ("8 fl. oz.", [("8", "fl oz")]),
        ("1 lb. 4 oz.", [("1", "lb"), ("4", "oz")]),
        ("3 Half  Sheet", [("3", "Half Sheet")]),
        ("2 baker's dozen", [("2", "baker's dozen")]),
        ("  2\N{NO-BREAK SPACE}lb  ", [("2", "lb")]),
        ("0 each", [("0", "each")]),
        ("1 crème", [("1", "crème")]),
    ],
)
def test_a_quantity_is_read_exactly(text, terms):
    assert parse_quantity(text) == Quantity(
        tuple(Term(Fraction(number), unit) for number, unit in terms)
    )


def test_a_tenth_is_a_tenth():
    assert parse_quantity("0.1 g").terms[0].number == Fraction(1, 10)


def test_a_letter_and_its_accent_typed_apart_are_one_letter():
    assert parse_quantity("1 cre\u0300me") == parse_quantity("1 crème")


@pytest.mark.parametrize(
    ("text", "position", "advice"),
    [
        ("", 0, "empty"),
        ("   ", 3, "empty"),
        ("12", 2, "Write what it counts, such as 12 lb"),
        ("1 3/4", 5, "1 3/4 has no unit"),
        ("3 lb 4", 6, "4 has no unit"),
        ("1 000 g", 2, "1 has no unit"),
        ("1.5 1/2 lb", 4, "1.5 has no unit"),
        ("½½ cup", 1, "½ has no unit"),
        ("1½2 cup", 2, "1½ has no unit"),
        ("lb", 0, "write a number before lb"),
        ("none", 0, "write a number before none"),
        ("half a bag", 0, "write a number before half a bag"),
        ("1,5 kg", 0, "Write 1.5, not 1,5"),
        ("2 bags + 1,5 kg", 9, "Write 1.5, not 1,5"),
        ("1,500 g", 0, "Write 1500 or 1.500, not 1,500"),
        ("1,000,000 g", 0, "Write 1000000, not 1,000,000"),
        ("1,500.5 g", 0, "Write 1500.5, not 1,500.5"),
        ("2 case, 6 lb", 6, "Put + between"),
        ("-3 lb", 0, "cannot be negative"),
        ("\N{MINUS SIGN}3 lb", 0, "cannot be negative"),
        ("2 case - 3 lb", 7, "cannot be negative"),
        ("2-3 cups", 1, "Write one number"),
        ("1-3/4 cup", 1, "such as 2.5 or 1 3/4"),
        ("1/0 cup", 2, "a zero below the line"),
        ("1 7/4 cup", 2, "Write 2 3/4"),
        ("1/2/3 cup", 3, "Write a unit after 1/2"),
        ("5. kg", 1, "Write a unit after 5"),
        ("1.2.3 kg", 3, "1.2 has no unit"),
        ("1 lb.5 oz", 4, "Put a space there"),
        ("2 lb +", 6, "something is missing beside the +"),
        ("+ 2 lb", 0, "cannot be read"),
        ("2 lb ++ 3 oz", 6, "cannot be read"),
        ("² cup", 0, "cannot be read"),
        ("\N{ARABIC-INDIC DIGIT ONE} g", 0, "cannot be read"),
        ("🍰", 0, "cannot be read"),
        ("9999999999 g", 0, "more than a bakery can hold"),
        ("1" * 201, 200, "longer than 200 letters"),
    ],
)
def test_what_cannot_be_read_says_what_to_write(text, position, advice):
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text)

    assert advice in str(caught.value)
    assert caught.value.position == position


def read_or_error(text):
    try:
        return parse_quantity(text)
    except QuantityError as error:
        return error


@given(st.text(max_size=220))
def test_any_text_is_read_or_refused_with_a_sentence(text):
    outcome = read_or_error(text)

    if isinstance(outcome, QuantityError):
        is_sound = str(outcome).endswith(".") and 0 <= outcome.position <= 200
    else:
        is_sound = all(term.number >= 0 and term.unit for term in outcome.terms)
    assert is_sound


@given(st.text("0123456789 ./,+-½¾\N{FRACTION SLASH}lbozcup", max_size=30))
def test_whatever_is_read_reads_the_same_when_written_out(text):
    outcome = read_or_error(text)

    if isinstance(outcome, Quantity):
        assert parse_quantity(str(outcome)) == outcome


NUMBERS = st.fractions(min_value=0, max_value=10_000, max_denominator=10_000)
UNITS = st.from_regex(r"[a-z]{1,8}( [a-z]{1,8}){0,2}", fullmatch=True)
TERMS = st.builds(Term, number=NUMBERS, unit=UNITS)


@given(st.lists(TERMS, min_size=1, max_size=3))
def test_a_quantity_written_out_reads_as_the_same(terms):
    quantity = Quantity(tuple(terms))

    assert parse_quantity(str(quantity)) == quantity


@pytest.mark.parametrize(
    ("number", "text"),
    [
        ("0", "0"),
        ("12", "12"),
        ("3/4", "3/4"),
        ("7/4", "1 3/4"),
        ("1/3", "1/3"),
        ("0.1", "0.1"),
        ("0.893", "0.893"),
        ("10.05", "10.05"),
        ("1/16", "0.0625"),
        ("23/7", "3 2/7"),
    ],
)
def test_a_number_is_written_as_people_write_it(number, text):
    assert format_number(Fraction(number)) == text


def test_a_third_has_no_finite_decimals():
    assert finite_decimal(Fraction(1, 3)) is None
    assert finite_decimal(Fraction(5, 2)) == "2.5"
    assert finite_decimal(Fraction(5)) == "5"
