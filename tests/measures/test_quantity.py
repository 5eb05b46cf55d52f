from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stock.errors import MeasureError, QuantityError, SeveralReadingsError
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.reading.quantity import (
    Term,
    TypedQuantity,
    finite_decimal,
    format_number,
    parse_quantity,
)
from stock.measures.reading.reader import Reader
from stock.measures.reading.tokens import simple_terms
from stock.measures.reading.vocabulary import GRAMMAR_WORDS, Notation


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
        ("2 case, 6 lb", [("2", "case"), ("6", "lb")]),
        ("2 case and 6 lb", [("2", "case"), ("6", "lb")]),
        ("36 x 1 lb", [("36", "lb")]),
        ("36x1lb", [("36", "lb")]),
        ("2 \N{MULTIPLICATION SIGN} 5 lb", [("10", "lb")]),
        ("1-1/2 lb", [("3/2", "lb")]),
        ("1 and 2/3 cup", [("5/3", "cup")]),
        ("half a bag", [("1/2", "bag")]),
        ("half of a bag", [("1/2", "bag")]),
        ("three quarters of a bag", [("3/4", "bag")]),
        ("a third of a bag", [("1/3", "bag")]),
        ("a bag and a half", [("3/2", "bag")]),
        ("full bag", [("1", "bag")]),
        ("twenty-five bags", [("25", "bags")]),
        ("ninety nine lb", [("99", "lb")]),
        ("a couple of bags", [("2", "bags")]),
        ("no bags", [("0", "bags")]),
        ("6#", [("6", "lb")]),
        ("1 #10 can", [("1", "#10 can")]),
        ("\N{FULLWIDTH DIGIT ONE}\N{FULLWIDTH DIGIT TWO} lb", [("12", "lb")]),
        ("\N{FULLWIDTH DIGIT ONE}½ lb", [("3/2", "lb")]),
        ("2 dozen eggs", [("2", "dozen eggs")]),
    ],
)
def test_a_quantity_is_read_exactly(text, terms):
    assert parse_quantity(text) == TypedQuantity(
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
        ("   ", 0, "empty"),
        ("12", 2, "Write what it counts, such as 12 lb"),
        ("1 3/4", 5, "1 3/4 has no unit"),
        ("3 lb 4", 6, "4 has no unit"),
        ("1 000 g", 2, "1 has no unit"),
        ("1.5 1/2 lb", 4, "1.5 has no unit"),
        ("½½ cup", 1, "½ has no unit"),
        ("1½2 cup", 2, "1½ has no unit"),
        ("lb", 0, "write a number before lb"),
        ("none", 0, "Write a number and a unit, such as 2 lb"),
        ("half", 4, "half has no unit. Write what it counts, such as 1/2 lb"),
        ("five", 4, "such as 5 lb, 5 cups or 5 each"),
        ("1-1/2", 5, "1-1/2 has no unit. Write what it counts, such as 1 1/2 lb"),
        ("about 6 lb", 0, "has to be exact"),
        ("bag", 0, "cannot be read"),
        ("1,5 kg", 0, "Write 1.5, not 1,5"),
        ("2 bags + 1,5 kg", 9, "Write 1.5, not 1,5"),
        ("1,500 g", 0, "Write 1500, not 1,500"),
        ("1,000,000 g", 0, "Write 1000000, not 1,000,000"),
        ("1,500.5 g", 0, "Write 1500.5, not 1,500.5"),
        ("2 case ,, 6 lb", 8, "Put + between"),
        ("-3 lb", 0, "cannot be negative"),
        ("\N{MINUS SIGN}3 lb", 0, "cannot be negative"),
        ("2 case - 3 lb", 7, "it has a minus"),
        ("2-3 cups", 1, "Write one number"),
        ("1 -3/4 cup", 2, "such as 2.5 or 1 3/4"),
        ("1/0 cup", 2, "a zero below the line"),
        ("1 7/4 cup", 2, "Write 2 3/4"),
        ("1 2/2 cup", 2, "Write 2 if you mean it"),
        ("1/2/3 cup", 3, "1/2 has no unit"),
        ("5. kg", 1, "5 has no unit"),
        ("1.2.3 kg", 3, "1.2 has no unit"),
        ("1 lb.5 oz", 4, "Put a space there"),
        ("2 lb +", 5, "something is missing beside the +"),
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
    except MeasureError as error:
        return error


@given(st.text(max_size=220))
def test_any_text_is_read_or_refused_with_a_sentence(text):
    outcome = read_or_error(text)

    if isinstance(outcome, MeasureError):
        is_sound = str(outcome).endswith((".", "?"))
    else:
        is_sound = all(term.number >= 0 and term.unit for term in outcome.terms)
    assert is_sound


@given(st.text("0123456789 ./,+-½¾\N{FRACTION SLASH}lbozcup", max_size=30))
def test_whatever_is_read_reads_the_same_when_written_out(text):
    outcome = read_or_error(text)

    if isinstance(outcome, TypedQuantity):
        assert parse_quantity(str(outcome)) == outcome


NUMBERS = st.fractions(min_value=0, max_value=10_000, max_denominator=10_000)
UNITS = st.from_regex(r"[a-z]{1,8}( [a-z]{1,8}){0,2}", fullmatch=True).filter(
    lambda unit: not GRAMMAR_WORDS.intersection(unit.split()) and "x" not in unit
)
TERMS = st.builds(Term, number=NUMBERS, unit=UNITS)


@given(st.lists(TERMS, min_size=1, max_size=3))
def test_a_quantity_written_out_reads_as_the_same(terms):
    quantity = TypedQuantity(tuple(terms))

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


def readings(text, notation=Notation.STOCK):
    with pytest.raises(SeveralReadingsError) as asked:
        parse_quantity(text, notation)
    return asked.value.readings


def test_a_pasted_fraction_slash_may_hide_a_mixed_number():
    slash = "\N{FRACTION SLASH}"

    assert readings(f"13{slash}4 cup") == ("1 3/4 cups", "3 1/4 cups")
    assert readings(f"113{slash}4 cup") == ("11 3/4 cups", "28 1/4 cups")
    assert parse_quantity(f"1 3{slash}4 cup").terms[0].number == Fraction(7, 4)
    assert parse_quantity(f"15{slash}16 cup").terms[0].number == Fraction(15, 16)


@pytest.mark.parametrize(
    ("text", "both"),
    [
        ("12/32 oz", ("12 x 32 oz", "⅜ oz")),
        ("6/5 lb", ("6 x 5 lb", "1.2 lb")),
        ("12\N{DIVISION SLASH}32 oz", ("12 x 32 oz", "⅜ oz")),
        ("12\N{FRACTION SLASH}32 oz", ("12 x 32 oz", "⅜ oz")),
        ("4/5 lb", ("4 x 5 lb", "⅘ lb")),
        ("2/5 case", ("2 x 5 case", "⅖ case")),
        ("3/7 case", ("3 x 7 case", "3/7 of a case")),
    ],
)
def test_a_supplier_s_pack_is_no_fraction(text, both):
    assert readings(text, Notation.PACK)[: len(both)] == both


def test_a_supplier_s_pack_says_why_it_is_asked_about():
    with pytest.raises(SeveralReadingsError) as asked:
        parse_quantity("3/4 lb", Notation.PACK)

    assert str(asked.value) == (
        '"3/4 lb" could be ¾ lb or 3 x 4 lb, as suppliers write packs. Write one of '
        "them."
    )


@pytest.mark.parametrize(
    "notation", [Notation.PACK, Notation.ITEM, Notation.COUNT, Notation.STOCK]
)
def test_two_readings_that_are_equal_are_one(notation):
    butter = compile_converter(read_item_measures("butter", "mass"))

    assert parse_quantity("2/1 lb", notation).terms[0].number == 2
    assert butter.typed_base("2/1 lb", notation) == butter.to_base("2 lb")


@pytest.mark.parametrize(
    ("text", "number"),
    [("1/2 gallon", "1/2"), ("36 x 1 lb", "36"), ("1 3/4 lb", "7/4")],
)
def test_what_a_pack_holds_has_one_reading(text, number):
    assert parse_quantity(text, Notation.PACK).terms[0].number == Fraction(number)


@pytest.mark.parametrize("text", ["12/32 oz", "12\N{DIVISION SLASH}32 oz", "6/5 lb"])
def test_what_is_typed_for_an_item_may_be_meant_as_a_supplier_s_pack(text):
    butter = compile_converter(read_item_measures("butter", "mass"))

    with pytest.raises(SeveralReadingsError) as asked:
        butter.read(text, Notation.ITEM)

    assert len(asked.value.readings) == 2
    assert asked.value.readings[0] in ("12 x 32 oz", "6 x 5 lb")
    assert butter.read(text)  # once stored, nothing is left to ask


@pytest.mark.parametrize(
    "text", ["3/4 lb", "5/8 oz", "1/32 oz", "1 1/5 lb", "3\N{FRACTION SLASH}4 lb"]
)
def test_a_kitchen_s_fraction_typed_for_an_item_is_one(text):
    butter = compile_converter(read_item_measures("butter", "mass"))

    assert len(butter.read(text, Notation.ITEM).terms) == 1


@pytest.mark.parametrize(
    ("text", "number"), [("3/4 lb", "3/4"), ("12/32 oz", "3/8"), ("6/5 lb", "6/5")]
)
def test_in_stock_fractions_are_fractions(text, number):
    butter = compile_converter(read_item_measures("butter", "mass"))

    [term] = butter.read(text, Notation.STOCK).terms

    assert term.number == Fraction(number)


def test_in_a_recipe_an_improper_fraction_names_both_readings():
    assert readings("7/4 lb", Notation.RECIPE) == ("1 3/4 lb", "7 x 4 lb")
    assert readings("3/3 cup", Notation.RECIPE) == ("1 cup",)
    proper = parse_quantity("12/32 oz", Notation.RECIPE)
    assert proper.terms[0].number == Fraction(3, 8)


@given(
    st.lists(
        st.sampled_from(
            [
                *(
                    "2",
                    "1 3/4",
                    ".5",
                    "¾",
                    "1.",
                    "+",
                    " ",
                    "lb",
                    "lb.",
                    "fl oz",
                    "case",
                ),
                *("half", "sheet", "x", "of", "3/2", "#", ",", "crème", "7 ", "eggs"),
            ]
        ),
        max_size=7,
    ).map("".join)
)
def test_the_short_way_reads_what_the_grammar_reads(text):
    try:
        simple = simple_terms(text)
    except QuantityError:
        return
    if simple:
        [reading], is_doubtful = Reader(text, None, Notation.STOCK).readings()

        assert not is_doubtful
        assert [(term.number, term.unit) for term in reading.quantity.terms] == simple
