"""What labels say, against GS1's published rules and the library's own examples."""

from datetime import date
from decimal import Decimal

import pytest

from stock.labels.dates import read_date
from stock.labels.reading import Doubtful, Label, joined, read_label

TODAY = date(2026, 11, 30)
GS = "\x1d"


def read(text):
    return read_label(text, today=TODAY)


def doubts(label):
    return [(doubt.why, doubt.text) for doubt in label.doubts]


def test_a_case_label_says_its_item_its_last_day_and_its_lot():
    # Reference value E-30, from the GS1 AI Syntax Dictionary's lengths.
    label = read("01123456789012311726120010AB12")

    assert label == Label(gtin="12345678901231", use_by=date(2026, 12, 31), lot="AB12")


def test_a_weighed_case_says_its_weight_in_its_unit():
    # E-31, and E-32: n of 310n and 320n is the number of decimals (GS1 Sweden T3748).
    pounds = read("0196291041500216320200123410L7")
    kilograms = read("01962910415002163103001500")

    assert (pounds.weight, pounds.weight_unit) == (Decimal("12.34"), "lb")
    assert pounds.gtin == "96291041500216"
    assert pounds.lot == "L7"
    assert (kilograms.weight, kilograms.weight_unit) == (Decimal("1.500"), "kg")


def test_the_examples_of_the_general_specifications_are_read():
    # As biip 5.2 cites them: tests/gs1_messages (GenSpecs 7.8.5), its module's example.
    example = read("010703206980498815210526100329")
    priced = read(f"0195012345678903{'3922'}0499{GS}3008")

    assert example.gtin == "07032069804988"
    assert example.lot == "0329"
    # A date of five years ago is none of goods that come today.
    assert [each.why for each in example.doubts] == [Doubtful.UNLIKELY_YEAR]
    assert priced.price == Decimal("4.99")
    assert priced.count == 8


@pytest.mark.parametrize("kind", ["]C1", "]d2", "]Q3", "]e0"])
def test_what_kind_of_bar_code_it_is_stands_in_front_and_is_no_data(kind):
    label = read(f"{kind}10AB12{GS}17261231")

    assert (label.lot, label.use_by) == ("AB12", date(2026, 12, 31))
    assert label.doubts == ()


@pytest.mark.parametrize(
    "separator", [GS, "\u241d", "\u00e8", "<GS>", "{GS}", "^]", "|"]
)
def test_what_a_keyboard_makes_of_a_separator_parts_a_lot_from_what_follows(separator):
    label = read(f"10AB12{separator}17261231")

    assert (label.lot, label.use_by) == ("AB12", date(2026, 12, 31))
    assert label.doubts == ()


def test_a_lot_without_its_separator_is_a_question_with_both_readings():
    label = read("10AB1217261231")  # E-33

    assert label.is_empty
    assert doubts(label) == [(Doubtful.SWALLOWED, "AB1217261231")]


def test_a_lot_that_is_closed_may_end_like_a_date():
    typed = read("(10)AB1217261231")
    scanned = read(f"0112345678901231{GS}10AB1217261231")

    assert typed.lot == scanned.lot == "AB1217261231"
    assert typed.doubts == scanned.doubts == ()


def test_a_lot_longer_than_any_leaves_what_stood_before_it():
    label = read("011234567890123110ABCDEFGHIJK172612313103001500")

    assert label.gtin == "12345678901231"
    assert label.lot == ""
    assert [each.why for each in label.doubts] == [Doubtful.SWALLOWED]


def test_a_label_typed_as_it_is_printed_is_read_by_its_parentheses():
    label = read("(01) 1 234567 890123 1 (10) A(2)B/7-x (17) 261231")

    assert label == Label(
        gtin="12345678901231", lot="A(2)B/7-x", use_by=date(2026, 12, 31)
    )


@pytest.mark.parametrize(
    ("text", "gtin"),
    [
        # GS1 Barcode Syntax Dictionary, test vectors of the linter csum (E-06).
        ("416000336108", "00416000336108"),
        ("1234567890128", "01234567890128"),
        ("12345678901231", "12345678901231"),
        ("]E06291041500213", "06291041500213"),  # GS1 Hong Kong (E-02)
        ("]I116291041500210", "16291041500210"),  # GS1 Australia's rule (E-08)
        ("0 36000 24145 7", "00036000241457"),  # E-05
    ],
)
def test_a_bare_item_number_is_an_item(text, gtin):
    assert read(text) == Label(gtin=gtin)


@pytest.mark.parametrize("text", ["416000336109", "1234567890129", "12345678901232"])
def test_a_bare_number_whose_check_digit_is_wrong_is_no_item(text):
    label = read(text)

    assert label.is_empty
    assert doubts(label) == [(Doubtful.CHECK_DIGIT, text)]


