"""Check digits of bar codes, against GS1's own published examples."""

import pytest

from stock.entry.cells import BarCode, CellError
from stock.entry.gtin import check_digit, read_gtin
from stock.errors import GtinError


@pytest.mark.parametrize(
    ("digits", "last"),
    [
        ("629104150021", "3"),  # GS1 Hong Kong, check digit page
        ("730001100001", "7"),  # GS1 Sweden, check digit page
        ("890400021003", "7"),  # GS1 India, check digit page
        ("1629104150021", "0"),  # that of the case, indicator 1: GS1 Australia's rule
    ],
)
def test_the_check_digit_is_the_published_one(digits, last):
    assert check_digit(digits) == last


# GS1 Barcode Syntax Dictionary, test vectors of the linter csum.
@pytest.mark.parametrize(
    "digits", ["02345673", "416000336108", "1234567890128", "12345678901231"]
)
def test_what_gs1_calls_valid_is_taken(digits):
    assert read_gtin(digits) == digits


@pytest.mark.parametrize(
    "digits", ["12345673", "416000336109", "1234567890129", "12345678901232"]
)
def test_what_gs1_calls_invalid_is_refused_with_the_right_digit(digits):
    with pytest.raises(GtinError, match="the last would be"):
        read_gtin(digits)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", '"" isn\'t a valid bar code. Type its digits, such as 02345673.'),
        ("0234567x", '"0234567x" isn\'t a valid bar code. Type its digits, such as'),
        ("\N{ARABIC-INDIC DIGIT TWO}2345673", "Type its digits"),
        ("2345673", "It has 7 digits. A bar code has 8, 12, 13 or 14."),
        ("123456789012345675", "It has 18 digits."),  # a pallet's, not an item's
        ("62910 41500 214", "the last would be 3, not 4. Compare it with the label."),
    ],
)
def test_what_is_no_bar_code_says_what_to_type(text, sentence):
    with pytest.raises(GtinError) as refused:
        read_gtin(text)

    assert sentence in str(refused.value)


def test_a_bar_code_may_be_typed_in_groups_as_it_is_printed():
    assert read_gtin(" 4 16000-33610 8 ") == "416000336108"


def test_any_one_wrong_digit_is_noticed():
    right = "6291041500213"
    for place, digit in enumerate(right):
        for other in set("0123456789") - {digit}:
            with pytest.raises(GtinError):
                read_gtin(right[:place] + other + right[place + 1 :])


def test_a_cell_takes_digits_that_check_and_says_what_is_wrong_with_others():
    kind = BarCode()

    assert kind.parse(416000336108.0) == "416000336108"
    with pytest.raises(CellError, match="the last would be 8, not 9"):
        kind.parse("416000336109")


def test_a_leading_zero_that_a_spreadsheet_dropped_is_told():
    with pytest.raises(CellError, match=r"has 7 digits"):
        BarCode().parse(2345673)


def test_what_is_no_digits_has_no_check_digit():
    with pytest.raises(ValueError, match="12a"):
        check_digit("12a")