def test_a_wrong_check_digit_leaves_lot_and_date_sure():
    label = read(f"011234567890123217261231{'10AB12'}")

    assert (label.gtin, label.lot) == ("", "AB12")
    assert label.use_by == date(2026, 12, 31)
    assert doubts(label) == [(Doubtful.CHECK_DIGIT, "12345678901232")]


def test_digits_that_are_an_item_and_a_date_are_neither():
    # 1726120 and its check digit 3: an EAN-8, or use by December 3.
    label = read("17261203")

    assert label.is_empty
    assert doubts(label) == [(Doubtful.TWO_READINGS, "17261203")]
    assert read("]E417261203").gtin == "00000017261203"
    assert read("]C117261203").use_by == date(2026, 12, 3)


def test_half_a_label_is_read_as_far_as_it_goes():
    assert doubts(read("01123456789")) == [(Doubtful.UNREAD, "01123456789")]
    half = read("01123456789012311726")
    assert half.gtin == "12345678901231"
    assert doubts(half) == [(Doubtful.UNREAD, "1726")]


def test_what_no_label_has_is_left_out_and_said():
    label = read("\u00ff0112345678901231\u00a410AB12")

    assert (label.gtin, label.lot) == ("12345678901231", "AB12")
    assert doubts(label) == [(Doubtful.JUNK, "\u00ff\u00a4")]


def test_a_store_s_own_number_is_no_item_number():
    # Prefixes 20 to 29: GS1 General Specifications, section 1.4.
    label = read("2012345678903")

    assert label.is_empty
    assert [each.why for each in label.doubts] == [Doubtful.STORE_NUMBER]


def test_a_link_as_gs1_writes_it_is_read_like_a_label():
    # The General Specifications' own form, as biip's module shows it.
    label = read("https://id.gs1.org/01/12345678901231/10/AB12?17=261231")

    assert label == Label(gtin="12345678901231", lot="AB12", use_by=date(2026, 12, 31))
    assert doubts(read("https://example.com/menu"))[0][0] == Doubtful.UNREAD


@pytest.mark.parametrize(
    ("digits", "day"),
    [
        # E-23: GS1 General Specifications 3.4.5, the note on day 00.
        ("130200", date(2013, 2, 28)),
        ("160200", date(2016, 2, 29)),
        # E-24 and E-26: GS1 linter yymmd0, read in 2026.
        ("260200", date(2026, 2, 28)),
        ("261130", date(2026, 11, 30)),
        ("751231", date(2075, 12, 31)),
        ("760101", date(2076, 1, 1)),
        ("770101", date(1977, 1, 1)),
        # E-25: test vectors of the same linter.
        ("200229", date(2020, 2, 29)),
        ("200600", date(2020, 6, 30)),
        ("200230", None),
        ("210229", None),
        ("201310", None),
        ("200010", None),
        ("200132", None),
    ],
)
def test_dates_are_read_as_gs1_reads_them(digits, day):
    assert read_date(digits, TODAY) == day


def test_a_year_near_the_end_of_a_century_is_the_nearest_one():
    assert read_date("010101", date(2099, 1, 1)) == date(2101, 1, 1)
    assert read_date("490101", date(2099, 1, 1)) == date(2149, 1, 1)
    assert read_date("500101", date(2099, 1, 1)) == date(2050, 1, 1)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("011234567890123117270231", Doubtful.NO_SUCH_DAY),  # February 31
        ("011234567890123117271331", Doubtful.NO_SUCH_DAY),
        ("011234567890123117770101", Doubtful.UNLIKELY_YEAR),  # 1977
        ("011234567890123117620101", Doubtful.UNLIKELY_YEAR),  # 2062, for 26
        (f"0112345678901231{GS}17261231{GS}17261230", Doubtful.SAID_TWICE),
    ],
)
def test_a_date_that_cannot_be_is_not_filled_in(text, why):
    label = read(text)

    assert label.gtin == "12345678901231"
    assert [each.why for each in label.doubts] == [why]


def test_use_by_goes_before_best_before_and_that_before_sell_by():
    assert read("1726120115261224").last_day == date(2026, 12, 1)
    assert read("]C11526122416261220").last_day == date(2026, 12, 24)
    assert read("]C11626122013261101").last_day == date(2026, 12, 20)
    assert read("]C113261101").last_day is None


def test_two_bar_codes_of_one_case_are_one_record():
    item, lot = read("]I112345678901231"), read("]C11726123110AB12")

    assert joined(item, lot) == Label(
        gtin="12345678901231", lot="AB12", use_by=date(2026, 12, 31)
    )
    assert joined(item, read("]E06291041500213")) is None


def test_nothing_scanned_and_far_too_much_say_nothing():
    assert read("  ") == Label()
    assert read("1" * 401).is_empty
    assert doubts(read("hello"))[0] == (Doubtful.UNREAD, "hello")
